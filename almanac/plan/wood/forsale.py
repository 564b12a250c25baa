"""What there is to sell: by variety and form what is there, held back, promised, planned, and what is free. Pure.

Kept, given, planted and dead cuttings have left their lot's count already. Lots planned of a number are taken from its
stored wood: first from wood with swelling buds, which cannot be posted, then from what could be sold.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import field, replace
from datetime import date, timedelta

from almanac.nursery.lots import Lot, lot_order
from almanac.nursery.nursery import Nursery
from almanac.nursery.order_rows import FORMS, Form
from almanac.nursery.varieties import Variety
from almanac.plain import dataclass
from almanac.plan.context.asked import Shipment
from almanac.plan.wood.account import Account, SaleEnd, Wood, account_of, stored
from almanac.plan.wood.rests import rest_in
from almanac.plan.wood.to_come import planned_of
from almanac.rulebook.programmes.for_sale import ForSale
from almanac.rulebook.programmes.store import Store


@dataclass(frozen=True)
class Hold:
    """Why a lot is not to be sent, since when, and until when if known.

    A trouble, `treated`, `apart`, `asleep`, or of wood: `pushing`, `buds_likely`, `past_limit`, `season_over`, or
    `look_first`, `doubtful` (its mother plant).
    """

    reason: str
    day: date
    until: date | None = field(default=None, kw_only=True)


@dataclass(frozen=True, kw_only=True)
class Batch:
    """What one lot has of a form: so many, since a day (the wood cut, the plants hardened).

    `wood` is what the account says of stored wood.
    """

    lot: str
    count: int
    since: date
    hold: Hold | None = None
    wood: Wood | None = None


@dataclass(frozen=True, kw_only=True)
class Offer:
    """One variety in one form, the lots to send first in front. `planned` is what lots to come take of sound wood.

    `ahead` is what of the promised may still get ready by its day: plants on their way, for orders of later days.
    """

    variety: Variety
    form: Form
    batches: tuple[Batch, ...] = ()
    reserved: int = 0
    planned: int = 0
    ahead: int = 0

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
        """How many are promised that are not there to send, nor on their way."""
        return self.lacking - self.ahead

    @property
    def lacking(self) -> int:
        """How many are promised that are not there to send today."""
        return max(self.reserved - self.sound, 0)


def offers(nursery: Nursery) -> tuple[Offer, ...]:
    """All that the nursery sells, by number, dormant cuttings first; nothing of protected varieties."""
    account = account_of(nursery)
    sells = {"dormant": nursery.settings.sale.dormant, "rooted": nursery.settings.sale.rooted}
    found = [
        offer_of(nursery, number, form, account)
        for number in sorted(nursery.varieties, key=int)
        for form in FORMS
        if not nursery.varieties[number].protected and sells[form]
    ]
    return tuple(offer for offer in found if offer.batches or offer.reserved)


def offer_of(nursery: Nursery, number: str, form: Form, account: Account | None = None) -> Offer:
    """One variety in one form, whether or not it may be sold.

    Args:
        nursery: as it is
        number, form: what of it
        account: that of its wood, where it is at hand
    """
    batches = sorted(_batches(nursery, number, form, account), key=lambda batch: (batch.since, lot_order(batch.lot)))
    orders = [order for order in nursery.orders.values() if (order.number, order.form) == (number, form)]
    reserved = sum(order.open for order in orders)
    planned = 0
    if form == "dormant":
        pushing = sum(batch.count for batch in batches if batch.hold and batch.hold.reason == "pushing")
        sound = sum(batch.count for batch in batches if not batch.hold)
        planned = min(max(planned_of(nursery, number, account) - pushing, 0), sound)
    offer = Offer(
        variety=nursery.varieties[number], form=form, batches=tuple(batches), reserved=reserved, planned=planned
    )
    if form == "dormant" or not offer.lacking:
        return offer
    later = sum(order.open for order in orders if order.ship_by and order.ship_by > nursery.as_of)
    return replace(offer, ahead=min(offer.lacking, later, _on_their_way(nursery, number)))


def _on_their_way(nursery: Nursery, number: str) -> int:
    """The most plants that may still get ready."""
    lots = [lot for lot in nursery.stock.lots.values() if lot.number == number]
    return sum(
        lot.count("rooting") + lot.count("pot") + lot.count("outside") - lot.hardened - lot.lifted for lot in lots
    )


def shipments(nursery: Nursery, account: Account) -> tuple[Shipment, ...]:
    """Open orders that are to be shipped by a day; none of protected varieties."""
    found = []
    for order in nursery.orders.values():
        variety = nursery.varieties[order.number]
        if order.open and order.ship_by and not variety.protected:
            sendable = offer_of(nursery, order.number, order.form, account).sound
            found.append(
                Shipment(
                    order=order.id,
                    ordered=order.day,
                    number=order.number,
                    crop=variety.crop,
                    form=order.form,
                    count=order.open,
                    of=order.count,
                    country=order.country,
                    region=order.region,
                    ship_by=order.ship_by,
                    sendable=sendable,
                )
            )
    return tuple(found)


def _batches(nursery: Nursery, number: str, form: Form, account: Account | None) -> Iterator[Batch]:
    for lot in nursery.stock.lots.values():
        if lot.number != number:
            continue
        if form == "dormant":
            count = stored(lot)
            if count:
                account = account or account_of(nursery)
                wood = account.of_lot(lot)
                yield Batch(lot=lot.id, count=count, since=wood.cut, hold=_hold_of_wood(nursery, lot, wood), wood=wood)
        elif lot.lifted:
            yield Batch(lot=lot.id, count=lot.lifted, since=lot.steps["lifted"], hold=_hold(nursery, lot))
        elif lot.hardened:
            sign = lot.signs.get("hardened")  # none where they came from a lot that was joined to this one
            since = sign.day if sign else lot.started
            yield Batch(
                lot=lot.id,
                count=lot.hardened,
                since=since,
                hold=_hold(nursery, lot) or _hold_asleep(nursery, lot, account),
            )


_ENDED: Mapping[SaleEnd, str] = {"season": "season_over", "keeps": "past_limit", "buds": "buds_likely"}


def _hold_of_wood(nursery: Nursery, lot: Lot, wood: Wood) -> Hold | None:
    if wood.seen == "swelling" and wood.seen_on:
        return Hold("pushing", wood.seen_on)
    if wood.past(nursery.as_of):
        return Hold("past_limit", wood.until)
    if wood.closes < nursery.as_of:
        return Hold(_ENDED[wood.sale_ended_by], wood.closes)
    if wood.seen == "shrivelled" and wood.seen_on:
        return Hold("dry", wood.seen_on)
    if _in_doubt(nursery, lot):
        return Hold("doubtful", wood.cut)
    held = _hold(nursery, lot)
    within = timedelta(days=round(nursery.book.programme(Store).look_within))
    if held is None and wood.to_look_at(nursery.as_of, within):
        return Hold("look_first", wood.look_first)
    return held


def _hold_asleep(nursery: Nursery, lot: Lot, account: Account | None) -> Hold | None:
    """A rest that should be over: bare wood that nobody has seen awake may be dead."""
    if not lot.resting:
        return None
    rest = rest_in(nursery, lot, account or account_of(nursery))
    return Hold("asleep", rest.wakes) if rest and rest.logged and rest.wakes <= nursery.as_of else None


def _in_doubt(nursery: Nursery, lot: Lot) -> bool:
    """Whether own wood came from a mother plant whose health is in doubt; from which, may not have been said."""
    mothers = [each for each in nursery.mothers if each.variety == lot.number]
    its = [each for each in mothers if lot.mother and each.place.strip().lower() == lot.mother.lower()] or mothers
    return lot.origin == "own_wood" and bool(its) and all(each.health != "sound" for each in its)


def _hold(nursery: Nursery, lot: Lot) -> Hold | None:
    """A trouble that is not over, or a treatment of late."""
    rule = nursery.book.programme(ForSale)
    troubles = [(day, name) for name, day in lot.troubles.items() if name in rule.holds]
    if troubles:
        day, name = max(troubles)
        return Hold(name, day)
    joins = lot.started + timedelta(days=round(rule.apart))
    if lot.came_ready and joins > nursery.as_of:
        return Hold("apart", lot.started, until=joins)
    treated = lot.jobs.get("treated", ())
    if not treated:
        return None
    until = treated[-1] + timedelta(days=round(rule.after_treatment))
    return Hold("treated", treated[-1], until=until) if until > nursery.as_of else None
