"""Checks on published frost dates: takes those of a season, gives what is wrong with them. Pure."""

from collections.abc import Iterator, Mapping
from datetime import date
from itertools import pairwise
from typing import Literal

from almanac.faults import Fact, Unusable
from almanac.site.freeze_year import FreezeYear

Season = Literal["last_spring", "first_autumn"]
MonthDay = tuple[int, int]

# In warm places the last frost may come before New Year and the first one after it. These bounds, in days of
# the freeze year, only catch one season or hemisphere taken for the other: 1 November and 1 May in the north.
_SPRING_FROM = 92
_AUTUMN_UNTIL = 273


class PublishedDatesError(Unusable):
    """Frost dates that cannot be right."""


def faults_in(season: Season, dates: Mapping[float, MonthDay], *, southern: bool) -> list[Fact]:
    """What is wrong with the dates of one season; empty where nothing is."""
    if not dates:
        like = (4, 20) if (season == "last_spring") != southern else (10, 15)
        return [Fact("season_without_date", season=season, like=like)]
    faults = [
        fault
        for chance, month_day in dates.items()
        for fault in _faults_of_one(season, chance, month_day, southern=southern)
    ]
    return faults or list(_wrong_order(season, dates, southern=southern))


def _faults_of_one(season: Season, chance: float, month_day: MonthDay, *, southern: bool) -> Iterator[Fact]:
    if not 0 < chance < 1:
        yield Fact("impossible_chance", season=season, chance=chance)
    if not _exists(month_day):
        yield Fact("no_such_day", season=season, chance=chance, month_day=month_day)
        return
    index = FreezeYear(southern).index(*month_day)
    is_spring = season == "last_spring"
    if index < _SPRING_FROM if is_spring else index >= _AUTUMN_UNTIL:
        other = "first_autumn" if is_spring else "last_spring"
        yield Fact("out_of_season", season=season, other=other, chance=chance, month_day=month_day, southern=southern)


def _wrong_order(season: Season, dates: Mapping[float, MonthDay], *, southern: bool) -> Iterator[Fact]:
    """The likelier a frost after a spring date, the earlier the date; before an autumn date, the later."""
    year = FreezeYear(southern)
    for early, late in pairwise(sorted(dates, reverse=season == "last_spring")):
        if year.index(*dates[early]) >= year.index(*dates[late]):
            yield Fact(
                "wrong_order", season=season, early=early, early_day=dates[early], late=late, late_day=dates[late]
            )


def _exists(month_day: MonthDay) -> bool:
    try:
        date(2000, *month_day)  # a leap year
    except ValueError:
        return False
    return True
