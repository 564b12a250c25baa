"""How long things take for a lot: its first cutting, a share of it, and what is left when a look saw nothing."""

from __future__ import annotations

from datetime import date, timedelta
from math import log
from statistics import NormalDist

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from almanac.forecast.durations import Arrival, Belief, after, arrival, typical_from
from almanac.forecast.thermal import Pace, plain_days

START = date(2027, 1, 5)
BELIEF = Belief(log_median=log(22), within=0.2, between=0.3)  # made up


def likely(of: int, share: float | None = None, not_by: date = START) -> date:
    found = arrival(BELIEF, of, share, plain_days(START), not_by).day(0.5)
    assert found is not None
    return found


def test_a_lot_of_twelve_shows_its_first_root_before_a_lot_of_two_and_that_before_a_single_stick() -> None:
    assert likely(12) < likely(2) < likely(1) == START + timedelta(days=22)


def test_half_a_lot_is_rooted_later_than_its_first_and_most_of_it_later_still() -> None:
    assert likely(12) < likely(12, 0.5) < likely(12, 0.9)


def test_an_empty_count_is_taken_for_a_single_stick() -> None:
    assert likely(0) == likely(1)


def test_a_look_that_sees_nothing_moves_the_day_back() -> None:
    days = [likely(12, not_by=START + timedelta(days=looked)) for looked in (0, 16, 24, 40)]

    assert days == sorted(days)
    assert days[0] < days[-1]


def test_what_never_varies_comes_on_its_day() -> None:
    comes = arrival(Belief(log_median=log(14), within=0.0, between=0.0), 12, None, plain_days(START), START)

    assert {comes.day(chance) for chance in (0.1, 0.5, 0.9)} == {START + timedelta(days=14)}


def test_on_a_mat_that_stands_still_nothing_more_is_forecast() -> None:
    still = Pace(((START, 0.0), (START + timedelta(days=5), 5.0)), 0.0)

    assert arrival(BELIEF, 12, None, still, START).day(0.5) is None
    assert after((START, START, START), arrival(BELIEF, 12, None, Pace(((START, 0.0),), 0.0), START)) is None


@given(
    waited=st.integers(0, 400),
    sigma=st.floats(0.02, 1.0),
    median=st.floats(1.0, 120.0),
    pace=st.floats(0.2, 1.5),
    chance=st.floats(0.01, 0.99),
)
def test_what_a_look_did_not_see_is_never_forecast_before_that_look(
    waited: int, sigma: float, median: float, pace: float, chance: float
) -> None:
    left = 1 - NormalDist().cdf((log(waited * pace) - log(median)) / sigma) if waited else 1.0
    assume(left > 1e-6)  # what has not come in a million lots is waited for in vain
    look = START + timedelta(days=waited)
    comes = Arrival(pace=Pace(((START, 0.0),), pace), log_median=log(median), sigma=sigma, not_by=look)

    found = comes.day(chance)

    assert found is None or found >= look


@pytest.mark.parametrize("days", [(0, 0, 0), (3, 9, 20), (14, 22, 35)])
def test_the_second_of_two_intervals_ends_after_the_first(days: tuple[int, int, int]) -> None:
    ends = (START + timedelta(days[0]), START + timedelta(days[1]), START + timedelta(days[2]))

    both = after(ends, arrival(Belief(log_median=log(28), within=0.2, between=0.2), 12, 0.5, plain_days(START), START))

    assert both is not None
    for chance, end in zip((0.1, 0.5, 0.9), ends, strict=True):
        day = both.day(chance)
        assert day is not None
        assert day > end


def test_roots_on_three_of_twelve_say_that_half_the_lot_is_nearer_than_roots_on_one() -> None:
    seen = START + timedelta(days=20)
    half = {showing: typical_from(seen, START, showing, 12, 0.5, within=0.2) for showing in (1, 3, 6, 12)}

    assert half[1] > half[3] > half[6] == half[12] == seen


def test_what_was_over_before_the_next_wait_is_counted_begins_it_at_once() -> None:
    long_ago = START - timedelta(days=60)

    found = after((long_ago, long_ago, long_ago), arrival(BELIEF, 12, None, plain_days(START), START))
    at_once = after((START, START, START), arrival(BELIEF, 12, None, plain_days(START), START))

    assert found is not None
    assert at_once is not None
    assert found.day(0.5) == at_once.day(0.5)
