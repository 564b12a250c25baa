"""The nursery as its files say on a day: what everything later is worked out from. Pure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import field, replace
from datetime import date
from pathlib import Path

from almanac.faults import Fault
from almanac.nursery.copies import Difference
from almanac.nursery.logbook import FILE as LOGBOOK
from almanac.nursery.logbook import Row, not_voided, rows_of, wrong_voids
from almanac.nursery.lots import Stock
from almanac.nursery.mothers import mothers_of
from almanac.nursery.order_rows import OrderRow
from almanac.nursery.orders import Order, orders_of, sold_for_orders
from almanac.nursery.replay import go_on, replay
from almanac.nursery.settings import Mother, Settings
from almanac.nursery.tables import next_numbers
from almanac.nursery.varieties import Variety
from almanac.plain import dataclass
from almanac.rulebook.book import Rulebook
from almanac.site.frost import FrostTable
from almanac.site.nights import Nights
from almanac.site.place import Place
from almanac.units import System


@dataclass(frozen=True, kw_only=True)
class Nursery:
    """A nursery as its files say on a day.

    `rows` are those that count and are not dated after `as_of`; `every_row` all in the file. `orders` are those of
    `order_rows` placed by `as_of`, by their key. `apart` says, by a table's name, what it and its copy do not agree in;
    `missing` what was logged and is not there: while there is any, nothing new may be published. `notices` are things
    to tell that are not faults (a torn line, rows missing). While `rules_wrong` names any, files of the nursery's own
    rules are at fault and others stand in for them: what is done can be logged, and nothing may be planned.
    """

    folder: Path
    settings: Settings
    place: Place
    nights: Nights
    book: Rulebook
    varieties: Mapping[str, Variety]
    rows: tuple[Row, ...]
    every_row: tuple[Row, ...]
    stock: Stock
    as_of: date
    today: date
    notices: tuple[Fault, ...] = ()
    order_rows: tuple[OrderRow, ...] = ()
    orders: Mapping[str, Order] = field(default_factory=dict)
    apart: Mapping[str, Difference] = field(default_factory=dict)
    missing: tuple[Fault, ...] = ()
    rules_wrong: tuple[Fault, ...] = ()

    @property
    def name(self) -> str:
        """What the nursery is called."""
        return self.settings.nursery.name

    @property
    def units(self) -> System:
        """What it measures in."""
        return self.settings.nursery.units

    @property
    def frost(self) -> FrostTable:
        """The frost table of its site."""
        return self.nights.frost

    @property
    def mothers(self) -> tuple[Mother, ...]:
        """The plants that wood is cut from: named in the settings, or kept."""
        return mothers_of(self.settings, self.stock.kept)

    def new_ids(self, how_many: int) -> list[str]:
        """Ids for new rows: `r` and the number after the highest used so far, in the logbook or its copy."""
        return next_numbers("r", {*(row.id for row in self.every_row), *(row.id for row in self.lost_rows)}, how_many)

    @property
    def lost_rows(self) -> list[Row]:
        """The rows that the logbook's copy alone has."""
        return rows_of(cells for _, cells in self.apart[LOGBOOK].lost) if LOGBOOK in self.apart else []

    def seen(self, rows: Sequence[Row]) -> list[Row]:
        """Of some rows, those that count on `as_of`, in order: undone only by what was logged until then."""
        return not_voided([row for row in rows if row.day <= self.as_of])

    def on(self, day: date) -> Nursery:
        """The same logbook and orders as seen on another day."""
        other, (first, last) = replace(self, as_of=day), sorted((day, self.as_of))
        if any(first < row.day <= last for row in self.every_row):
            return other.with_rows(self.every_row)[0]
        return replace(other, orders=orders_of(self.order_rows, sold_for_orders(self.rows), day))

    def with_rows(self, rows: Sequence[Row]) -> tuple[Nursery, list[Fault]]:
        """The nursery with these rows in its logbook instead of its own, and what of them cannot have happened."""
        seen = self.seen(rows)
        stock, faults = self._replayed(rows, seen)
        return self._standing(rows, seen, stock), faults

    def with_orders(self, told: Sequence[OrderRow]) -> Nursery:
        """The nursery with more rows of orders."""
        more = (*self.order_rows, *told)
        return replace(self, order_rows=more, orders=orders_of(more, sold_for_orders(self.rows), self.as_of))

    def with_more(self, rows: Sequence[Row]) -> tuple[Nursery, list[Fault]]:
        """The nursery with more rows at the end of its logbook, and what cannot have happened then.

        What comes after all that is seen goes on from what stands there. All is replayed only where the new rows undo
        others or come before them, or cannot be: so that why not is told in full.
        """
        every = (*self.every_row, *rows)
        latest = self.rows[-1].day if self.rows else date.min
        if all(row.what != "void" and latest <= row.day <= self.as_of for row in rows):
            after = sorted(rows, key=lambda row: row.day)
            stock = go_on(self.stock, after, self.settings, self.varieties, *self._known(), every)
            if stock is not None:
                return self._standing(every, (*self.rows, *after), stock), []
        return self.with_rows(every)

    def _standing(self, every: Sequence[Row], seen: Sequence[Row], stock: Stock) -> Nursery:
        orders = orders_of(self.order_rows, sold_for_orders(seen), self.as_of)
        return replace(self, every_row=tuple(every), rows=tuple(seen), stock=stock, orders=orders)

    def _known(self) -> tuple[dict[str, str], dict[str, list[str]]]:
        return self.book.method_places, self.book.crop_methods

    def replayed(self, rows: Sequence[Row]) -> tuple[Stock, list[Fault]]:
        """What the nursery would be with these rows instead of its own."""
        return self._replayed(rows, self.seen(rows))

    def _replayed(self, rows: Sequence[Row], seen: Sequence[Row]) -> tuple[Stock, list[Fault]]:
        stock, impossible = replay(seen, self.settings, self.varieties, *self._known(), rows)
        return stock, wrong_voids(rows) + impossible
