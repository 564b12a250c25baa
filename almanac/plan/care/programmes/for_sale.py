"""Open orders with a day to ship by, each as a deadline on the last post day before it. Pure."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from almanac.forecast.model import Days
from almanac.plan.care.programme import Programme
from almanac.plan.care.proposal import Proposal
from almanac.plan.context.asked import Shipment
from almanac.plan.context.day import Context
from almanac.plan.context.law import laws_of_parcel
from almanac.plan.ids import EntryId
from almanac.plan.model import Task
from almanac.rulebook.models import TaskRule
from almanac.rulebook.programmes.dormant_sale import DormantSale
from almanac.rulebook.programmes.for_sale import ForSale


def propose(context: Context) -> Proposal:
    """A task for each order that is to be shipped by a day; a caution goes with it where it may cross a border."""
    tasks = []
    laws = context.book.laws.values()
    for found in context.shipments:
        to = found.country, found.region
        shipment = _resting_on(replace(found, laws=laws_of_parcel(laws, found.crop, context.place, *to)), context)
        name = "ship_order" if _stays_here(shipment, context) else "ship_order_away"
        day = _ship_on(shipment, context)
        rule, entry = context.book.task(name), EntryId.of_order(shipment.order)
        tasks.append(_task(shipment, rule, entry, (day, day, day), "ordered"))
        if _at_risk(shipment, context):  # said today, once
            rule, days = context.book.task("promise_at_risk"), (shipment.ordered, context.as_of, shipment.ship_by)
            tasks.append(_task(shipment, rule, EntryId(shipment.order, rule.id), days, "promised"))
    return Proposal(tasks=tuple(tasks))


PROGRAMME = Programme(
    numbers=ForSale, propose=propose, derivations=(Shipment,), reads=(DormantSale,), follows="dormant_sale"
)


def _resting_on(shipment: Shipment, context: Context) -> Shipment:
    """With what was planned of its variety when it was taken, and never stuck."""
    lots = (each for each in context.stock.never_stuck if each.number == shipment.number)
    lost = sum(each.count for each in lots if context.planned_till[each.row] >= shipment.ordered)
    short = shipment.form == "rooted" and shipment.sendable < shipment.count
    return replace(shipment, never_stuck=lost) if lost and short else shipment


def _at_risk(shipment: Shipment, context: Context) -> bool:
    """Whether plants to come are by some way less sure than what is promised at."""
    settings, rule = context.around.settings, context.book.programme(ForSale)
    return shipment.chance is not None and shipment.chance < settings.sale.promise_at - rule.less_sure


def _task(shipment: Shipment, rule: TaskRule, entry: EntryId, days: Days, counted_from: str) -> Task:
    earliest, due, latest = days
    return Task(
        id=entry,
        rule=rule,
        lots=(shipment.number,),
        earliest=earliest,
        due=due,
        latest=latest,
        counted_from=counted_from,
        since=shipment.ship_by,
        crop=shipment.crop,
        count=shipment.count,
        derivation=shipment,
    )


def _ship_on(shipment: Shipment, context: Context) -> date:
    """The last day on which post goes that keeps the promise; the day of the order where that would be before it."""
    to = shipment.country, shipment.region
    return max(context.post.last(shipment.ship_by, to=to) or shipment.ship_by, shipment.ordered)


def _stays_here(shipment: Shipment, context: Context) -> bool:
    from almanac.site.holidays import surely_same  # it costs start-up time, and few plans need it

    place = context.place
    return surely_same((shipment.country, shipment.region), (place.country, place.region))
