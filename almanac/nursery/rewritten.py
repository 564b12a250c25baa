"""Dates that a spreadsheet rewrote in a whole file, told once instead of a line each. Pure."""

from __future__ import annotations

from almanac.faults import Fact, Fault
from almanac.nursery.logbook import EXAMPLE, WRITTEN_DAY

_FEW = 3


def folded(faults: list[Fault], file: str) -> list[Fault]:
    """Faults with all dates that a spreadsheet rewrote as one, where they are so many that it was the whole file."""

    def rewritten(fault: Fault) -> bool:
        fact = fault.fact.values.get("fact", fault.fact)
        given = fact.values.get("given", "") if isinstance(fact, Fact) and fact.kind == "not_a_date" else ""
        return WRITTEN_DAY.fullmatch(str(given)) is not None

    dates = [fault for fault in faults if rewritten(fault)]
    if len(dates) < _FEW:
        return faults
    told = Fact("dates_of_a_spreadsheet", count=len(dates), like=EXAMPLE, file=file)
    return [*(fault for fault in faults if not rewritten(fault)), Fault(file=file, fact=told, line=dates[0].line)]
