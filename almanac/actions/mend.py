"""Logbook and orders beside their copies: what they do not agree in, what mending would do, and the mending of it.

It must work before the nursery can be read, as later rows may rest on those lost. The copy is written first, with all
that is to stand in the table: whenever the power fails, the next mending goes on from there. What is replaced is kept.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from pathlib import Path

from almanac.actions.around import KEYS, keys_are_open, left_behind
from almanac.actions.standing import today_there
from almanac.actions.writing import locked, stamp
from almanac.disk import sync_folder, write_whole
from almanac.faults import Fact, Fault
from almanac.nursery.append import append
from almanac.nursery.copies import Difference, PutBack, copy_text, difference, has_rows, put_back, readable, with_rows
from almanac.nursery.load import copy_of, read_nursery, text_of
from almanac.nursery.logbook import TABLE as LOGBOOK
from almanac.nursery.logbook import Row, rows_of
from almanac.nursery.nursery import Nursery
from almanac.nursery.order_rows import TABLE as ORDERS
from almanac.nursery.tables import Cells, Table, next_numbers
from almanac.plain import dataclass

REPLACED = "replaced"


@dataclass(frozen=True, kw_only=True)
class Settled:
    """A table and its copy as they would be if mended; the same as they are where they agree.

    `back` are the rows that go back, `undone` those of them that no longer fit and are undone at once, `left_out` rows
    that would undo what others rest on, `waiting` rows of days to come, which stay in the copy.
    """

    found: Difference
    text: str = ""
    copy: str = ""
    waiting: tuple[Cells, ...] = ()
    back: tuple[PutBack, ...] = ()
    undone: tuple[PutBack, ...] = ()
    left_out: tuple[PutBack, ...] = ()

    def notices(self) -> Iterator[Fault]:
        """What is to be told of it besides that rows are missing."""
        table, found = self.found.table, self.found
        for each in self.back:
            was, now = each.was[0], each.cells[0]
            if each in self.undone:
                yield Fault(file=table.name, fact=Fact("back_undone", row=was, now=now))
            elif was != now:
                yield Fault(file=table.name, fact=Fact("back_as_other", row=was, now=now))
        for each in self.left_out:
            yield Fault(file=table.name, fact=Fact("undo_left_out", row=each.was[0]))
        for copied, row in found.changed:
            cells = zip(table.columns, copied, row, strict=True)
            facts = tuple(Fact("cell_changed", column=name, was=was, now=now) for name, was, now in cells if was != now)
            yield Fault(file=table.name, fact=Fact("row_changed", row=row[0], cells=facts))
        if found.damaged:
            yield Fault(file=table.backup, fact=Fact("copy_damaged", lines=found.damaged[:8], count=len(found.damaged)))
        if self.waiting:
            yield Fault(file=table.backup, fact=Fact("rows_wait", rows=tuple(cells[0] for cells in self.waiting[:8])))


@dataclass(frozen=True)
class Mended:
    """What was done to each table, the names of what was replaced by it, and what was done besides."""

    settled: tuple[Settled, ...] = ()
    kept: tuple[str, ...] = ()
    besides: tuple[Fact, ...] = ()


def examine(folder: Path, now: datetime) -> list[Settled]:
    """What mending would do, table by table. Writes nothing.

    Raises:
        Refusal: it is no nursery's folder
    """
    nursery, _ = read_nursery(folder, now)
    return [_settled(folder, table, now, nursery) for table in (LOGBOOK, ORDERS)]


def mend(folder: Path, now: datetime) -> Mended:
    """Make each table and its copy say the same: nothing logged is lost, and a second time nothing is left to do.

    Raises:
        Refusal: it is no nursery's folder
        MachineTrouble, OSError: a file cannot be written; what was there is there still
    """
    with locked(folder, now, None):
        besides = (*_tidied(folder), *_without_torn(folder))
        settled = [each for each in examine(folder, now) if not each.found.settled]
        kept = []
        for each in settled:
            table = each.found.table
            for name, text in ((table.backup, each.copy), (table.name, each.text)):
                kept += replaced(folder / name, text.encode("utf-8"), now)
        return Mended(tuple(settled), tuple(kept), besides)


def _tidied(folder: Path) -> Iterator[Fact]:
    left = left_behind(folder)
    for path in left:
        path.unlink()
    if left:
        yield Fact("removed", files=tuple(path.relative_to(folder).as_posix() for path in left))
    if keys_are_open(folder):
        (folder / KEYS).chmod(0o600)
        yield Fact("closed", file=KEYS)


def _without_torn(folder: Path) -> Iterator[Fact]:
    """Set aside lines that were cut short, as the next row would."""
    for table in (LOGBOOK, ORDERS):
        text = text_of(folder / table.name, [])
        if text is not None and (table.cut_short(text) or table.cut_short(copy_of(folder, table))):
            for tail in append(folder, [(table, ())]).values():
                yield Fact("line_set_aside", text=tail)


def replaced(path: Path, data: bytes, now: datetime) -> list[str]:
    """Put bytes in a file's place; the name under which the old ones are kept, if there were others."""
    target = path.resolve()  # a link stays one
    old = target.read_bytes() if target.exists() else b""
    if old == data:
        return []
    kept = path.parent / REPLACED
    name = f"{now.astimezone():%Y-%m-%d-%H%M%S}-{path.name}"
    if old:
        if not kept.is_dir():
            kept.mkdir()
            sync_folder(path.parent)
        while (kept / name).exists():
            name = f"again-{name}"
        try:
            os.link(target, kept / name)  # at once whole, and on a full disk, too
        except OSError:
            write_whole(kept / name, old)
    write_whole(target, data, target.stat().st_mode & 0o777 if target.exists() else 0o644)
    return [f"{REPLACED}/{name}"] if old else []


