"""A table beside its copy: which rows of the copy it lost, which a person changed, which the copy lacks. Pure.

Rows are compared by what they say: the same name with other cells is another row, unless it was logged at the same
moment (or, where rows tell none, is plainly the same), as when a person mends a count. What is put back goes where it
stood, under a new name where its own is taken; a copy is then what the table says.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from functools import cached_property

from almanac.nursery.tables import MARK, Cells, Table, as_lines, header_of, in_one_line, next_numbers, read_table
from almanac.plain import dataclass


@dataclass(frozen=True, kw_only=True)
class Difference:
    """What a table and its copy do not agree in.

    `here` are the rows of the table with their lines, `lost` those that the copy alone has, with how many rows of the
    table stand before them, `changed` rows as copied and as they stand, `uncopied` those that the copy lacks, `damaged`
    the lines of the copy that cannot be read.
    """

    table: Table
    here: tuple[tuple[int, Cells], ...] = ()
    lost: tuple[tuple[int, Cells], ...] = ()
    changed: tuple[tuple[Cells, Cells], ...] = ()
    uncopied: tuple[Cells, ...] = ()
    damaged: tuple[int, ...] = ()

    def until(self, today: date) -> Difference:
        """Without lost rows of days to come, which a clock that was wrong may have dated: they wait in the copy."""
        at = self.table.columns.index("date")
        return replace(self, lost=tuple(each for each in self.lost if each[1][at] <= today.isoformat()))

    @cached_property
    def settled(self) -> bool:
        """Whether nothing is to be mended; what is not copied yet goes to the copy with the next row."""
        return not (self.lost or self.changed or self.damaged)


def difference(table: Table, text: str, copy: str) -> Difference:
    """Compare a table that can be read with its copy, of which what can be read counts."""
    if text == copy:
        return Difference(table=table)
    here = tuple(_rows(table, text))
    there, damaged = _copied(table, copy)
    left = dict(enumerate(cells for _, cells in here))
    at: dict[int, int] = {}  # by a row's place in the copy its place in the table
    from_id = 1 if table.stamped else 0
    for start in dict.fromkeys((0, from_id)):
        known: dict[Cells, list[int]] = {}
        for place, cells in left.items():
            known.setdefault(_alike(cells[start:]), []).append(place)
        for place, (_, cells) in enumerate(there):
            found = known.get(_alike(cells[start:]))
            if place not in at and found:
                at[place] = found.pop(0)
                del left[at[place]]
    changed, lost, before = [], [], 0
    by_name: dict[Cells, list[int]] = {}
    for place, cells in left.items():
        by_name.setdefault(_alike(cells[:1]), []).append(place)
    for place, (line, cells) in enumerate(there):
        for other in [] if place in at else by_name.get(_alike(cells[:1]), []):
            if other in left and table.edited(table.named(cells), table.named(left[other])):
                at[place] = other
                changed.append((cells, left.pop(other)))
                break
        if place in at:
            before = at[place] + 1
        elif "\ufffd" in "".join(cells) or table.wrong(table.named(cells), line):
            damaged.append(line)
        else:
            lost.append((before, cells))
    return Difference(
        table=table,
        here=here,
        lost=tuple(lost),
        changed=tuple(changed),
        uncopied=tuple(left.values()),
        damaged=tuple(sorted(damaged)),
    )


def _alike(cells: Cells) -> Cells:
    """What two rows are compared by: a spreadsheet drops leading zeros, and may write the first letter large."""
    return tuple(cell.lower().lstrip("0") or cell for cell in cells)


def _rows(table: Table, text: str) -> list[tuple[int, Cells]]:
    rows, _ = read_table(text.removesuffix(table.cut_short(text)), table.name, table.columns, ())
    return [(line, tuple(in_one_line(row.get(name, "")) for name in table.columns)) for line, row in rows]


def _copied(table: Table, copy: str) -> tuple[list[tuple[int, Cells]], list[int]]:
    """The rows of a copy, each once where they have ids; and the lines that are none. Each row has one line there."""
    copy = copy.lstrip(MARK).removesuffix(table.cut_short(copy))
    header = header_of(copy)
    known = set(table.columns) <= set(header)
    names = header if known else list(table.columns)
    rows: dict[object, tuple[int, Cells]] = {}
    damaged = [] if known or not copy.strip() else [1]
    for line, text in enumerate(io.StringIO(copy), 1):
        try:
            cells = next(csv.reader([text], strict=True), [])
        except csv.Error:
            cells = ["", "damaged"]
        if not any(cells) or [cell.strip().lower() for cell in cells] == header:
            continue
        row = dict(zip(names, cells, strict=False))
        if len(cells) != len(names):
            damaged.append(line)
        else:
            found = tuple(in_one_line(row[name]) for name in table.columns)
            rows.setdefault(found if table.stamped else line, (line, found))
    return list(rows.values()), damaged


@dataclass(frozen=True, kw_only=True)
class PutBack:
    """A row of the copy as it goes back into the table, behind so many of its rows."""

    before: int
    was: Cells
    cells: Cells


def put_back(found: Difference) -> list[PutBack]:
    """The rows lost, as they go back: under a new name where their own is another's by now."""
    table = found.table
    placed = [cells for _, cells in found.here if table.stamped or not table.named(cells)["done"]]
    names = {_alike(cells[:1]) for cells in placed}
    used = {cells[0] for _, cells in (*found.here, *found.lost)}
    renamed: dict[Cells, str] = {}
    out = []
    for before, cells in found.lost:
        name, row = _alike(cells[:1]), table.named(cells)
        if name in names and name not in renamed and (table.stamped or not row["done"]):
            renamed[name] = next_numbers("r" if table.stamped else "", used, 1)[0]
            used.add(renamed[name])
        row[table.columns[0]] = renamed.get(name, cells[0])
        if row.get("what") == "void":
            row["refers"] = renamed.get(_alike((row["refers"],)), row["refers"])
        out.append(PutBack(before=before, was=cells, cells=tuple(row.values())))
    return out


