"""On which days to go to the bench: what comes first when not everything can be had."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise

import pytest

from almanac.plan.visits import visit_days

MONDAY = date(2027, 2, 1)


@dataclass(frozen=True)
class EveryFewDays:
    """Looks from a first latest day on, days counted from a Monday."""

    first: int
    every: int
    last: int

    @property
    def start(self) -> date:
        return MONDAY

    @property
    def end(self) -> date:
        return MONDAY + timedelta(days=self.last)

    def latest(self, last: date) -> date:
        return MONDAY + timedelta(days=self.first) if last <= MONDAY else last + timedelta(days=self.every)


def visits(
    looks: Sequence[EveryFewDays],
    *,
    bench: str = "mtwtfss",
    away: Collection[int] = (),
    barred: Collection[int] = (),
    fixed: Collection[int] = (),
) -> list[int]:
    """The days of visits, counted from the Monday; bench days are the capitals of the week (none: all)."""
    capitals = [number for number, letter in enumerate(bench) if letter.isupper()] or range(7)
    found = visit_days(
        looks,
        {MONDAY + timedelta(days=number) for number in fixed},
        lambda day: (day - MONDAY).days in barred,
        lambda day: (day - MONDAY).days in away,
        lambda day: day.weekday() in capitals,
    )
    return [(day - MONDAY).days for day in found]


def test_with_nothing_to_look_at_nobody_goes() -> None:
    assert visits([]) == []


def test_a_visit_that_took_place_stays_even_with_nothing_to_look_at() -> None:
    assert visits([], fixed=[3, 9]) == [3, 9]


def test_one_visit_serves_every_lot() -> None:
    alone = visits([EveryFewDays(4, 4, 15)])

    assert len(alone) == 3
    assert visits([EveryFewDays(4, 4, 15), EveryFewDays(6, 9, 15), EveryFewDays(5, 20, 15)]) == alone


def test_the_visit_waits_for_a_bench_day_if_the_look_can() -> None:
    assert visits([EveryFewDays(6, 30, 10)], bench="mtwTfss") == [3]


def test_a_look_that_cannot_wait_for_a_bench_day_is_made_before_it() -> None:
    assert visits([EveryFewDays(2, 30, 10)], bench="mtwTfss") in ([0], [1], [2])


def test_bench_days_are_worth_more_than_fewer_visits() -> None:
    found = visits([EveryFewDays(3, 4, 14)], bench="mTwtFss")

    assert {day % 7 for day in found} == {1, 4}


def test_a_day_away_is_left_out_even_if_the_visit_falls_off_the_bench_days() -> None:
    assert visits([EveryFewDays(4, 30, 10)], bench="mtwtFss", away=[4, 5]) in ([0], [1], [2], [3])


def test_a_look_that_falls_wholly_into_days_away_is_kept_all_the_same() -> None:
    found = visits([EveryFewDays(2, 4, 16)], away=range(4, 13))

    assert any(4 <= day < 13 for day in found)
    assert all(there - here <= 4 for here, there in pairwise(found))


@pytest.mark.parametrize("gone", [5, 10, 30, 60])
def test_after_days_gone_by_without_a_visit_looks_begin_again_at_once(gone: int) -> None:
    found = visits([EveryFewDays(3, 4, 80)], barred=range(gone))

    assert found
    assert gone <= found[0] < gone + 4
    assert all(there - here <= 4 for here, there in pairwise([*found, 81]))


def test_a_visit_that_takes_place_anyhow_spares_another() -> None:
    assert visits([EveryFewDays(4, 30, 10)], fixed=[2]) == [2]


def test_visits_are_spread_evenly() -> None:
    found = visits([EveryFewDays(5, 5, 14)])

    assert len(found) == 2
    assert max(found[0], found[1] - found[0], 14 - found[1]) <= 5
