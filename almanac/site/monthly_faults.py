"""Checks on monthly figures of frost: takes lows, spreads and dates known, gives what is wrong with them. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from math import isfinite
from statistics import fmean

from almanac.faults import Fact, Unusable
from almanac.site.published import MonthDay, Season, faults_in

SEASONS: tuple[Season, Season] = ("last_spring", "first_autumn")
_PLAUSIBLE_C = (-65.0, 36.0)  # no month on Earth has a mean low beyond
_PLAUSIBLE_SD_C = (0.3, 15.0)
_CLEAR_RANGE_C = 6.0  # a yearly range from which the cold half of the year tells the half of the Earth


class MonthlyLowsError(Unusable):
    """Monthly figures that cannot be right."""


def check(
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
