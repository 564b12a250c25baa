"""What is known of a share that differs from lot to lot: takes counts of lots, gives its mean, ranges, chances. Pure.

A lot's share is drawn from a Beta of a mean and a concentration (its two parameters are mean × concentration and
(1 - mean) × concentration); of n cuttings then so many succeed, a beta-binomial number.

Own code, not SciPy, whose import takes longer (0.6 s) than a whole command and which is larger than all else together:
`tests/outside/test_strike.py` holds chances, quantiles and integrals against it, `tests/unit/test_demand.py` the rest.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import cached_property, lru_cache
from itertools import accumulate
from math import ceil, exp, fsum, lgamma, log, log1p, sqrt
from operator import mul

from almanac.halving import between, first_true
from almanac.plain import dataclass

_FAR = 700.0  # logit beyond which a share is 0 or 1 to the last decimal
_NEGLIGIBLE = 42.0  # log of a density that weighs nothing beside its peak
_STEPS, _WIDEST = 400, 0.1  # of the grid for quantiles: at least so many steps, none wider than this in the logit
_FEW, _WIDE = 100, 0.2  # of that for means, where this is exact to rounding
_FLAT = 0.5  # in the log of a density: what is so near its peak may stand for it
_GOLDEN = (sqrt(5) - 1) / 2
Counts = tuple[tuple[int, int], ...]  # a number of cuttings, and how many lots had it


@dataclass(frozen=True, kw_only=True)
class Tally:
    """Lots by how many of their cuttings succeeded, and by how many did not: all that is asked of them."""

    won: Counts = ()
    lost: Counts = ()

    @classmethod
    def of(cls, seen: Iterable[tuple[int, int]]) -> Tally:
        """Of lots of which so many succeeded of so many."""
        pairs = list(seen)
        won, lost = Counter(won for won, _ in pairs), Counter(of - won for won, of in pairs)
        return cls(won=tuple(sorted(won.items())), lost=tuple(sorted(lost.items())))

    def less(self, some: Tally) -> Tally:
        """Of the other lots: without some that are counted in it."""
        return Tally(won=_without(self.won, some.won), lost=_without(self.lost, some.lost))

    @cached_property
    def lots(self) -> int:
        """How many lots."""
        return sum(lots for _, lots in self.won)

    @property
    def struck(self) -> int:
        """How many cuttings succeeded in all."""
        return sum(won * lots for won, lots in self.won)

    @property
    def cuttings(self) -> int:
        """Of how many."""
        return self.struck + sum(lost * lots for lost, lots in self.lost)


def _without(counted: Counts, some: Counts) -> Counts:
    left = Counter(dict(counted))
    left.subtract(dict(some))
    return tuple(sorted((number, lots) for number, lots in left.items() if lots))


@dataclass(frozen=True, kw_only=True)
class Density:
    """What is believed of the mean share of all lots: prior × the product of each lot's beta-binomial chance.

    The prior is a Beta of the same concentration: the rule's own mean counts like one big lot. It is worked out as a
    density over the logit, on an even grid, for which the trapezoidal rule is exact to rounding, as it dies out at both
    ends (Trefethen & Weideman 2014, SIAM Review 56:385-458); quantiles rest on Simpson's, on a finer grid.

    Args:
        prior: the mean before any lot is seen, between 0 and 1
        concentration: how alike lots are, as that of a Beta
        told: the lots seen
    """

    prior: float
    concentration: float
    told: Tally = Tally()

    @cached_property
    def mean(self) -> float:
        """The mean share."""
        shares, heights = self._coarse
        return fsum(map(mul, shares, heights)) / fsum(heights)

    @cached_property
    def variance(self) -> float:
        """The variance of the share."""
        shares, heights = self._coarse
        away = ((share - self.mean) ** 2 for share in shares)
        return fsum(map(mul, away, heights)) / fsum(heights)

    def quantile(self, chance: float) -> float:
        """The share that is not passed with this chance, 0 to 1."""
        start, step, threes, areas = self._fine
        wanted = chance * areas[-1]
        number = min(bisect_left(areas, wanted), len(threes) - 1)
        rest = wanted - (areas[number - 1] if number else 0)
        steps, _ = between(lambda x: _under_parabola(threes[number], x) < rest, 0, 2, times=45)
        return _share(start + (2 * number + steps) * step)

    @cached_property
    def _coarse(self) -> tuple[list[float], list[float]]:
        """Shares, and how dense they lie."""
        start, step, heights = self._grid(_FEW, _WIDE)
        return [_share(start + number * step) for number in range(len(heights))], heights

    @cached_property
    def _fine(self) -> tuple[float, float, list[list[float]], list[float]]:
        """Where the grid starts, its step, its heights by threes and the area up to the end of each three."""
        start, step, heights = self._grid(_STEPS, _WIDEST)
        threes = [heights[n : n + 3] for n in range(0, len(heights) - 2, 2)]
        return start, step, threes, list(accumulate(_under_parabola(three, 2) for three in threes))

    def _grid(self, least: int, widest: float) -> tuple[float, float, list[float]]:
        low, high, top = self._reach
        count = 2 * ceil(max(least, (high - low) / widest) / 2)
        step = (high - low) / count
        return low, step, [exp(self._log(low + number * step) - top) for number in range(count + 1)]

    @cached_property
    def _reach(self) -> tuple[float, float, float]:
        """From which logit to which there is anything, and the logarithm of the density near its peak."""
        peak, top, size = _peak(self._log, log(self.prior / (1 - self.prior)) if 0 < self.prior < 1 else 0.0)
        low, high = (_end(self._log, peak, way * size, top - _NEGLIGIBLE) for way in (-1, 1))
        return low, high, top

    def _log(self, logit: float) -> float:
        """Of the density of a logit, the logarithm; the beta-binomial's terms without the mean are left out."""
        prior, concentration = self.prior, self.concentration
        found = -concentration * (prior * log1p(exp(-logit)) + (1 - prior) * log1p(exp(logit)))
        if not self.told.won:
            return found
        lots, share, other = self.told.lots, _share(logit) * concentration, _share(-logit) * concentration
        return found + _rising(share, self.told.won, lots) + _rising(other, self.told.lost, lots)


