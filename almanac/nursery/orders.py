"""Orders as they stand on a day: what is promised, how much of each is shipped, cancelled or still open. Pure.

Shipping is told twice: by the logbook's `sold` rows that refer to an order, and by a row of `orders.csv` for the person
who opens that. Whichever says more counts: so a shipment whose second half was cut short by a power cut is still known.

The first row of an order is never edited: what becomes of it is a later row of the same id, so that a spreadsheet shows
the whole story. The logbook is written first when something is shipped and last when that is undone, so a power cut
between neither loses a shipment nor doubles it, and the next command that logs anything makes the two say the same
(`told_in_orders`). A journal of both files would do it as well, but would be a third file that a person cannot read.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date
from typing import cast

from almanac.nursery.logbook import Row
from almanac.nursery.order_rows import CANCELLED, Form, OrderRow, order_key
from almanac.plain import dataclass, replace


@dataclass(frozen=True, kw_only=True)
class Order:
    """What is promised, and what has become of it.

    `noted` is how many `orders.csv` says were shipped, `logged` how many the logbook does; `whole` that its first row
    says it is all done.
    """

    id: str
    day: date
    number: str
    form: Form
    count: int
    ship_by: date | None = None
    country: str = ""
    region: str = ""
    note: str = ""
    noted: int = 0
    logged: int = 0
    cancelled: int = 0
    shipped_on: date | None = None
    whole: bool = False

    @property
    def shipped(self) -> int:
        return max(self.noted, self.logged)

    @property
    def open(self) -> int:
        """How many are still promised."""
        return 0 if self.whole else max(self.count - self.shipped - self.cancelled, 0)


def orders_of(rows: Iterable[OrderRow], logged: Mapping[str, tuple[int, date]], as_of: date) -> dict[str, Order]:
    """Every order by its key as it stood on a day, in file order.

    Args:
        rows: faultless ones
        logged: by an order's key, how many the logbook says were sold for it, and the last day
        as_of: rows of later days are not seen
    """
    found: dict[str, Order] = {}
    to_come: set[str] = set()
    for row in rows:
        key = order_key(row.order)
        if key in to_come:
            continue
        if key in found:
            found[key] = _settled(found[key], row, as_of)
        elif row.day <= as_of:
            found[key] = _placed(row, as_of)
        else:
            to_come.add(key)
    for key, (count, day) in logged.items():
        if key in found:
            order = found[key]
            found[key] = replace(order, logged=count, shipped_on=max(day, order.shipped_on or day))
    return found


def _placed(row: OrderRow, as_of: date) -> Order:
    done = row.done if not isinstance(row.done, date) or row.done <= as_of else ""
    shipped = done if isinstance(done, date) else None
    return Order(
        id=row.order,
        day=row.day,
        number=row.number,
        form=cast(Form, row.form),
        count=row.count or 0,
        ship_by=row.ship_by,
        country=row.country,
        region=row.region,
        note=row.note,
        noted=(row.count or 0) if shipped else 0,
        cancelled=(row.count or 0) if done == CANCELLED else 0,
        shipped_on=shipped,
        whole=bool(done),
    )


def _settled(order: Order, row: OrderRow, as_of: date) -> Order:
    """An order after a later row of it."""
    if order.whole or row.day > as_of or (isinstance(row.done, date) and row.done > as_of):
        return order
    left = order.count - order.noted - order.cancelled
    if isinstance(row.done, date):
        return replace(order, noted=order.noted + (row.count or left), shipped_on=row.done)
    if row.done == CANCELLED:
        return replace(order, cancelled=order.cancelled + (row.count or left))
    return replace(order, noted=max(order.noted - (row.count or order.noted), 0))


def sold_for_orders(rows: Iterable[Row]) -> dict[str, tuple[int, date]]:
    """By an order's key, how many were logged as sold for it, and the last day.

    Args:
        rows: those that count
    """
    found: dict[str, tuple[int, date]] = {}
    for row in rows:
        if row.what == "sold" and row.refers:
            count, day = found.get(order_key(row.refers), (0, row.day))
            found[order_key(row.refers)] = count + (row.count or 0), max(day, row.day)
    return found
