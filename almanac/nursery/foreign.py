"""From a file as a spreadsheet saved it to rows as the nursery's own files hold them, understood once as a whole. Pure.

Separator, encoding and the order of day and month are those of the whole file, never of a row: one date that only fits
one order decides for all, and where none does, or two contradict one another, it is said instead of guessed.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator, Mapping
from datetime import date
from typing import Final, Literal

from almanac.faults import Fact, Fault, nearest
from almanac.nursery import logbook, order_rows, varieties
from almanac.nursery.logbook import count_meant
from almanac.nursery.tables import MARK, is_moment
from almanac.plain import dataclass

Kind = Literal["logbook", "varieties", "orders"]
DateOrder = Literal["dmy", "mdy"]
ORDERS: Final[tuple[DateOrder, ...]] = ("dmy", "mdy")
COLUMNS: Final[dict[Kind, tuple[str, ...]]] = {
    "logbook": logbook.COLUMNS,
    "varieties": varieties.COLUMNS,
    "orders": order_rows.COLUMNS,
}
_NEEDED: Final[dict[Kind, tuple[str, ...]]] = {
    "logbook": ("date", "what"),
    "varieties": ("number", "name", "crop"),
    "orders": ("date", "variety", "form", "count"),
}
_DATES: Final[dict[Kind, tuple[str, ...]]] = {
    "logbook": ("date", "value"),
    "varieties": (),
    "orders": ("date", "ship_by", "done"),
}
_WHOLE: Final = ("count", "variety", "number", "order", "wanted")
_SEPARATORS: Final = (",", ";", "\t", "|")
_MONTHS: Final = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_CLOCK: Final = r"(?:[T ]+[0-9]{1,2}:[0-9.:]+(?: ?[AaPp]\.?[Mm]\.?)?)?"
_YEAR_FIRST: Final = re.compile(rf"([0-9]{{4}})[-/.] ?([0-9]{{1,2}})[-/.] ?([0-9]{{1,2}})\.?{_CLOCK}")
_YEAR_LAST: Final = re.compile(rf"([0-9]{{1,2}})[-/.] ?([0-9]{{1,2}})[-/.] ?([0-9]{{4}}|[0-9]{{2}}){_CLOCK}")
_NAMED: Final = re.compile(r"([0-9]{1,2})\.?[- ]([A-Za-z]{3,9})\.?,?[- ]([0-9]{4}|[0-9]{2})")
_NAMED_FIRST: Final = re.compile(r"([A-Za-z]{3,9})\.? ([0-9]{1,2}),? ([0-9]{4})")


@dataclass(frozen=True, kw_only=True)
class Understood:
    """A file as it is taken: which table, its rows by their lines, and by what they were read.

    `order` is empty where no date needs one; `decided` is the line that decided it, `doubt` a date that may be read
    both ways while none decides, with its line. `left_out` are columns that the table has not.
    """

    kind: Kind
    rows: tuple[tuple[int, tuple[str, ...]], ...]
    separator: str
    encoding: str
    order: DateOrder | Literal[""] = ""
    decided: int | None = None
    doubt: tuple[int, str] | None = None
    left_out: tuple[str, ...] = ()

    def named(self, cells: tuple[str, ...]) -> dict[str, str]:
        """Cells by their column."""
        return dict(zip(COLUMNS[self.kind], cells, strict=True))


def understand(
    data: bytes, file: str, today: date, wished: DateOrder | None = None, known: Mapping[str, date] | None = None
) -> tuple[Understood | None, list[Fault]]:
    """What a file says.

    Args:
        data: its bytes
        file: the name to show
        today: nothing was logged or ordered after it, which may tell day and month apart
        wished: the order of day and month, where the grower says it
        known: days of rows by their id, from the logbook's copy, which may tell it, too
    Returns:
        the file as taken, None where it is no table of a nursery; and its faults
    """
    text, encoding = _decoded(data)
    found = [(separator, *_table(text, separator)) for separator in _SEPARATORS]
    separator, kind, header, lines = max(found, key=lambda each: _known_in(each[1], each[2]))
    if kind is None:
        return None, [Fault(file=file, fact=Fact("no_such_table", columns=tuple(COLUMNS)), line=1)]
    columns = COLUMNS[kind]
    faults = [Fault(file=file, fact=fact, line=1) for fact in _header_wrong(header, kind)]
    rows = [(line, dict(zip(header, cells, strict=False))) for line, cells in lines]
    dates = list(_dates_in(rows, kind))
    order, decided, doubt, contradiction = _order_of(dates, rows, today, known or {})
    if wished:
        order, decided, doubt = wished, None, None
    elif contradiction:
        faults.append(Fault(file=file, fact=Fact("dates_contradict", lines=contradiction)))
    as_dates = {(line, name) for line, name, _ in dates}
    taken = []
    for line, row in rows:
        plain = {name: _plain(name, row.get(name, ""), separator) for name in columns}
        for name in _DATES[kind]:
            day = _day(plain[name], order or "dmy") if (line, name) in as_dates else None
            plain[name] = day.isoformat() if day else plain[name]
        taken.append((line, tuple(plain.values())))
    left_out = tuple(name for name in header if name and name not in columns)
    return Understood(
        kind=kind,
        rows=tuple(taken),
        separator=separator,
        encoding=encoding,
        order=order,
        decided=decided,
        doubt=doubt,
        left_out=left_out,
    ), faults


def _decoded(data: bytes) -> tuple[str, str]:
    """The text, and how it was written; a spreadsheet writes UTF-8, UTF-16 with a mark, or its own code page."""
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return data.decode("utf-16", "replace"), "UTF-16"
    try:
        return data.decode("utf-8-sig"), "UTF-8"
    except UnicodeDecodeError:
        return data.decode("cp1252", "replace"), "Windows-1252"


def _table(text: str, separator: str) -> tuple[Kind | None, list[str], list[tuple[int, list[str]]]]:
    """The table a text is with a separator: which one, its header, and its other rows by their lines."""
    plain = text.lstrip(MARK)
    if re.match(r"sep=.\r?\n", plain):  # how one spreadsheet tells itself what parts the columns
        plain = "\n" + plain.partition("\n")[2]
    reader = csv.reader(io.StringIO(plain.replace("\r\n", "\n").replace("\r", "\n")), delimiter=separator)
    lines, at = [], 1
    try:
        for cells in reader:
            first, at = at, reader.line_num + 1
            stripped = [" ".join(cell.split()) for cell in cells]
            if any(stripped):
                lines.append((first, stripped))
    except csv.Error:
        return None, [], []
    header = [cell.lower().replace(" ", "_") for cell in lines[0][1]] if lines else []
    kind = max(_NEEDED, key=lambda each: _known_in(each, header))
    return (kind if _known_in(kind, header) >= 2 else None), header, lines[1:]


def _known_in(kind: Kind | None, header: list[str]) -> int:
    """How many columns of a table a header has, those it needs counted twice."""
    return sum(name in header for name in (*COLUMNS[kind], *_NEEDED[kind])) if kind else 0


def _header_wrong(header: list[str], kind: Kind) -> Iterator[Fact]:
    columns = COLUMNS[kind]
    for name in columns:
        if header.count(name) > 1:
            yield Fact("column_twice", column=name)
    for name in header:
        near = nearest(name, [each for each in columns if each not in header]) if name not in columns else None
        if name and near and near.word:
            yield Fact("not_a_column", column=name, near=near)
    for name in _NEEDED[kind]:
        if name not in header:
            yield Fact("no_column", column=name, columns=columns)
            return


def _dates_in(rows: list[tuple[int, dict[str, str]]], kind: Kind) -> Iterator[tuple[int, str, str]]:
    """The cells that hold a date, each with its line and column; a value does where it says when a lot is planned."""
    for line, row in rows:
        for name in _DATES[kind]:
            if row.get(name) and (name != "value" or row.get("what", "").lower() == "planned"):
                yield line, name, row[name]


def _order_of(
    dates: list[tuple[int, str, str]], rows: list[tuple[int, dict[str, str]]], today: date, known: Mapping[str, date]
) -> tuple[DateOrder | Literal[""], int | None, tuple[int, str] | None, tuple[int, ...]]:
    """Which order the dates have, which line decided it; or a date in doubt; or the lines that contradict another."""
    against: dict[DateOrder, int] = {}  # the first line at which an order cannot be
    ids = {line: row.get("id", "") for line, row in rows}
    doubt: tuple[int, str] | None = None
    for line, name, cell in dates:
        read = {order: _day(cell, order) for order in ORDERS} if _YEAR_LAST.fullmatch(cell) else {}
        if len(set(read.values())) < 2:
            continue
        doubt = doubt or (line, cell)
        done = name == "date"  # on a day that is over, and which the copy may know
        copied = known.get(ids[line]) if done else None
        for order, day in read.items():
            if day is None or (done and day > today) or (copied is not None and day != copied):
                against.setdefault(order, line)
    if doubt is None:
        return "", None, None, ()
    left = [order for order in ORDERS if order not in against]
    if len(left) == 1:
        return left[0], next(iter(against.values())), None, ()
    return "", None, (doubt if left else None), (tuple(sorted(against.values())) if not left else ())


def _day(cell: str, order: DateOrder) -> date | None:
    """A date as spreadsheets and people write it."""
    try:
        if match := _YEAR_FIRST.fullmatch(cell):
            return date(int(match[1]), int(match[2]), int(match[3]))
        if match := _YEAR_LAST.fullmatch(cell):
            one, two = int(match[1]), int(match[2])
            return date(_year(match[3]), *((two, one) if order == "dmy" else (one, two)))
        if match := _NAMED.fullmatch(cell):
            return date(_year(match[3]), _MONTHS.index(match[2][:3].lower()) + 1, int(match[1]))
        if match := _NAMED_FIRST.fullmatch(cell):
            return date(int(match[3]), _MONTHS.index(match[1][:3].lower()) + 1, int(match[2]))
    except ValueError:
        return None
    return None


def _year(written: str) -> int:
    return int(written) if len(written) == 4 else 2000 + int(written)


def _plain(name: str, cell: str, separator: str) -> str:
    """A cell as the nursery's files hold it: whole numbers as digits, a moment only where it is one."""
    if name in _WHOLE:
        text = re.sub(r"[,.]0+$", "", cell) if re.fullmatch(r"[0-9]{1,6}[,.]0+", cell) else cell
        grouped = re.fullmatch(r"[0-9]{1,3}(?:[.  ’'][0-9]{3})+", text)
        meant = int(re.sub(r"\D", "", text)) if grouped and separator != "," else count_meant(text)
        return text if meant is None or text.isdigit() else str(meant)
    if name == "logged_at":
        return cell if is_moment(cell) else ""
    return cell
