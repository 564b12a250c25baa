"""When dormant wood is taken and stuck, one window a crop and winter: the one that is open, or the next. Pure."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from almanac.plan.care.programme import Programme
from almanac.plan.care.proposal import Proposal
from almanac.plan.context.day import Context
from almanac.plan.ids import EntryId
from almanac.plan.model import Task
from almanac.plan.wood.bare import Collecting, collecting
from almanac.plan.wood.season import Sticking, sticking
from almanac.rulebook.programmes.store import Store


def propose(context: Context) -> Proposal:
    """The windows of every crop that is grown."""
    found = ([*_taking(context, crop), *_sticking(context, crop)] for crop in context.crops)
    return Proposal(tuple(task for tasks in found for task in tasks))


PROGRAMME = Programme(
    numbers=Store,
    propose=propose,
    derivations=(Collecting, Sticking),
)


def _taking(context: Context, crop: str) -> Iterator[Task]:
    for middle in context.outdoors.winters(context.as_of):
        found = collecting(crop, middle, context.outdoors)
        if found.closes >= context.as_of and not _taken(context, found):
            rule = context.around.book.told_for(context.around.book.task("take_wood"), crop)
            name, step = EntryId(crop, "take_wood", middle.year), str(middle.year)
            after = "leaf_fall" if found.leaf_fall_logged else "shortest_day" if found.hang else "leaf_fall_likely"
            dates = found.opens, found.due, found.closes
            yield Task(name, rule, (), *dates, after, found.opens, crop=crop, step=step, derivation=found)
            return


def _taken(context: Context, found: Collecting) -> bool:
    """Whether buds swell, or own wood was taken this winter."""
    own = (lot for lot in context.stock.lots.values() if lot.crop == found.crop and not lot.parent)
    winter_of = context.outdoors.winter_of
    return found.buds_logged or any(lot.origin == "own_wood" and winter_of(lot.started) == found.middle for lot in own)


def _sticking(context: Context, crop: str) -> Iterator[Task]:
    """Once a lot of the crop is stuck or planned this winter, its own entries say the rest."""
    middle = context.outdoors.winter_near(context.as_of)
    if any(context.outdoors.winter_near(day) == middle for day in _stuck_or_planned(context, crop)):
        return
    found = sticking(collecting(crop, middle, context.outdoors), context.outdoors)
    if found.latest >= context.as_of and not found.hindered:
        rule = context.around.book.told_for(context.around.book.task("stick_wood"), crop)
        name, step = EntryId(crop, "stick_wood", middle.year), str(middle.year)
        dates = found.earliest, found.best, found.latest
        yield Task(name, rule, (), *dates, rule.after, found.earliest, crop=crop, step=step, derivation=found)


def _stuck_or_planned(context: Context, crop: str) -> Iterator[date]:
    yield from (planned.day for planned in context.stock.planned if planned.crop == crop)
    yield from (lot.first_stuck_on for lot in context.stock.lots.values() if lot.crop == crop and "stuck" in lot.steps)
