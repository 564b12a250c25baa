"""Checks on monthly figures of frost: takes lows, spreads and dates known, gives a sentence for each fault. Pure."""

from __future__ import annotations

from calendar import month_name
from collections.abc import Iterator, Mapping, Sequence
from math import isfinite
from statistics import fmean

from almanac.site.published import MonthDay, Season, faults_in

SEASONS: tuple[Season, Season] = ("last_spring", "first_autumn")
_PLAUSIBLE_C = (-65.0, 36.0)  # no month on Earth has a mean low beyond
_PLAUSIBLE_SD_C = (0.3, 15.0)
_CLEAR_RANGE_C = 6.0  # a yearly range from which the cold half of the year tells the half of the Earth
_MONTHS = month_name[1:]


class MonthlyLowsError(ValueError):
    """Monthly figures that cannot be right; `args` are the faults, a sentence each with its remedy."""

    def __str__(self) -> str:
        return "; ".join(self.args)


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


def _of_lows(lows_c: Sequence[float], *, southern: bool) -> Iterator[str]:
    if len(lows_c) != 12:
        yield f"lows has {len(lows_c)} values; write the mean low of each month, January first"
        return
    low, high = _PLAUSIBLE_C
    wrong = [(month, low_c) for month, low_c in zip(_MONTHS, lows_c, strict=True) if not low <= low_c <= high]
    for month, low_c in wrong:
        yield f"the mean low of {month} is {low_c:.1f} C, as it is nowhere on earth; check number and unit"
    if wrong or max(lows_c) - min(lows_c) < _CLEAR_RANGE_C:
        return
    may_to_october, others = fmean(lows_c[4:10]), fmean([*lows_c[:4], *lows_c[10:]])
    if (may_to_october > others) == southern:
        here, winter, sign = ("south", "July", "positive") if southern else ("north", "January", "negative")
        half = "north" if southern else "south"
        yield (
            f"lows has no winter about {winter}, as it is in the {here}; "
            f"let January stand first, or mend the latitude ({sign} in the {half})"
        )


def _of_sd(daily_sd_c: Sequence[float] | None) -> Iterator[str]:
    if daily_sd_c is None:
        return
    if len(daily_sd_c) != 12:
        yield f"daily_sd has {len(daily_sd_c)} values; write that of each month, January first, or leave it out"
        return
    low, high = _PLAUSIBLE_SD_C
    for month, sd_c in zip(_MONTHS, daily_sd_c, strict=True):
        if not isfinite(sd_c) or not low <= sd_c <= high:
            yield (
                f"daily_sd of {month} is {sd_c:.1f} C, where daily lows spread by {low:g} to {high:g}; "
                "write their standard deviation, or leave daily_sd out"
            )


def _of_known(known: Mapping[str, Mapping[float, MonthDay]], *, southern: bool) -> Iterator[str]:
    for season in SEASONS:
        if season in known:
            yield from (f"known {fault}" for fault in faults_in(season, known[season], southern=southern))
