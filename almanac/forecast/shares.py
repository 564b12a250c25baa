"""What is known of a share that differs from lot to lot: takes counts of lots, gives its mean, ranges, chances. Pure.

A lot's share is drawn from a Beta of a mean and a concentration (its two parameters are mean × concentration and
(1 - mean) × concentration); of n cuttings then so many succeed, a beta-binomial number.

Own code, not SciPy, whose import takes longer (0.6 s) than a whole command and which is larger than all else together:
`tests/outside/test_strike.py` holds chances, quantiles and integrals against it, `tests/unit/test_demand.py` the rest.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from functools import cached_property, lru_cache
from itertools import accumulate
from math import ceil, exp, fsum, lgamma, log1p
from operator import mul

from almanac.halving import between, first_true
from almanac.plain import dataclass

_FAR = 700.0  # logit beyond which a share is 0 or 1 to the last decimal
_NEGLIGIBLE = 42.0  # log of a density that weighs nothing beside its peak
_HALVINGS = 45  # of all logits: to the last decimal of any share
_STEPS, _WIDEST = 400, 0.1  # of the grid: at least so many steps, none wider than this in the logit


@dataclass(frozen=True, kw_only=True)
class Density:
    """A distribution over shares on an even grid of their logits: the densities of the logit, up to a factor.

    The trapezoidal rule is exact to rounding for smooth densities that die out at both ends (Trefethen & Weideman 2014,
    SIAM Review 56:385-458); quantiles rest on Simpson's.
    """

    start: float
    step: float
    heights: tuple[float, ...]

    @cached_property
    def mean(self) -> float:
        """The mean share."""
        return fsum(map(mul, self._shares, self.heights)) / fsum(self.heights)

    @cached_property
    def variance(self) -> float:
        """The variance of the share."""
        away = ((share - self.mean) ** 2 for share in self._shares)
        return fsum(map(mul, away, self.heights)) / fsum(self.heights)

    @cached_property
    def _shares(self) -> list[float]:
        return [_share(self.start + number * self.step) for number in range(len(self.heights))]

    def quantile(self, chance: float) -> float:
        """The share that is not passed with this chance, 0 to 1."""
        threes = [self.heights[n : n + 3] for n in range(0, len(self.heights) - 2, 2)]
        areas = list(accumulate(_under_parabola(three, 2) for three in threes))
        wanted = chance * areas[-1]
        number = min(bisect_left(areas, wanted), len(threes) - 1)
        rest = wanted - (areas[number - 1] if number else 0)
        steps, _ = between(lambda x: _under_parabola(threes[number], x) < rest, 0, 2, _HALVINGS)
        return _share(self.start + (2 * number + steps) * self.step)


def beta(mean: float, concentration: float) -> Density:
    """The shares of lots: a Beta."""
    return mean_of_lots(mean, concentration, ())


def concentration_of(mean: float, variance: float) -> float:
    """The concentration of the Beta of a mean and a variance."""
    return max(mean * (1 - mean) / max(variance, 1e-12) - 1, 1e-3)


def mean_of_lots(prior: float, concentration: float, seen: Iterable[tuple[int, int]]) -> Density:
    """What lots say of the mean share of all lots: prior × the product of each lot's beta-binomial chance.

    The prior is a Beta of the same concentration: the rule's own mean counts like one big lot.

    Args:
        prior: the mean before any lot is seen, between 0 and 1
        concentration: how alike lots are, as that of a Beta
        seen: for each lot, how many succeeded of how many
    """
    return _density(prior, concentration, tuple(sorted(seen)))


@lru_cache(maxsize=1024)  # what lots taught stays as it is until another is settled
def _density(prior: float, concentration: float, lots: tuple[tuple[int, int], ...]) -> Density:
    wins, losses = Counter(won for won, _ in lots), Counter(of - won for won, of in lots)

    def log_density(logit: float) -> float:
        """Of the logit of the mean; the beta-binomial's terms without the mean are left out."""
        share, other = _share(logit), _share(-logit)
        found = -concentration * (prior * log1p(exp(-logit)) + (1 - prior) * log1p(exp(logit)))
        if not lots:
            return found
        return found + _rising(share * concentration, wins) + _rising(other * concentration, losses)

    peak = _peak(log_density)
    top = log_density(peak)
    low, _ = between(lambda x: log_density(x) < top - _NEGLIGIBLE, -_FAR, peak, _HALVINGS)
    high, _ = between(lambda x: log_density(x) > top - _NEGLIGIBLE, peak, _FAR, _HALVINGS)
    count = 2 * ceil(max(_STEPS, (high - low) / _WIDEST) / 2)
    step = (high - low) / count
    return Density(
        start=low, step=step, heights=tuple(exp(log_density(low + number * step) - top) for number in range(count + 1))
    )


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


def _rising(start: float, counts: Counter[int]) -> float:
    """The log of the product of the rising factorials start (start + 1) … of so many factors, one for each lot."""
    return fsum(number * lgamma(start + factors) for factors, number in counts.items()) - counts.total() * lgamma(start)


def _under_parabola(heights: tuple[float, ...], steps: float) -> float:
    """The area, up to so many steps from the first, under the parabola through three heights a step apart."""
    low, middle, high = heights
    slope, bend = (4 * middle - 3 * low - high) / 2, (low - 2 * middle + high) / 2
    return steps * (low + steps * (slope / 2 + steps * bend / 3))


def _peak(height: Callable[[float], float]) -> float:
    """Where a function with one peak has it; this one is concave in the share itself."""
    low, high = -_FAR, _FAR
    for _ in range(_HALVINGS):
        third = (high - low) / 3
        if height(low + third) < height(high - third):
            low += third
        else:
            high -= third
    return (low + high) / 2
