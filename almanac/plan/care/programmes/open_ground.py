"""Beds outdoors: heeling in until soil lets sticks in, and making firm what frost has lifted. Pure."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

from almanac.forecast.model import Days
from almanac.nursery.lots import Lot
from almanac.plain import dataclass
from almanac.plan.care.programme import Programme
from almanac.plan.care.proposal import Proposal
from almanac.plan.context.day import Context, last_logged
from almanac.plan.context.tasks import lot_task
from almanac.plan.derivation import Derivation
from almanac.plan.model import Task
from almanac.plan.wood.account import account_in, stored
from almanac.plan.wood.ground import ground_for
from almanac.rulebook.programmes.open_ground import OpenGround


@dataclass(frozen=True, kw_only=True)
class SoilOpens(Derivation):
    """When soil is usually workable again after a winter, from `workable_c` [°C] on; `heaves` if it freezes hard.

    It `waits` where soil is not workable all winter.
    """

    opens: date
    workable_c: float
    heaves: bool
    waits: bool


def propose(context: Context) -> Proposal:
    """What lots in beds, and wood that waits for one, ask for."""
    return Proposal(tasks=tuple(task for lot in context.open_lots() for task in _of_lot(context, lot)))


PROGRAMME = Programme(numbers=OpenGround, propose=propose, derivations=(SoilOpens,), follows="store")


def _of_lot(context: Context, lot: Lot) -> Iterator[Task]:
    book = context.book
    if book.methods[lot.method].place != "bed" or lot.method not in book.crops[lot.crop].method:
        return
    account = account_in(context)
    if stored(lot):
        yield from _heeled(context, lot, account.outdoors.winter_near(lot.cut_on))
    stuck = lot.steps.get("stuck")
    if lot.count("rooting") and stuck and "lifted" not in lot.steps:
        yield from _firm(context, lot, account.outdoors.winter_near(stuck), stuck)


def _soil(context: Context, lot: Lot, middle: date) -> SoilOpens:
    collect = account_in(context).collecting(lot.crop, middle)
    found = ground_for(collect, lot.method, context.outdoors)
    return SoilOpens(
        opens=found.opens,
        workable_c=context.book.programme(OpenGround).workable,
        heaves=found.heaves,
        waits=found.waits,
    )


def _heeled(context: Context, lot: Lot, middle: date) -> Iterator[Task]:
    """Once, where soil freezes hard and wood is there before it opens."""
    soil = _soil(context, lot, middle)
    if soil.heaves and lot.started < soil.opens:
        within = timedelta(days=round(context.book.programme(OpenGround).heel_in))
        last = min(lot.started + within, soil.opens)
        yield _task(context, lot, "heel_in", (lot.started, lot.started, last), lot.started, soil)


def _firm(context: Context, lot: Lot, middle: date, stuck: date) -> Iterator[Task]:
    """After the thaw of the winter that sticks stood through."""
    soil = _soil(context, lot, middle)
    if not soil.waits or stuck >= soil.opens:
        return
    rules = context.book.programme(OpenGround)
    last = soil.opens + timedelta(days=round(rules.firm))
    seen = last_logged(lot, "looked")
    if context.as_of > last + timedelta(days=round(rules.past)) or (seen and seen >= soil.opens):
        return
    yield _task(context, lot, "ground_firm", (soil.opens, soil.opens, last), stuck, soil)


def _task(context: Context, lot: Lot, name: str, days: Days, since: date, soil: SoilOpens) -> Task:
    rule = context.rule(name, lot.crop, lot.method)
    count = lot.count("store") if rule.while_in == "store" else lot.count("rooting")
    return lot_task(lot, rule, days, rule.after, since, bin_name=lot.bin, count=count, derivation=soil)
