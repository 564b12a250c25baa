"""The nursery as its files say on a day: what everything later is worked out from. Pure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path

from almanac.faults import Fault
from almanac.nursery.logbook import Row, not_voided
from almanac.nursery.lots import Stock
from almanac.nursery.order_rows import OrderRow
from almanac.nursery.orders import Order, orders_of, sold_for_orders
from almanac.nursery.replay import replay
from almanac.nursery.settings import Settings
from almanac.nursery.varieties import Variety
from almanac.rulebook.book import Rulebook
from almanac.site.frost import FrostTable
from almanac.site.nights import Nights
from almanac.site.place import Place


@dataclass(frozen=True)
class Nursery:
    """A nursery as its files say on a day.

    `rows` are those that count and are not dated after `as_of`; `every_row` all in the file, `backup` those of the
    copy. `orders` are those of `order_rows` placed by `as_of`, by their key. `notices` are things to tell that are not
    faults (a torn line, rows missing from the logbook).
    """

    folder: Path
    settings: Settings
    place: Place
    nights: Nights
    book: Rulebook
    varieties: Mapping[str, Variety]
    rows: tuple[Row, ...]
    every_row: tuple[Row, ...]
    backup: tuple[Row, ...]
    stock: Stock
    as_of: date
    today: date
    notices: tuple[Fault, ...] = ()
    order_rows: tuple[OrderRow, ...] = ()
    order_backup: tuple[OrderRow, ...] = ()
    orders: Mapping[str, Order] = field(default_factory=dict)

    @property
    def frost(self) -> FrostTable:
        """The frost table of its site."""
        return self.nights.frost

    def seen(self, rows: Sequence[Row]) -> list[Row]:
        """Of some rows, those that count on `as_of`, in order: undone only by what was logged until then."""
        return not_voided([row for row in rows if row.day <= self.as_of])[0]

    def replayed(self, rows: Sequence[Row]) -> tuple[Stock, list[Fault]]:
        """What the nursery would be with these rows instead of its own."""
        faults = not_voided(rows)[1]
        seen = self.seen(rows)
        methods, crops = list(self.book.methods), list(self.book.crops)
        stock, impossible = replay(seen, self.settings, self.varieties, methods, crops, rows)
        return stock, faults + impossible

    def orders_with(self, rows: Sequence[Row]) -> dict[str, Order]:
        """The orders as they would stand with these rows in the logbook instead of its own."""
        return orders_of(self.order_rows, sold_for_orders(self.seen(rows)), self.as_of)
