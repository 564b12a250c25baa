"""What must hold of the sun anywhere on earth; its times are checked in `tests/outside/test_sun.py`."""

from datetime import UTC, date, datetime, timedelta
from itertools import pairwise

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from almanac.site.place import Place
from almanac.site.sun import (
    SunDay,
    day_length_at,
    day_length_h,
    first_day_length_at_least,
    first_day_length_below,
    longest_day,
    shortest_day,
    sun_day,
)

ROANOKE = Place(latitude_deg=37.27, longitude_deg=-79.94, timezone="America/New_York")
TWO_MINUTES_H = 2 / 60

zones = st.sampled_from(
    [
        "UTC",
        "America/New_York",
        "Asia/Shanghai",
        "Pacific/Apia",
        "Pacific/Kiritimati",
        "Pacific/Chatham",
        "Etc/GMT+12",
    ]
)
longitudes = st.floats(-180, 180)
days = st.dates(date(2000, 1, 1), date(2050, 12, 31))


def both(day: SunDay) -> tuple[datetime, datetime]:
    assert day.sunrise is not None
    assert day.sunset is not None
    return day.sunrise, day.sunset


def middle(day: SunDay) -> datetime:
    sunrise, sunset = both(day)
    return sunrise + (sunset - sunrise) / 2


@given(st.builds(Place, latitude_deg=st.floats(-90, 90), longitude_deg=longitudes, timezone=zones), days)
@example(
    Place(latitude_deg=0.0, longitude_deg=0.0, timezone="Pacific/Chatham"), date(2048, 9, 27)
)  # the clock goes forward there that day
def test_every_place_on_earth_has_a_day_of_0_to_24_hours_whatever_its_clock(place: Place, day: date) -> None:
    found = sun_day(place, day)

    assert 0 <= found.day_length_h <= 24
    assert 0 <= day_length_at(place, day) <= 24
    if found.sunrise and found.sunset and found.sunrise < found.sunset:
        # In UTC: hours between the times of one clock would forget that it is changed that day.
        lasts = found.sunset.astimezone(UTC) - found.sunrise.astimezone(UTC)
        assert lasts.total_seconds() == pytest.approx(found.day_length_h * 3600)
    if found.day_length_h in (0, 24):
        assert found.sunrise is found.sunset is None


@given(st.builds(Place, latitude_deg=st.floats(-60, 60), longitude_deg=longitudes, timezone=zones), days)
def test_below_60_degrees_the_quick_day_length_is_within_two_minutes_of_sunrise_to_sunset(
    place: Place, day: date
) -> None:
    found = day_length_at(place, day)

    assert found == pytest.approx(sun_day(place, day).day_length_h, abs=TWO_MINUTES_H)


@given(st.floats(-60, 60), days)
def test_the_day_length_of_a_latitude_is_that_of_greenwich(latitude_deg: float, day: date) -> None:
    greenwich = Place(latitude_deg=latitude_deg, longitude_deg=0.0, timezone="UTC")

    found = day_length_h(latitude_deg, day)

    assert found == day_length_at(greenwich, day)
    assert found == pytest.approx(sun_day(greenwich, day).day_length_h, abs=TWO_MINUTES_H)


@pytest.mark.parametrize(
    "place",
    [
        Place(latitude_deg=1.9, longitude_deg=-157.4, timezone="Pacific/Kiritimati"),
        Place(latitude_deg=-13.8, longitude_deg=-171.8, timezone="Pacific/Apia"),
        Place(latitude_deg=39.5, longitude_deg=75.9, timezone="Asia/Shanghai"),
        ROANOKE,
    ],
    ids=lambda place: place.timezone,
)
def test_noon_falls_on_the_date_asked_for_every_day_of_the_year(place: Place) -> None:
    dates = [date(2027, 1, 1) + timedelta(days=n) for n in range(365)]

    noons = [middle(sun_day(place, day)) for day in dates]

    assert [noon.date() for noon in noons] == dates


def test_a_date_that_the_calendar_of_a_place_left_out_still_has_a_sun() -> None:
    # Samoa went from 29 to 31 December 2011 by crossing the date line (time zone database, Pacific/Apia).
    apia = Place(latitude_deg=-13.8, longitude_deg=-171.8, timezone="Pacific/Apia")

    assert middle(sun_day(apia, date(2011, 12, 29))).date() == date(2011, 12, 29)
    assert 12 < sun_day(apia, date(2011, 12, 30)).day_length_h < 13
    assert middle(sun_day(apia, date(2011, 12, 31))).date() == date(2011, 12, 31)


def test_the_clock_springs_forward_and_the_sun_does_not() -> None:
    before, after = sun_day(ROANOKE, date(2026, 3, 7)), sun_day(ROANOKE, date(2026, 3, 8))

    by_the_clock = both(after)[0].replace(tzinfo=None) - both(before)[0].replace(tzinfo=None)
    assert timedelta(hours=24, minutes=55) < by_the_clock < timedelta(hours=25)
    assert after.day_length_h - before.day_length_h == pytest.approx(2.4 / 60, abs=0.01)
    assert both(after)[0].utcoffset() == timedelta(hours=-4)


