"""Log what was seen or done: check, append, and say what moved, all under the nursery's lock."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path

from almanac.actions.mothers import refuse_unknown_mother
from almanac.actions.placing import with_bins
from almanac.actions.possible import refuse_wrong_rows, with_rows
from almanac.actions.promised import at_today, refuse_unlicensed, refuse_wrong_order
from almanac.actions.request import Request, rows_of_request
from almanac.actions.row_ids import numbered, rows_of_entry
from almanac.actions.writing import NOTHING_MOVED, Recorded, locked, stamp, write_rows
from almanac.faults import Refusal
from almanac.nursery.load import load_nursery
from almanac.nursery.logbook import Row
from almanac.nursery.nursery import Nursery
from almanac.nursery.warmth import rows_for_new_bins


def record(
    folder: Path, now: datetime, request: Request, as_of: date | None = None, patience_s: float | None = None
) -> Recorded:
    """Append what is asked for, if it can have happened; also while the nursery's own rules are at fault.

    Args:
        request: what is asked for
    Raises:
        InputFaults: the nursery's other files are at fault
        Refusal: what is asked for cannot be logged; nothing was written
    """
    with locked(folder, now, as_of, patience_s) as turn:
        nursery = load_nursery(folder, now, as_of, whatever_rules=True)
        before = rows_of_entry((*nursery.every_row, *nursery.lost_rows), request.id)
        if any(row.id == request.id for row in before):
            return Recorded(
                rows=tuple(before),
                made=(),
                changes=NOTHING_MOVED,
                as_of=nursery.as_of,
                again=True,
                called=nursery.settings.called,
            )
        rows = rows_of_request(nursery, request, now)
        refuse_wrong_rows(rows)
        refuse_wrong_order(at_today(nursery), rows)
        refuse_unknown_mother(nursery, rows)
        refuse_unlicensed(nursery, rows)
        try:
            rows, placed = with_bins(nursery, rows, force=request.force)
        except Refusal:
            with_rows(nursery, nursery.on(nursery.today), rows)  # what cannot be at all is said before a lack of room
            raise
        there = {row.id for row in before}  # a power cut left only the first of several
        warmth = list(rows_for_new_bins(rows, nursery.rows, nursery.settings))
        if request.id:
            rows = [*[row for row in rows if row.id not in there], *numbered(nursery, warmth)]
        else:
            rows = numbered(nursery, [*rows, *warmth])
        return replace(write_rows(nursery, rows, now, turn, force=request.force), placed=tuple(placed))


def record_rows(
    folder: Path, now: datetime, rows_of: Callable[[Nursery], Sequence[Row]], as_of: date | None = None
) -> Recorded:
    """Append rows that were worked out from the nursery, all or none; they get their ids here.

    Raises:
        InputFaults: the nursery's files are at fault
        Refusal: they cannot be logged; nothing was written
    """
    with locked(folder, now, as_of) as turn:
        nursery = load_nursery(folder, now, as_of)
        moment = stamp(nursery, now)
        rows = numbered(nursery, [replace(row, logged_at=moment) for row in rows_of(nursery)])
        refuse_wrong_rows(rows)
        return write_rows(nursery, rows, now, turn)
