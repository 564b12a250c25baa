"""From twelve monthly mean lows to each night of the year: its usual low, its spread, its chance of frost. Pure.

The yearly curve keeps the twelve means. That no frost falls in a run of nights, each of which resembles the one before,
is the product, night by night, of the chance that one stays above the threshold given that the night before did. Two
nights are bivariate normal, worked out as the integral over the correlation: Drezner & Wesolowsky 1990, On the
computation of the bivariate normal integral, Journal of Statistical Computation and Simulation 35:101-107.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import field
from functools import cache, lru_cache
from itertools import accumulate, pairwise
from math import asin, cos, exp, pi, sin
from operator import mul
from statistics import NormalDist, fmean

from almanac.plain import dataclass
from almanac.site.freeze_year import DAYS_IN_FREEZE_YEAR, FreezeYear
from almanac.site.shipped import shipped_figures

_MONTH_DAYS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
_TINY = 1e-12
_FAR = 80.0  # sum of squared quantiles from which a correlation between two nights adds nothing
_CDF = NormalDist().cdf
# Gauss-Legendre, six points on -1 to 1: node (of both signs) and weight (Abramowitz & Stegun 1964, table 25.4).
_NODES = (
    (0.238619186083197, 0.467913934572691),
    (0.661209386466265, 0.360761573048139),
    (0.932469514203152, 0.171324492379170),
)


@dataclass(frozen=True, kw_only=True)
class Constants:
    """What the estimate rests on.

    Args:
        persistence: correlation of a night's departure from the yearly curve with the next night's
        tail: how much the cold end is shortened where the coldest month's mean is at the threshold and the warmest is
            15 °C above it
        tail_per_c: how much more for each °C of the coldest month above the threshold
        tail_per_c_of_range: how much more for each °C more between coldest and warmest month
        log_sd: natural logarithm of the daily s.d. [°C] in the warmest month
        log_sd_per_c_below_warmest: added for each °C that a month lies below the warmest
        known_spread_per_c: natural logarithm of how much wider lows spread for each °C that a known date shows the
            place to be colder than its means
        known_to_other_season: the part of a correction by one season's known date that holds for the other season
        error_days_cold: mean error of a date [days] by what is given, where the coldest month is near the threshold
            or below it
        error_days_mild: likewise where the coldest month is well above
        error_share: mean error of the share of years without a frost, by what is given
        wider: how many times wider dates lie than the nights alone would have them, as the place may differ from what
            its means suggest: by what is given, "known" being the season of which no date is known
        source: where all this comes from
    """

    persistence: float
    tail: float
    tail_per_c: float
    tail_per_c_of_range: float
    log_sd: float
    log_sd_per_c_below_warmest: float
    known_spread_per_c: float
    known_to_other_season: float
    error_days_cold: Mapping[str, float]
    error_days_mild: Mapping[str, float]
    error_share: Mapping[str, float]
    source: str
    wider: Mapping[str, float] = field(default_factory=dict)


@cache
def shipped_constants() -> Constants:
    """The constants that ship with the program; read once."""
    return Constants(**shipped_figures("monthly.toml"))


@dataclass(frozen=True, kw_only=True)
class Year:
    """The yearly curve and spread of a place by day of its freeze year, and how they turn into chances."""

    means_c: Sequence[float]
    sd_c: Sequence[float]
    threshold_c: float
    shortening: float
    persistence: float
    spread_per_c: float

    @classmethod
    def of(
        cls,
        lows_c: Sequence[float],
        daily_sd_c: Sequence[float] | None,
        threshold_c: float,
        southern: bool,
        constants: Constants,
    ) -> Year:
        year, sd_c = FreezeYear(southern), daily_sd_c or usual_daily_sd(lows_c, constants)
        # The wave may dip below the least of a jagged year.
        spread = [max(sd, min(sd_c) / 2) for sd in daily_curve(tuple(sd_c))]
        return cls(
            means_c=year.from_january(daily_curve(tuple(lows_c))),
            sd_c=year.from_january(spread),
            threshold_c=threshold_c,
            shortening=shortening(lows_c, threshold_c, constants),
            persistence=constants.persistence,
            spread_per_c=constants.known_spread_per_c,
        )

    def autumn(self, shift_c: float) -> list[float]:
        """By day, the chance that a frost has come by then, the place being so much colder [°C]."""
        return frost_so_far(self._quantiles(shift_c), self.persistence)

    def spring(self, shift_c: float) -> list[float]:
        """By day, the chance that a frost is still to come after it: the year walked backwards."""
        return [*frost_so_far(self._quantiles(shift_c)[::-1], self.persistence)[-2::-1], 0.0]

    def by(self, shift_c: float, day: int) -> float:
        """`autumn` of one day, for which the nights after it need not be gone through."""
        return frost_so_far(self._quantiles(shift_c)[: day + 1], self.persistence)[-1]

    def after(self, shift_c: float, day: int) -> float:
        """`spring` of one day, for which the nights before it need not be gone through."""
        nights = self._quantiles(shift_c)[:day:-1]
        return frost_so_far(nights, self.persistence)[-1] if nights else 0.0

    def _quantiles(self, shift_c: float) -> list[float]:
        """The normal quantile of the chance of frost each night, with the cold end shortened."""
        limit, wider = self.threshold_c + shift_c, exp(self.spread_per_c * shift_c)
        standard = ((limit - mean) / (sd * wider) for mean, sd in zip(self.means_c, self.sd_c, strict=True))
        return [u - self.shortening * min(u, 0.0) ** 2 for u in standard]


def usual_daily_sd(lows_c: Sequence[float], constants: Constants) -> list[float]:
    """The standard deviation of daily lows [°C], by month, that places with such monthly means usually have."""
    warmest = max(lows_c)
    return [exp(constants.log_sd + constants.log_sd_per_c_below_warmest * (warmest - low)) for low in lows_c]


def shortening(lows_c: Sequence[float], threshold_c: float, constants: Constants) -> float:
    """How much the cold end of the spread is shortened: u becomes u - shortening u² below the mean."""
    coldest, warmest = min(lows_c), max(lows_c)
    found = constants.tail + constants.tail_per_c * (coldest - threshold_c)
    return max(found + constants.tail_per_c_of_range * (warmest - coldest - 15.0), 0.0)


@lru_cache(maxsize=16)  # the table of each threshold asks for the same two
def daily_curve(monthly: tuple[float, ...]) -> tuple[float, ...]:
    """A smooth value for each of 365 days from 1 January, whose mean over each month is the one given.

    The wave through twelve values (trigonometric interpolation), mended until its means are right.
    """
    knots = list(monthly)
    curve = _wave(knots)
    for _ in range(8):
        knots = [knot + told - got for knot, told, got in zip(knots, monthly, _month_means(curve), strict=True)]
        curve = _wave(knots)
    return tuple(curve)


def _wave(knots: Sequence[float]) -> list[float]:
    return [sum(map(mul, weights, knots)) for weights in _weights()]


@cache
def _weights() -> list[list[float]]:
    """What each of twelve evenly spaced values counts on each day."""

    def weight(day: int, month: int) -> float:
        angle = 2 * pi * ((day + 0.5) / DAYS_IN_FREEZE_YEAR - (month + 0.5) / 12)
        return (1 + 2 * sum(cos(k * angle) for k in range(1, 6)) + cos(6 * angle)) / 12

    return [[weight(day, month) for month in range(12)] for day in range(DAYS_IN_FREEZE_YEAR)]


def _month_means(curve: Sequence[float]) -> list[float]:
    return [fmean(curve[end - days : end]) for end, days in zip(accumulate(_MONTH_DAYS), _MONTH_DAYS, strict=True)]


def frost_so_far(quantiles: Sequence[float], correlation: float) -> list[float]:
    """For each night, the chance of a frost on it or on one before.

    Args:
        quantiles: the normal quantile of each night's own chance of frost, in the order of the nights
        correlation: of a night's normal deviate with the next night's, 0 to below 1
    """
    free = [max(_CDF(-quantile), _TINY) for quantile in quantiles]
    rule = _joint_rule(correlation)
    without = free[0]
    chances = [1 - without]
    for (h, k), (before, now) in zip(pairwise(quantiles), pairwise(free), strict=True):
        squares = h * h + k * k
        if squares < _FAR:
            now += sum(weight * exp(a * squares + b * h * k) for weight, a, b in rule) / before
        without *= min(now, 1.0)
        chances.append(1 - without)
    return chances


@lru_cache(maxsize=16)
def _joint_rule(correlation: float) -> list[tuple[float, float, float]]:
    """Weights and factors of the integral that a correlation adds to the product of two chances."""
    half = asin(correlation) / 2
    rule = []
    for node, weight in _NODES:
        for angle in (half * (1 - node), half * (1 + node)):
            over = 1 / (2 * cos(angle) ** 2)
            rule.append((weight * half / (2 * pi), -over, 2 * sin(angle) * over))
    return rule
