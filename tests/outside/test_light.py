"""Radiation and twilight against the handbook's examples and tables, an observatory, and measured sunlight."""

import csv
from datetime import UTC, date, datetime, timedelta
from math import exp, radians, sin, tan
from pathlib import Path

import pytest
from astral import Observer
from astral.sun import elevation

from almanac.site.light import PHOTONS_MOL_PER_MJ, clear_day, clear_sky_mj, dli_mol, extraterrestrial_mj, usual_mj
from almanac.site.place import Place
from almanac.site.sun import CIVIL_TWILIGHT_DEG, day_length_at, day_length_h, noon_height_deg, solar_noon, sun_day

DATA = Path(__file__).parent / "data"
DE_BILT = Place(latitude_deg=52.10, longitude_deg=5.18, timezone="Europe/Amsterdam")


def table(name: str) -> list[dict[str, float]]:
    """A table of numbers; its source stands in its first lines."""
    lines = (DATA / name).read_text(encoding="utf-8").splitlines()
    rows = csv.DictReader(line for line in lines if not line.startswith("#"))
    return [{key: float(value) for key, value in row.items()} for row in rows]


def middle(month: int) -> date:
    return date(2026, month, 15)


@pytest.mark.parametrize(
    ("latitude_deg", "day", "ra_mj"),
    [
        # Allen et al. 1998, FAO 56, examples 8 (20 S), 10 (Rio de Janeiro, 22.9 S), 15 (Lyon, 45.72 N).
        (-20.0, date(2026, 9, 3), 32.2),
        (-22.9, date(2026, 5, 15), 25.1),
        (45.72, date(2026, 7, 15), 40.6),
    ],
)
def test_radiation_above_the_air_agrees_with_the_worked_examples_of_fao_56(
    latitude_deg: float, day: date, ra_mj: float
) -> None:
    # Half the last decimal of the answer, and as much again for the rounded steps on the way there.
    assert extraterrestrial_mj(latitude_deg, day) == pytest.approx(ra_mj, abs=0.1)


def test_radiation_above_the_air_agrees_with_the_table_of_fao_56_in_every_cell() -> None:
    # FAO 56, Annex 2, Table 2.6. It is printed to 0.1, and for "the 15th or so" of each month.
    off = {
        (row["latitude"], month): extraterrestrial_mj(row["latitude"], middle(month)) - row[f"m{month:02}"]
        for row in table("fao56_ra.csv")
        for month in range(1, 13)
    }

    assert len(off) > 600
    assert {cell: miss for cell, miss in off.items() if abs(miss) > 0.15} == {}


def test_clear_sky_radiation_agrees_with_the_worked_example_of_fao_56() -> None:
    # FAO 56, example 11: Rio de Janeiro, 15 May, Rso = 0.75 Ra = 18.8.
    rio = Place(latitude_deg=-22.9, longitude_deg=-43.2, timezone="America/Sao_Paulo")

    assert clear_sky_mj(rio, date(2026, 5, 15)) == pytest.approx(18.8, abs=0.06)


def test_clear_sky_radiation_rises_with_the_height_as_fao_56_says() -> None:
    # FAO 56, eq. 37: 2 in 100,000 of Ra a metre, so that at 2,500 m it is 0.80 Ra.
    high = Place(latitude_deg=-22.9, longitude_deg=-43.2, timezone="America/Sao_Paulo", elevation_m=2500.0)
    day = date(2026, 5, 15)

    assert clear_sky_mj(high, day) / extraterrestrial_mj(-22.9, day) == pytest.approx(0.80, abs=1e-9)


def test_day_length_without_refraction_agrees_with_the_table_of_fao_56_in_every_cell() -> None:
    # FAO 56, Annex 2, Table 2.7. Its declination (eq. 24) is up to 1.07 degrees off, which costs 2/15 of the tangent of
    # the latitude in hours a degree; 0.05 is half of its last decimal. At 70 S, where the sun hardly sets in November,
    # it costs more: left out.
    rows = [row for row in table("fao56_daylight.csv") if abs(row["latitude"]) < 66]
    off = {
        (row["latitude"], month): (day_length_h(row["latitude"], middle(month), 0.0) - row[f"m{month:02}"])
        / (0.06 + 1.07 * 2 / 15 * abs(tan(radians(row["latitude"]))))
        for row in rows
        for month in range(1, 13)
    }

    assert len(off) > 250
    assert {cell: miss for cell, miss in off.items() if abs(miss) > 1} == {}


