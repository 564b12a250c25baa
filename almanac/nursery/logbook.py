"""From the text of `logbook.csv` to dated rows, each checked by itself; and the rows that count. Pure.

A torn last line (a power cut) is never parsed as data; `append` sets it aside.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import replace
from datetime import date, datetime
from sys import intern

from almanac import units
from almanac.faults import Fact, Fault, Miswritten, nearest
from almanac.nursery.events import ALIASES, EVENTS, STAGES, Event
from almanac.nursery.tables import Cells, Table, as_lines, each_row, is_moment
from almanac.plain import dataclass

FILE = "logbook.csv"
COLUMNS = ("id", "date", "what", "lot", "variety", "count", "stage", "bin", "value", "refers", "note", "logged_at")
LOT_ID = re.compile(r"([1-9][0-9]{0,5})([a-z]{1,3})")
_FIRST_YEAR, _LAST_YEAR, MOST = 1970, 2199, 100_000
_LETTERS = 100_000  # of a cell; readers of CSV stop at 131,072
LONGEST_COUNT = r"[0-9]{1,9}"
_QUANTITIES = {"temperature": "temperature", "hours": "hours", "mass": "mass"}


@dataclass(frozen=True, kw_only=True)
class Row:
    """One event as logged; `line` is its line in the file, 0 for a row not yet written."""

    id: str
    day: date
    what: str
    lot: str = ""
    variety: str = ""
    count: int | None = None
    stage: str = ""
    bin: str = ""
    value: str = ""
    refers: str = ""
    note: str = ""
    logged_at: str = ""
    line: int = 0

    @property
    def event(self) -> Event:
        return EVENTS[self.what]

    def stamped_after(self, moment: datetime) -> bool:
        """Whether it says that it was logged after an aware moment."""
        return is_moment(self.logged_at) and datetime.fromisoformat(self.logged_at) > moment

    def cells(self) -> tuple[str, ...]:
        """The row as the file holds it."""
        count = "" if self.count is None else str(self.count)
        middle = (self.lot, self.variety, count, self.stage, self.bin, self.value, self.refers, self.note)
        return (self.id, self.day.isoformat(), self.what, *middle, self.logged_at)


def read_day(text: str) -> date:
    """A date as files and commands hold it, 2026-02-24.

    Raises:
        Miswritten: it is no such date, or too far off
    """
    try:
        day = date.fromisoformat(text) if re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", text) else None
    except ValueError:
        day = None
    if day is None:
        raise Miswritten(Fact("not_a_date", given=text, like=day_meant(text)))
    if not _FIRST_YEAR <= day.year <= _LAST_YEAR:
        raise Miswritten(Fact("year_out_of_range", day=day, first=_FIRST_YEAR, last=_LAST_YEAR))
    return day


WRITTEN_DAY = re.compile(r"([0-9]{1,4})[-/. ]+([0-9]{1,2})[-/. ]+([0-9]{4}|[0-9]{1,2})(?:[T ][0-9:.]+)?")
EXAMPLE = date(2026, 2, 24)


def day_meant(text: str) -> date:
    """What a spreadsheet may have made of a date, put back; where day and month could be exchanged, an example."""
    parts = WRITTEN_DAY.fullmatch(text)
    if parts:
        one, two, three = (int(part) for part in parts.groups())
        days = set()
        for way in [(one, two, three)] if len(parts[1]) == 4 else [(three, one, two), (three, two, one)]:
            with suppress(ValueError):
                days.add(date(*way))
        if len(days) == 1 and min(days).year >= _FIRST_YEAR:
            return days.pop()
    return EXAMPLE


def read_rows(text: str, file: str = FILE) -> tuple[list[Row], list[Fault]]:
    """Every row in file order, and every fault that shows in a row by itself."""
    rows: list[Row] = []
    unreadable: list[Fault] = []
    wrong: list[Fault] = []
    seen: dict[str, int] = {}
    for line, cells in each_row(text.removesuffix(TABLE.cut_short(text)), file, COLUMNS, COLUMNS, unreadable):
        row, problems = _row(cells, line)
        if row.id and row.id in seen:
            problems.append(Fact("id_twice", id=row.id, line=seen[row.id]))
        seen[row.id] = line
        wrong += [Fault(file=file, fact=problem, line=line) for problem in problems]
        if not problems:
            rows.append(row)
    return rows, unreadable + wrong


def _row(cells: Mapping[str, str], line: int) -> tuple[Row, list[Fact]]:
    problems = []
    what = cells["what"].lower()
    what = ALIASES.get(what, what)
    if not cells["id"][:1].isalpha():
        problems.append(Fact("id_without_letter", id=cells["id"], like=f"r{line}"))
    try:
        day = read_day(cells["date"])
    except Miswritten as error:
        day = date.min
        problems.append(error.fact)
    count = cells.get("count", "")
    if count and not re.fullmatch(LONGEST_COUNT, count):
        problems.append(Fact("count_unreadable", given=count, meant=count_meant(count)))
        count = "1"  # stands in for it, so that one fault is told once
    row = Row(
        id=cells["id"],
        day=day,
        what=intern(what),  # the same words stand in thousands of rows
        lot=intern(cells.get("lot", "").lower()),
        variety=cells.get("variety", ""),
        count=int(count) if count else None,
        stage=cells.get("stage", "").lower(),
        bin=intern(cells.get("bin", "")),
        value=cells.get("value", ""),
        refers=cells.get("refers", ""),
        note=cells.get("note", ""),
        logged_at=cells.get("logged_at", ""),
        line=line,
    )
    if what not in EVENTS:
        problems.append(Fact("no_event", what=cells["what"], near=nearest(what, EVENTS)))
        return row, problems
    return row, problems + row_problems(row)


def row_problems(row: Row) -> list[Fact]:
    """What is wrong with a row by itself, told by the table of events."""
    event = row.event
    return [
        *_unreadable(row),
        *_count_problems(row, event),
        *_bin_problems(row, event),
        *_stage_problems(row, event),
        *_refers_problems(row, event),
        *_target_problems(row, event),
        *_value_problems(row, event),
    ]


def _unreadable(row: Row) -> Iterator[Fact]:
    """Cells that say nothing whatever the event is."""
    longest = max(map(len, row.cells()))
    if longest > _LETTERS:
        yield Fact("too_many_letters", letters=longest, most=_LETTERS)
    if row.lot and not LOT_ID.fullmatch(row.lot):
        yield Fact("not_a_lot", lot=row.lot)
    if row.stage and row.stage not in STAGES:
        yield Fact("no_stage", stage=row.stage, near=nearest(row.stage, STAGES))


def _count_problems(row: Row, event: Event) -> Iterator[Fact]:
    if row.count is None:
        if event.count == "must":
            yield Fact("needs_count", what=row.what)
        return
    if event.count == "no":
        yield Fact("takes_none", what=row.what, column="count")
    if row.count > MOST:
        yield Fact("count_too_large", count=row.count, most=MOST)
    # None on the card, and none of the cuttings with a sign that was looked for, say something.
    of_a_lot = event.kind == "sign" and event.target != "crop"
    if row.count == 0 and row.what not in ("counted", "gnats") and not of_a_lot:
        yield Fact("count_zero")


def _bin_problems(row: Row, event: Event) -> Iterator[Fact]:
    if not row.bin:
        if event.bin == "must" or event.target == "bin":
            yield Fact("needs_bin", what=row.what)
    elif event.bin == "no" and event.target == "lots_or_bin" and row.lot:
        yield Fact("no_bin_beside_lot", what=row.what)
    elif event.bin == "no" and event.target not in ("bin", "lots_or_bin"):
        yield Fact("takes_no_bin", what=row.what)


def _stage_problems(row: Row, event: Event) -> Iterator[Fact]:
    if row.stage and event.kind != "step" and not (event.kind == "job" and event.takes_from):
        yield Fact("takes_none", what=row.what, column="stage")
    elif row.stage in STAGES and event.kind == "job" and row.stage not in event.takes_from:
        yield Fact("job_of_other_stage", what=row.what, stages=event.takes_from, stage=row.stage)


def _refers_problems(row: Row, event: Event) -> Iterator[Fact]:
    if event.refers == "must" and not row.refers:
        yield Fact("needs_row" if row.what == "void" else "needs_other_lot", what=row.what)
    if event.refers == "no" and row.refers and event.name not in ("taken", "received"):
        yield Fact("takes_none", what=row.what, column="refers")


def _target_problems(row: Row, event: Event) -> Iterator[Fact]:
    if event.target == "variety" and not (row.variety or row.lot):
        yield Fact("needs_variety", what=row.what)
    if event.target in ("lot", "lots") and not row.lot and not (row.what == "stuck" and row.variety):
        yield Fact("needs_lot", what=row.what)
    if event.target == "lots_or_bin" and not (row.lot or row.bin):
        yield Fact("needs_lot_or_bin", what=row.what)
    if event.target == "crop" and not row.value:
        yield Fact("needs_crop", what=row.what)


def _value_problems(row: Row, event: Event) -> Iterator[Fact]:
    value = row.value
    if event.target == "crop":
        return
    if not value:
        if event.value == "must":
            yield Fact("needs_value", what=row.what, value_kind=event.value_kind)
    elif event.value == "no":
        yield Fact("takes_no_value", what=row.what, value=value)
    elif event.value_kind == "words" and value.lower() not in event.words:
        yield Fact("no_such_value", what=row.what, value=value, near=nearest(value, event.words))
    elif value.lower() not in event.words:
        try:
            if event.value_kind == "date":
                read_day(value)
            if event.value_kind in _QUANTITIES:
                units.parse(value, _QUANTITIES[event.value_kind])
            if event.target == "bin" and event.value_kind == "temperature":
                units.parse_warmth(value)
        except Miswritten as error:
            yield error.fact


def count_meant(text: str) -> int | None:
    """The whole number a spreadsheet wrote as 12.0 or 1,200."""
    plain = re.fullmatch(r"([0-9]{1,3}(?:,[0-9]{3})+|[0-9]{1,6})(?:\.0*)?", text)
    return int(plain[1].replace(",", "")) if plain else None


def undone_by(rows: Sequence[Row]) -> dict[str, str]:
    """The rows that do not count, each with the row that undoes it: one that is undone itself undoes nothing.

    Read from the end, as what undoes an undoing stands beneath it.
    """
    found: dict[str, str] = {}
    for row in reversed(rows):
        if row.what == "void" and row.id not in found:
            found.setdefault(row.refers, row.id)
    return found


def not_voided(rows: Sequence[Row]) -> list[Row]:
    """The rows that count, in order of date, then line."""
    gone = undone_by(rows)
    left = [row for row in rows if row.what != "void" and row.id not in gone]
    return sorted(left, key=lambda row: (row.day, row.line or 10**9))


def wrong_voids(rows: Sequence[Row], file: str = FILE) -> list[Fault]:
    """Voids that name no row, or an undoing beneath them."""
    faults: list[Fault] = []
    if not any(row.what == "void" for row in rows):
        return faults
    places = {row.id: place for place, row in enumerate(rows)}
    for place, row in enumerate(rows):
        if row.what != "void":
            continue
        if row.refers not in places:
            fact = Fact("no_row", row=row.refers, near=nearest(row.refers, places))
            faults.append(Fault(file=file, fact=fact, line=row.line))
        elif rows[places[row.refers]].what == "void" and places[row.refers] >= place:
            faults.append(Fault(file=file, fact=Fact("void_of_later", row=row.refers), line=row.line))
    return faults


def as_read(rows: Sequence[Row]) -> list[Row]:
    """Rows as they are read again once they are written."""
    return rows_of(row.cells() for row in rows)


def rows_of(rows: Iterable[Cells]) -> list[Row]:
    """Rows from their cells; those that are none are left out."""
    text = as_lines(COLUMNS, COLUMNS, [COLUMNS, *rows])
    return [replace(row, line=0) for row in read_rows(text.encode("utf-8", "replace").decode())[0]]


def _edited(copied: Mapping[str, str], row: Mapping[str, str]) -> bool:
    """Whether a row of the same id is the one copied, as a person changed it: logged at the same moment, or alike."""
    stamp = copied["logged_at"]
    return not stamp or stamp == row["logged_at"] or {**copied, "logged_at": ""} == {**row, "logged_at": ""}


TABLE = Table(name=FILE, columns=COLUMNS, stamped=True, wrong=lambda cells, line: _row(cells, line)[1], edited=_edited)
