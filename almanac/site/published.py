"""Checks on published frost dates: takes those of a season, gives a sentence for each fault. Pure."""

from collections.abc import Iterator, Mapping
from datetime import date
from itertools import pairwise
from typing import Literal

from almanac.site.freeze_year import FreezeYear

Season = Literal["last_spring", "first_autumn"]
MonthDay = tuple[int, int]

# In warm places the last frost may come before New Year and the first one after it. These bounds, in days of
# the freeze year, only catch one season or hemisphere taken for the other: 1 November and 1 May in the north.
_SPRING_FROM = 92
_AUTUMN_UNTIL = 273


class PublishedDatesError(ValueError):
    """Frost dates that cannot be right; `args` are the faults, a sentence each with its remedy."""

    def __str__(self) -> str:
        return "; ".join(self.args)


def faults_in(season: Season, dates: Mapping[float, MonthDay], *, southern: bool) -> list[str]:
    """What is wrong with the dates of one season; empty where nothing is."""
    if not dates:
        example = "04-20" if (season == "last_spring") != southern else "10-15"
        return [f'{season} has no date; give one or more, such as "50%" = "{example}"']
    faults = [
        fault
        for chance, month_day in dates.items()
        for fault in _faults_of_one(season, chance, month_day, southern=southern)
    ]
    return faults or list(_wrong_order(season, dates, southern=southern))


def _faults_of_one(season: Season, chance: float, month_day: MonthDay, *, southern: bool) -> Iterator[str]:
    if not 0 < chance < 1:
        yield f'{season} {_percent(chance)}: the chance must lie between 0% and 100%; write for example "10%"'
    found = f"{season} {_percent(chance)} is {_day(month_day)}"
    if not _exists(month_day):
        yield f'{found}, which is no day of the year; write month and day, such as "04-17"'
        return
    index = FreezeYear(southern).index(*month_day)
    is_spring = season == "last_spring"
    if index < _SPRING_FROM if is_spring else index >= _AUTUMN_UNTIL:
        other = "first_autumn" if is_spring else "last_spring"
        half, sign = ("south", "positive in the north") if southern else ("north", "negative in the south")
        yield (f"{found}, out of season in the {half}; write it under {other}, or mend the latitude ({sign})")


def _wrong_order(season: Season, dates: Mapping[float, MonthDay], *, southern: bool) -> Iterator[str]:
    """The likelier a frost after a spring date, the earlier the date; before an autumn date, the later."""
    year = FreezeYear(southern)
    for early, late in pairwise(sorted(dates, reverse=season == "last_spring")):
        if year.index(*dates[early]) >= year.index(*dates[late]):
            yield (
                f"{season} {_percent(early)} is {_day(dates[early])} and {_percent(late)} is "
                f"{_day(dates[late])}; {_percent(early)} must be the earlier: swap or mend them"
            )


def _exists(month_day: MonthDay) -> bool:
    try:
        date(2000, *month_day)  # a leap year
    except ValueError:
        return False
    return True


def _percent(chance: float) -> str:
    return f'"{chance * 100:g}%"'


def _day(month_day: MonthDay) -> str:
    return f"{month_day[0]:02}-{month_day[1]:02}"
