"""From the text of `orders.csv` to its rows, each checked by itself and against the first row of its order. Pure.

The first row of an order says what is promised. What becomes of it is said by later rows of the same order, whose
`done` holds the day so many were shipped, or `cancelled`, or `reopened` where a shipment was undone; a person may as
well fill in `done` of the first row, which then settles all of it.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping, Sequence
from datetime import date
from typing import Literal

from almanac.faults import Fact, Fault, Miswritten, nearest
from almanac.nursery.logbook import LONGEST_COUNT, MOST, count_meant, day_meant, read_day
from almanac.nursery.tables import MARK, Table, read_table
from almanac.plain import dataclass

FILE = "orders.csv"
COLUMNS = ("order", "date", "variety", "form", "count", "ship_by", "country", "region", "done", "note")
Form = Literal["dormant", "rooted"]
FORMS: tuple[Form, ...] = ("dormant", "rooted")
CANCELLED, REOPENED = "cancelled", "reopened"
ORDER_ID = re.compile(r"[A-Za-z0-9][A-Za-z0-9_-]{0,19}")


@dataclass(frozen=True, kw_only=True)
class OrderRow:
    """One row as written. `done` is a day, `cancelled`, `reopened` or empty; `count` None where the row gives none."""

    order: str
    day: date
    number: str
    form: Form | Literal[""]
    count: int | None
    ship_by: date | None = None
    country: str = ""
    region: str = ""
    done: date | str = ""
    note: str = ""
    line: int = 0

    def cells(self) -> tuple[str, ...]:
        """The row as the file holds it."""
        count = "" if self.count is None else str(self.count)
        by, done = (each.isoformat() if isinstance(each, date) else each or "" for each in (self.ship_by, self.done))
        return (
            *(self.order, self.day.isoformat(), self.number, self.form, count),
            *(by, self.country, self.region, done, self.note),
        )


def order_key(order: str) -> str:
    """An order's id whatever its case and leading zeros: a spreadsheet drops those."""
    return order.lower().lstrip("0") or order.lower()


def paper_noted(note: str, paper: str) -> bool:
    """Whether a note gives the number of a paper: `permit 1234`, `certificate no. A-17`."""
    return bool(re.search(rf"{re.escape(paper)}\b\W*(?:no\b|number\b|nr\b)?\W*[\w/-]*\d", note, re.IGNORECASE))


def read_orders(text: str, varieties: Collection[str], file: str = FILE) -> tuple[list[OrderRow], list[Fault]]:
    """Every row in file order, and every fault with its line."""
    text = text.removesuffix(TABLE.cut_short(text))
    if not text.strip(f"{MARK}, \t\r\n"):
        return [], []
    table, faults = read_table(text, file, COLUMNS, COLUMNS)
    rows: list[OrderRow] = []
    first: dict[str, OrderRow] = {}
    for line, cells in table:
        row, problems = _row(cells, line, varieties)
        earlier = first.setdefault(order_key(row.order), row)
        problems += _later_problems(row, earlier) if earlier is not row else _first_problems(row, cells)
        faults += [Fault(file=file, fact=problem, line=line) for problem in dict.fromkeys(problems)]
        if not problems:
            rows.append(row)
    return rows, faults or list(_too_many_settled(rows, file))


