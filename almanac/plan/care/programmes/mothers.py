"""Mother plants: their winter, and their pruning when their wood is taken. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import timedelta

from almanac.alike import gathered
from almanac.nursery.mothers import mothers_of
from almanac.nursery.settings import Mother
from almanac.plain import dataclass
from almanac.plan.care.programme import Programme
from almanac.plan.care.proposal import Proposal
from almanac.plan.context.day import Context
from almanac.plan.context.tasks import crop_task, days_round
from almanac.plan.derivation import Derivation
from almanac.plan.model import Task
from almanac.plan.wood.account import Account, account_in
from almanac.rulebook.programmes.autumn import Autumn
from almanac.rulebook.programmes.mothers import Mothers
from almanac.rulebook.programmes.potted import Potted
from almanac.rulebook.programmes.store import Store

_AHEAD = timedelta(days=183)  # what comes later than in half a year is not told yet


@dataclass(frozen=True)
class Plants(Derivation):
    """The mother plants that a task is about, each its variety's number and where it stands."""

    named: tuple[tuple[str, str], ...]


def propose(context: Context) -> Proposal:
    """What the mother plants of each crop ask for."""
    tasks: list[Task] = []
    account = account_in(context)
    for crop, plants in _by_crop(context).items():
        tasks += _pruning(context, account, crop, plants)
        tasks += _winter(context, crop, [each for each in plants if not each.sheltered])
    return Proposal(tasks=tuple(tasks))


PROGRAMME = Programme(
    numbers=Mothers,
    propose=propose,
    derivations=(Plants,),
    reads=(Autumn, Potted, Store),
    follows="autumn",
)


def _by_crop(context: Context) -> Mapping[str, list[Mother]]:
    """Those that wood may be cut from: a sick one is kept for nothing."""
    crops = {number: crop for crop, numbers in context.numbers.items() for number in numbers}
    every = mothers_of(context.around.settings, context.stock.kept)
    return gathered((crops[each.variety], each) for each in every if each.variety in crops and each.health != "sick")


def _pruning(context: Context, account: Account, crop: str, plants: list[Mother]) -> Iterator[Task]:
    """While their wood may be taken, best with it."""
    for middle in context.outdoors.winters(context.as_of):
        found = account.collecting(crop, middle)
        if context.as_of <= found.closes and found.opens <= context.as_of + _AHEAD:
            days, rule = (found.opens, found.due, found.closes), context.rule("mother_prune", crop)
            yield crop_task(crop, rule, days, "collecting", found.opens, middle.year, _named(plants))
            return


def _winter(context: Context, crop: str, plants: list[Mother]) -> Iterator[Task]:
    """Before the hard nights, where half of all years have frost at all."""
    rule = context.rule("mother_winter", crop)
    for year in context.years if plants else ():
        days = days_round(rule, year.half) if year.half else None
        if year.half and days and context.as_of <= days[2] and days[0] <= context.as_of + _AHEAD:
            yield crop_task(crop, rule, days, "half_frosts", year.half, year.number, _named(plants))
            return


def _named(plants: list[Mother]) -> Plants:
    return Plants(tuple((each.variety, each.place) for each in plants))
