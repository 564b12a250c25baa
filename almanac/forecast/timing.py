"""What one lot tells of an interval, and what that says of the lot's offset from the rule. Pure.

A lot's cuttings lie about its offset by a normal with the spread within a lot, in the logarithm of counted days. So
what was seen (the first of n, k of n between two looks, none yet) has a likelihood in the offset, which is log-concave
in each of these cases (Prékopa 1973, Acta Scientiarum Mathematicarum 34:335-343).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import erfc, exp, expm1, inf, isinf, log, log1p, pi, sqrt

from almanac.forecast.durations import Normal, order_statistic

_LEAST_WITHIN = 0.01  # cuttings that do not differ at all would make a sign a day late impossible
_DEEP = 18.0  # a density e⁻¹⁸ of its highest adds nothing
_ALL_SHOW = -8.0  # a normal score so low that of a thousand cuttings none is still to come
_FAR = 25.0  # a normal score beyond which the tail is its series
_ROOT_2 = sqrt(2.0)
_LOG_ROOT_2_PI = log(2 * pi) / 2
_NEAR = 0.2  # of a spread: so near the highest density, where it lies no longer matters


@dataclass(frozen=True)
class Timing:
    """What one lot tells of an interval. Times are logarithms of counted days over the rule's median.

    Args:
        lot, variety: whose it is
        low: the last time known not to have it; -inf where nothing is known
        high: the time it was seen; the same as `low` where it is known to the day; inf where the lot still waits
        of: how many cuttings might show it
        count: how many showed it at `high`, none at `low`; None where that was not counted
        share: of the cuttings, that must show it; None for the first one
    """

    lot: str
    variety: str
    low: float
    high: float
    of: int = 1
    count: int | None = None
    share: float | None = None

    @property
    def finished(self) -> bool:
        return not isinf(self.high)


class Word:
    """What a timing says of a lot's offset: how likely it is at each, and what it leaves of a belief.

    `closed_form` is the normal it is, where it is one: a single cutting, or a share, known to the day.
    """

    def __init__(self, timing: Timing, within: float) -> None:
        """`within` is the rule's spread of cuttings within a lot [log days]."""
        self._count, self._of = timing.count, timing.of
        self._low, self._high, self._scale = timing.low, timing.high, max(within, _LEAST_WITHIN)
        if timing.share is not None and timing.count is None:
            # A share of many is nearly normal; one normal cutting stands for it.
            score, spread = _standing(timing.of, timing.share)
            self._low, self._high = self._low - self._scale * score, self._high - self._scale * score
            self._scale, self._of = self._scale * max(spread, _LEAST_WITHIN), 1
        self._exact = self._low == self._high
        self._edge = self._scale / sqrt(max(1.0, log(self._of) / 2))  # the first of many tells its time more sharply
        self._at: float | None = None
        self.closed_form = Normal(self._low, self._scale**2) if self._exact and self._of == 1 else None

    def heard(self, before: Normal) -> Normal:
        """Mean and variance of the offset after this, given a normal belief before it: by quadrature.

        Equal steps outward from near the highest density, until nothing is left: for smooth densities that fall to
        nothing this is exact to far more figures than needed (Trefethen & Weideman 2014, SIAM Review 56:385-458).
        """
        at, highest, bend = self._near_highest(before)
        step = min(1.1 / sqrt(-bend), self._edge)
        total, first, second = 1.0, 0.0, 0.0
        for way in (step, -step):
            away = way
            while (height := self._log_density(at + away, before) - highest) > -_DEEP:
                weight = exp(height)
                total += weight
                first += weight * away
                second += weight * away * away
                away += way
        mean = first / total
        return Normal(at + mean, second / total - mean * mean)

    def _near_highest(self, before: Normal) -> tuple[float, float, float]:
        """An offset where the density is nearly highest, its logarithm there and its bend.

        By Newton's method, kept between bounds: a log-concave density has one highest place, and its slope tells on
        which side of an offset that is.
        """
        at = before.mean if self._at is None else self._at
        least, most = -inf, inf
        h = 0.05 * min(self._edge, sqrt(before.var))
        while True:
            below, here, above = (self._log_density(at + d, before) for d in (-h, 0.0, h))
            slope, bend = (above - below) / (2 * h), min((above - 2 * here + below) / h**2, -0.5 / before.var)
            if abs(slope) < _NEAR * sqrt(-bend) or most - least < h:
                self._at = at
                return at, here, bend
            least, most = (at, most) if slope > 0 else (least, at)
            at -= slope / bend
            if not least < at < most:
                at = (least + most) / 2

    def _log_density(self, offset: float, before: Normal) -> float:
        return self.log_likelihood(offset) - (offset - before.mean) ** 2 / (2 * before.var)

    def log_likelihood(self, offset: float) -> float:
        """Of what was seen, at an offset, but for a constant."""
        low, high = (self._low - offset) / self._scale, (self._high - offset) / self._scale
        if self._exact:
            return -low * low / 2 + (self._of - 1) * _log_later(low)
        if self._count is None:
            return _log_between(low, high, self._of)
        return self._count * _log_between(low, high, 1) + (self._of - self._count) * _log_later(high)


def _log_later(z: float) -> float:
    """Of the chance that a standard normal lies above z, the logarithm."""
    if z > _FAR:  # Abramowitz & Stegun 1964, Handbook of Mathematical Functions, 26.2.12
        return -z * z / 2 - _LOG_ROOT_2_PI - log(z) - 1 / (z * z)
    return log(erfc(z / _ROOT_2) / 2) if z > 0 else log1p(-erfc(-z / _ROOT_2) / 2)


def _log_between(low: float, high: float, of: int) -> float:
    """Of the chance that the lowest of some standard normals lies between two scores, the logarithm."""
    if high < _ALL_SHOW:  # the chance of one, so often; seen from the other side, where it keeps its figures
        return log(of) + _log_between(-high, -low, 1)
    later = of * _log_later(low)
    if high == inf:
        return later
    within = -expm1(of * _log_later(high) - later)
    return later + log(within if within > 1e-300 else 1e-300)


@lru_cache(maxsize=1024)
def _standing(of: int, share: float) -> tuple[float, float]:
    return order_statistic(of, share)