def _row(cells: Mapping[str, str], line: int, varieties: Collection[str] | None) -> tuple[OrderRow, list[Fact]]:
    problems: list[Fact] = []
    name, number, form, count = cells["order"], cells["variety"], cells["form"].lower(), cells["count"]
    if not name:
        problems.append(Fact("order_unnumbered"))
    elif not ORDER_ID.fullmatch(name):
        problems.append(Fact("not_an_order", order=name))
    number = number.lstrip("0") or number
    if varieties is not None and number and number not in varieties:
        problems.append(Fact("no_variety", number=number, near=nearest(number, varieties)))
    if form not in (*FORMS, ""):
        problems.append(Fact("no_form", form=cells["form"], near=nearest(form, FORMS)))
    if count and not re.fullmatch(LONGEST_COUNT, count):
        problems.append(Fact("count_unreadable", given=count, meant=count_meant(count)))
        count = "1"  # stands in for it, so that one fault is told once
    if count and not 1 <= int(count) <= MOST:
        problems.append(Fact("count_out_of_range", count=int(count), most=MOST))
    day = _day(cells["date"], problems)
    row = OrderRow(
        order=name,
        day=day or date.min,
        number=number,
        form=form if form in FORMS else "",
        count=int(count) if count else None,
        ship_by=_day(cells["ship_by"], problems, "ship_by") if cells["ship_by"] else None,
        country=cells["country"],
        region=cells["region"],
        done=_done(cells["done"], problems),
        note=cells["note"],
        line=line,
    )
    if row.ship_by and day and row.ship_by < day:
        problems.append(Fact("shipped_before_order", ship_by=row.ship_by, ordered=day))
    return row, problems


def _day(text: str, problems: list[Fact], column: str = "") -> date | None:
    try:
        return read_day(text)
    except Miswritten as error:
        problems.append(Fact("in_column", column=column, fact=error.fact) if column else error.fact)
        return None


def _done(text: str, problems: list[Fact]) -> date | str:
    lowered = text.lower()
    if lowered in ("", CANCELLED, REOPENED):
        return lowered
    if lowered == "canceled":
        return CANCELLED
    try:
        return read_day(text)
    except Miswritten:
        near = nearest(text, (CANCELLED, REOPENED))
        if text[:1].isalpha() and near.word:
            problems.append(Fact("done_unknown", done=text, near=near))
        else:
            problems.append(Fact("done_no_day", done=text, like=day_meant(text)))
        return ""


def _first_problems(row: OrderRow, cells: Mapping[str, str]) -> Iterator[Fact]:
    """What the row that places an order must say."""
    if row.done == REOPENED:
        yield Fact("reopened_first", order=row.order)
    if not row.number:
        yield Fact("order_needs_variety", order=row.order)
    if not cells["form"]:
        yield Fact("order_needs_form", order=row.order)
    if row.count is None:
        yield Fact("order_needs_count", order=row.order)


def _later_problems(row: OrderRow, first: OrderRow) -> Iterator[Fact]:
    """What a later row of an order may say: what became of it, and nothing else."""
    if row.done == "":
        yield Fact("order_twice", order=row.order, line=first.line)
    elif row.number and row.number != first.number:
        yield Fact("order_of_other", order=row.order, number=first.number, line=first.line, given=row.number)
    elif row.form and row.form != first.form:
        yield Fact("order_in_other_form", order=row.order, form=first.form, line=first.line, given=row.form)


def _too_many_settled(rows: Sequence[OrderRow], file: str) -> Iterator[Fault]:
    by_order: dict[str, list[OrderRow]] = {}
    for row in rows:
        by_order.setdefault(order_key(row.order), []).append(row)
    for first, *later in by_order.values():
        shipped = cancelled = 0
        for row in [] if first.done else later:
            count = row.count if row.count is not None else (first.count or 0) - shipped - cancelled
            if row.done == REOPENED:
                shipped -= shipped if row.count is None else count
            elif row.done == CANCELLED:
                cancelled += count
            else:
                shipped += count
            ordered, settled = first.count or 0, shipped + cancelled
            if shipped < 0:
                yield Fault(file=file, fact=Fact("nothing_to_reopen", order=row.order), line=row.line)
                break
            if settled > ordered:
                yield Fault(
                    file=file,
                    fact=Fact("settled_too_many", order=row.order, count=ordered, settled=settled),
                    line=row.line,
                )
                break


def _edited(copied: Mapping[str, str], row: Mapping[str, str]) -> bool:
    """Whether a row of the same order is the one copied, as a person changed it: its count, or what is noted of it."""
    same = {name for name in COLUMNS if copied[name].lower() == row[name].lower()}
    return {"date", "variety", "form"} <= same and bool({"count", "note"} & same)


TABLE = Table(
    name=FILE, columns=COLUMNS, stamped=False, wrong=lambda cells, line: _row(cells, line, None)[1], edited=_edited
)
