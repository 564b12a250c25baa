"""Undo what was logged, or have it count again: a row that says so, after all that was there. Nothing is erased."""

from __future__ import annotations

from collections.abc import Container
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path

from almanac.actions.promised import at_today, refuse_wrong_order
from almanac.actions.row_ids import at_once
from almanac.actions.writing import Recorded, locked, stamp, write_rows
from almanac.faults import Fact, Refusal, nearest
from almanac.nursery.load import load_nursery
from almanac.nursery.logbook import Row, not_voided, undone_by
from almanac.nursery.nursery import Nursery
from almanac.plain import dataclass


@dataclass(frozen=True, kw_only=True)
class Undoing:
    """What undoing a row would do: the `rows` undone with it, and those `resting` on them, which must be undone first.

    `later` are rows of the same lots and bins logged since, which stay.
    """

    rows: tuple[Row, ...]
    resting: tuple[Row, ...]
    later: tuple[Row, ...]


def undo(
    folder: Path,
    now: datetime,
    row_id: str = "",
    as_of: date | None = None,
    patience_s: float | None = None,
    *,
    whole: bool = False,
    last_only: bool = False,
) -> Recorded:
    """Void a row, with `whole` all that were logged at once with it; or all rows of the last command that count.

    A row that undid others is undone with all undone at once with it: those count again.

    Args:
        row_id: the row's id; empty for the last command
        whole: with all that was logged at once
        last_only: refuse what is not the last thing logged
    Raises:
        InputFaults: the nursery's files, its own rules apart, are at fault
        Refusal: there is no such row, or later rows rest on it; nothing was written
    """
    with locked(folder, now, as_of, patience_s) as turn:
        nursery = load_nursery(folder, now, as_of, whatever_rules=True)
        gone = _to_undo(nursery, row_id, whole=whole)
        if last_only and gone[0].what != "void" and gone[-1] not in _to_undo(nursery, "", whole=True):
            raise Refusal(Fact("not_the_last", row=row_id))
        by_id = {row.id: row for row in nursery.every_row}
        # An order may have been sent another way since, or cancelled.
        refuse_wrong_order(at_today(nursery), [by_id[row.refers] for row in gone if row.what == "void"])
        rows = _voids(nursery, gone, stamp(nursery, now))
        restored = tuple((void.id, old.refers) for void, old in zip(rows, gone, strict=True) if old.what == "void")
        undone = tuple(by_id.get(old.refers, old) if old.what == "void" else old for old in gone)
        return replace(write_rows(nursery, rows, now, turn), restored=restored, undone=undone)


def undoing(nursery: Nursery, row_id: str) -> Undoing:
    """What undoing a row, with all logged at once with it, would do.

    Raises:
        Refusal: there is no such row, or it is undone already
    """
    gone = _to_undo(nursery, row_id, whole=True)
    faults = nursery.on(nursery.today).with_rows((*nursery.every_row, *_voids(nursery, gone, "")))[1]
    lines = {fault.line for fault in faults if fault.line is not None}
    resting = [row for row in nursery.every_row if row.line in lines]
    bins = {row.bin for row in gone if row.bin and not row.lot}
    lots = {name for row in gone for name in (row.lot, row.refers) if name}
    lots |= {lot.id for lot in nursery.stock.lots.values() if lot.bin in bins}
    left = not_voided(nursery.every_row)
    alike = (row for row in left if row.line > gone[-1].line)
    since = [row for row in alike if lots & {row.lot, row.refers} or (row.bin in bins and not row.lot)]
    return Undoing(
        rows=tuple(gone),
        resting=tuple(sorted(resting, key=lambda row: (row.day, row.line), reverse=True)),
        later=tuple(since),
    )


def _voids(nursery: Nursery, gone: list[Row], logged_at: str) -> list[Row]:
    day = min(nursery.as_of, nursery.today)
    ids = nursery.new_ids(len(gone))
    return [
        Row(id=name, day=day, what="void", refers=old.id, logged_at=logged_at)
        for name, old in zip(ids, gone, strict=True)
    ]


def _to_undo(nursery: Nursery, row_id: str, *, whole: bool) -> list[Row]:
    left = not_voided(nursery.every_row)
    if not row_id:
        if not left:
            raise Refusal(Fact("nothing_logged"))
        last = max(left, key=lambda row: row.line)
        return [row for row in left if at_once(row, last)]
    found = next((row for row in nursery.every_row if row.id == row_id), None)
    if found is None:
        raise Refusal(Fact("no_row", row=row_id, near=nearest(row_id, [row.id for row in left])))
    undone = undone_by(nursery.every_row)
    if row_id in undone:
        raise Refusal(Fact("undone_already", row=row_id, by=undone[row_id]))
    if found.what == "void":
        return _undone_at_once(nursery, found, undone)
    return [row for row in left if at_once(row, found)] if whole else [found]


def _undone_at_once(nursery: Nursery, void: Row, undone: Container[str]) -> list[Row]:
    """The undoings that count of all that one undid at once; also where two undid the same."""
    by_id = {row.id: row for row in nursery.every_row}
    voids = [row for row in nursery.every_row if row.what == "void" and row.id not in undone and row.refers in by_id]
    target = by_id[void.refers]
    group = {row.refers for row in voids if at_once(row, void) and at_once(by_id[row.refers], target)}
    return [row for row in voids if row.refers in group]
