"""Pots from the first frost to the last: leaves, rest, roots that freeze, sparing water, waking. Pure."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

from almanac.nursery.lots import Lot
from almanac.plan.care.programme import Programme
from almanac.plan.care.programmes.potted.rests import looks_through, phases, was_outside
from almanac.plan.care.programmes.potted.windows import PottedDay, Window, carried_over, seasonal, window
from almanac.plan.care.programmes.potted.year import GrowingYear, growing_years
from almanac.plan.care.proposal import Proposal
from almanac.plan.context.day import Context
from almanac.plan.model import Look, Task
from almanac.rulebook.models import TaskRule
from almanac.rulebook.programmes.autumn import Autumn
from almanac.rulebook.programmes.potted import Potted

Years = tuple[GrowingYear, ...]


def propose(context: Context) -> Proposal:
    """What autumn and winter ask for: of a lot at rest, sparing water and shelter from frost alone."""
    lots = [lot for lot in context.stock.lots.values() if lot.total > lot.count("store")]
    lots = [lot for lot in lots if lot.resting or lot.count("pot") or lot.count("outside")]
    years = growing_years(context) if lots else ()
    numbers = context.around.book.programme(Autumn)
    tasks: list[Task] = []
    looks: list[Look] = []
    for lot in lots:
        looks += _sparing(context, lot, years)
        if lot.count("outside"):
            tasks += _windows(context, lot, years, numbers)
    return Proposal(tuple(tasks), tuple(looks))


PROGRAMME = Programme(
    numbers=Autumn,
    propose=propose,
    derivations=(PottedDay,),
    reads=(Potted,),
    follows="potted",
)


def _sparing(context: Context, lot: Lot, years: Years) -> Iterator[Look]:
    book = context.around.book
    rule = book.told_for(book.task("rest_water"), lot.crop)
    since = lot.since("outside") or lot.since("pot") or lot.started
    for phase in phases(context, lot, since, years) if lot.resting or was_outside(lot) else ():
        if phase.rests:
            yield from looks_through(context, lot, rule, phase)


def _windows(context: Context, lot: Lot, years: Years, numbers: Autumn) -> Iterator[Task]:
    book = context.around.book
    tender = book.crops[lot.crop].cold.roots_killed >= numbers.tender_roots
    shelter = "pots_in" if tender else "pots_wrap"
    autumns = [(year, year.first_frost, year.half) for year in years]
    if not lot.resting:
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
            yield Window(year, year.half, year.rests, closes, "half_frosts", year.half)


def _springs(lot: Lot, years: Years, rule: TaskRule) -> Iterator[Window]:
    """From waking to the accepted frost, for what stood outside through the winter."""
    for year in years:
        if year.wakes and year.safe and year.wakes < year.safe and carried_over(lot, year):
            due = min(year.wakes + timedelta(days=rule.due_day or 0), year.safe)
            yield Window(year, year.wakes, due, year.safe, "frost_accepted", year.safe, spring=True)
