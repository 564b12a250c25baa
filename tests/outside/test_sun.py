"""Sun times, day length and solstices against an independent ephemeris, an observatory and a handbook."""

import csv
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from math import acos, cos, degrees, pi, radians, sin, tan
from pathlib import Path
from typing import Any

import pytest
import skyfield_data
from skyfield import almanac as ephemeris_almanac
from skyfield.api import Loader, wgs84

from almanac.site.place import Place
from almanac.site.sun import HORIZON_DEG, day_length_h, longest_day, shortest_day, sun_day

USNO = Path(__file__).parent / "data" / "usno_sun.csv"  # source: its first lines


class Sky:
    """Skyfield with the ephemeris DE421 of the Jet Propulsion Laboratory, both from installed packages."""

    def __init__(self) -> None:
        # Not by get_skyfield_data_path(), which warns of a file of earth rotation that is not used here.
        folder = Path(skyfield_data.__file__).parent / "data"
        self.timescale = Loader(str(folder), verbose=False).timescale(builtin=True)
        self.bodies = Loader(str(folder), verbose=False)("de421.bsp")

    def crossings(self, find: Any, place: Place, year: int) -> list[datetime]:
        """Risings or settings of the sun in a local year, and a few days on either side."""
        observer = self.bodies["earth"] + wgs84.latlon(place.latitude_deg, place.longitude_deg)
        start, end = self.timescale.utc(year, 1, -2), self.timescale.utc(year + 1, 1, 4)
        times, real = find(observer, self.bodies["sun"], start, end)
        return [moment for moment, happens in zip(times.utc_datetime(), real, strict=True) if happens]


@pytest.fixture(scope="module")
def sky() -> Iterator[Sky]:
    opened = Sky()
    yield opened
    opened.bodies.close()


def days_of(year: int) -> list[date]:
    first = date(year, 1, 1)
    return [first + timedelta(days=n) for n in range((date(year + 1, 1, 1) - first).days)]


def seconds_off(found: datetime, expected: list[datetime]) -> float:
    """How far a time is from the nearest of those expected."""
    return min(abs((found - moment).total_seconds()) for moment in expected)


@pytest.mark.parametrize(
    ("place", "within_s"),
    [
        # To 65 degrees 30 s are wanted and 9 s found; where the sun grazes the horizon, within a day or two
        # of the polar day or night, a minute or two: there a second of arc is several of time.
        pytest.param(Place(latitude_deg=-0.2, longitude_deg=-78.5, timezone="America/Guayaquil"), 10, id="equator"),
        pytest.param(Place(latitude_deg=-20.0, longitude_deg=28.6, timezone="Africa/Harare"), 10, id="tropics, south"),
        pytest.param(
            Place(latitude_deg=37.27, longitude_deg=-79.94, timezone="America/New_York"), 10, id="temperate, north"
        ),
        pytest.param(
            Place(latitude_deg=-45.9, longitude_deg=170.5, timezone="Pacific/Auckland"),
            10,
            id="temperate, south, far from its meridian",
        ),
        pytest.param(Place(latitude_deg=65.0, longitude_deg=25.5, timezone="Europe/Helsinki"), 15, id="65 north"),
        pytest.param(
            Place(latitude_deg=-65.0, longitude_deg=-64.0, timezone="America/Punta_Arenas"), 15, id="65 south"
        ),
        pytest.param(
            Place(latitude_deg=69.65, longitude_deg=18.96, timezone="Europe/Oslo"), 120, id="inside the polar circle"
        ),
    ],
)
def test_sunrise_and_sunset_agree_with_an_independent_ephemeris(sky: Sky, place: Place, within_s: float) -> None:
    rises = sky.crossings(ephemeris_almanac.find_risings, place, 2026)
    sets = sky.crossings(ephemeris_almanac.find_settings, place, 2026)

    found = [sun_day(place, day) for day in days_of(2026)]

    sunrises = [day.sunrise for day in found if day.sunrise]
    sunsets = [day.sunset for day in found if day.sunset]
    assert max(seconds_off(moment, rises) for moment in sunrises) <= within_s
    assert max(seconds_off(moment, sets) for moment in sunsets) <= within_s
    assert len(sunrises) == sum(moment.astimezone(place.zone).year == 2026 for moment in rises)
    assert len(sunsets) == sum(moment.astimezone(place.zone).year == 2026 for moment in sets)


