"""Checks on what is given of a place's frost, dates of a season or monthly lows: tells what is wrong with it. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from itertools import pairwise
from math import isfinite
from statistics import fmean
from typing import Literal

from almanac.faults import Fact, Unusable
from almanac.site.freeze_year import FreezeYear

Season = Literal["last_spring", "first_autumn"]
MonthDay = tuple[int, int]
SEASONS: tuple[Season, Season] = ("last_spring", "first_autumn")
_PLAUSIBLE_C = (-65.0, 36.0)  # no month on Earth has a mean low beyond
_PLAUSIBLE_SD_C = (0.3, 15.0)
_CLEAR_RANGE_C = 6.0  # a yearly range from which the cold half of the year tells the half of the Earth

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


class MonthlyLowsError(Unusable):
    """Monthly figures that cannot be right."""


def check_monthly(
    lows_c: Sequence[float],
    daily_sd_c: Sequence[float] | None,
    known: Mapping[str, Mapping[float, MonthDay]],
    *,
    southern: bool,
) -> None:
    """Raise MonthlyLowsError with all that is wrong with what `from_monthly` is given, by the same names."""
    faults = [*_of_lows(lows_c, southern=southern), *_of_sd(daily_sd_c), *_of_known(known, southern=southern)]
    if faults:
        raise MonthlyLowsError(*faults)


def _of_lows(lows_c: Sequence[float], *, southern: bool) -> Iterator[Fact]:
    if len(lows_c) != 12:
        yield Fact("not_twelve_lows", values=len(lows_c))
        return
    low, high = _PLAUSIBLE_C
    wrong = [(month, low_c) for month, low_c in enumerate(lows_c, 1) if not low <= low_c <= high]
    for month, low_c in wrong:
        yield Fact("low_of_nowhere", month=month, low_c=low_c)
    if wrong or max(lows_c) - min(lows_c) < _CLEAR_RANGE_C:
        return
    may_to_october, others = fmean(lows_c[4:10]), fmean([*lows_c[:4], *lows_c[10:]])
    if (may_to_october > others) == southern:
        yield Fact("lows_turned_round", southern=southern, winter=7 if southern else 1)


def _of_sd(daily_sd_c: Sequence[float] | None) -> Iterator[Fact]:
    if daily_sd_c is None:
        return
    if len(daily_sd_c) != 12:
        yield Fact("not_twelve_sds", values=len(daily_sd_c))
        return
    low, high = _PLAUSIBLE_SD_C
    for month, sd_c in enumerate(daily_sd_c, 1):
        if not isfinite(sd_c) or not low <= sd_c <= high:
            yield Fact("sd_of_nowhere", month=month, sd_c=sd_c, low_c=low, high_c=high)


def _of_known(known: Mapping[str, Mapping[float, MonthDay]], *, southern: bool) -> Iterator[Fact]:
    for season in SEASONS:
        if season in known:
            yield from (Fact("known_wrong", fact=fact) for fact in faults_in(season, known[season], southern=southern))
