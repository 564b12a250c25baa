"""What is told of `orders.csv` beside its rows' own faults: days to come, orders not to be sent. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from datetime import date

from almanac.faults import Fact, Fault
from almanac.nursery.logbook import FILE as LOGBOOK
from almanac.nursery.logbook import Row
from almanac.nursery.order_rows import FILE, OrderRow, order_key
from almanac.nursery.orders import Order
from almanac.nursery.varieties import Variety


def orders_to_come(rows: Iterable[OrderRow], today: date) -> Iterator[Fault]:
    """Orders dated, or said to be shipped, after today."""
    for row in rows:
        for day in (row.day, row.done):
            if isinstance(day, date) and day > today:
                yield Fault(file=FILE, fact=Fact("order_to_come", day=day, today=today), line=row.line)


def order_notices(
    orders: Iterable[Order], rows: Iterable[OrderRow], logged: Iterable[Row], varieties: Mapping[str, Variety]
) -> Iterator[Fault]:
    """Things to tell that are no faults, each at its place.

    Args:
        orders: as they stand
        rows: of `orders.csv`
        logged: the rows of the logbook that count
        varieties: by number
    """
    placed = {order_key(row.order) for row in rows}
    for row in logged:
        if row.what == "sold" and row.refers and order_key(row.refers) not in placed:
            yield Fault(
                file=LOGBOOK, fact=Fact("sold_for_no_order", order=row.refers, orders=FILE, row=row.id), line=row.line
            )
    for order in orders:
        if order.open and varieties[order.number].protected:
            yield Fault(file=FILE, fact=Fact("order_of_protected", order=order.id, number=order.number))
