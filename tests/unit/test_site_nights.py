"""What a source of frost tells of other nights: tables of other thresholds, usual lows, and what it cannot tell."""

from __future__ import annotations

from datetime import date

import pytest

from almanac.site.frost import from_published, never
from almanac.site.monthly import from_monthly
from almanac.site.nights import Nights

LOWS = (-6.0, -5.0, -1.0, 4.0, 9.0, 14.0, 16.0, 15.0, 11.0, 5.0, 0.0, -4.0)


def of_months() -> Nights:
    def at(threshold_c: float) -> object:
        return from_monthly(LOWS, threshold_c, False, "invented")

    return Nights(from_monthly(LOWS, 0.0, False, "invented"), at)  # type: ignore[arg-type]  # as typed


def test_dates_tell_of_their_own_threshold_alone() -> None:
    nights = Nights(from_published(0.0, {0.5: (4, 17)}, {0.5: (10, 18)}, False, "invented"))

    assert nights.at(0.0) is nights.frost
    assert nights.at(-4.0) is None
    assert nights.frost.usual_low_c(date(2027, 1, 10)) is None


def test_where_it_never_freezes_colder_nights_do_not_come_either() -> None:
    nights = Nights(never(0.0, False, "invented"))

    hard = nights.at(-4.0)
    assert hard is not None
    assert hard.chance_before(date(2027, 1, 31)) == 0
    assert nights.at(5.0) is None


def test_a_threshold_read_from_the_other_scale_is_the_same() -> None:
    nights = Nights(never(-2.2, False, "invented"))

    assert nights.at((28 - 32) / 1.8) is nights.frost  # 28 F is -2.22 C


def test_colder_nights_come_later_and_not_every_year() -> None:
    nights = of_months()

    frost, hard = nights.frost, nights.at(-8.0)
    assert hard is not None
    assert frost.date_for_autumn(0.5, 2026) is not None
    assert hard.chance_before(date(2026, 11, 1)) < frost.chance_before(date(2026, 11, 1))


def test_a_threshold_of_which_no_table_can_be_made_is_unknown() -> None:
    def refuses(threshold_c: float) -> object:
        raise ValueError("too few such nights")

    dates = from_published(0.0, {0.5: (4, 17)}, {0.5: (10, 18)}, False, "invented")
    assert Nights(dates, refuses).at(-30.0) is None  # type: ignore[arg-type]  # it refuses


def test_the_usual_low_of_mid_month_is_that_of_the_month_and_between_two_it_lies_between() -> None:
    nights = of_months()

    assert nights.frost.usual_low_c(date(2027, 4, 15)) == pytest.approx(4.0, abs=0.2)
    between = nights.frost.usual_low_c(date(2027, 4, 30))
    assert between is not None
    assert 4.0 < between < 9.0
    assert nights.frost.usual_low_c(date(2027, 1, 1)) == pytest.approx(-5.0, abs=0.3)  # between December and January
