"""The chance of a frost so far, over nights that resemble the one before: takes each night's, gives the run's. Pure.

That no frost falls in a run of nights is the product, night by night, of the chance that one stays above the threshold
given that the night before did. Two nights are bivariate normal, worked out as the integral over the correlation:
Drezner & Wesolowsky 1990, On the computation of the bivariate normal integral, Journal of Statistical Computation and
Simulation 35:101-107.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from itertools import pairwise
from math import asin, cos, exp, pi, sin
from statistics import NormalDist

_TINY = 1e-12
_FAR = 80.0  # sum of squared quantiles from which a correlation between two nights adds nothing
_CDF = NormalDist().cdf
# Gauss-Legendre, six points on -1 to 1: node (of both signs) and weight (Abramowitz & Stegun 1964, table 25.4).
_NODES = (
    (0.238619186083197, 0.467913934572691),
    (0.661209386466265, 0.360761573048139),
    (0.932469514203152, 0.171324492379170),
)


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
