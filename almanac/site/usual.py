"""The usual low of each day of a freeze year: when it falls to a value, and when warmth since a day adds up. Pure.

What is counted is the low of nights, as that is what every source of frost tells: warmth is how far a day's low lies
above a base, summed over the days, with lows spread about the usual one as they are in late winter.
"""

from __future__ import annotations

from datetime import date
from functools import lru_cache
from math import acos, erf, exp, pi, sqrt

from almanac.plain import dataclass
from almanac.site.freeze_year import DAYS_IN_FREEZE_YEAR, FreezeYear
from almanac.site.nightly import daily_curve

_DAY_RANGE_C = 10.0  # how much warmer than its night a day gets: from memory, 6 by the sea to 14 inland
_QUANTILES = (-1.28, -0.52, 0.0, 0.52, 1.28)  # days about the usual one, colder to warmer
_DAILY_SD_C = 4.0  # of a day's low about the usual one in late winter: 3.3 to 5 in the records of `data/monthly.toml`


@dataclass(frozen=True)
class UsualYear:
    """The usual lows of a place.

    Args:
        lows_c: the mean low of each month, January first [°C]
        southern: whether the freeze year starts on 1 February
        differs_c: how far the mean low of a late winter or autumn is from them: s.d. [°C]
    """

    lows_c: tuple[float, ...]
    southern: bool
    differs_c: float

    @property
    def half_range_c(self) -> float:
        """How far the mean of a day is taken to lie over its low [K]."""
        return _DAY_RANGE_C / 2

    def low_c(self, day: date) -> float:
        """The usual low of a day [°C]."""
        return _by_day(self.lows_c, self.southern)[FreezeYear(self.southern).index(day.month, day.day)]

    def mean_c(self, day: date) -> float:
        """The usual mean of a day [°C]."""
        return self.low_c(day) + self.half_range_c

    def falls_to(self, low_c: float, warmer_c: float = 0.0) -> int | None:
        """The first day of the freeze year, 0 to 364, with a usual low at or below one; None where none is.

        Args:
            low_c: the low asked for [°C]
            warmer_c: how much warmer than usual the autumn is [°C]
        """
        days = _by_day(self.lows_c, self.southern)
        return next((day for day, low in enumerate(days) if low + warmer_c <= low_c), None)

    def warmth_by(self, since: int, base_c: float, wanted: float, warmer_c: float = 0.0) -> int | None:
        """The first day of the freeze year by which warmth adds up to so much; None where it does not before its end.

        Args:
            since: the day of the freeze year from which it counts, 0 to 364
            base_c: the low above which it counts [°C]
            wanted: degree-days of lows [°C d]
            warmer_c: how much warmer than usual the spring is [°C]
        """
        total = 0.0
        for day in range(since, DAYS_IN_FREEZE_YEAR):
            total += _above(_by_day(self.lows_c, self.southern)[day] + warmer_c - base_c)
            if total >= wanted:
                return day
        return None

    def chill_h(self, below_c: float) -> float:
        """The hours of a winter at or below a temperature [°C], counted over the half year round its coldest day.

        Each day is taken as a sine between its low and the warmth of its afternoon.
        """
        days = _by_day(self.lows_c, self.southern)
        coldest = min(range(DAYS_IN_FREEZE_YEAR), key=days.__getitem__)
        half = DAYS_IN_FREEZE_YEAR // 4
        winter = (days[(coldest + day) % DAYS_IN_FREEZE_YEAR] for day in range(-half, half + 1))
        return sum(
            _hours_below(below_c, low + away * _DAILY_SD_C) / len(_QUANTILES) for low in winter for away in _QUANTILES
        )


def _hours_below(below_c: float, low_c: float) -> float:
    """The hours of a day with such a low that are no warmer than a temperature."""
    off = (below_c - low_c) / (_DAY_RANGE_C / 2) - 1  # -1 at the low, 1 in the afternoon
    return 0.0 if off <= -1 else 24.0 if off >= 1 else 24.0 * (1 - acos(off) / pi)


@lru_cache(maxsize=64)
def _by_day(lows_c: tuple[float, ...], southern: bool) -> tuple[float, ...]:
    """The usual low of each day of the freeze year."""
    return FreezeYear(southern).from_january(daily_curve(lows_c))


def _above(usual_c: float) -> float:
    """How far a day's low lies above the base on average, being so far above it usually; days below count nothing."""
    u = usual_c / _DAILY_SD_C
    return _DAILY_SD_C * (exp(-u * u / 2) / sqrt(2 * pi) + u * (1 + erf(u / sqrt(2))) / 2)
