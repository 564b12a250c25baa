"""What a source of frost tells of other nights: tables of other thresholds, usual lows, and what it cannot tell."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from almanac.site.frost import from_published, never
from almanac.site.monthly import from_monthly
from almanac.site.nights import Nights

LOWS = (-6.0, -5.0, -1.0, 4.0, 9.0, 14.0, 16.0, 15.0, 11.0, 5.0, 0.0, -4.0)


def of_months() -> Nights:
    def at(threshold_c: float) -> object:
        return from_monthly(LOWS, threshold_c, False, "invented")

    return Nights(from_monthly(LOWS, 0.0, False, "invented"), 45.0, at)  # type: ignore[arg-type]  # as typed


def test_dates_tell_of_their_own_threshold_and_of_none_above() -> None:
    nights = Nights(from_published(0.0, {0.5: (4, 17)}, {0.5: (10, 18)}, False, "invented"), 37.3)

    assert nights.at(0.0) is nights.frost
    assert nights.at(4.0) is None
    assert nights.frost.usual_low_c(date(2027, 1, 10)) is None


def test_where_it_never_freezes_colder_nights_do_not_come_either() -> None:
    nights = Nights(never(0.0, False, "invented"), 20.0)

    hard = nights.at(-4.0)
    assert hard is not None
    assert hard.chance_before(date(2027, 1, 31)) == 0
    assert nights.at(5.0) is None


def test_a_threshold_read_from_the_other_scale_is_the_same() -> None:
    nights = Nights(never(-2.2, False, "invented"), 20.0)

    assert nights.at((28 - 32) / 1.8) is nights.frost  # 28 F is -2.22 C


def test_colder_nights_come_later_and_not_every_year() -> None:
    nights = of_months()

    frost, hard = nights.frost, nights.at(-8.0)
    assert hard is not None
    assert frost.date_for_autumn(0.5, 2026) is not None
    assert hard.chance_before(date(2026, 11, 1)) < frost.chance_before(date(2026, 11, 1))


def test_what_a_record_has_too_few_nights_of_is_estimated_where_it_is_colder_and_unknown_where_it_is_not() -> None:
    def refuses(threshold_c: float) -> object:
        raise ValueError("too few such nights")

    dates = from_published(0.0, {0.5: (4, 17)}, {0.5: (10, 18)}, False, "invented")
    nights = Nights(dates, 37.3, refuses)  # type: ignore[arg-type]  # it refuses
    colder = nights.at(-9.0)
    assert colder is not None
    assert colder.estimate
    assert nights.at(9.0) is None


# --- what frost dates alone let be estimated -------------------------------------------------------------------------


def test_the_colder_the_night_the_later_and_rarer_and_never_likelier_than_frost() -> None:
    nights = Nights(from_published(0.0, {0.9: (4, 2), 0.5: (4, 17)}, {0.5: (10, 18), 0.9: (11, 2)}, False, "x"), 37.3)
    tables = [nights.frost, *(nights.at(threshold) for threshold in (-3.0, -7.0, -12.0, -20.0))]

    for day in (date(2026, 10, 5), date(2026, 10, 18), date(2026, 11, 20), date(2027, 1, 10), date(2027, 7, 31)):
        chances = [table.chance_before(day) for table in tables if table]
        assert chances == sorted(chances, reverse=True)
        assert len(chances) == len(tables)
    assert nights.estimates_colder


def test_the_south_is_the_north_half_a_year_on() -> None:
    north = Nights(from_published(0.0, {0.5: (4, 17)}, {0.5: (10, 18)}, False, "invented"), 37.3)
    south = Nights(from_published(0.0, {0.5: (10, 17)}, {0.5: (4, 18)}, True, "invented"), -37.3)

    cold, mirrored = north.at(-8.0), south.at(-8.0)
    assert cold is not None
    assert mirrored is not None
    found, other = cold.date_for_autumn(0.1, 2026), mirrored.date_for_autumn(0.1, 2026)
    assert found is not None
    assert other is not None
    assert abs((found - other).days - 183) <= 3
    assert min(north.usual.lows_c) == pytest.approx(min(south.usual.lows_c), abs=0.4)


def test_where_half_of_the_years_have_no_frost_hard_nights_are_rare_and_the_swing_is_told_by_the_latitude() -> None:
    rare = replace(from_published(0.0, {0.5: (1, 20)}, {0.5: (12, 20)}, False, "invented"), frost_free_share=0.7)
    nights = Nights(rare, 28.0)

    hard = nights.at(-9.4)
    assert hard is not None
    assert hard.chance_before(date(2027, 7, 31)) < 0.1
    assert max(nights.usual.lows_c) - min(nights.usual.lows_c) > 8
    assert max(Nights(rare, 2.0).usual.lows_c) - min(Nights(rare, 2.0).usual.lows_c) < 5


# --- the usual low of each day ---------------------------------------------------------------------------------------


def test_in_a_warmer_year_nights_cool_later_and_warmth_adds_up_sooner() -> None:
    usual = of_months().usual

    cool, warm = usual.falls_to(2.0, -1.5), usual.falls_to(2.0, 1.5)
    early, likely, late = (usual.warmth_by(190, -4.0, 60.0, warmer) for warmer in (1.5, 0.0, -1.5))
    assert cool is not None
    assert warm is not None
    assert cool < usual.falls_to(2.0) < warm  # type: ignore[operator]  # it freezes there
    assert None not in (early, likely, late)
    assert early < likely < late  # type: ignore[operator]  # as just asked
    assert usual.falls_to(-30.0) is None
    assert usual.warmth_by(190, 30.0, 60.0) is None


def test_lows_that_are_estimated_are_less_sure_than_lows_that_are_told() -> None:
    told, estimated = of_months(), Nights(from_published(0.0, {0.5: (4, 17)}, {0.5: (10, 18)}, False, "x"), 45.0)

    assert told.usual.differs_c < estimated.usual.differs_c


def test_the_usual_low_of_mid_month_is_that_of_the_month_and_between_two_it_lies_between() -> None:
    nights = of_months()

    assert nights.frost.usual_low_c(date(2027, 4, 15)) == pytest.approx(4.0, abs=0.2)
    between = nights.frost.usual_low_c(date(2027, 4, 30))
    assert between is not None
    assert 4.0 < between < 9.0
    assert nights.frost.usual_low_c(date(2027, 1, 1)) == pytest.approx(-5.0, abs=0.3)  # between December and January