def with_rows(table: Table, text: str, here: Sequence[tuple[int, Cells]], rows: Sequence[PutBack]) -> str:
    """The text of a table with these rows back in it; all other lines stay as they are."""
    text = text.removesuffix(table.cut_short(text))
    if not here and not set(table.columns) <= set(header_of(text)):
        text = as_lines(table.columns, table.columns, [table.columns])
    header, lines = header_of(text), list(io.StringIO(text))
    if lines and not lines[-1].endswith("\n"):
        lines[-1] += "\n"
    at = {place: (here[place][0] - 1 if place < len(here) else len(lines)) for place in {row.before for row in rows}}
    for row in sorted(rows, key=lambda row: at[row.before])[::-1]:
        lines.insert(at[row.before], as_lines(header, table.columns, [row.cells]))
    return "".join(lines)


def copy_text(found: Difference, text: str, more: Sequence[Cells]) -> str:
    """What a copy is to say: the rows of the table, of faulty ones what it said before, and more."""
    table, copied = found.table, {now: was for was, now in found.changed}
    rows = [
        cells if not table.wrong(table.named(cells), line) else copied.get(cells) for line, cells in _rows(table, text)
    ]
    return as_lines(table.columns, table.columns, [table.columns, *filter(None, rows), *more])


def readable(table: Table, text: str) -> bool:
    """Whether a table's text is one, whatever its rows say; an empty one is."""
    text = text.removesuffix(table.cut_short(text))
    return not text.strip(f"{MARK}, \t\r\n") or not read_table(text, table.name, table.columns, table.columns)[1]


def has_rows(table: Table, text: str) -> bool:
    """Whether any line is a row of a table."""
    rows, _ = _copied(table, text)
    return any(not table.wrong(table.named(cells), line) for line, cells in rows)
