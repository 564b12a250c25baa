"""Whether rows can have happened: the nursery with them, or what speaks against it. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from almanac.faults import Fact, Fault, Refusal
from almanac.nursery.logbook import Row, row_problems
from almanac.nursery.nursery import Nursery


def refuse_wrong_rows(rows: Iterable[Row]) -> None:
    problems = tuple(dict.fromkeys(problem for row in rows for problem in row_problems(row)))
    if problems:
        raise Refusal(Fact("several", facts=problems))


def with_rows(nursery: Nursery, now_there: Nursery, rows: Sequence[Row]) -> tuple[Nursery, Nursery]:
    """A nursery and the same as of today, both with the new rows. Raises Refusal if anything cannot have happened."""
    after, faults = nursery.with_more(rows)
    later = after
    if nursery.as_of != nursery.today:
        later, found = now_there.with_more(rows)
        if nursery.as_of < nursery.today:  # a day looked back to does not see later rows, which must stand all the same
            faults = faults or found
    if not faults:
        return after, later
    undone = [row for row in rows if row.what == "void"]
    if undone:
        raise Refusal(_why_not_undone(nursery, undone[0], faults))
    own = [fault.fact for fault in faults if fault.line is None]
    if own:
        raise Refusal(Fact("several", facts=tuple(dict.fromkeys(own))))
    raise Refusal(Fact("contradicts_later", fault=next(fault for fault in faults if fault.line is not None)))


def _why_not_undone(nursery: Nursery, void: Row, faults: Sequence[Fault]) -> Fact:
    """Why a row cannot be undone, or one that was cannot count again: what rests on its being as it is."""
    by_line, by_id = {row.line: row.id for row in nursery.every_row}, {row.id: row for row in nursery.every_row}
    old = by_id[void.refers]
    row = old.refers if old.what == "void" else old.id
    names = dict.fromkeys(by_line[fault.line] for fault in faults if fault.line in by_line)
    resting, why = tuple(name for name in names if name != row), faults[0].fact
    if old.what != "void":
        return Fact("rested_on", row=row, resting=resting, why=why)
    if resting:
        return Fact("not_restored_beside", row=row, resting=resting, why=why)
    return Fact("not_restored", row=row, why=why)
