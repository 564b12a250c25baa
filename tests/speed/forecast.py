"""How the time to learn and to forecast grows with the lots of many years, each with five past intervals.

Run by hand: python -m tests.speed.forecast [LOTS ...]

Lots are invented: 60 varieties, dates and sizes from a seeded generator, a look the day before each sighting; nine in
ten are finished and gone, the others wait. The replay is not measured, only learning from all and forecasting all.
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta
from math import exp, log
from pathlib import Path
from random import Random
from time import process_time

from almanac.forecast.history import taught
from almanac.forecast.milestones import milestones
from almanac.forecast.model import Surroundings
from almanac.forecast.told import timed
from almanac.nursery.lots import Cohort, Lot, Sign
from tests.nurseries import bench

WANTED = 1.1
TODAY = date(2027, 3, 1)
# Signs of a sealed bag with what comes before them and their days; how far lots and cuttings differ. All made up.
SIGNS = (
    ("roots", ("stuck",), 22),
    ("budbreak", ("stuck",), 18),
    ("leaves", ("budbreak",), 8),
    ("drawing", ("roots", "leaves"), 10),
    ("well_rooted", ("half have roots",), 28),
)
BETWEEN_LOTS, WITHIN = 0.15, 0.2


def surroundings() -> Surroundings:
    """The shipped rules and one warm bin."""
    with tempfile.TemporaryDirectory() as folder:
        nursery = bench(Path(folder), "", TODAY)
    return Surroundings(
        book=nursery.book, settings=nursery.settings, frost=nursery.frost, bins=nursery.stock.bins, as_of=TODAY
    )


def lots(number: int) -> list[Lot]:
    """Nine in ten finished over many winters, the tenth still rooting."""
    draw = Random(7)
    return [_lot(draw, each, waiting=each % 10 == 9) for each in range(number)]


def _lot(draw: Random, number: int, *, waiting: bool) -> Lot:
    variety = str(number % 60 + 1)
    winter = TODAY.year - (0 if waiting else 1 + number % 12)
    stuck = date(winter, 1, 1) + timedelta(days=draw.randrange(45))
    count = draw.choice((6, 12, 24))
    days = {"stuck": stuck}
    for name, after, median in SIGNS:
        start, offset = max(days[other] for other in after), draw.gauss(0, BETWEEN_LOTS)
        cuttings = [median * exp(offset + draw.gauss(0, WITHIN)) for _ in range(count)]
        half = start + timedelta(days=sorted(cuttings)[count // 2])
        days[name] = half if name == "well_rooted" else start + timedelta(days=max(1.0, min(cuttings)))
        if name == "roots":
            days["half have roots"] = half
    days["potted"] = max(days.values()) + timedelta(days=draw.randint(2, 7))
    seen = {
        name: Sign(day=days[name], count=None, of=count, not_yet=days[name] - timedelta(days=1)) for name, _, _ in SIGNS
    }
    if waiting:
        seen = {name: sign for name, sign in seen.items() if sign.day <= stuck + timedelta(days=14)}
    known_at = stuck + timedelta(days=14) if waiting else days["potted"]
    return Lot(
        id=f"{variety}x{number}",
        number=variety,
        crop="fig",
        method="sealed_bag",
        protected=False,
        started=stuck,
        origin="own_wood",
        cohorts=(Cohort(stage="rooting", since=stuck, count=count),) if waiting else (),
        steps={"stuck": stuck} if waiting else {"stuck": stuck, "potted": days["potted"]},
        signs=seen,
        places=((stuck, "A"),),
        known_at=known_at,
        known_before=known_at,
        stuck_count=count,
    )


def seconds(stock: Sequence[Lot], around: Surroundings) -> float:
    """To learn from all lots and forecast all of them, the better of two [s]."""
    found = []
    for _ in range(2):
        start = process_time()
        around = replace(around, experience=taught(stock, around).experience)
        for lot in stock:
            milestones(lot, around)
        found.append(process_time() - start)
    return min(found)


def exponent(sizes: Sequence[int], taken: Sequence[float]) -> float:
    """The power of the lots that the time grows by: the slope of a straight line through both logarithms."""
    x, y = [log(size) for size in sizes], [log(each) for each in taken]
    mean_x, mean_y = sum(x) / len(x), sum(y) / len(y)
    return sum((a - mean_x) * (b - mean_y) for a, b in zip(x, y, strict=True)) / sum((a - mean_x) ** 2 for a in x)


def main(sizes: Sequence[int]) -> None:
    around = surroundings()
    taken = []
    for size in sizes:
        stock = lots(size)
        intervals = sum(1 for lot in stock for _ in timed(lot, around))
        taken.append(seconds(stock, around))
        print(f"{size} lots with {intervals} past intervals: {taken[-1]:.2f} s, {1000 * taken[-1] / size:.2f} ms a lot")
    print(f"time grows as lots to the power {exponent(sizes, taken):.2f} (wanted: at most {WANTED:g})")


if __name__ == "__main__":
    main([int(size) for size in sys.argv[1:]] or [1000, 3000, 10000])
