"""Plants still on their way, as a promise for a later day: how many by when, with what chance. Pure.

What is ready now is counted; of what is rooting or in pots a share finishes that is itself drawn from a Beta. A lot in
bags is in time if it is potted by the last day from which it still gets ready, as in the way back from a day. Lots of a
variety are early or late together, each has its own luck in striking. Lots planned are not counted: nobody has stuck
them. Orders are met by the day they are to be shipped, the earlier first; what may still be promised leaves every later
order its chance.

A ready plant goes to what is promised, whatever day that is for, so nothing is counted twice; it is worked out anew
each time and stands in no file. Ready are stored cuttings never stuck, and plants logged as hardened; plants that leave
a lot are taken to be hardened ones, so the count errs low. Promises go by all that is logged until today, also when a
day is looked back to. What a grower decides may not break a promise without `--force`; what befalls wood is logged, and
said.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import field, replace
from datetime import date, timedelta
from itertools import accumulate, pairwise

from almanac.forecast.milestones import milestones
from almanac.forecast.model import Milestone, Surroundings
from almanac.forecast.outcomes import Aim
from almanac.forecast.remaining import remaining
from almanac.forecast.supposed import lot_stuck
from almanac.halving import last_true
from almanac.nursery.lots import Cohort, Lot, Sign
from almanac.nursery.nursery import Nursery
from almanac.nursery.order_rows import order_key
from almanac.nursery.orders import Order
from almanac.plain import dataclass
from almanac.plan.context.asked import Shipment
from almanac.plan.demand import Move, Number, added
from almanac.plan.room.stays import move_to, to_be_potted
from almanac.plan.wood.forsale import offer_of
from almanac.plan.wood.to_come import standing
from almanac.worked_out import WorkedOut

_AIMS: tuple[Aim, Aim] = ("finished", "rooted")
READY = "hardened"  # what a plant must have come to: fit to plant or sell
_KEPT = timedelta(days=7)  # plants left when others were logged as hardened: looked at again within the week


@dataclass(frozen=True, kw_only=True)
class Coming:
    """Plants of one lot that are not ready yet: how many by chance, and when they are ready or, `to_pot`, potted.

    `late` is the day by which nine lots in ten like it are ready.
    """

    lot: str
    number: Number
    ready: Move
    to_pot: bool
    late: date | None


@dataclass(frozen=True, kw_only=True)
class Ahead:
    """What may be promised of a variety for later days: `sound` are ready now, `orders` open, of rooted plants."""

    sound: int
    coming: tuple[Coming, ...]
    orders: tuple[Order, ...]
    crop: str
    number: str
    around: Surroundings
    _known: WorkedOut[date, tuple[float, ...]] = field(init=False, default_factory=WorkedOut, compare=False, repr=False)

    def chance(self, plants: int, by: date) -> float:
        """The chance that so many are ready by a day, whatever is promised."""
        chances = self._chances(by)
        return chances[plants] if plants < len(chances) else 0.0

    def _chances(self, by: date) -> tuple[float, ...]:
        """By number of plants, the chance that there are at least so many by a day."""
        return self._known.of(by, lambda: self._worked_out(by))

    def _worked_out(self, by: date) -> tuple[float, ...]:
        method = self.around.method_for(self.crop)
        last = last_potting(self.crop, 1, by, self.around, number=self.number, method=method, ready=READY)
        timely = sorted(((self._in_time(each, by, last), n, each) for n, each in enumerate(self.coming)), reverse=True)
        most = sum(each.number.most for each in self.coming)
        found, sums = [0.0] * (most + 1), [1.0]
        steps = pairwise([1.0, *(chance for chance, _, _ in timely), 0.0])
        lots = [(1.0,), *(each.number.chances() for _, _, each in timely)]
        for (more, less), chances in zip(steps, lots, strict=True):
            sums = added(sums, chances)
            for plants, chance in enumerate(sums):
                found[plants] += (more - less) * chance
        at_least = list(accumulate(reversed(found)))[::-1]
        return (*(1.0,) * self.sound, *at_least)

    def _in_time(self, each: Coming, by: date, last: date | None) -> float:
        if not each.to_pot:
            return each.ready.chance_by(by.toordinal())
        return each.ready.chance_by(last.toordinal()) if last else 0.0

    def days(self) -> list[date]:
        """The days by which each of its lots is ready, nine times in ten."""
        return sorted({each.late for each in self.coming if each.late})

    def promised(self, by: date) -> int:
        """How many are promised to open orders until a day; those without a day are to be sent now."""
        return sum(order.open for order in self.orders if order.ship_by is None or order.ship_by <= by)

    def kept(self, order: Order) -> float:
        """The chance that what an order still wants is ready by its day, the earlier orders met first."""
        by = max(order.ship_by or self.around.as_of, self.around.as_of)
        return self.chance(self.promised(by), by)

    def free(self, by: date, chance: float) -> int:
        """How many more may be promised for a day with a chance, and leave every later order as sure as that."""
        days = [by, *(order.ship_by for order in self.orders if order.open and order.ship_by and order.ship_by > by)]
        return max(min(self._at(day, chance) - self.promised(day) for day in days), 0)

    def _at(self, by: date, chance: float) -> int:
        """The most plants that are ready by a day with a chance."""
        return max(plants for plants, each in enumerate(self._chances(by)) if each >= chance - 1e-9)


def ahead_of(
    lots: Iterable[Lot],
    found: Mapping[str, Mapping[str, Milestone]],
    sound: int,
    orders: Iterable[Order],
    around: Surroundings,
) -> Ahead | None:
    """What is ahead of a variety; None where nothing of it is on its way.

    Args:
        lots: its lots that nothing holds back
        found: their milestones
        sound: how many plants are ready to send
        orders: its orders of rooted plants
        around: what milestones depend on
    """
    here = list(lots)
    coming = tuple(each for lot in here for each in _coming(lot, found[lot.id], around))
    if not coming:
        return None
    still = tuple(order for order in orders if order.open)
    return Ahead(sound=sound, coming=coming, orders=still, crop=here[0].crop, number=here[0].number, around=around)


def ahead_in(nursery: Nursery, number: str) -> Ahead | None:
    """What is ahead of a variety of a nursery that is not planned."""
    nursery, around, _ = standing(nursery)
    found = {lot.id: milestones(lot, around) for lot in nursery.stock.lots.values() if lot.number == number}
    return ahead_with(nursery, number, around, found)


def ahead_with(
    nursery: Nursery, number: str, around: Surroundings, found: Mapping[str, Mapping[str, Milestone]]
) -> Ahead | None:
    """The same where surroundings and milestones are known."""
    offer = offer_of(nursery, number, "rooted")
    held = {batch.lot for batch in offer.batches if batch.hold}
    lots = [lot for lot in nursery.stock.lots.values() if lot.number == number and not lot.closed]
    orders = [order for order in nursery.orders.values() if (order.number, order.form) == (number, "rooted")]
    return ahead_of([lot for lot in lots if lot.id not in held], found, offer.sound, orders, around)


def with_chances(
    shipments: Iterable[Shipment],
    nursery: Nursery,
    around: Surroundings,
    found: Mapping[str, Mapping[str, Milestone]],
) -> tuple[Shipment, ...]:
    """Shipments of plants that are still on their way, each with the chance that they are ready by its day."""
    known: dict[str, Ahead | None] = {}
    told = []
    for each in shipments:
        if each.form == "rooted" and each.ship_by > around.as_of and each.sendable < each.count:
            if each.number not in known:
                known[each.number] = ahead_with(nursery, each.number, around, found)
            ahead = known[each.number]
            chance = ahead.kept(nursery.orders[order_key(each.order)]) if ahead else 0.0
            each = replace(each, chance=chance)
        told.append(each)
    return tuple(told)


def _coming(lot: Lot, found: Mapping[str, Milestone], around: Surroundings) -> Iterator[Coming]:
    rooting = tuple(cohort for cohort in lot.cohorts if cohort.stage == "rooting")
    finished, rooted = (around.rate(aim, lot) for aim in _AIMS)
    doubt = finished.in_doubt(around.striking.ahead.get(lot.crop, 1.0))
    of_rooted = min(finished.mean / rooted.mean, 1.0)
    if rooting:
        left, seen = remaining(lot, rooting, found, around), to_be_potted(lot, around)
        way = around.book.methods[lot.method]
        potted, ready = move_to(left, way.ends, around), left.get(way.ready)
        number = (
            Number(most=seen.surely, surely=0, share=of_rooted, concentration=doubt)
            if seen.surely
            else Number(most=seen.most, surely=0, share=finished.mean, concentration=doubt)
        )
        if potted:
            yield Coming(
                lot=lot.id,
                number=number,
                ready=potted,
                to_pot=way.ends != way.ready,  # what is lifted from a bed is ready, and is never potted
                late=ready.days[2] if ready and ready.days else None,
            )
    waiting = lot.count("pot") + lot.count("outside") - lot.hardened
    move = _when_ready(lot, found, around) if waiting > 0 else None
    if move:
        yield Coming(
            lot=lot.id,
            number=Number(most=waiting, surely=0, share=of_rooted, concentration=doubt),
            ready=move,
            to_pot=False,
            late=date.fromordinal(move.late),
        )


def _when_ready(lot: Lot, found: Mapping[str, Milestone], around: Surroundings) -> Move | None:
    """When plants in pots that are not ready are: as forecast, or soon where others of the lot are ready."""
    cohorts: tuple[Cohort, ...] = tuple(cohort for cohort in lot.cohorts if cohort.stage == "pot")
    ahead = remaining(replace(lot, signs=_without(lot)), cohorts, found, around) if cohorts else found
    if READY in ahead and ahead[READY].known:
        soon = around.as_of + _KEPT
        return Move.on(soon.toordinal())
    return move_to(ahead, READY, around)


def _without(lot: Lot) -> dict[str, Sign]:
    return {name: sign for name, sign in lot.signs.items() if name != READY}


def last_potting(
    crop: str, count: int, by: date, around: Surroundings, *, number: str, method: str, ready: str
) -> date | None:
    """The last day on which a lot may be potted and still get ready by a day; None: none from today on."""

    def in_time(day: int) -> bool:
        potted = date.fromordinal(day)
        lot = lot_stuck(crop, count, potted, "", method, number=number, potted=potted)
        found = milestones(lot, around).get(ready)
        return found is not None and found.days is not None and found.days[1] <= by

    today = around.as_of.toordinal()
    last = last_true(in_time, today, by.toordinal() + 1)
    return date.fromordinal(last) if last > today or in_time(today) else None
