"""What must hold of light, whatever the formula: sums, bounds, the edges of the earth."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from almanac.site.light import clear_day, clear_sky_mj, dli_mol, extraterrestrial_mj, usual_mj
from almanac.site.place import Place
from almanac.site.sun import (
    CIVIL_TWILIGHT_DEG,
    day_length_at,
    first_day_length_at_least,
    first_day_length_below,
)

ROANOKE = Place(latitude_deg=37.27, longitude_deg=-79.94, timezone="America/New_York")
HALF_DAY = timedelta(hours=12)
latitudes = st.floats(-90, 90)
days = st.dates(date(2000, 1, 1), date(2060, 12, 31))


@settings(max_examples=60)
@given(latitudes, days, st.floats(0, 4000))
def test_no_day_has_less_light_than_none_or_more_than_above_the_air(
    latitude_deg: float, day: date, elevation_m: float
) -> None:
    place = Place(latitude_deg=latitude_deg, longitude_deg=0.0, timezone="UTC", elevation_m=elevation_m)

    assert 0 <= clear_sky_mj(place, day) <= extraterrestrial_mj(latitude_deg, day) < 50


@settings(max_examples=60)
@given(latitudes, days)
def test_the_hours_of_a_day_add_up_to_it(latitude_deg: float, day: date) -> None:
    found = clear_day(Place(latitude_deg=latitude_deg, longitude_deg=0.0, timezone="UTC"), day)
    hours = [found.noon - HALF_DAY + timedelta(hours=n) for n in range(25)]

    doses = [found.dose_mol(start, end) for start, end in pairwise(hours)]

    assert sum(doses) == pytest.approx(found.dli_mol, abs=1e-6)
    assert min(doses) >= 0


def test_the_strength_of_light_gathers_to_its_dose() -> None:
    found = clear_day(ROANOKE, date(2026, 4, 20))
    start, end = found.noon - timedelta(hours=3), found.noon - timedelta(hours=1)
    minutes = [start + timedelta(seconds=30 + 60 * n) for n in range(120)]

    gathered_mol = sum(found.ppfd(moment) * 60 for moment in minutes) / 1e6

    assert found.dose_mol(start, end) == pytest.approx(gathered_mol, rel=0.001)


def test_a_morning_has_as_much_light_as_its_afternoon() -> None:
    found = clear_day(ROANOKE, date(2026, 4, 20))

    assert found.share(found.noon - HALF_DAY, found.noon) == pytest.approx(0.5, abs=1e-9)


def test_the_peak_of_a_stretch_is_at_noon_or_at_its_end_nearer_to_noon() -> None:
    found = clear_day(ROANOKE, date(2026, 4, 20))
    early, late = found.noon - timedelta(hours=4), found.noon - timedelta(hours=2)

    assert found.peak_ppfd(early, late) == found.ppfd(late)
    assert found.peak_ppfd(early, found.noon + timedelta(hours=1)) == found.ppfd(found.noon)
    assert found.ppfd(early) < found.ppfd(late) < found.ppfd(found.noon)


def test_noon_is_the_suns_and_not_the_clocks() -> None:
    # On summer time, 80 degrees west of Greenwich: the sun stands highest near twenty past one.
    found = clear_day(ROANOKE, date(2026, 7, 1)).noon.astimezone(ROANOKE.zone)

    assert (13, 18) < (found.hour, found.minute) < (13, 28)


def test_the_polar_night_has_no_light_and_the_midnight_sun_shines_on_every_hour() -> None:
    place = Place(latitude_deg=75.0, longitude_deg=20.0, timezone="Arctic/Longyearbyen")
    winter, summer = clear_day(place, date(2026, 12, 21)), clear_day(place, date(2026, 6, 21))

    assert winter.dli_mol == winter.ppfd(winter.noon) == winter.share(winter.noon - HALF_DAY, winter.noon) == 0
    assert summer.ppfd(summer.noon - HALF_DAY) > 0
    assert summer.dli_mol > 0


def test_beyond_its_own_day_a_day_gives_no_light() -> None:
    found = clear_day(Place(latitude_deg=75.0, longitude_deg=20.0, timezone="UTC"), date(2026, 6, 21))
    next_day = found.noon + timedelta(hours=13)

    assert found.ppfd(next_day) == 0
    assert found.dose_mol(next_day, next_day + timedelta(hours=3)) == 0


def test_without_monthly_means_nothing_is_said_of_usual_light() -> None:
    assert usual_mj(ROANOKE, date(2026, 4, 20)) is None


def test_usual_light_is_no_jump_at_the_turn_of_a_month_or_year() -> None:
    means = (8.2, 11.3, 15.2, 18.9, 20.9, 22.4, 21.8, 19.7, 16.3, 12.9, 9.1, 7.5)  # invented
    place = Place(latitude_deg=37.27, longitude_deg=-79.94, timezone="America/New_York", radiation_mj=means)
    year = [date(2026, 1, 1) + timedelta(days=n) for n in range(365)]

    found = [usual_mj(place, day) or 0.0 for day in [*year, date(2027, 1, 1)]]

    assert max(abs(a - b) for a, b in pairwise(found)) < 0.3
    assert all(usual < clear_sky_mj(place, day) for usual, day in zip(found, year, strict=False))


def test_usual_light_of_the_polar_night_is_none_at_all() -> None:
    place = Place(
        latitude_deg=75.0,
        longitude_deg=20.0,
        timezone="UTC",
        radiation_mj=(0.0, 0.5, 5, 12, 18, 20, 17, 11, 6, 2, 0.0, 0.0),
    )

    assert usual_mj(place, date(2026, 12, 21)) == 0


def test_photons_go_with_radiation() -> None:
    assert dli_mol(20.0) == pytest.approx(2 * dli_mol(10.0))


def test_the_day_with_twilight_is_longer_by_about_an_hour_in_mid_latitudes() -> None:
    # Common practice: at 37 degrees civil twilight lasts under half an hour at either end.
    day = date(2026, 3, 20)

    gain_h = day_length_at(ROANOKE, day, CIVIL_TWILIGHT_DEG) - day_length_at(ROANOKE, day)

    assert 0.75 < gain_h < 1.0


def test_twilight_brings_a_day_length_earlier_in_spring_and_keeps_it_longer() -> None:
    start = date(2026, 1, 1)
    plain = first_day_length_at_least(ROANOKE, 14.0, start)
    twilight = first_day_length_at_least(ROANOKE, 14.0, start, horizon_deg=CIVIL_TWILIGHT_DEG)

    assert plain is not None
    assert twilight is not None
    assert twilight < plain
    below, below_twilight = (
        first_day_length_below(ROANOKE, 14.0, plain),
        first_day_length_below(ROANOKE, 14.0, plain, horizon_deg=CIVIL_TWILIGHT_DEG),
    )
    assert below is not None
    assert below_twilight is not None
    assert below < below_twilight
