"""How forecasts hold for growers who log much or little, drawn by `growers`, which shares little with the model.

    python -m tests.outside.simulate_growers [GROWERS [KIND ...]]

Prints for each way to log, and after 0, 3, 8 and 20 lots, the mean error of the likely day [days], the share of days
inside the 80 % band and the width of it, of the first roots and of potting, forecast on the day of sticking; then
whether the error rose from one number of lots to the next beyond its 95 % interval, on the same lots to come.
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Sequence
from datetime import date, timedelta
from itertools import pairwise
from math import nan
from pathlib import Path

import numpy as np

from almanac.forecast.history import taught
from almanac.forecast.milestones import milestones
from almanac.forecast.model import Surroundings
from almanac.forecast.supposed import lot_stuck
from tests.nurseries import bench
from tests.outside.growers import BASE, HABITS, HARSHER, Kind, Truth, draw_growers, stock
from tests.outside.simulate_learning import Score

AFTER, NEXT = (0, 3, 8, 20), 3
_NOW = date(2026, 10, 1)


def surroundings() -> Surroundings:
    """The shipped rules and two bins as warm as the rule's reference, or so their dials say."""
    with tempfile.TemporaryDirectory() as folder:
        nursery = bench(Path(folder), "", _NOW, bins="AB")
    return Surroundings(
        book=nursery.book,
        settings=nursery.settings,
        frost=nursery.frost,
        bins=nursery.stock.bins,
        as_of=date(2019, 1, 1),
    )


def simulate(
    growers: int, kind: Kind, habits: Sequence[str] = HABITS, seed: int = 11
) -> dict[tuple[str, int, str], Score]:
    """Scores by habit, number of lots learned from and milestone."""
    around = surroundings()
    scores = {(habit, lots, sign): Score() for habit in habits for lots in AFTER for sign in ("roots", "potted")}
    for number, every in enumerate(draw_growers(growers, max(AFTER) + NEXT, kind, seed)):
        past, coming = every[: max(AFTER)], every[max(AFTER) :]
        for habit in habits:
            lots = stock(past, habit, number)
            for after in AFTER:
                # The latest are learned from, so that the season of the lots to come is in part that of the last.
                known = lots[len(lots) - after :]
                learned = taught(known, around)
                for truth in coming:
                    _score(truth, learned, scores, habit, after)
    return scores


def _score(
    truth: Truth, around: Surroundings, scores: dict[tuple[str, int, str], Score], habit: str, after: int
) -> None:
    if not truth.potted_day:
        return  # what never roots is the strike rate's to tell
    lot = lot_stuck("fig", truth.of, truth.stuck, truth.bin, "sealed_bag", number=truth.variety)
    found = milestones(lot, around)
    for sign, took in (("roots", round(truth.first_root)), ("potted", truth.potted_day)):
        days, came = found[sign].days, truth.stuck + timedelta(days=took)
        early, likely, late = (float(day.toordinal()) for day in days) if days else (nan, nan, nan)
        scores[habit, after, sign].add(early, likely, late, came.toordinal())


def rises(fewer: Score, more: Score) -> float:
    """By how many days the error rose beyond what its 95 % interval on the same lots leaves room for; 0: not."""
    apart = np.array(more.errors) - np.array(fewer.errors)
    apart = apart[~np.isnan(apart)]
    return max(float(apart.mean() - 1.96 * apart.std() / np.sqrt(len(apart))), 0.0)


def main(growers: int, names: Sequence[str]) -> None:
    for kind in (BASE, *HARSHER):
        if names and kind.name not in names:
            continue
        scores = simulate(growers, kind)
        print(f"{kind.name}: {growers} growers, {len(scores['everything', 0, 'potted'].errors)} lots to come")
        print(f"{'':12}{'':8}" + "".join(f"{after:>19} lots" for after in AFTER))
        for habit in HABITS:
            for sign in ("roots", "potted"):
                each = [scores[habit, after, sign] for after in AFTER]
                cells = "".join(f"{s.error:>8.2f} d {s.covered:>6.1%} {s.width:>5.0f}" for s in each)
                worse = [f"{rises(a, b):.2f}" for a, b in pairwise(each) if rises(a, b)]
                print(f"{habit:12}{sign:8}{cells}" + (f"  error rises by {', '.join(worse)} d" if worse else ""))


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 200, sys.argv[2:])