def usno_rows() -> list[dict[str, str]]:
    lines = [line for line in USNO.read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
    return list(csv.DictReader(lines))


def clock_place(row: dict[str, str]) -> Place:
    """The place of a row, on a clock without summer time."""
    offset = int(row["utc_offset_h"])
    zone = f"Etc/GMT{-offset:+}" if offset else "UTC"  # these zones count west as positive
    return Place(latitude_deg=float(row["lat"]), longitude_deg=float(row["lon"]), timezone=zone)


def test_sunrise_and_sunset_agree_with_the_naval_observatory_to_its_minute() -> None:
    # US Naval Observatory: 29, 36.95 and 60 N through a year, and single days elsewhere, with 70 N on the two
    # days before the midnight sun among them. Half a minute is rounding.
    late_s: dict[str, float] = {}
    for row in usno_rows():
        place, day = clock_place(row), date.fromisoformat(row["date"])
        near = [sun_day(place, day + timedelta(days=n)) for n in (-1, 0, 1)]
        for column, times in (("rise", [d.sunrise for d in near]), ("set", [d.sunset for d in near])):
            on_date = [moment for moment in times if moment and moment.date() == day]
            if ":" not in row[column]:
                assert not on_date, row
                continue
            expected = datetime.fromisoformat(f"{row['date']} {row[column]}").replace(tzinfo=place.zone)
            late_s[f"{row['place']} {expected}"] = seconds_off(expected, on_date)

    assert len(late_s) > 700
    assert {event: off for event, off in late_s.items() if off > 40 and not event.startswith("70N")} == {}
    assert {event: off for event, off in late_s.items() if off > 90} == {}


def test_a_day_of_the_midnight_sun_has_24_hours_and_one_of_the_polar_night_none() -> None:
    # US Naval Observatory, 70 N 0 E, 2025: up on 21 June; down on 25 November and 21 December.
    place = Place(latitude_deg=70.0, longitude_deg=0.0, timezone="UTC")

    assert sun_day(place, date(2025, 6, 21)).day_length_h == day_length_h(70.0, date(2025, 6, 21)) == 24.0
    assert sun_day(place, date(2025, 11, 25)).day_length_h == day_length_h(70.0, date(2025, 11, 25)) == 0.0
    assert sun_day(place, date(2025, 12, 21)).day_length_h == day_length_h(70.0, date(2025, 12, 21)) == 0.0


def horizon_gain_h(latitude_deg: float, day: date) -> float:
    """How much longer the day is for the refracted upper limb than for the bare centre of the sun [hours].

    With the declination of FAO 56, eq. 24, which is as near as this difference needs it.
    """
    declination = 0.409 * sin(2 * pi * day.timetuple().tm_yday / 365 - 1.39)
    latitude = radians(latitude_deg)
    centre = -tan(latitude) * tan(declination)
    limb = centre + sin(radians(HORIZON_DEG)) / (cos(latitude) * cos(declination))
    return degrees(acos(limb) - acos(centre)) / 7.5


def fao_tolerance_h(latitude_deg: float) -> float:
    """Half of the last decimal, and what the declination of FAO 56, eq. 24, costs: it is up to 1.07
    degrees off (in October), each 2/15 of the tangent of the latitude in hours about the equinox."""
    return 0.05 + 1.07 * 2 / 15 * tan(radians(abs(latitude_deg)))


@pytest.mark.parametrize(
    ("latitude_deg", "day", "daylight_h"),
    [
        # Allen et al. 1998, FAO Irrigation and Drainage Paper 56: example 9 (20 S), 10 (Rio de Janeiro).
        (-20.0, date(2026, 9, 3), 11.7),
        (-22.9, date(2026, 5, 15), 10.9),
    ],
)
def test_day_length_agrees_with_the_worked_examples_of_fao_56(
    latitude_deg: float, day: date, daylight_h: float
) -> None:
    # FAO's N is geometric, for the sun's centre without refraction: 7 to 8 minutes less than sunrise to set.
    found = day_length_h(latitude_deg, day)

    gain_h = horizon_gain_h(latitude_deg, day)
    assert 7 / 60 < gain_h < 8 / 60
    assert found - gain_h == pytest.approx(daylight_h, abs=fao_tolerance_h(latitude_deg))


@pytest.mark.parametrize(
    ("latitude_deg", "by_month_h"),
    [
        # Allen et al. 1998, FAO Irrigation and Drainage Paper 56, annex 2, table 2.7: N on the 15th.
        (50.0, (8.3, 9.8, 11.6, 13.5, 15.2, 16.1, 15.7, 14.3, 12.3, 10.4, 8.7, 7.9)),
        (-20.0, (13.1, 12.7, 12.1, 11.5, 11.1, 10.8, 10.9, 11.3, 11.9, 12.5, 13.0, 13.2)),
        (-40.0, (14.5, 13.5, 12.3, 10.9, 9.8, 9.2, 9.4, 10.4, 11.8, 13.1, 14.3, 14.8)),
    ],
)
def test_day_length_agrees_with_the_table_of_fao_56_by_month(
    latitude_deg: float, by_month_h: tuple[float, ...]
) -> None:
    days = [date(2026, month, 15) for month in range(1, 13)]

    found = [day_length_h(latitude_deg, day) - horizon_gain_h(latitude_deg, day) for day in days]

    assert found == pytest.approx(by_month_h, abs=fao_tolerance_h(latitude_deg))


@pytest.mark.parametrize(
    ("year", "june", "december"),
    [
        # US Naval Observatory, Earth's seasons [UT].
        (2025, datetime(2025, 6, 21, 2, 42), datetime(2025, 12, 21, 15, 3)),
        (2026, datetime(2026, 6, 21, 8, 24), datetime(2026, 12, 21, 20, 50)),
        (2027, datetime(2027, 6, 21, 14, 11), datetime(2027, 12, 22, 2, 42)),
    ],
)
@pytest.mark.parametrize("zone", ["UTC", "America/New_York", "Asia/Tokyo"])
def test_the_longest_and_shortest_days_are_those_of_the_solstices_by_the_local_calendar(
    year: int, june: datetime, december: datetime, zone: str
) -> None:
    north, south = (
        Place(latitude_deg=40.0, longitude_deg=0.0, timezone=zone),
        Place(latitude_deg=-40.0, longitude_deg=0.0, timezone=zone),
    )
    june_day, december_day = (moment.replace(tzinfo=UTC).astimezone(north.zone).date() for moment in (june, december))

    assert (longest_day(north, year), shortest_day(north, year)) == (june_day, december_day)
    assert (longest_day(south, year), shortest_day(south, year)) == (december_day, june_day)


def test_solstices_of_a_generation_agree_with_an_independent_ephemeris(sky: Sky) -> None:
    start, end = sky.timescale.utc(2020, 1, 1), sky.timescale.utc(2050, 1, 1)
    times, seasons = ephemeris_almanac.find_discrete(start, end, ephemeris_almanac.seasons(sky.bodies))
    moments = times.utc_datetime()
    place = Place(latitude_deg=45.0, longitude_deg=0.0, timezone="UTC")

    for moment, season in zip(moments, seasons, strict=True):
        if season == 1:  # northern summer
            found = longest_day(place, moment.year)
        elif season == 3:
            found = shortest_day(place, moment.year)
        else:
            continue
        # The formula is good to a quarter of an hour, so that a solstice at midnight may fall on either side.
        assert found in {(moment + timedelta(minutes=m)).date() for m in (-16, 0, 16)}
