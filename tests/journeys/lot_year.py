"""The reading: one lot's whole year, each day as `stickdate today` prints it, by a grower who does all that it asks.

Run `python -m tests.journeys.lot_year` to write the reading in the example anew.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from almanac.nursery.load import load_nursery
from almanac.nursery.logbook import Row
from almanac.nursery.nursery import Nursery
from almanac.nursery.workdays import Workdays
from almanac.plan.model import Plan
from almanac.terminal.today import today_text
from tests.journeys.year import Year, log_what_is_asked, next_day_that_asks

EXAMPLE = Path(__file__).parents[2] / "examples" / "quince-lane"
READING = EXAMPLE / "one-lot.md"
HEAD = """\
# One lot's year

Invented, like all of this example. Twelve cuttings of number 8, cut and stuck in December in the same nursery with
nothing else in it; each sign comes on the day the forecast calls likely, and what the day asks for is done and logged.
Below stands what `stickdate today` printed on each day that asked for something, and after each `>` what was logged.

"""


@dataclass(frozen=True)
class Day:
    """One day of the reading: its plan, what `today` printed, and what was logged on it."""

    day: date
    nursery: Nursery
    plan: Plan
    printed: str
    logged: tuple[Row, ...]


def one_lot(base: Nursery, taken: date, stuck: date, until: date, number: str = "8", count: int = 12) -> Iterator[Day]:
    """Each day that asks for something, from the day the wood was cut.

    Args:
        base: a nursery without a lot
        taken, stuck: the days the cuttings were cut and stuck
        until: the last day to ask for
        number, count: the variety, and how many cuttings of it
    """
    year = Year(replace(base, rows=(), every_row=()))
    lot = f"{number}a"
    year.log(taken, "taken", lot, variety=number, count=count)
    as_of, workdays = taken, Workdays(base.settings, base.place)
    while as_of <= until:
        before = len(year.rows)
        if as_of == stuck:
            year.log(stuck, "stuck", lot, bin=base.settings.bin[0].name)
        nursery, plan = year.plan(as_of)
        if not nursery.stock.lots[lot].total:
            return
        year.publish(plan, nursery)
        log_what_is_asked(year, nursery, plan, put_off=True)
        printed, logged = today_text(plan, nursery, 1), tuple(year.rows[before:])
        if logged or any(each.day == as_of for each in plan.rounds):
            yield Day(as_of, nursery, plan, printed, logged)
        # What is left over is told on the next bench day, which no plan tells ahead.
        bench = next(day for day in (as_of + timedelta(days=n) for n in range(1, 9)) if workdays.is_bench_day(day))
        as_of = min(day for day in (next_day_that_asks(plan), bench, stuck) if day > as_of)


def _said(row: Row) -> str:
    parts = [row.what, row.lot or row.bin, str(row.count) if row.count else "", row.value]
    return " ".join(filter(None, parts))


def reading(days: Iterator[Day]) -> str:
    """The days as text."""
    parts = []
    for each in days:
        logged = "".join(f"> {line}\n" for line in dict.fromkeys(map(_said, each.logged)))
        parts.append(f"{each.printed.rstrip()}\n{logged}")
    return "```text\n" + "\n".join(parts) + "```\n"


def example_days() -> Iterator[Day]:
    """The lot of the reading that stands in the example."""
    base = load_nursery(EXAMPLE, datetime(2030, 1, 1, tzinfo=UTC))
    return one_lot(base, date(2025, 12, 6), date(2025, 12, 9), date(2027, 1, 31))


if __name__ == "__main__":
    READING.write_text(HEAD + reading(example_days()), encoding="utf-8")
