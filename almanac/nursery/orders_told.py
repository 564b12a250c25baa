"""What is told of `orders.csv` beside its rows' own faults: days to come, rows lost, orders not to be sent. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date

from almanac.faults import Fact, Fault
from almanac.nursery.logbook import FILE as LOGBOOK
from almanac.nursery.logbook import Row
from almanac.nursery.order_rows import BACKUP, FILE, TORN, OrderRow, cut_short, order_key
from almanac.nursery.orders import Order
from almanac.nursery.varieties import Variety


def orders_to_come(rows: Iterable[OrderRow], today: date) -> Iterator[Fault]:
    """Orders dated, or said to be shipped, after today."""
    for row in rows:
        for day in (row.day, row.done):
            if isinstance(day, date) and day > today:
                yield Fault(FILE, Fact("order_to_come", day=day, today=today), row.line)


def missing_orders(rows: Sequence[OrderRow], backup: Sequence[OrderRow]) -> list[OrderRow]:
    """Rows the program wrote that `orders.csv` no longer holds: of each order, the last ones more than it has.

    A row that a person changed is there all the same; an order whose first row says that it is done needs no other.
    """
    there: dict[str, list[OrderRow]] = {}
    for row in rows:
        there.setdefault(order_key(row.order), []).append(row)
    found: list[OrderRow] = []
    seen: dict[str, int] = {}
    for row in backup:
        key = order_key(row.order)
        seen[key] = seen.get(key, 0) + 1
        mine = there.get(key, [])
        if seen[key] > len(mine) and not (mine and mine[0].done):
            found.append(replace(row, line=0))
    return found


def order_notices(
    rows: Sequence[OrderRow],
    backup: Sequence[OrderRow],
    orders: Iterable[Order],
    logged: Iterable[Row],
    varieties: Mapping[str, Variety],
    text: str,
) -> Iterator[Fault]:
    """Things to tell that are no faults, each at its place.

    Args:
        rows, backup: of `orders.csv` and its copy
        orders: as they stand
        logged: the rows of the logbook that count
        varieties: by number
        text: of `orders.csv`
    """
    tail = cut_short(text)
    if tail:
        yield Fault(FILE, Fact("torn_order", text=tail, aside=TORN), text.count("\n") + 1)
    missing = missing_orders(rows, backup)
    if missing:
        named = tuple(dict.fromkeys(row.order for row in missing[:8]))
        yield Fault(FILE, Fact("order_rows_missing", count=len(missing), backup=BACKUP, orders=named))
    placed = {order_key(row.order) for row in rows}
    for row in logged:
        if row.what == "sold" and row.refers and order_key(row.refers) not in placed:
            yield Fault(LOGBOOK, Fact("sold_for_no_order", order=row.refers, orders=FILE, row=row.id), row.line)
    for order in orders:
        if order.open and varieties[order.number].protected:
            yield Fault(FILE, Fact("order_of_protected", order=order.id, number=order.number))
