"""How long many lots take to plan, and how that grows with their number: `python -m tests.speed.rounds [MOST_LOTS]`.

Rounds alone, and shared windows alone, for lots looked at every four days over 300 days, beside the floor: what it
takes to make one line of a round for each lot and visit. Then the whole plan of a nursery, forecasts included. The
exponent is the slope of the logarithm of time over that of the number of lots: 1 is linear. For information.
"""

from __future__ import annotations

import gc
import random
import sys
import tempfile
from collections.abc import Callable, Sequence
from datetime import date, timedelta
from math import log
from pathlib import Path
from statistics import linear_regression
from time import perf_counter

from almanac.nursery.settings import Settings
from almanac.nursery.workdays import Workdays
from almanac.plan.agenda.merge import merged
from almanac.plan.agenda.rounds import rounds_of
from almanac.plan.build import build_plan
from almanac.plan.ids import EntryId
from almanac.plan.model import Line, Look, Task
from almanac.plan.past import Past
from almanac.rulebook.models import TaskRule
from tests.documents import read
from tests.nurseries import bench

FIRST, DAYS, BINS = date(2027, 1, 4), 300, 8
LOOK = TaskRule(id="look", title="Look", kind="look", after="stuck", first_day=3, every_days=4, source="none")
POT = TaskRule(
    id="pot", title="Pot", kind="window", after="stuck", opens_day=0, due_day=4, closes_day=18, source="none"
)
WEEK = {"bench_days": ["tue", "fri", "sun"], "away": [{"from": date(2027, 3, 1), "to": date(2027, 3, 7)}]}


def lot(number: int) -> str:
    return f"{1 + number // 20}{chr(97 + number % 20)}"


def day(number: int) -> date:
    return FIRST + timedelta(days=number)


def looks(lots: int, draw: random.Random) -> list[Look]:
    """A look of each lot, begun within sixty days, going on for 300 from the first."""
    starts = [draw.randrange(60) for _ in range(lots)]
    return [
        Look(
            id=EntryId(lot(n), "look"),
            rule=LOOK,
            lot=lot(n),
            bin="ABCDEFGH"[n % BINS],
            start=day(start),
            end=day(DAYS - draw.randrange(20)),
            counted_from="stuck",
        )
        for n, start in enumerate(starts)
    ]


def windows(lots: int, draw: random.Random) -> list[Task]:
    opens = [draw.randrange(DAYS - 20) for _ in range(lots)]
    return [
        Task(
            id=EntryId(lot(n), "pot"),
            rule=POT,
            lots=(lot(n),),
            earliest=day(first),
            due=day(first + 4),
            latest=day(first + 18),
            counted_from="stuck",
            since=FIRST,
        )
        for n, first in enumerate(opens)
    ]


def nursery_log(lots: int) -> tuple[str, str]:
    rows = [
        (n * 60 // lots, f"received {lot(n)} --count 8 --stage rooting --bin {'ABCDEFGH'[n % BINS]}")
        for n in range(lots)
    ]
    varieties = "number,name,crop\n" + "".join(f"{n},Number {n},fig\n" for n in range(1, lots // 20 + 2))
    return "\n".join(f"{day(n)} {words}" for n, words in rows), varieties


def seconds(work: Callable[[], object]) -> float:
    """How long some work takes [s], the collector at rest as in any timing of Python."""
    gc.collect()
    gc.disable()
    start = perf_counter()
    work()
    taken = perf_counter() - start
    gc.enable()
    return taken


def tell(name: str, numbers: Sequence[int], times: Sequence[float], floors: Sequence[float] = ()) -> None:
    slope = linear_regression([log(n) for n in numbers], [log(t) for t in times]).slope
    ratio = f", {times[-1] / floors[-1]:.1f} times the floor" if floors else ""
    print(f"{name}: {numbers[-1]} lots in {times[-1]:.2f} s{ratio}; exponent {slope:.2f}")


def measured(number: int, workdays: Workdays) -> tuple[float, float, float, float]:
    """Seconds for the floor, the rounds, the shared windows and the whole plan of so many lots."""
    draw = random.Random(number)
    these, tasks = looks(number, draw), windows(number, draw)
    visits = len(rounds_of(these, (), (), workdays, Past(), FIRST)[0])
    rows, varieties = nursery_log(number)
    with tempfile.TemporaryDirectory() as folder:
        nursery = bench(Path(folder), rows, day(75), bins="ABCDEFGH", varieties=varieties)
    return (
        seconds(
            lambda: [
                Line(id=each.id, rule=each.rule, bin=each.bin, lot=each.lot) for each in these for _ in range(visits)
            ]
        ),
        seconds(lambda: rounds_of(these, (), (), workdays, Past(), FIRST)),
        seconds(lambda: merged(tasks, {}, lambda group: group[0].id, workdays, FIRST)),
        seconds(lambda: build_plan(nursery)),
    )


def main(most: int) -> None:
    numbers = [most // 16, most // 8, most // 4, most // 2, most]
    settings = read(
        Settings,
        {
            "nursery": {"id": "0f5c2a52-9d0e-4f57-8f6b-6d9b3a4f1c11"},
            "site": {"latitude": 37.3, "longitude": -79.9, "timezone": "America/New_York"},
            "frost": {"dates": {"never": True}},
            "week": WEEK,
        },
    )
    workdays = Workdays(settings, settings.place())
    found = [measured(number, workdays) for number in numbers]
    floors, rounds, shared, whole = zip(*found, strict=True)
    tell("floor", numbers, floors)
    tell("rounds", numbers, rounds, floors)
    tell("shared windows", numbers, shared)
    tell("whole plan, forecasts included", numbers, whole)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 10_000)
