"""Pots from the first frost to the last: leaves, rest, roots that freeze, sparing water, waking. Pure."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

from almanac.nursery.lots import Lot
from almanac.plan.care.programme import Programme
from almanac.plan.care.programmes.potted.rests import looks_through, phases
from almanac.plan.care.programmes.potted.windows import AHEAD, PottedDay, Window, carried_over, seasonal, window
from almanac.plan.care.proposal import Proposal
from almanac.plan.context.day import Context, last_logged
from almanac.plan.context.growing import GrowingYear
from almanac.plan.context.rest import was_outside
from almanac.plan.context.tasks import lot_task
from almanac.plan.model import Look, Task
from almanac.plan.rest import Rest
from almanac.rulebook.models import TaskRule
from almanac.rulebook.programmes.autumn import Autumn
from almanac.rulebook.programmes.potted import Potted

Years = tuple[GrowingYear, ...]


def propose(context: Context) -> Proposal:
    """What autumn and winter ask for: of a lot at rest, sparing water, shelter from frost and whether it woke."""
    lots = [lot for lot in context.stock.lots.values() if lot.total > lot.count("store")]
    lots = [lot for lot in lots if lot.id in context.at_rest or lot.count("pot") or lot.count("outside")]
    years = context.years if lots else ()
    numbers = context.book.programme(Autumn)
    tasks: list[Task] = []
    looks: list[Look] = []
    for lot in lots:
        looks += _sparing(context, lot)
        tasks += _waking(context, lot)
        tasks += _into_light(context, lot)
        if lot.count("outside"):
            tasks += _windows(context, lot, years, numbers)
    return Proposal(tasks=tuple(tasks), looks=tuple(looks))


PROGRAMME = Programme(
    numbers=Autumn,
    propose=propose,
    derivations=(PottedDay, Rest),
    reads=(Potted,),
    follows="potted",
)


def _sparing(context: Context, lot: Lot) -> Iterator[Look]:
    rule = context.rule("rest_water", lot.crop)
    since = lot.since("outside") or lot.since("pot") or lot.started
    for phase in phases(context, lot, since) if lot.id in context.at_rest or was_outside(lot) else ():
        if phase.rests:
            yield from looks_through(context, lot, rule, phase)


def _waking(context: Context, lot: Lot) -> Iterator[Task]:
    """Whether a lot logged at rest is awake: asked from the site's day on, and again a while after each look."""
    rest = context.at_rest.get(lot.id)
    if rest is None or not rest.logged or rest.wakes > context.as_of + AHEAD:
        return
    rule = context.rule("wake", lot.crop)
    seen = [day for name in ("looked", "watered") for day in lot.jobs.get(name, ()) if day >= rest.wakes]
    day = max(seen) + timedelta(days=rule.closes_day or 0) if seen else rest.wakes
    yield _task(lot, rule, day, rest.by if rest.by != "frost_accepted" else "growth", rest)


def _into_light(context: Context, lot: Lot) -> Iterator[Task]:
    """What wakes in shelter comes into the light, once it is seen or taken to be awake."""
    if not lot.count("pot") or not was_outside(lot) or lot.hardening_since or context.asleep(lot):
        return
    rest, came = context.at_rest.get(lot.id), lot.since("pot") or lot.started
    woke = last_logged(lot, "woke")
    turns = [phase.start for phase in phases(context, lot, came) if not phase.rests and phase.start > came]
    day = rest.granted if rest and rest.logged else woke if woke and woke >= came else min(turns, default=None)
    rule = context.rule("into_light", lot.crop)
    if day is None or day > context.as_of + AHEAD or context.as_of > day + timedelta(days=rule.closes_day or 0):
        return
    yield _task(lot, rule, day, "woke" if day == woke else "growth")


def _task(lot: Lot, rule: TaskRule, day: date, counted_from: str, rest: Rest | None = None) -> Task:
    count = lot.count(rule.while_in) if rule.while_in else lot.total - lot.count("store")
    days = day, day, day + timedelta(days=rule.closes_day or 0)
    return lot_task(lot, rule, days, counted_from, day, count=count, step=day.year, derivation=rest)


def _windows(context: Context, lot: Lot, years: Years, numbers: Autumn) -> Iterator[Task]:
    book = context.book
    tender = book.crops[lot.crop].cold.roots_killed >= numbers.tender_roots
    shelter = "pots_in" if tender else "pots_wrap"
    autumns = [(year, year.first_frost, year.half) for year in years]
    if not context.asleep(lot):
        ready = (
            window(year, book.task("frost_ready"), first, "first_frost")
            for year, first, _ in autumns
            if first and (year.safe is None or first - year.safe > timedelta(days=round(numbers.least_season)))
        )
        yield from seasonal(context, lot, "frost_ready", ready)
        if not tender:
            yield from seasonal(context, lot, "go_dormant", _rests(years, book.task("go_dormant")))
    cold = (window(year, book.task(shelter), half, "half_frosts") for year, _, half in autumns if half)
    yield from seasonal(context, lot, shelter, cold)
    yield from seasonal(context, lot, "spring_frost", _springs(lot, years, book.task("spring_frost")))


def _rests(years: Years, rule: TaskRule) -> Iterator[Window]:
    """From the day by which half of all years have had frost until well after leaves are taken to be down."""
    for year in years:
        if year.half and year.rests:
            closes = year.rests + timedelta(days=rule.closes_day or 0)
            yield Window(
                year=year,
                earliest=year.half,
                due=year.rests,
                latest=closes,
                counted_from="half_frosts",
                since=year.half,
            )


def _springs(lot: Lot, years: Years, rule: TaskRule) -> Iterator[Window]:
    """From waking to the accepted frost, for what stood outside through the winter."""
    for year in years:
        if year.wakes and year.safe and year.wakes < year.safe and carried_over(lot, year):
            due = min(year.wakes + timedelta(days=rule.due_day or 0), year.safe)
            yield Window(
                year=year,
                earliest=year.wakes,
                due=due,
                latest=year.safe,
                counted_from="frost_accepted",
                since=year.safe,
                spring=True,
            )