def _settled(folder: Path, table: Table, now: datetime, nursery: Nursery | None) -> Settled:
    copy, text = copy_of(folder, table), text_of(folder / table.name, [])
    if text is None or not readable(table, text):
        data = (folder / table.name).read_bytes()
        ways = (data.decode(code, "replace") for code in ("utf-8-sig", "utf-16", "utf-16-le"))
        if any(has_rows(table, each) for each in ways) or not has_rows(table, copy):
            return Settled(found=Difference(table=table))  # a person mends it: there is more in it than the copy knows
        text = ""
    whole = difference(table, text, copy)
    found = whole.until(today_there(folder, now))
    waiting = tuple(cells for each in whole.lost if each not in found.lost for cells in each[1:])
    if found.settled:
        return Settled(found=found, text=text, copy=copy, waiting=waiting)
    fitting = _fitting(nursery, found, now) if nursery and table is LOGBOOK else _Fitting(back=tuple(put_back(found)))
    text = with_rows(table, text, found.here, [*fitting.back, *fitting.voids])
    return Settled(
        found=found,
        text=text,
        copy=copy_text(found, text, waiting),
        waiting=waiting,
        back=fitting.back,
        undone=fitting.undone,
        left_out=fitting.left_out,
    )


@dataclass(frozen=True, kw_only=True)
class _Fitting:
    back: tuple[PutBack, ...]
    undone: tuple[PutBack, ...] = ()
    left_out: tuple[PutBack, ...] = ()
    voids: tuple[PutBack, ...] = ()


def _fitting(nursery: Nursery, found: Difference, now: datetime) -> _Fitting:
    """Which rows can go back as they are: those by which nothing is impossible that was not before.

    The others are undone as soon as they are back, as of their own day; an undoing that does not fit is left out.
    """
    every = put_back(found)
    rows = {place: row for place, each in enumerate(every) for row in rows_of([each.cells])}
    impossible = _impossible(nursery, found, {place: (every[place].before, row) for place, row in rows.items()})
    fits = set(_fit_together(list(range(len(every))), impossible))
    lone = [place for place in range(len(every)) if place not in fits]
    undone = [place for place in lone if rows[place].what != "void"]
    left_out = [place for place in lone if rows[place].what == "void"]
    used = {cells[0] for _, cells in (*found.here, *found.lost)} | {each.cells[0] for each in every}
    names = next_numbers("r", used, len(undone))
    voids = [
        Row(
            id=name,
            day=rows[place].day,
            what="void",
            refers=rows[place].id,
            note="no longer fitted",
            logged_at=stamp(nursery, now),
        )
        for name, place in zip(names, undone, strict=True)
    ]
    return _Fitting(
        back=tuple(each for place, each in enumerate(every) if place not in left_out),
        undone=tuple(every[place] for place in undone),
        left_out=tuple(every[place] for place in left_out),
        voids=tuple(PutBack(before=len(found.here), was=row.cells(), cells=row.cells()) for row in voids),
    )


def _impossible(
    nursery: Nursery, found: Difference, lost: Mapping[int, tuple[int, Row]]
) -> Callable[[Sequence[int]], int]:
    """How much is impossible in the logbook with some of the lost rows, each before its place among those there."""
    starts = {line: place for place, (line, _) in enumerate(found.here)}
    there = [((starts.get(row.line, 0), 1, 0), row) for row in nursery.every_row]

    def counted(chosen: Sequence[int]) -> int:
        back = [((lost[place][0], 0, place), lost[place][1]) for place in chosen if place in lost]
        order = sorted([*there, *back], key=lambda each: each[0])
        return len(nursery.replayed([replace(row, line=line) for line, (_, row) in enumerate(order, 1)])[1])

    return counted


def _fit_together(places: list[int], impossible: Callable[[Sequence[int]], int]) -> list[int]:
    """As many of them as make nothing impossible that was not before, tried by halves."""
    least = impossible(())

    def tried(chosen: list[int], more: list[int]) -> list[int]:
        if not more or impossible([*chosen, *more]) <= least:
            return [*chosen, *more]
        half = len(more) // 2
        return tried(tried(chosen, more[:half]), more[half:]) if half else chosen

    return tried([], places)