@pytest.mark.parametrize(
    ("place", "day", "begins", "ends"),
    [
        # US Naval Observatory, one-day tables of 2025 and the civil twilight table of Boston 2024 [UTC, whole minutes].
        (
            Place(latitude_deg=59.9139, longitude_deg=10.7522, timezone="UTC"),
            date(2025, 6, 21),
            "2025-06-21T00:10",
            "2025-06-21T22:28",
        ),
        (
            Place(latitude_deg=59.9139, longitude_deg=10.7522, timezone="UTC"),
            date(2025, 12, 21),
            "2025-12-21T07:21",
            "2025-12-21T15:10",
        ),
        (
            Place(latitude_deg=-0.1807, longitude_deg=-78.4678, timezone="UTC"),
            date(2025, 3, 20),
            "2025-03-20T10:57",
            "2025-03-20T23:45",
        ),
        (
            Place(latitude_deg=70.0, longitude_deg=0.0, timezone="UTC"),
            date(2025, 12, 21),
            "2025-12-21T09:55",
            "2025-12-21T14:02",
        ),
        (
            Place(latitude_deg=51.5074, longitude_deg=-0.1278, timezone="UTC"),
            date(2025, 6, 21),
            "2025-06-21T02:55",
            "2025-06-21T21:09",
        ),
        (
            Place(latitude_deg=42.32, longitude_deg=-71.09, timezone="UTC"),
            date(2024, 6, 21),
            "2024-06-21T08:33",
            "2024-06-22T00:59",
        ),
        # Test suite of the Astronomy Engine library: 28.538 N, 81.379 W.
        (
            Place(latitude_deg=28.538, longitude_deg=-81.379, timezone="UTC"),
            date(2022, 3, 1),
            "2022-03-01T11:26",
            "2022-03-01T23:49",
        ),
        (
            Place(latitude_deg=28.538, longitude_deg=-81.379, timezone="UTC"),
            date(2022, 4, 15),
            "2022-04-15T10:35",
            "2022-04-16T00:15",
        ),
    ],
)
def test_civil_twilight_agrees_with_the_naval_observatory_to_its_minute(
    place: Place, day: date, begins: str, ends: str
) -> None:
    expected = [datetime.fromisoformat(moment).replace(tzinfo=UTC) for moment in (begins, ends)]

    found = sun_day(place, day, CIVIL_TWILIGHT_DEG)

    assert found.sunrise is not None
    assert found.sunset is not None
    off = [
        abs((have - want).total_seconds()) for have, want in zip((found.sunrise, found.sunset), expected, strict=True)
    ]
    assert max(off) <= 60  # at Oslo in June the sun sinks a minute of arc in 20 s
    assert day_length_at(place, day, CIVIL_TWILIGHT_DEG) == pytest.approx(found.day_length_h, abs=0.05)


def test_twilight_never_ends_in_the_polar_summer() -> None:
    # US Naval Observatory, 70 N 0 E, 21 June 2025: "above limit".
    assert (
        sun_day(
            Place(latitude_deg=70.0, longitude_deg=0.0, timezone="UTC"), date(2025, 6, 21), CIVIL_TWILIGHT_DEG
        ).day_length_h
        == 24.0
    )


@pytest.mark.parametrize(
    "place",
    [
        DE_BILT,
        Place(latitude_deg=-33.9, longitude_deg=151.2, timezone="Australia/Sydney"),
        Place(latitude_deg=70.0, longitude_deg=25.0, timezone="UTC"),
    ],
)
def test_the_height_of_the_noon_sun_agrees_with_an_independent_formula(place: Place) -> None:
    # astral: the equations of the NOAA solar calculator, after Meeus.
    observer = Observer(place.latitude_deg, place.longitude_deg, 0.0)
    days = [date(2026, 1, 1) + timedelta(days=n) for n in range(365)]

    off = [noon_height_deg(place, d) - elevation(observer, solar_noon(place, d), with_refraction=False) for d in days]

    assert max(map(abs, off)) < 0.02


