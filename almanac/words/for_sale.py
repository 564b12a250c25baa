"""What is for sale and on order, in words: what is sold, why a lot is held back, where an order goes. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Final

from almanac.nursery.order_rows import Form
from almanac.nursery.orders import Order
from almanac.plan.wood.forsale import Hold, Offer
from almanac.words.dates import day, weekday

_FORMS: Mapping[Form, tuple[str, str]] = {
    "dormant": ("dormant cutting", "dormant cuttings"),
    "rooted": ("rooted plant", "rooted plants"),
}
_HELD: Mapping[str, str] = {
    "past_limit": "kept until {since}, no longer: stick it or throw it out",
    "season_over": "the sale of dormant wood ended {since}: stick it",
    "pushing": "buds swelling since {since}: stick it, soft buds break in the post",
    "buds_likely": "buds likely swelling since {since}: look, then log looked or pushing",
    "look_first": "look first: late in store since {since}, sold only if looked at within a week; log looked",
    "asleep": "at rest, and should be awake since {since}: look, then log woke",
    "doubtful": "cut {since} from a plant in doubt: not sold until its health in nursery.toml is sound",
    "dry": "shrivelled since {since}, until all_clear is logged",
}


def sold_as(form: Form, count: int = 2) -> str:
    """`dormant cuttings`, `1 rooted plant` without the number."""
    return _FORMS[form][count != 1]


def price_of(offer: Offer) -> str:
    """What one costs, as the grower wrote it; empty where nobody says."""
    return offer.variety.price_cutting if offer.form == "dormant" else offer.variety.price_plant


def held_back(hold: Hold, near: date) -> str:
    """Why a lot is not to be sent yet, and what ends that."""
    since = day(hold.day, near)
    if hold.reason in _HELD:
        return _HELD[hold.reason].format(since=since)
    until = day(hold.until, near) if hold.until else "later"
    if hold.reason == "apart":
        return f"came in {since}, kept apart until {until}"
    if hold.reason == "treated":
        return f"treated {since}, held back until {until}"
    return f"{hold.reason} since {since}, until all_clear is logged"


def order_now(order: Order, near: date) -> str:
    """How an order stands: `Order 12: 5 rooted plants of no. 7, 2 shipped, 3 open, by 2 Mar, to VA, US.`"""
    parts = [f"Order {order.id}: {order.count} {sold_as(order.form, order.count)} of no. {order.number}"]
    if order.shipped:
        on = f" ({day(order.shipped_on, near)})" if order.shipped_on else ""
        parts.append(f"{min(order.shipped, order.count)} shipped{on}")
    parts += [f"{order.cancelled} cancelled"] if order.cancelled else []
    parts += [f"{order.open} open"] if order.open and order.open != order.count else []
    if order.open and order.ship_by:
        parts.append(f"ship by {weekday(order.ship_by, near)}")
    where = destination(order.country, order.region)
    parts += [f"to {where}"] if where and order.open else []
    return ", ".join(parts) + "."


def left_of(offer: Offer) -> str:
    """`Left to promise: 3 rooted plants of no. 7.`"""
    return f"Left to promise: {offer.free or 'no'} {sold_as(offer.form, offer.free)} of no. {offer.variety.number}."


def keeps_too_short(order: Order, offer: Offer, as_of: date) -> str:
    """That stored wood will be past its time when it is to be sent; empty where enough of it keeps."""
    sound = [(batch.count, batch.wood.closes) for batch in offer.batches if not batch.hold and batch.wood]
    if not order.open or order.ship_by is None or not sound:
        return ""
    lasting = sum(count for count, last in sound if last >= order.ship_by)
    if lasting >= offer.reserved:
        return ""
    ends = min(last for _, last in sound)
    return f"Only {lasting} of what is promised keeps until then, the oldest till {day(ends, as_of)}: ship it sooner."


CANCEL_ON_PAGE: Final = "cancel an order at the computer"


def too_few(offer: Offer, cancel: str = "cancel an order (stickdate order --cancel ORDER)") -> str:
    """That more is promised than is there; `cancel` is the way out as who reads it can go it."""
    promised = f"{offer.variety.number}: {offer.reserved} {sold_as(offer.form, offer.reserved)} promised"
    there = f"{promised} and {offer.sound} to send"
    if not offer.short:
        return f"{there}; {offer.ahead} must still get ready"
    return f"{there}, {offer.short} too few; {cancel}, or send a part"


def destination(country: str, region: str) -> str:
    """`VA, US`; empty where none is noted."""
    return ", ".join(filter(None, (region, country)))


def chance_told(chance: float) -> str:
    """A chance to the next five in a hundred, never surer than it is: it is not known better."""
    return f"{int(chance * 20 + 1e-9) * 5}%" if chance >= 0.05 else "under 5%"


def ready_by(order: Order, chance: float, near: date) -> str:
    """How likely it is that what an order wants is ready by its day."""
    by = weekday(order.ship_by, near) if order.ship_by else "today"
    return f"Still on their way: ready by {by} with a chance of {chance_told(chance)}."
