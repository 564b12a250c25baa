"""The search by halving finds what going through all finds, and asks of few."""

from __future__ import annotations

from math import sqrt

import pytest

from almanac.halving import between, first_true, last_true


@pytest.mark.parametrize("turns", range(-2, 12))
def test_the_first_and_the_last_that_hold_are_those_found_one_by_one(turns: int) -> None:
    first = first_true(lambda number: number >= turns, 0, 9)
    last = last_true(lambda number: number <= turns, 0, 9)

    assert first == next((number for number in range(1, 9) if number >= turns), 9)
    assert last == max((number for number in range(1, 9) if number <= turns), default=0)


def test_a_search_over_years_of_days_asks_of_a_dozen_and_never_of_its_ends() -> None:
    asked: list[int] = []

    def holds(day: int) -> bool:
        asked.append(day)
        return day >= 777

    assert first_true(holds, 0, 3650) == 777
    assert len(asked) <= 12
    assert not {0, 3650} & {*asked}
    assert first_true(holds, 5, 6) == 6


def test_a_stretch_is_halved_about_where_a_condition_ceases() -> None:
    low, high = between(lambda x: x * x < 2, 1, 2, times=20)

    assert low <= sqrt(2) <= high
    assert high - low == pytest.approx(2**-20)
