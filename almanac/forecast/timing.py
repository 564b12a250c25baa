"""What one lot tells of an interval, and what that says of the lot's offset from the rule. Pure.

A lot's cuttings lie about its offset by a normal with the spread within a lot, in the logarithm of counted days. So
what was seen (the first of n, k of n between two looks, none yet) has a likelihood in the offset, which is log-concave
in each of these cases (Prékopa 1973, Acta Scientiarum Mathematicarum 34:335-343).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import erfc, exp, expm1, isinf, log, sqrt

from almanac.forecast.durations import Normal, standing

_LEAST_WITHIN = 0.01  # cuttings that do not differ at all would make a sign a day late impossible
_DEEP = 25.0  # a density e⁻²⁵ of its highest adds nothing
_FARTHEST_Z = 37.0  # beyond it the normal tail has no floating-point number
_ROOT_2 = sqrt(2.0)


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
    """What a timing says of a lot's offset: how likely it is at each, and what it leaves of a belief."""

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
        self._at: float | None = None

    @property
    def closed_form(self) -> Normal | None:
        """The normal it is, where it is one: a single cutting, or a share, known to the day."""
        return Normal(self._low, self._scale**2) if self._exact and self._of == 1 else None

    def heard(self, before: Normal) -> Normal:
        """Mean and variance of the offset after this, given a normal belief before it: by quadrature.

        Equal steps from the highest density outward, until nothing is left: for smooth densities that fall to nothing
        this is exact to far more figures than needed (Trefethen & Weideman 2014, SIAM Review 56:385-458).
        """
        top, step = self._highest(before)
        highest = self._log_density(top, before)
        total, first, second = 1.0, 0.0, 0.0
        for way in (step, -step):
            away = way
            while (height := self._log_density(top + away, before) - highest) > -_DEEP:
                weight = exp(height)
                total += weight
                first += weight * away
                second += weight * away * away
                away += way
        mean = first / total
        return Normal(top + mean, second / total - mean * mean)

    def _log_density(self, offset: float, before: Normal) -> float:
        return self.log_likelihood(offset) - (offset - before.mean) ** 2 / (2 * before.var)

    def log_likelihood(self, offset: float) -> float:
        """Of what was seen, at an offset, but for a constant."""
        low, high = (self._low - offset) / self._scale, (self._high - offset) / self._scale
        if self._exact:
            return -low * low / 2 + (self._of - 1) * log(_tail(low))
        if self._count is not None:
            shown = max(_between(low, high), 1e-300)
            return self._count * log(shown) + (self._of - self._count) * log(_tail(high))
        if isinf(high):
            return self._of * log(_tail(low))
        if isinf(low):
            return _log_less(self._of * log(_tail(high)))
        if self._of == 1:
            return log(max(_between(low, high), 1e-300))
        before, after = log(_tail(low)), log(_tail(high))
        return self._of * before + _log_less(self._of * (after - before))

    def _highest(self, before: Normal) -> tuple[float, float]:
        """Where the density is highest, nearly, and a step in which it falls by about a half: by Newton's method."""
        at = before.mean if self._at is None else self._at
        sd = sqrt(before.var)
        h = 0.05 * min(self._scale, sd)
        for _ in range(12):
            below, here, above = (self._log_density(at + d, before) for d in (-h, 0.0, h))
            slope, bend = (above - below) / (2 * h), (above - 2 * here + below) / h**2
            bend = min(bend, -0.5 / before.var)
            move = max(-sd, min(sd, -slope / bend))
            at += move
            if abs(move) * sqrt(-bend) < 0.1:
                break
        self._at = at
        return at, 0.9 / sqrt(-bend)


def _tail(z: float) -> float:
    """The chance that a standard normal is above z."""
    return 0.5 * erfc(min(z, _FARTHEST_Z) / _ROOT_2)


def _between(low: float, high: float) -> float:
    """The chance that a standard normal lies between two, from the tail that keeps its figures."""
    if low > 0:
        return _tail(low) - _tail(high)
    return _tail(-high) - _tail(-low)


def _log_less(log_part: float) -> float:
    """log(1 - part), from the logarithm of the part."""
    return log(max(-expm1(log_part), 1e-300))


@lru_cache(maxsize=1024)
def _standing(of: int, share: float) -> tuple[float, float]:
    return standing(of, share)
