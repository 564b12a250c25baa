"""How fast an insect grows along the warmth of the mix."""

from __future__ import annotations

from datetime import date

import pytest

from almanac.forecast.generations import Clock, first_day_with, last_day_under, latest

START = date(2027, 2, 1)
CLOCK = Clock.timed(threshold_c=10, level_c=30, at_c=20, egg=3, larva=10, pupa=4)


def test_at_the_temperature_of_its_rule_a_generation_takes_the_days_of_its_rule() -> None:
    pace = CLOCK.pace(((date.min, 20.0),), START)

    assert first_day_with(pace, CLOCK.generation) == date(2027, 2, 18)
    assert last_day_under(pace, CLOCK.larva) == date(2027, 2, 10)


def test_five_degrees_nearer_the_threshold_it_takes_twice_as_long() -> None:
    assert first_day_with(CLOCK.pace(((date.min, 15.0),), START), CLOCK.generation) == date(2027, 3, 7)


def test_a_mat_turned_up_half_way_hastens_only_what_is_left() -> None:
    # 5 days at 10 degrees over make 50; the other 120 of 170 take 8 days at 15.
    pace = CLOCK.pace(((date.min, 20.0), (date(2027, 2, 6), 25.0)), START)

    assert first_day_with(pace, CLOCK.generation) == date(2027, 2, 14)


def test_it_goes_no_faster_above_the_level_and_stands_still_below_the_threshold() -> None:
    assert CLOCK.rate(35) == CLOCK.rate(30) == 20
    assert CLOCK.rate(9) == 0
    assert first_day_with(CLOCK.pace(((date.min, 9.0),), START), 1) is None


def test_a_rule_that_holds_above_the_level_is_counted_at_the_level() -> None:
    assert Clock.timed(10, 25, 28, egg=1, larva=1, pupa=1).generation == pytest.approx(45)


def test_a_day_that_never_comes_is_the_bound() -> None:
    assert latest([START, None], date(2027, 6, 1)) == date(2027, 6, 1)
    assert latest([START], date(2027, 6, 1)) == START
