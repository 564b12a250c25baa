"""What there is to sell: by variety and form what is there, held back, promised, planned, and what is free. Pure.

Kept, given, planted and dead cuttings have left their lot's count already. Lots planned of a number are taken from its
stored wood: first from wood with swelling buds, which cannot be posted, then from what could be sold.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from almanac.nursery.lots import Lot, lot_order
from almanac.nursery.nursery import Nursery
from almanac.nursery.order_rows import FORMS, Form
from almanac.nursery.varieties import Variety
from almanac.plan.context.shipment import Shipment
from almanac.rulebook.programmes.for_sale import ForSale


@dataclass(frozen=True)
class Hold:
    """Why a lot is not to be sent: `pushing`, `past_limit`, `treated` or a trouble; since when, until when if known."""

    reason: str
    day: date
    until: date | None = None


@dataclass(frozen=True)
class Batch:
    """What one lot has of a form: so many, since a day (the wood cut, the plants hardened).

    `days_left` is how long stored wood still keeps.
    """

    lot: str
    count: int
    since: date
    days_left: int | None = None
    hold: Hold | None = None


@dataclass(frozen=True)
class Offer:
    """One variety in one form, the lots to send first in front. `planned` is what lots to come take of sound wood."""

    variety: Variety
    form: Form
    batches: tuple[Batch, ...] = ()
    reserved: int = 0
    planned: int = 0

    @property
    def there(self) -> int:
        return sum(batch.count for batch in self.batches)

    @property
    def held(self) -> int:
        """How many are not to be sent yet."""
        return sum(batch.count for batch in self.batches if batch.hold)

    @property
    def sound(self) -> int:
        """How many could be sent now."""
        return self.there - self.held

    @property
    def free(self) -> int:
        """How many may still be promised."""
        return max(self.sound - self.reserved - self.planned, 0)

    @property
    def short(self) -> int:
        """How many are promised that are not there to send."""
        return max(self.reserved - self.sound, 0)


def offers(nursery: Nursery) -> tuple[Offer, ...]:
    """All that the nursery sells, by number, dormant cuttings first; nothing of protected varieties."""
    sells = {"dormant": nursery.settings.sale.dormant, "rooted": nursery.settings.sale.rooted}
    found = [
        offer_of(nursery, number, form)
        for number in sorted(nursery.varieties, key=int)
        for form in FORMS
        if not nursery.varieties[number].protected and sells[form]
    ]
    return tuple(offer for offer in found if offer.batches or offer.reserved)


def offer_of(nursery: Nursery, number: str, form: Form) -> Offer:
    """One variety in one form, whether or not it may be sold."""
    batches = sorted(_batches(nursery, number, form), key=lambda batch: (batch.since, lot_order(batch.lot)))
    reserved = sum(order.open for order in nursery.orders.values() if (order.number, order.form) == (number, form))
    planned = 0
    if form == "dormant":
        pushing = sum(batch.count for batch in batches if batch.hold and batch.hold.reason == "pushing")
        sound = sum(batch.count for batch in batches if not batch.hold)
        wanted = sum(each.count for each in nursery.stock.planned if each.number == number)
        planned = min(max(wanted - pushing, 0), sound)
    return Offer(nursery.varieties[number], form, tuple(batches), reserved, planned)


def shipments(nursery: Nursery) -> tuple[Shipment, ...]:
    """Open orders that are to be shipped by a day; none of protected varieties."""
    found = []
    for order in nursery.orders.values():
        variety = nursery.varieties[order.number]
        if order.open and order.ship_by and not variety.protected:
            sendable = offer_of(nursery, order.number, order.form).sound
            place = order.country, order.region
            what = order.number, variety.crop, order.form, order.open, order.count
            found.append(Shipment(order.id, order.day, *what, *place, order.ship_by, sendable))
    return tuple(found)


def _batches(nursery: Nursery, number: str, form: Form) -> Iterator[Batch]:
    for lot in nursery.stock.lots.values():
        if lot.number != number:
            continue
        if form == "dormant":
            # What was stuck and put back, or potted plants in the cold, are no dormant cuttings.
            count = sum(each.count for each in lot.cohorts if each.stage == "store" and not each.reached)
            limit = nursery.book.crops[lot.crop].store.limit
            ends = lot.started + timedelta(days=round(limit))
            left = (ends - nursery.as_of).days
            if count:
                yield Batch(lot.id, count, lot.cut_on, left, _hold_of_wood(nursery, lot, ends))
        elif lot.hardened:
            sign = lot.signs.get("hardened")  # none where they came from a lot that was joined to this one
            yield Batch(lot.id, lot.hardened, sign.day if sign else lot.started, None, _hold(nursery, lot))


def _hold_of_wood(nursery: Nursery, lot: Lot, ends: date) -> Hold | None:
    if "pushing" in lot.signs:
        return Hold("pushing", lot.signs["pushing"].day)
    return Hold("past_limit", ends) if ends < nursery.as_of else _hold(nursery, lot)


def _hold(nursery: Nursery, lot: Lot) -> Hold | None:
    """A trouble that is not over, or a treatment of late."""
    rule = nursery.book.programme(ForSale)
    troubles = [(day, name) for name, day in lot.troubles.items() if name in rule.holds]
    if troubles:
        day, name = max(troubles)
        return Hold(name, day)
    treated = lot.jobs.get("treated", ())
    if not treated:
        return None
    until = treated[-1] + timedelta(days=round(rule.after_treatment))
    return Hold("treated", treated[-1], until) if until > nursery.as_of else None
