"""How the forecasts would have done: the logbook replayed to each day on which an interval began, and what came of it.

Every logged milestone is forecast on the day when what it counts from was logged, by the rows up to that day alone:
once with what the grower's own lots had taught by then, once by the rule alone. Pure.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date
from itertools import groupby

from almanac.forecast.history import surroundings
from almanac.forecast.milestones import milestones
from almanac.forecast.model import Days, Surroundings
from almanac.forecast.told import Timed, timed
from almanac.nursery.nursery import Nursery
from almanac.plain import dataclass


@dataclass(frozen=True, kw_only=True)
class Tried:
    """One milestone as it was forecast when its interval began, and as it came.

    `came` lies midway between the look that saw it and the one before. `held_out` where its date was later disbelieved.
    """

    lot: str
    milestone: str
    told_on: date
    came: date
    with_learning: Days
    by_rule: Days
    held_out: bool


@dataclass(frozen=True, kw_only=True)
class Score:
    """How well many forecasts did: mean error of the likely day, share inside the 80 % band, mean width of it."""

    number: int
    error_days: float
    inside: float
    width_days: float


def back_test(nursery: Nursery) -> list[Tried]:
    """Every milestone that could have been forecast, in the order of the days told on."""
    around = surroundings(nursery)
    doubted = {(lot, milestone) for (_, _, milestone), known in around.experience.items() for lot in known.held_out}
    every = [each for lot in nursery.stock.lots.values() for each in timed(lot, around) if each.seen]
    begun = sorted(every, key=lambda each: each.start)
    found = []
    for day, together in groupby(begun, key=lambda each: each.start):
        then = replace(nursery, as_of=day)
        then = replace(then, stock=then.replayed(nursery.every_row)[0])
        taught = surroundings(then)
        for each in together:
            name = each.way.rule.name
            learned, by_rule = (_told(then, each.lot, name, seen) for seen in (taught, replace(taught, experience={})))
            if learned and by_rule:
                found.append(
                    Tried(
                        lot=each.lot,
                        milestone=name,
                        told_on=day,
                        came=_came(each),
                        with_learning=learned,
                        by_rule=by_rule,
                        held_out=(each.lot, name) in doubted,
                    )
                )
    return found


def _came(each: Timed) -> date:
    assert each.seen
    assert each.not_yet
    return each.seen - (each.seen - each.not_yet) / 2


def _told(then: Nursery, lot: str, milestone: str, around: Surroundings) -> Days | None:
    forecast = milestones(then.stock.lots[lot], around).get(milestone) if lot in then.stock.lots else None
    return forecast.days if forecast and forecast.known is None else None


def score(tried: Sequence[Tried], days_of: Callable[[Tried], Days]) -> Score:
    """The figures of one way of forecasting. At least one must have been tried."""
    errors = [abs((days_of(each)[1] - each.came).days) for each in tried]
    inside = [days_of(each)[0] <= each.came <= days_of(each)[2] for each in tried]
    widths = [(days_of(each)[2] - days_of(each)[0]).days for each in tried]
    number = len(tried)
    return Score(
        number=number, error_days=sum(errors) / number, inside=sum(inside) / number, width_days=sum(widths) / number
    )
