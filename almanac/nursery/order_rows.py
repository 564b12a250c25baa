"""From the text of `orders.csv` to its rows, each checked by itself and against the first row of its order. Pure.

The first row of an order says what is promised. What becomes of it is said by later rows of the same order, whose
`done` holds the day so many were shipped, or `cancelled`, or `reopened` where a shipment was undone; a person may as
well fill in `done` of the first row, which then settles all of it.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Literal

from almanac.faults import Fault, clipped, suggestion
from almanac.nursery.logbook import LONGEST_COUNT, MOST, count_meant, read_day, torn_tail
from almanac.nursery.varieties import read_table

FILE, BACKUP, TORN = "orders.csv", "orders.backup.csv", "orders.torn.txt"
COLUMNS = ("order", "date", "variety", "form", "count", "ship_by", "country", "region", "done", "note")
Form = Literal["dormant", "rooted"]
FORMS: tuple[Form, ...] = ("dormant", "rooted")
CANCELLED, REOPENED = "cancelled", "reopened"
ORDER_ID = re.compile(r"[A-Za-z0-9][A-Za-z0-9_-]{0,19}")


@dataclass(frozen=True)
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


def cut_short(text: str) -> str:
    """The last line where a write was cut short, be it the header of a new file; else empty."""
    if text and ",".join(COLUMNS).startswith(text):
        return text
    return torn_tail(text, stamped=False)


def read_orders(text: str, varieties: Collection[str], file: str = FILE) -> tuple[list[OrderRow], list[Fault]]:
    """Every row in file order, and every fault with its line."""
    text = text.removesuffix(cut_short(text))
    if not text.strip("\ufeff, \t\r\n"):
        return [], []
    table, faults = read_table(text, file, COLUMNS, COLUMNS)
    rows: list[OrderRow] = []
    if any("column" in fault.text for fault in faults):
        return rows, faults
    first: dict[str, OrderRow] = {}
    for line, cells in table:
        row, problems = _row(cells, line, varieties)
        earlier = first.setdefault(order_key(row.order), row)
        problems += _later_problems(row, earlier) if earlier is not row else _first_problems(row, cells)
        faults += [Fault(file, problem, line) for problem in dict.fromkeys(problems)]
        if not problems:
            rows.append(row)
    return rows, faults or list(_too_many_settled(rows, file))


def _row(cells: Mapping[str, str], line: int, varieties: Collection[str]) -> tuple[OrderRow, list[str]]:
    problems: list[str] = []
    name, number, form, count = cells["order"], cells["variety"], cells["form"].lower(), cells["count"]
    if not name:
        problems.append("has no order's number; write one that no other has, such as 12")
    elif not ORDER_ID.fullmatch(name):
        problems.append(
            f"order '{clipped(name)}' is not an order's number; write one such as 12, letters, digits, - and _ alone"
        )
    number = number.lstrip("0") or number
    if number and number not in varieties:
        near = suggestion(number, varieties) or "; add it there first"
        problems.append(f"variety '{clipped(number)}' is not in varieties.csv{near}")
    if form not in (*FORMS, ""):
        problems.append(f"'{clipped(cells['form'])}' is not a form{suggestion(form, FORMS)}")
    if count and not re.fullmatch(LONGEST_COUNT, count):
        problems.append(f"count '{clipped(count)}' is not a whole number{count_meant(count)}")
        count = "1"  # stands in for it, so that one fault is told once
    if count and not 1 <= int(count) <= MOST:
        problems.append(f"count {int(count)} is not from 1 to {MOST}; check the digits")
    day = _day(cells["date"], problems)
    row = OrderRow(
        name,
        day or date.min,
        number,
        form if form in FORMS else "",
        int(count) if count else None,
        _day(cells["ship_by"], problems, "ship_by") if cells["ship_by"] else None,
        cells["country"],
        cells["region"],
        _done(cells["done"], problems),
        cells["note"],
        line,
    )
    if row.ship_by and day and row.ship_by < day:
        problems.append(f"ship_by {row.ship_by} is before {day}, the day it was ordered; check both")
    return row, problems


def _day(text: str, problems: list[str], column: str = "") -> date | None:
    try:
        return read_day(text)
    except ValueError as error:
        problems.append(f"{column} {error}".strip())
        return None


def _done(text: str, problems: list[str]) -> date | str:
    lowered = text.lower()
    if lowered in ("", CANCELLED, REOPENED):
        return lowered
    if lowered == "canceled":
        return CANCELLED
    try:
        return read_day(text)
    except ValueError as error:
        wrong = str(error).partition(";")
        near = suggestion(text, (CANCELLED, REOPENED)) if text[:1].isalpha() else ""
        if "did you mean" in near:
            problems.append(f"done '{clipped(text)}' is not known{near}")
        else:
            day = wrong[2].removeprefix(" write it like ") if wrong[2] else "2026-02-24"
            problems.append(
                f"done '{clipped(text)}' is neither a day nor {CANCELLED}; write the day it was shipped, such as {day}"
            )
        return ""


def _first_problems(row: OrderRow, cells: Mapping[str, str]) -> list[str]:
    """What the row that places an order must say."""
    found = []
    if row.done == REOPENED:
        found.append(f"order {row.order} has no row before this one; {REOPENED} stands in a later row of an order")
    if not row.number:
        found.append(f"order {row.order} needs a variety's number, such as 7")
    if not cells["form"]:
        found.append(f"order {row.order} needs a form; write dormant or rooted")
    if row.count is None:
        found.append(f"order {row.order} needs a count; add how many")
    return found


def _later_problems(row: OrderRow, first: OrderRow) -> list[str]:
    """What a later row of an order may say: what became of it, and nothing else."""
    if row.done == "":
        also = f"order '{row.order}' is also on line {first.line}"
        return [f"{also}; give this one another number, or say in done when it was shipped"]
    if row.number and row.number != first.number:
        return [f"order {row.order} is of variety {first.number} (line {first.line}), not {row.number}; write the same"]
    if row.form and row.form != first.form:
        return [f"order {row.order} is {first.form} (line {first.line}), not {row.form}; write the same"]
    return []


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
            text = _settled_wrong(row.order, first.count or 0, shipped, cancelled)
            if text:
                yield Fault(file, text, row.line)
                break


def _settled_wrong(order: str, count: int, shipped: int, cancelled: int) -> str:
    if shipped < 0:
        return f"order {order} has nothing shipped that could be {REOPENED} here; mend one count"
    if shipped + cancelled > count:
        return f"order {order} is for {count}, and {shipped + cancelled} are shipped or cancelled by this row; mend one"
    return ""