def beta(mean: float, concentration: float) -> Density:
    """The shares of lots: a Beta."""
    return density(mean, concentration, Tally())


def concentration_of(mean: float, variance: float) -> float:
    """The concentration of the Beta of a mean and a variance."""
    return max(mean * (1 - mean) / max(variance, 1e-12) - 1, 1e-3)


@lru_cache(maxsize=1024)  # what lots taught stays as it is until another is settled
def density(prior: float, concentration: float, told: Tally) -> Density:
    """What lots counted already say of their mean share; as `Density`."""
    return Density(prior=prior, concentration=concentration, told=told)


def chance_of(wanted: int, of: int, mean: float, concentration: float) -> float:
    """The chance that at least so many of a lot succeed: the upper tail of a beta-binomial."""
    if wanted <= 0:
        return 1.0
    return min(fsum(beta_binomial(of, mean, concentration, wanted)), 1.0)


def beta_binomial(of: int, mean: float, concentration: float, least: int = 0) -> Iterator[float]:
    """The chance that just so many of a lot succeed, from `least` to all, the lot's share itself drawn from a Beta.

    Johnson, Kemp & Kotz 2005, Univariate Discrete Distributions, section 6.2.2. The mean lies between 0 and 1.
    """
    a, b = mean * concentration, (1 - mean) * concentration
    fixed = lgamma(of + 1) + lgamma(a + b) - lgamma(a) - lgamma(b) - lgamma(of + a + b)
    for won in range(least, of + 1):
        lost = of - won
        yield exp(fixed + lgamma(won + a) - lgamma(won + 1) + lgamma(lost + b) - lgamma(lost + 1))


def how_many(wanted: int, chance: float, mean: float, concentration: float, most: int) -> int | None:
    """The fewest of a lot of which so many succeed with at least this chance; None where not even `most` would do."""
    if most < wanted or chance_of(wanted, most, mean, concentration) < chance:
        return None
    return first_true(lambda of: chance_of(wanted, of, mean, concentration) >= chance, wanted - 1, most)


def _share(logit: float) -> float:
    return 1 / (1 + exp(-logit))


def _rising(start: float, counts: Counts, lots: int) -> float:
    """The log of the product of the rising factorials start (start + 1) … of so many factors, one for each lot."""
    return fsum([number * lgamma(start + factors) for factors, number in counts]) - lots * lgamma(start)


def _under_parabola(heights: Sequence[float], steps: float) -> float:
    """The area, up to so many steps from the first, under the parabola through three heights a step apart."""
    low, middle, high = heights
    slope, bend = (4 * middle - 3 * low - high) / 2, (low - 2 * middle + high) / 2
    return steps * (low + steps * (slope / 2 + steps * bend / 3))


def _end(height: Callable[[float], float], peak: float, size: float, least: float) -> float:
    """A logit beyond a peak where a function is lower than this, and not far from where it comes to be."""
    inside, outside = peak, peak + size
    while height(outside) > least and abs(outside) < _FAR:
        inside, size = outside, size * 2
        outside = min(max(outside + size, -_FAR), _FAR)
    return between(lambda logit: height(logit) > least, inside, outside, times=8)[1]


def _peak(height: Callable[[float], float], near: float) -> tuple[float, float, float]:
    """Where a function with one peak nearly has it, how high it is there, and how wide its top, searched from a place.

    Between bounds found by doubling steps, by golden section (Kiefer 1953, Proceedings of the AMS 4:502-506).
    """
    low, middle, high = near - 1, near, near + 1
    heights = [height(each) for each in (low, middle, high)]
    while heights[0] > heights[1] and low > -_FAR:
        low, middle, high = max(low - 2 * (high - low), -_FAR), low, middle
        heights = [height(low), *heights[:2]]
    while heights[2] > heights[1] and high < _FAR:
        low, middle, high = middle, high, min(high + 2 * (high - low), _FAR)
        heights = [*heights[1:], height(high)]
    a, b = high - _GOLDEN * (high - low), low + _GOLDEN * (high - low)
    at_a, at_b = height(a), height(b)
    while max(at_a, at_b) - min(heights[0], heights[2]) > _FLAT and b - a > 1e-9:
        if at_a < at_b:
            low, heights[0], a, at_a = a, at_a, b, at_b
            b = low + _GOLDEN * (high - low)
            at_b = height(b)
        else:
            high, heights[2], b, at_b = b, at_b, a, at_a
            a = high - _GOLDEN * (high - low)
            at_a = height(a)
    return (a, at_a, high - low) if at_a > at_b else (b, at_b, high - low)
