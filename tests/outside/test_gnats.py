"""Fungus gnats against published days of their stages, and treatment days against a population of them."""

from __future__ import annotations

import pytest

from almanac.nursery.events import EVENTS
from almanac.plan.care.programmes.fungus_gnats.outbreaks import clock
from almanac.rulebook.load import load_rules
from almanac.rulebook.programmes.fungus_gnats import FungusGnats
from tests.outside.gnat_population import TEMPERATURES_C, WEEKLY, published, threshold_c, ways, worst

BOOK, FAULTS = load_rules(None, EVENTS)
assert BOOK is not None
RULES = BOOK.programme(FungusGnats)
FAST, SLOW = clock(RULES, RULES.fast), clock(RULES, RULES.slow)


def test_the_threshold_is_where_the_line_through_two_published_temperatures_meets_nothing() -> None:
    # Lund University, abstract on Scatopsciara cunicularius: 119 days at 12.3 C, 28 at 22 C.
    assert RULES.threshold.at == pytest.approx(threshold_c(), abs=0.05)


@pytest.mark.parametrize("row", published(), ids=lambda row: f"{row['species']} at {row['temp_c']} C")
def test_published_days_from_egg_to_adult_lie_between_the_fast_clock_and_the_slow_one(row: dict[str, str]) -> None:
    # Each row of data/gnat_days.csv names its source. To half a day, as whole days are published, or to what is told.
    days, margin = float(row["total_days"]), max(float(row["plus_minus"] or 0), 0.6)

    fast, slow = (each.generation / each.rate(float(row["temp_c"])) for each in (FAST, SLOW))

    assert fast <= days + margin
    assert slow >= days - margin


@pytest.mark.parametrize("row", [row for row in published() if row["larva_days"]], ids=lambda row: row["temp_c"])
def test_no_published_larva_feeds_for_fewer_days_than_the_fast_clock_says(row: dict[str, str]) -> None:
    assert FAST.larva / FAST.rate(float(row["temp_c"])) <= float(row["larva_days"]) + 0.05


@pytest.mark.parametrize("temp_c", TEMPERATURES_C)
def test_the_turns_of_an_opened_bag_meet_every_larva_whenever_in_their_windows_they_come(temp_c: float) -> None:
    for way, days in ways(temp_c).items():
        assert worst(temp_c, days) == 0, f"{way}: {days}"


def test_three_weekly_drenches_let_gnats_escape_in_the_coldest_mix() -> None:
    assert worst(min(TEMPERATURES_C), WEEKLY) > 0


def test_turns_a_fortnight_apart_let_gnats_escape_in_warm_mix() -> None:
    # So the population tells turns that are too far apart, too, not only an end that comes too soon.
    assert worst(30.0, range(0, 60, 14)) > 0
