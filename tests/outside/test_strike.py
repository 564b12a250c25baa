"""Strike rates against SciPy's beta-binomial and Beta, and against direct numerical integration.

The model: a lot's share is drawn from a Beta, so its count is beta-binomial (Skellam 1948, Journal of the Royal
Statistical Society B 10:257-261). SciPy is the check, its formulas written out here anew.
"""

from __future__ import annotations

from itertools import pairwise
from math import exp

import numpy as np
import pytest
from scipy import integrate, special, stats

from almanac.forecast.shares import Tally, beta, chance_of, density, how_many

RULES = [(0.55, 6.0), (0.7, 6.0), (0.5, 1.0), (0.03, 4.0), (0.98, 200.0), (0.35, 40.0)]
LOTS = {
    "no lot": [],
    "one lot": [(7, 12)],
    "one cutting": [(0, 1)],
    "all struck": [(12, 12), (9, 9), (20, 20)],
    "none struck": [(0, 12), (0, 9), (0, 20)],
    "lots that differ": [(7, 12), (0, 6), (20, 24), (3, 10), (11, 11), (5, 9), (14, 30), (1, 2)],
    "many lots": [(number % 13, 12 + number % 7) for number in range(120)],
}


@pytest.mark.parametrize(("mean", "concentration"), RULES)
@pytest.mark.parametrize("of", [1, 12, 45, 400])
def test_the_chance_of_so_many_plants_is_the_tail_of_a_beta_binomial(
    of: int, mean: float, concentration: float
) -> None:
    known = stats.betabinom(of, mean * concentration, (1 - mean) * concentration)

    for wanted in {0, 1, of // 3, of // 2, of - 1, of, of + 1}:
        assert chance_of(wanted, of, mean, concentration) == pytest.approx(known.sf(wanted - 1), abs=1e-10)
        single = chance_of(wanted, of, mean, concentration) - chance_of(wanted + 1, of, mean, concentration)
        assert single == pytest.approx(known.pmf(wanted), abs=1e-10)


@pytest.mark.parametrize(("mean", "concentration"), RULES)
@pytest.mark.parametrize(("plants", "chance"), [(1, 0.5), (5, 0.8), (20, 0.9)])
def test_the_cuttings_to_stick_are_the_fewest_that_will_do(
    plants: int, chance: float, mean: float, concentration: float
) -> None:
    found = how_many(plants, chance, mean, concentration, most=10_000)

    a, b = mean * concentration, (1 - mean) * concentration
    if found is None:
        assert stats.betabinom(10_000, a, b).sf(plants - 1) < chance
    else:
        assert stats.betabinom(found, a, b).sf(plants - 1) >= chance
        assert stats.betabinom(found - 1, a, b).sf(plants - 1) < chance


def test_twenty_plants_at_ninety_percent_take_45_cuttings_where_lots_differ_and_33_where_they_do_not() -> None:
    assert how_many(20, 0.9, 0.7, 6.0, most=10_000) == 45
    # Of one fixed share the count is binomial; lots ever more alike come to that.
    assert stats.binom(33, 0.7).sf(19) >= 0.9 > stats.binom(32, 0.7).sf(19)
    assert how_many(20, 0.9, 0.7, 1e6, most=10_000) == 33


@pytest.mark.parametrize(("mean", "concentration"), RULES)
def test_with_no_lot_yet_the_shares_are_the_rules_beta(mean: float, concentration: float) -> None:
    known = stats.beta(mean * concentration, (1 - mean) * concentration)

    found = beta(mean, concentration)

    assert found.mean == pytest.approx(mean, abs=1e-12)
    for chance in (0.025, 0.1, 0.5, 0.9, 0.975):
        assert found.quantile(chance) == pytest.approx(known.ppf(chance), abs=2e-6)


@pytest.mark.parametrize("lots", LOTS.values(), ids=LOTS)
@pytest.mark.parametrize(("prior", "concentration"), RULES)
def test_the_mean_that_lots_teach_is_that_of_direct_integration(
    prior: float, concentration: float, lots: list[tuple[int, int]]
) -> None:
    won, of = np.array(lots, dtype=float).reshape(-1, 2).T
    found = density(prior, concentration, Tally.of(lots))

    def log_density(logit: float) -> float:
        """Along the logit, in which no end of a Beta is infinite."""
        a, b = special.expit(logit) * concentration, special.expit(-logit) * concentration
        seen = (special.betaln(won + a, of - won + b) - special.betaln(a, b)).sum()
        start = prior * special.log_expit(logit) + (1 - prior) * special.log_expit(-logit)
        return float(concentration * start + seen)

    top = log_density(special.logit(found.mean))
    ends = [found.quantile(chance) for chance in (0.001, 0.1, 0.5, 0.9, 0.999)]

    def area(to: float, *, weighed: bool = False) -> float:
        """The integral up to a share, piece by piece so that no peak is stepped over."""

        def height(logit: float) -> float:
            return exp(log_density(logit) - top) * (special.expit(logit) if weighed else 1)

        cuts = [-300.0, *(special.logit(end) for end in ends if end < to), min(special.logit(to), 300.0)]
        pieces = [integrate.quad(height, low, high, epsabs=0, epsrel=1e-9)[0] for low, high in pairwise(cuts)]
        return float(sum(pieces))

    whole = area(1.0)
    assert found.mean == pytest.approx(area(1.0, weighed=True) / whole, abs=1e-7)
    for chance in (0.1, 0.9):
        assert area(found.quantile(chance)) / whole == pytest.approx(chance, abs=5e-6)
