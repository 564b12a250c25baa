"""What is printed for a nursery: takes a reading and what is asked for, gives drawings. Writes nothing."""

from __future__ import annotations

from datetime import date

from almanac.actions.look import Reading
from almanac.faults import Fact, Refusal
from almanac.pictures.away import absences, away_pages
from almanac.pictures.drawing import Drawing
from almanac.pictures.sheet import sheet_pages
from almanac.pictures.sheet_rows import Sheet, days_asked, sheets_of


def bench_sheets(reading: Reading, day: date | None = None, days: int | None = None) -> list[Sheet]:
    """The bench sheets of a day, of so many days, or of the next round.

    Raises:
        Refusal: the day is over
    """
    plan = reading.plan
    if day is not None and day < plan.as_of:
        raise Refusal(Fact("sheet_of_past", day=day, as_of=plan.as_of))
    return sheets_of(plan, reading.nursery, days_asked(plan, day, days))


def bench_sheet_pages(reading: Reading, day: date | None = None, days: int | None = None) -> list[Drawing]:
    """The same as pages."""
    return sheet_pages(bench_sheets(reading, day, days), reading.nursery)


def helper_pages(reading: Reading) -> list[Drawing]:
    """The pages for who helps while the grower is away, of each stretch of days that is not over.

    Raises:
        Refusal: there is none
    """
    found = absences(reading.plan, reading.nursery)
    if not found:
        raise Refusal(Fact("not_away"))
    return [page for absence in found for page in away_pages(absence, reading.nursery)]