def test_a_sunset_after_midnight_carries_the_next_date() -> None:
    # Reykjavik keeps Greenwich time 22 degrees west of it: in June the sun sets past midnight.
    found = sun_day(Place(latitude_deg=64.15, longitude_deg=-21.94, timezone="Atlantic/Reykjavik"), date(2026, 6, 21))

    sunrise, sunset = both(found)
    assert sunrise.date() == date(2026, 6, 21)
    assert sunset.date() == date(2026, 6, 22)


@pytest.mark.parametrize("latitude_deg", [66.2, 67.0, 70.0, 78.2, -70.0])
def test_into_and_out_of_the_polar_day_and_night_the_day_length_has_no_gap(latitude_deg: float) -> None:
    place = Place(latitude_deg=latitude_deg, longitude_deg=20.0, timezone="UTC")
    winter_solstice = shortest_day(place, 2025)
    half_year = [winter_solstice + timedelta(days=n) for n in range(182)]

    lengths = [sun_day(place, day).day_length_h for day in half_year]

    # The first day of the year is the quickest to grow: from nothing to over an hour, at 78 degrees.
    steps = [later - earlier for earlier, later in pairwise(lengths)]
    assert min(steps) > -1 / 60
    assert max(steps) < 1.5


def test_before_the_midnight_sun_there_is_a_day_with_a_sunrise_and_no_sunset() -> None:
    found = sun_day(Place(latitude_deg=70.0, longitude_deg=0.0, timezone="UTC"), date(2025, 5, 16))

    assert found.sunrise is not None
    assert found.sunset is None
    assert 23.5 < found.day_length_h < 24


@pytest.mark.parametrize("latitude_deg", [90.0, -90.0, 89.95])
def test_at_the_pole_the_sun_is_up_for_half_of_the_year_and_a_little_more(latitude_deg: float) -> None:
    place = Place(latitude_deg=latitude_deg, longitude_deg=0.0, timezone="UTC")
    year = [date(2026, 1, 1) + timedelta(days=n) for n in range(365)]

    hours = sum(sun_day(place, day).day_length_h for day in year)

    assert 365 / 2 < hours / 24 < 365 / 2 + 10


def test_on_the_equator_the_solstices_are_called_as_in_the_north() -> None:
    equator = Place(latitude_deg=0.0, longitude_deg=10.0, timezone="UTC")

    assert shortest_day(equator, 2026) == date(2026, 12, 21)
    assert longest_day(equator, 2026) == date(2026, 6, 21)


def test_no_day_of_the_year_is_longer_than_the_longest_or_shorter_than_the_shortest() -> None:
    place = Place(latitude_deg=-33.9, longitude_deg=18.4, timezone="Africa/Johannesburg")
    year = [date(2026, 1, 1) + timedelta(days=n) for n in range(365)]
    lengths = [day_length_at(place, day) for day in year]

    # Round the solstice a day differs from the next by a second or two.
    assert day_length_at(place, longest_day(place, 2026)) == pytest.approx(max(lengths), abs=2 / 3600)
    assert day_length_at(place, shortest_day(place, 2026)) == pytest.approx(min(lengths), abs=2 / 3600)


def test_the_first_long_day_is_the_one_whose_eve_is_too_short() -> None:
    found = first_day_length_at_least(ROANOKE, 14.0, date(2027, 1, 1))

    assert found is not None
    assert found.month == 5
    assert day_length_at(ROANOKE, found - timedelta(days=1)) < 14.0 <= day_length_at(ROANOKE, found)


def test_the_first_short_day_is_the_one_whose_eve_is_too_long() -> None:
    found = first_day_length_below(ROANOKE, 14.0, date(2027, 6, 1))

    assert found is not None
    assert found.month == 8
    assert day_length_at(ROANOKE, found) < 14.0 <= day_length_at(ROANOKE, found - timedelta(days=1))


def test_a_day_that_is_long_enough_already_is_the_first() -> None:
    assert first_day_length_at_least(ROANOKE, 14.0, date(2027, 6, 1)) == date(2027, 6, 1)
    assert first_day_length_below(ROANOKE, 14.0, date(2027, 1, 1)) == date(2027, 1, 1)


def test_where_no_day_is_so_long_or_so_short_there_is_none() -> None:
    equator = Place(latitude_deg=0.0, longitude_deg=10.0, timezone="UTC")

    assert first_day_length_at_least(equator, 14.0, date(2027, 1, 1)) is None
    assert first_day_length_below(equator, 10.0, date(2027, 1, 1)) is None
    assert first_day_length_at_least(ROANOKE, 14.0, date(2027, 1, 1), within_days=30) is None
