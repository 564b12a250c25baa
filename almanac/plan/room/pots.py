"""Pots needed by date: for the lots likely to be potted up in each week, as many as usually root. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from itertools import groupby

from almanac.plain import dataclass
from almanac.plan.demand import Demand, Number, Stay
from almanac.plan.spaces import Space


@dataclass(frozen=True, kw_only=True)
class PotsNeeded:
    """The pots of one week: `by` is the first day on which one of its lots is likely potted.

    `expected` is the mean, `up_to` suffice nine times in ten. Lots to come are named by their variety's number.
    """

    by: date
    lots: tuple[str, ...]
    expected: float
    up_to: int


def pots_needed(space: Space) -> list[PotsNeeded]:
    """Every week in which lots are likely to be potted, the next first. What nothing can be said of is not in it."""
    ordered = sorted(to_pot(space), key=_likely)
    weeks = (list(stays) for _, stays in groupby(ordered, key=lambda stay: week_of(_likely(stay))))
    return [_week(stays) for stays in weeks]


def to_pot(space: Space) -> list[Stay]:
    """What is foreseen to be potted up."""
    [lamps] = (room for room in space.rooms if room.place == "lamps")
    return [stay for stay in lamps.demand.stays if stay.comes is not None and not stay.potted]


def _week(stays: Sequence[Stay]) -> PotsNeeded:
    lots = tuple(dict.fromkeys(stay.lot for stay in stays))
    expected, up_to = together([stay.number for stay in stays])
    return PotsNeeded(by=_likely(stays[0]), lots=lots, expected=expected, up_to=up_to)


def together(numbers: Iterable[Number]) -> tuple[float, int]:
    """How many plants several lots come to: in the mean, and what suffices nine times in ten."""
    day = date.min
    every = Demand(first=day.toordinal(), days=1, stays=[Stay(lot="", number=number) for number in numbers])
    return every.expected(day), every.up_to(day)


def week_of(day: date) -> tuple[int, int]:
    """The year and week of a day, weeks from Monday."""
    return day.isocalendar()[:2]


def _likely(stay: Stay) -> date:
    assert stay.comes is not None
    return date.fromordinal(max(stay.comes.likely, stay.comes.not_before - 1))
