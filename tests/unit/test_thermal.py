"""Warmth and time: mats, rooms, power cuts and moves between bins, as a lot's counted days."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest

from almanac.forecast.thermal import Pace, lot_pace, rate
from almanac.nursery.lots import BinLog, Lot
from almanac.rulebook.models import Warmth

START = date(2027, 1, 5)
# The figures are made up: one day counts as one at 25 °C, half a day at 17 °C, nothing at 9 °C.
WARMTH = Warmth(base=9.0, optimum_low=25.0, optimum_high=28.0, ceiling=38.0, source="")


def later(days: int) -> date:
    return START + timedelta(days=days)


def mat(name: str, *changes: tuple[int, float]) -> BinLog:
    """A bin at 25 °C from long ago, its mat changed so many days after the start."""
    return BinLog(
        name=name,
        base_c=((date.min, 25.0), *((later(days), degrees) for days, degrees in changes)),
        air_c=((date.min, 21.0),),
    )


def pace(bins: list[BinLog], *places: tuple[int, str], of_air: bool = False) -> Pace:
    stood: Any = tuple((later(days), name) for days, name in places)
    lot = Lot(
        id="7a", number="7", crop="fig", method="sealed_bag", protected=False, started=START, origin="", places=stood
    )
    return lot_pace(lot, START, WARMTH, 25.0, {item.name: item for item in bins}, of_air=of_air)


def test_on_a_mat_at_the_rules_own_warmth_a_day_counts_as_a_day() -> None:
    found = pace([mat("A")], (0, "A"))

    assert found.counted(later(20)) == pytest.approx(20)
    assert found.day(20) == later(20)


def test_a_cooler_mat_takes_longer_and_the_days_before_it_still_count() -> None:
    found = pace([mat("A", (10, 17.0))], (0, "A"))

    assert found.day(10) == later(10)
    assert found.day(20) == later(30)


def test_a_day_without_power_in_a_cold_room_is_a_day_lost() -> None:
    found = pace([mat("A", (8, 9.0), (9, 25.0))], (0, "A"))

    assert found.day(20) == later(21)


def test_a_power_cut_in_a_mild_room_costs_only_part_of_its_days() -> None:
    found = pace([mat("A", (8, 17.0), (12, 25.0))], (0, "A"))

    assert found.day(20) == later(22)


def test_a_lot_moved_to_another_bin_keeps_the_days_it_has() -> None:
    found = pace([mat("A"), mat("B", (-100, 17.0))], (0, "A"), (10, "B"))

    assert found.counted(later(10)) == pytest.approx(10)
    assert found.day(20) == later(30)


def test_a_mat_changed_after_the_lot_has_left_its_bin_does_not_touch_it() -> None:
    found = pace([mat("A", (15, 9.0)), mat("B")], (0, "A"), (10, "B"))

    assert found.day(20) == later(20)


def test_a_mat_changed_before_the_lot_came_is_the_warmth_it_came_to() -> None:
    found = pace([mat("A", (-30, 9.0), (-20, 17.0))], (0, "A"))

    assert found.day(10) == later(20)


def test_moved_out_and_back_on_one_day_nothing_changes() -> None:
    found = pace([mat("A"), mat("B", (-100, 9.0))], (0, "A"), (10, "B"), (10, "A"))

    assert found.day(20) == later(20)


def test_a_lot_in_no_bin_is_taken_to_stand_at_the_rules_own_warmth() -> None:
    assert pace([mat("A", (0, 9.0))]).day(20) == later(20)


def test_what_follows_the_air_does_not_feel_the_mat() -> None:
    found = pace([replace(mat("A", (0, 9.0)), air_c=((date.min, 17.0),))], (0, "A"), of_air=True)

    assert found.day(10) == later(20)


@pytest.mark.parametrize("degrees", [9.0, 0.0, 38.0, 45.0])
def test_too_cold_or_too_hot_it_stands_still_and_no_day_is_named(degrees: float) -> None:
    found = pace([mat("A", (5, degrees))], (0, "A"))

    assert found.rate == 0
    assert found.counted(later(90)) == pytest.approx(5)
    assert found.day(4) == later(4)
    assert found.day(6) is None


def test_hardly_warmer_than_the_base_no_day_years_away_is_named() -> None:
    assert pace([mat("A", (0, 9.01))], (0, "A")).day(22) is None


def test_above_the_optimum_development_slows_again() -> None:
    assert rate(WARMTH, 28.0) == rate(WARMTH, 25.0) > rate(WARMTH, 33.0) > rate(WARMTH, 37.0) > 0