def test_measured_sunlight_stays_under_that_of_a_clear_sky_and_reaches_it_on_the_best_days() -> None:
    # KNMI, De Bilt, 1990-2019. A tenth of the days are brighter than q90, and a month has clearer and longer days than
    # its middle, so that q90 lies near the bound and not on it: seven tenths of it in December, nine in summer.
    reached = {}
    for row in table("knmi_radiation_de_bilt.csv"):
        bound = clear_sky_mj(DE_BILT, middle(int(row["month"])))
        assert row["mean"] < 0.65 * bound, row
        reached[int(row["month"])] = row["q90"] / bound

    assert max(reached.values()) < 1
    assert min(reached[month] for month in (4, 5, 6, 7, 8)) > 0.85
    assert min(reached.values()) > 0.65


def test_usual_light_at_de_bilt_is_what_was_measured_month_by_month() -> None:
    # KNMI, De Bilt, 1990-2019: the means go in, and the days of each month average to them again within 4 in 100.
    means = tuple(row["mean"] for row in table("knmi_radiation_de_bilt.csv"))
    place = Place(latitude_deg=52.10, longitude_deg=5.18, timezone="Europe/Amsterdam", radiation_mj=means)
    days = [date(2026, 1, 1) + timedelta(days=n) for n in range(365)]

    for month, mean in enumerate(means, 1):
        usual = [usual_mj(place, day) or 0.0 for day in days if day.month == month]

        assert sum(usual) / len(usual) == pytest.approx(mean, rel=0.04), month


def test_the_light_sum_of_a_day_is_that_of_the_maps_for_greenhouse_growers() -> None:
    # Logan, Sams & Faust 2016: 7.058 mol per kWh. De Bilt's 2.34 MJ in January are 4.6 mol, 18.20 in June 35.7.
    assert dli_mol(3.6) == pytest.approx(7.058, abs=1e-9)
    assert dli_mol(2.34) == pytest.approx(4.6, abs=0.05)
    assert dli_mol(18.20) == pytest.approx(35.7, abs=0.05)
    # Meek et al. 1984 found 2.04 mol per MJ, second-hand; a share of 0.5 at 4.6 µmol per J makes 2.3.
    assert 0.84 * 2.3 < PHOTONS_MOL_PER_MJ < 2.04


@pytest.mark.parametrize("latitude_deg", [25.0, 35.0, 45.0])
def test_a_sunny_summer_day_has_the_light_that_growers_are_told(latitude_deg: float) -> None:
    # "50 to 60 mol, sunny summer day without shade" (Hort Americas, conversion note); noon about 2000 µmol (common
    # practice: "full sun").
    day = clear_day(Place(latitude_deg=latitude_deg, longitude_deg=0.0, timezone="UTC"), date(2026, 6, 21))

    assert 50 <= day.dli_mol <= 65
    assert 1800 <= day.ppfd(day.noon) <= 2100


@pytest.mark.parametrize(
    ("latitude_deg", "day", "within"),
    [
        # In winter far from the equator the handbook's sum is the greater, by the shares of its docstring.
        (0.0, date(2026, 3, 21), 0.06),
        (37.0, date(2026, 6, 21), 0.04),
        (37.0, date(2026, 12, 21), 0.15),
        (52.0, date(2026, 6, 21), 0.04),
        (52.0, date(2026, 12, 21), 0.34),
    ],
)
def test_the_light_of_each_hour_is_near_that_of_a_clear_sky_model_by_the_hour(
    latitude_deg: float, day: date, within: float
) -> None:
    # B. Haurwitz 1945, Journal of Meteorology 2, as given by Reno, Hansen & Stein 2012 (Sandia report 2012-2389):
    # 1098 W m-2 times the sine of the sun's height times exp(-0.059 / sine). Heights by astral.
    place = Place(latitude_deg=latitude_deg, longitude_deg=0.0, timezone="UTC")
    found, observer = clear_day(place, day), Observer(latitude_deg, 0.0, 0.0)
    noon = solar_noon(place, day)

    for hours in range(-6, 7):
        moment = noon + timedelta(hours=hours)
        sine = sin(radians(elevation(observer, moment, with_refraction=False)))
        if sine < sin(radians(5)):
            continue
        haurwitz = 1098 * sine * exp(-0.059 / sine)

        assert -0.04 <= found.watts(moment) / haurwitz - 1 <= within + 0.04, hours
