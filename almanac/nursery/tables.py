"""The text of the nursery's tables: rows, each with its line; and of those only ever added to, a line cut short. Pure.

`logbook.csv` and `orders.csv` are added to alone, and each has a copy. All that is the same for both stands here, in
`copies` and in `append`; what a row of theirs may say, in `logbook` and `order_rows`.

`append` writes all files of one entry or takes back what it wrote, so no failure leaves a row that the grower was told
is not there. While a copy has rows that the table lacks (`Nursery.missing`), nothing new is published. Mending writes
the copy first, with all that is to stand in the table, so it may be cut off anywhere and done again.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from datetime import datetime

from almanac.faults import Fact, Fault, nearest
from almanac.plain import dataclass

Cells = tuple[str, ...]
MARK = "\ufeff"  # a byte order mark; some programs write one more each time they save


@dataclass(frozen=True, kw_only=True)
class Table:
    """A table that is only ever added to. The first column names the row or, in later rows, what it is about.

    Args:
        name: of its file
        columns: in the order the program writes them
        stamped: each row has an id of its own, and ends with the moment it was logged
        wrong: what is wrong with a row by itself
        edited: whether one row of a name is another as a person changed it
    """

    name: str
    columns: Cells
    stamped: bool
    wrong: Callable[[Mapping[str, str], int], Sequence[Fact]]
    edited: Callable[[Mapping[str, str], Mapping[str, str]], bool]

    @property
    def backup(self) -> str:
        return self.name.replace(".", ".backup.")

    @property
    def torn(self) -> str:
        """Where a line cut short is set aside."""
        return self.name.replace(".csv", ".torn.txt")

    def named(self, cells: Cells) -> dict[str, str]:
        """Cells by their column."""
        return dict(zip(self.columns, cells, strict=True))

    def cut_short(self, text: str) -> str:
        """The last line where a write was cut short, be it the header of a new file; else empty."""
        header = ",".join(self.columns)
        return text if text != header and header.startswith(text) else torn_tail(text, stamped=self.stamped)


def torn_tail(text: str, *, stamped: bool = True) -> str:
    """The last line where a write was cut short: no newline, and less than a whole row. Else empty.

    The program writes each row on one line: what began on an earlier line was written by another, and is whole.
    `stamped` says that a whole row ends with the moment it was written, or with nothing.
    """
    before, _, tail = text.rpartition("\n")
    if not tail.strip() or not before or before.count('"') % 2:
        return ""
    try:
        cells = next(csv.reader([tail]), [])
    except csv.Error:
        return ""  # read as a row it is a fault of its own
    whole = len(cells) >= len(header_of(before)) and (not stamped or not cells[-1] or is_moment(cells[-1]))
    return "" if whole else tail


def header_of(text: str) -> list[str]:
    """The names of the columns, in the order the file has them; none where the line cannot be read."""
    first = next((line for line in text.split("\n") if line.strip(f", \t\r{MARK}")), "")
    try:
        return [cell.strip().lower() for cell in next(csv.reader([first.lstrip(MARK)]), [])]
    except csv.Error:
        return []


def is_moment(text: str) -> bool:
    """Whether a text is a moment as rows are stamped with it."""
    try:
        return datetime.fromisoformat(text).tzinfo is not None
    except ValueError:
        return False


def read_table(
    text: str, file: str, columns: Collection[str], needed: Iterable[str]
) -> tuple[list[tuple[int, dict[str, str]]], list[Fault]]:
    """The rows of a CSV table with their line numbers; short rows, unknown and missing columns are faults."""
    faults: list[Fault] = []
    return list(each_row(text, file, columns, needed, faults)), faults


def each_row(
    text: str, file: str, columns: Collection[str], needed: Iterable[str], faults: list[Fault]
) -> Iterator[tuple[int, dict[str, str]]]:
    """The same one by one, as a logbook of many winters has many; `faults` are added to."""
    reader = csv.reader(io.StringIO(text.lstrip(MARK)), strict=True)
    header: list[str] = []
    line, before = 1, len(faults)
    try:
        for cells in reader:
            first, line = line, reader.line_num + 1
            cells = [cell.strip() for cell in cells]
            if not any(cells):
                continue
            if not header:
                header = [cell.lower() for cell in cells]
                faults += _header_faults(header, file, first, columns, needed)
                if len(faults) > before:
                    return
            elif len(cells) > len(header) and any(cells[len(header) :]):
                faults.append(
                    Fault(file=file, fact=Fact("too_many_cells", cells=len(cells), columns=len(header)), line=first)
                )
            else:
                yield first, dict(zip(header, cells + [""] * (len(header) - len(cells)), strict=False))
    except csv.Error as error:
        faults.append(Fault(file=file, fact=_unreadable(str(error)), line=line))
    if not header and len(faults) == before:
        faults.append(Fault(file=file, fact=Fact("no_header", columns=tuple(columns)), line=1))


def _unreadable(error: str) -> Fact:
    """What the CSV reader met; it tells its errors apart by their text alone."""
    if "new-line" in error:
        return Fact("other_line_ends")
    if "limit" in error:
        return Fact("endless_cell")
    return Fact("quote_open") if "end of data" in error else Fact("quote_in_quotes")


def _header_faults(
    header: list[str], file: str, line: int, columns: Collection[str], needed: Iterable[str]
) -> list[Fault]:
    if len(header) == 1 and (";" in header[0] or "\t" in header[0]):
        return [Fault(file=file, fact=Fact("no_commas", file=file), line=line)]
    unknown = [name for name in header if name and name not in columns]
    found = [Fact("not_a_column", column=name, near=nearest(name, columns)) for name in unknown]
    found += [Fact("column_twice", column=name) for name in columns if header.count(name) > 1]
    missing = [name for name in needed if name not in header]
    if missing:
        found.append(Fact("no_column", column=missing[0], columns=tuple(columns)))
    return [Fault(file=file, fact=fact, line=line) for fact in found]


def as_lines(header: Sequence[str], columns: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """Rows as lines of a file, in the order of its own header."""
    buffer = io.StringIO()
    writer = csv.writer(buffer, lineterminator="\n")
    for row in rows:
        cells = dict(zip(columns, (in_one_line(cell) for cell in row), strict=True))
        writer.writerow([cells.get(name, "") for name in header])
    return buffer.getvalue()


def in_one_line(cell: str) -> str:
    """A cell as the program writes it."""
    return " ".join(cell.split())


def next_numbers(prefix: str, used: Collection[str], how_many: int) -> list[str]:
    """The next names for rows, a number behind a prefix: after the highest of up to nine digits, and not yet used."""
    known = [int(name[len(prefix) :]) for name in used if re.fullmatch(rf"{prefix}[0-9]{{1,9}}", name)]

    def free() -> Iterator[str]:
        number = max(known, default=0)
        while True:
            number += 1
            if f"{prefix}{number}" not in used:
                yield f"{prefix}{number}"

    names = free()
    return [next(names) for _ in range(how_many)]
