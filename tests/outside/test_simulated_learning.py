"""Drawn nurseries whose truth is known: how near their own lots bring the forecast of the next one.

STICKDATE_SIMULATED_NURSERIES sets how many are drawn (twelve lots each); `simulate_learning` says how.
"""

from __future__ import annotations

import os
from functools import lru_cache

import pytest

from tests.outside.simulate_learning import RULE, Score, season_in_progress, simulate, times

NURSERIES = int(os.environ.get("STICKDATE_SIMULATED_NURSERIES", "1500"))


@lru_cache(maxsize=1)
def scores() -> dict[str, Score]:
    return simulate(NURSERIES)


def test_after_eight_lots_the_likely_day_is_as_near_as_the_exact_posterior_brings_it() -> None:
    found = scores()

    assert found["learned"].error <= 1.02 * found["exact posterior"].error
    # Nobody who must learn the offsets from eight lots comes near one who knows them.
    assert 1.05 < found["learned"].error / found["oracle"].error < 1.2


def test_eight_in_ten_first_roots_come_inside_the_band() -> None:
    assert 0.78 <= scores()["learned"].covered <= 0.82


def test_without_the_growers_own_lots_the_forecast_is_further_off_and_its_band_wider() -> None:
    rule_alone, learned = scores()["rule alone"], scores()["learned"]

    assert rule_alone.error > 1.5 * learned.error
    assert rule_alone.width > 1.5 * learned.width
    assert 0.78 <= rule_alone.covered <= 0.82  # wide, yet honest


@pytest.mark.parametrize(("factor", "least", "most"), [(0.5, 0.95, 1.0), (2.0, 0.40, 0.60)])
def test_where_the_rules_spreads_are_wrong_own_lots_still_help_though_the_band_is_off(
    factor: float, least: float, most: float
) -> None:
    found = simulate(max(NURSERIES // 5, 200), times(RULE, factor))

    assert found["learned"].error < 0.7 * found["rule alone"].error
    assert found["learned"].error < 1.1 * found["exact posterior"].error
    assert least <= found["learned"].covered <= most


def test_leaving_out_the_lots_that_still_wait_makes_a_shed_look_faster_than_it_is() -> None:
    season = season_in_progress(max(NURSERIES // 3, 200))

    assert 0.3 < season.still_waiting < 0.7
    assert abs(season.with_waiting) < 0.03
    assert season.finished_only < -0.08
