"""What one lot tells of an interval, and what that says of the lot's offset from the rule. Pure.

A lot's cuttings lie about its offset by a normal with the spread within a lot, in the logarithm of counted days. So
what was seen (the first of n, k of n between two looks, none yet) has a likelihood in the offset, which is log-concave
where every cutting shows it in the end (Prékopa 1973, Acta Scientiarum Mathematicarum 34:335-343).

Two mixtures soften that. A share of the cuttings never shows it: of a lot that waits long, either the cuttings are slow
or few of them are alive. And where nobody says when they looked last, a sign was seen at the first look after it came,
or came some time before.

Tails and their logarithms are own code, not SciPy (see `shares`): `tests/outside/test_learning.py` holds all that
follows from them against its quadrature and its survival analysis.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import cached_property
from math import erfc, exp, expm1, fsum, inf, isinf, log, log1p, pi, sqrt

from almanac.forecast.durations import EVERY, Normal, order_statistic
from almanac.plain import dataclass

_LEAST_WITHIN = 0.01  # cuttings that do not differ at all would make a sign a day late impossible
_DEEP = 18.0  # a density e⁻¹⁸ of its highest adds nothing
_ALL_SHOW = -8.0  # a normal score so low that of a thousand cuttings none is still to come
_FAR = 25.0  # a normal score beyond which the tail is its series
_ROOT_2 = sqrt(2.0)
_LOG_ROOT_2_PI = log(2 * pi) / 2
_PLAIN = 1e-6  # a difference of chances that keeps its figures without logarithms
_SEEN_AT_ONCE = 0.8  # how often a sign seen with no look logged before it is taken to have been found in time
Span = tuple[float, float]


@dataclass(frozen=True, kw_only=True)
class Timing:
    """What one lot tells of an interval. Times are logarithms of counted days over the rule's median.

    Args:
        lot, variety: whose it is
        low: the last time known not to have it; -inf where nothing is known
        high: the time it was seen; the same as `low` where it is known to the day; inf where the lot still waits
        of: how many cuttings might show it
        count: how many showed it at `high`, none at `low`; None where that was not counted
        share: of the cuttings that ever show it, that must; None for the first one
        rooting: the shares of a lot's cuttings that ever show it, each as likely as the others
        at_most: when it may have come besides, where nobody says that they looked at `low`; None where they do
    """

    lot: str
    variety: str
    low: float
    high: float
    of: int = 1
    count: int | None = None
    share: float | None = None
    rooting: tuple[float, ...] = EVERY
    at_most: Span | None = None

    @property
    def finished(self) -> bool:
        return not isinf(self.high)

    @property
    def seen(self) -> tuple[object, ...]:
        """All but whose it is."""
        return self.low, self.high, self.of, self.count, self.share, self.rooting, self.at_most

    @property
    def middle(self) -> float:
        """Midway between the look without and the one that saw it; when it was seen where nobody looked before."""
        return self.high if isinf(self.low) else (self.low + self.high) / 2

    @cached_property
    def standing(self) -> tuple[float, float]:
        """Where the cuttings that showed it stand among those of the lot that root: normal score and its spread."""
        rooted = fsum(self.rooting) / len(self.rooting) * self.of
        return order_statistic(
            self.of, min((self.count or 1) / max(rooted, 1), 1) if self.count else None, self.rooting
        )


class _Heights(dict[int, float]):
    """A function at every multiple of a step, each worked out when it is first asked for."""

    def __init__(self, of: Callable[[float], float], step: float, known: Mapping[int, float] | None = None) -> None:
        super().__init__(known or {})
        self._of, self._step = of, step

    def __missing__(self, place: int) -> float:
        self[place] = found = self._of(place * self._step)
        return found


class Word:
    """What a timing says of a lot's offset: how likely it is at each, and what it leaves of a belief.

    `closed_form` is the normal it is, where it is one: a single cutting, or a share, known to the day. Lots of which
    the same was seen have one word: how likely that is at an offset is worked out once for them all.
    """

    def __init__(self, timing: Timing, within: float) -> None:
        """`within` is the rule's spread of cuttings within a lot [log days]."""
        self._count, self._of, self._rooting = timing.count, timing.of, timing.rooting
        self._spans = [(timing.low, timing.high), *([timing.at_most] if timing.at_most else [])]
        self._scale = max(within, _LEAST_WITHIN)
        if timing.share is not None and timing.count is None:
            # A share of many is nearly normal; one normal cutting stands for it.
            score, spread = order_statistic(timing.of, timing.share, timing.rooting)
            self._spans = [(low - self._scale * score, high - self._scale * score) for low, high in self._spans]
            self._scale, self._of, self._rooting = self._scale * max(spread, _LEAST_WITHIN), 1, EVERY
        self._low, self._high = self._spans[0]
        self._exact = self._low == self._high
        self._step = self._scale / sqrt(max(1.0, log(self._of) / 2))  # the first of many tells its time more sharply
        self._known = _Heights(self.log_likelihood, self._step)
        plain = self._exact and self._of == 1 and len(self._spans) == 1
        self.closed_form = Normal(mean=self._low, var=self._scale**2) if plain else None

    def heard(self, before: Normal) -> Normal:
        """Mean and variance of the offset after this, given a normal belief before it: by quadrature.

        Equal steps outward from the highest density, until nothing is left: for smooth densities that fall to nothing
        this is exact to far more figures than needed (Trefethen & Weideman 2014, SIAM Review 56:385-458).
        """
        while True:
            after = self._summed(before)
            if self._step**2 <= after.var:
                return after
            self._step /= 2
            finer = {2 * place: height for place, height in self._known.items()}
            self._known = _Heights(self.log_likelihood, self._step, finer)

    def _summed(self, before: Normal) -> Normal:
        """The same at the present step."""
        step, known, mean, sharp = self._step, self._known, before.mean, 0.5 / before.var
        top = round(mean / step)
        highest = known[top] - (top * step - mean) ** 2 * sharp
        for way in (1, -1):
            while (height := known[top + way] - ((top + way) * step - mean) ** 2 * sharp) > highest:
                top, highest = top + way, height
        total, first, second, lowest = 1.0, 0.0, 0.0, highest - _DEEP
        for way in (1, -1):
            place = top + way
            off = place * step - mean
            while (height := known[place] - off * off * sharp) > lowest:
                weight, away = exp(height - highest), place - top
                total += weight
                weight *= away
                first += weight
                second += weight * away
                place += way
                off = place * step - mean
        first /= total
        return Normal(mean=(top + first) * step, var=(second / total - first * first) * step * step)

    def log_likelihood(self, offset: float) -> float:
        """Of what was seen, at an offset, but for a constant."""
        if self._exact:
            return self._log_exactly((self._low - offset) / self._scale)
        found = self._log_within(*self._spans[0], offset)
        if len(self._spans) == 1:
            return found
        return _log_mean([found, self._log_within(*self._spans[1], offset)], _SEEN_AT_ONCE)

    def _log_exactly(self, z: float) -> float:
        if self._rooting == EVERY:
            return -z * z / 2 + (self._of - 1) * _log_later(z)
        return -z * z / 2 + _log_mean([log(p) + (self._of - 1) * log1p(-p * _before(z)) for p in self._rooting])

    def _log_within(self, low: float, high: float, offset: float) -> float:
        low, high = (low - offset) / self._scale, (high - offset) / self._scale
        if self._rooting == EVERY:
            if self._count is None:
                return _log_between(low, high, self._of)
            return self._count * _log_between(low, high, 1) + (self._of - self._count) * _log_later(high)
        before, by = _before(low), _before(high)
        if self._count is None:
            of, waits, chance = self._of, isinf(high), 0.0
            for p in self._rooting:
                chance += (1 - p * before) ** of - (0.0 if waits else (1 - p * by) ** of)
            if chance > _PLAIN:
                return log(chance / len(self._rooting))
            return _log_mean([_log_first(p * before, p * by, of, waits=waits) for p in self._rooting])
        each, rest = _log_between(low, high, 1), self._of - self._count
        shown = [self._count * (each + log(p)) + (rest * _log_not(p * by) if rest else 0.0) for p in self._rooting]
        return _log_mean(shown)


def _before(z: float) -> float:
    """The chance that a standard normal lies below z."""
    return erfc(-z / _ROOT_2) / 2


def _log_not(chance: float) -> float:
    return log1p(-min(chance, 1 - 1e-16))


def _log_first(before: float, by: float, of: int, *, waits: bool) -> float:
    """Of the chance that the first of some comes between, each with these chances of having come; the logarithm."""
    none_yet = of * _log_not(before)
    return none_yet if waits else none_yet + log(max(-expm1(of * _log_not(by) - none_yet), 1e-300))


def _log_mean(logs: list[float], first: float | None = None) -> float:
    """The logarithm of a mean; `first` is the weight of the first of two, all alike where None."""
    top = max(logs)
    parts = [exp(each - top) for each in logs]
    return top + log(first * parts[0] + (1 - first) * parts[1] if first is not None else fsum(parts) / len(parts))


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
