"""Logbook and orders kept in step: nothing promised is given away unseen, and what was shipped is said in both.

Of the two files the logbook is written first when something is shipped, and last when that is undone: whatever a power
cut leaves, `orders_of` still counts each shipment once, and the next command that logs anything says it in both.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date

from almanac.faults import Fact, Refusal, nearest
from almanac.nursery.events import STAGES, Stage
from almanac.nursery.logbook import Row
from almanac.nursery.nursery import Nursery
from almanac.nursery.order_rows import FORMS, REOPENED, Form, OrderRow, order_key, paper_noted
from almanac.nursery.orders import Order
from almanac.plan.context.law import laws_of_parcel
from almanac.plan.wood.account import account_of
from almanac.plan.wood.ahead import ahead_in
from almanac.plan.wood.forsale import Offer, offer_of
from almanac.words.sentences import listed

# What a grower chooses to do with cuttings; what befalls them is logged whatever was promised.
_GIVEN = ("sold", "gave", "planted", "kept")
_SAME = 0.01  # chances no further apart than this are the same
_CHOSEN = (*_GIVEN, "stuck", "stored")
STAGES_OF: dict[Form, tuple[Stage, ...]] = {"dormant": ("store",), "rooted": ("outside", "pot")}


def at_today(nursery: Nursery) -> Nursery:
    """The nursery with all that was logged and ordered until today, whatever day is looked at.

    Promises hang on that: what a day looked back to still had may be sold since.
    """
    return replace(nursery.on(nursery.today), as_of=nursery.as_of)


def order_named(nursery: Nursery, name: str) -> Order:
    """The order of an id.

    Raises:
        Refusal: there is none
    """
    order = nursery.orders.get(order_key(name))
    if order is None:
        near = nearest(name, (each.id for each in nursery.orders.values()))
        raise Refusal(Fact("order_unknown", order=name, near=near))
    return order


def refuse_wrong_order(nursery: Nursery, rows: Sequence[Row]) -> None:
    """Refuse rows that say they were sold for an order and do not fit it.

    Raises:
        Refusal: there is no such order, it is of another variety or form, or no longer open for so many
    """
    wanted: dict[str, int] = {}
    for row in rows:
        lot = nursery.stock.lots.get(row.lot)
        if row.what != "sold" or not row.refers or lot is None:
            continue
        order = order_named(nursery, row.refers)
        stages = [row.stage] if row.stage else [stage for stage in STAGES if lot.count(stage)]
        if lot.number != order.number:
            other = Fact("order_for_other_number", order=order.id, number=order.number, lot=lot.id, other=lot.number)
            raise Refusal(other)
        refuse_unlawful(nursery, order.number, order.country, order.region, order.note, order.id)
        if row.day < order.day:
            raise Refusal(Fact("order_placed_later", order=order.id, placed=order.day, day=row.day))
        bare = order.form == "rooted" and stages == ["rooting"] and lot.lifted
        if len(stages) == 1 and stages[0] not in STAGES_OF[order.form] and not bare:
            known = STAGES_OF[order.form]
            raise Refusal(Fact("order_of_other_form", order=order.id, form=order.form, stages=known))
        wanted[order.id] = wanted.get(order.id, 0) + (row.count or 0)
        if wanted[order.id] > order.open:
            count = wanted[order.id]
            raise Refusal(Fact("sold_beyond_order", order=order.id, open=order.open, count=count))


def refuse_unlawful(nursery: Nursery, number: str, country: str, region: str, note: str, order: str = "") -> None:
    """Refuse a parcel that the law forbids, or that goes only with a paper whose number its order does not note.

    Args:
        nursery: it is sent from
        number: the variety in it
        country, region: where it goes; blank where nobody has said
        note: that of the order
        order: its id where it was taken already
    Raises:
        Refusal: it may not go
    """
    crop = nursery.varieties[number].crop
    for law in laws_of_parcel(nursery.book.laws.values(), crop, nursery.place, country, region):
        if law.ruling == "forbidden":
            raise Refusal(Fact("unlawful", text=law.text))
        if law.ruling == "permit" and not paper_noted(note, law.paper):
            if order:
                raise Refusal(Fact("needs_paper_of_order", paper=law.paper, where=law.where, text=law.text))
            raise Refusal(Fact("needs_paper", paper=law.paper, where=law.where, text=law.text))


def refuse_unlicensed(nursery: Nursery, rows: Sequence[Row]) -> None:
    """Refuse sales of protected varieties for which no licence is named.

    Raises:
        Refusal: there is one among the rows
    """
    for row in rows:
        lot = nursery.stock.lots.get(row.lot)
        if row.what == "sold" and lot is not None and nursery.varieties[lot.number].protected:
            raise Refusal(Fact("protected_not_sold", number=lot.number, name=nursery.varieties[lot.number].name))


def newly_short(before: Nursery, after: Nursery) -> list[Offer]:
    """What is promised and was there before some rows, and is not after them."""
    found, (was, now) = [], map(account_of, (before, after))
    for number in dict.fromkeys(order.number for order in after.orders.values() if order.open):
        for form in FORMS:
            offer = offer_of(after, number, form, now)
            if offer.lacking > offer_of(before, number, form, was).lacking:
                found.append(offer)
    return found


def refuse_promised(rows: Sequence[Row], short: Sequence[Offer], orders: Sequence[Order]) -> None:
    """Refuse rows by which a grower gives away what is promised.

    Raises:
        Refusal: with the orders it is promised to, and what can be done
    """
    if not short or not any(row.what in _CHOSEN for row in rows):
        return
    offer = short[0]
    number, form, reserved = offer.variety.number, offer.form, offer.reserved
    ids = tuple(each.id for each in orders if each.open and (each.number, each.form) == (number, form))
    raise Refusal(Fact("promised_away", reserved=reserved, form=form, number=number, orders=ids, sound=offer.sound))


def refuse_less_sure(before: Nursery, after: Nursery, rows: Sequence[Row]) -> None:
    """Refuse rows by which a grower takes plants on their way from orders of a later day that wait for them.

    Raises:
        Refusal: one of them would be ready in time with a smaller chance than such are promised at
    """
    given = (row.lot for row in rows if row.what in _GIVEN and not row.refers)
    numbers = {before.stock.lots[lot].number for lot in given if lot in before.stock.lots}
    for number in sorted(numbers, key=int):
        if not offer_of(after, number, "rooted").ahead and not offer_of(before, number, "rooted").ahead:
            continue
        was, now = ahead_in(before, number), ahead_in(after, number)
        for order in was.orders if was else ():
            chance = now.kept(order) if now else 0.0
            wanted = min(after.settings.sale.promise_at, was.kept(order) if was else 0.0)
            if order.ship_by and order.ship_by > after.as_of and chance < wanted - _SAME:
                count, by = order.open, order.ship_by
                raise Refusal(Fact("less_sure", order=order.id, count=count, number=number, by=by, chance=chance))


def told_in_orders(before: Nursery, after: Nursery, rows: Sequence[Row]) -> tuple[list[OrderRow], list[OrderRow]]:
    """Rows of `orders.csv` that say what rows of the logbook did: shipments undone, and shipments.

    The first are to be written before the logbook, the second after it.
    """
    undone = [row.refers for row in rows if row.what == "void"]
    reopened, shipped = [], []
    for key, order in before.orders.items():
        by_hand = max(order.noted - order.logged, 0)
        more = after.orders[key].logged + by_hand - order.noted
        if order.whole or not more:
            continue
        if more > 0:
            day = after.orders[key].shipped_on or after.as_of
            shipped.append(_told(order, day, more, day, f"from {listed(_lots(after, rows, key))}"))
        else:
            day = max([order.day, *(row.day for row in rows)])
            reopened.append(_told(order, day, -more, REOPENED, f"undone: {listed(undone)}"))
    return reopened, shipped


def _told(order: Order, day: date, count: int, done: date | str, note: str) -> OrderRow:
    return OrderRow(order=order.id, day=day, number=order.number, form=order.form, count=count, done=done, note=note)


def _lots(after: Nursery, rows: Sequence[Row], key: str) -> Iterator[str]:
    """The lots an order was sent from, by the rows just logged or, where those say nothing of it, by all."""
    for source in (rows, after.seen(after.every_row)):
        lots = dict.fromkeys(row.lot for row in source if row.what == "sold" and order_key(row.refers) == key)
        if lots:
            yield from lots
            return
