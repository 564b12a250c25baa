"""What must hold of towns: found as growers write them, and never guessed."""

from __future__ import annotations

from zoneinfo import available_timezones

import pytest

from almanac.site import towns
from almanac.site.towns import UnknownTownError, find_town, folded
from tests.saying import refused


@pytest.mark.parametrize(
    "written",
    ["Ames, Iowa", "ames, iowa", "AMES , IA", "Ames", "Ames, Iowa, USA", "Ames, US", "Ames, Iowa, United States"],
)
def test_a_town_is_found_however_its_state_and_country_are_written(written: str) -> None:
    # Ames, Iowa lies at 42 deg 02 min N, 93 deg 37 min W (from memory).
    found = find_town(written)

    assert str(found) == "Ames, Iowa, United States"
    assert (found.latitude_deg, found.longitude_deg) == pytest.approx((42.03, -93.62), abs=0.02)
    assert (found.timezone, found.country_code, found.region_code) == ("America/Chicago", "US", "IA")


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ("sao paulo", "São Paulo"),
        ("ZÜRICH", "Zürich"),
        ("Zurich", "Zürich"),
        ("lodz", "Łódź"),
        ("Tromso", "Tromsø"),
        ("Saint Louis, Missouri", "St. Louis"),
        ("Stratford upon Avon", "Stratford-upon-Avon"),
    ],
)
def test_accents_case_and_hyphens_do_not_matter(written: str, meant: str) -> None:
    assert find_town(written).name == meant


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ("New York", "New York City"),
        ("München", "Munich"),
        ("Muenchen", "Munich"),
        ("Cologne", "Köln"),
        ("Firenze", "Florence"),
        ("Roma", "Rome"),
    ],
)
def test_a_large_town_is_found_by_its_other_names(written: str, meant: str) -> None:
    assert find_town(written).name == meant


@pytest.mark.parametrize(
    ("written", "zone"),
    [
        ("Paris, France", "Europe/Paris"),
        ("Paris, Texas", "America/Chicago"),
        ("London, UK", "Europe/London"),
        ("London, ON", "America/Toronto"),
        ("Hobart, TAS", "Australia/Hobart"),
        ("Perth, WA, Australia", "Australia/Perth"),
        ("Washington, D.C.", "America/New_York"),
    ],
)
def test_region_or_country_tells_towns_of_one_name_apart(written: str, zone: str) -> None:
    assert find_town(written).timezone == zone


def test_a_name_of_several_towns_is_refused_with_the_largest_of_them() -> None:
    with refused(UnknownTownError) as refusal:
        find_town("Springfield")

    assert refusal.text == (
        'town "Springfield" may be "Springfield, Missouri, United States", '
        '"Springfield, Massachusetts, United States", "Springfield, Illinois, United States", '
        '"Springfield, Oregon, United States", "Springfield, Ohio, United States" or 3 more; write one of them in full'
    )


def test_towns_that_no_name_tells_apart_are_shown_with_their_positions() -> None:
    with refused(UnknownTownError, r"\(\d+\.\d+, \d+\.\d+\).*; write latitude, longitude and timezone of yours"):
        find_town("Udaipur, Rajasthan, India")


@pytest.mark.parametrize(
    ("written", "told"),
    [
        ("Amse, Iowa", 'did you mean "Ames, Iowa, United States"?'),
        ("Ames, Ohio", 'is not known; did you mean "Ames, Iowa, United States"?'),
        ("Springfield, Illinoi", 'did you mean "Springfield, Illinois, United States", "Springfield, Missouri'),
        ("Hobbartt, Tasmania", 'did you mean "Hobart, Tasmania, Australia"?'),
        ("Qqqzzxxy", "name a larger town nearby, or write latitude, longitude and timezone"),
        (", Iowa", "name a larger town nearby, or write latitude, longitude and timezone"),
        ("|", "name a larger town nearby"),
        ("x" * 500, "name a larger town nearby"),
    ],
)
def test_an_unknown_town_is_refused_with_the_nearest(written: str, told: str) -> None:
    with refused(UnknownTownError) as refusal:
        find_town(written)

    assert told in refusal.text
    assert "\n" not in refusal.text


def test_every_town_has_a_place_on_the_earth_and_a_clock() -> None:
    zones = available_timezones()
    lines = [line for line in towns._table().decode().splitlines() if not line.startswith("#")]

    found = [towns._town(line) for line in lines]

    assert len(found) > 30_000
    assert all(-90 <= town.latitude_deg <= 90 and -180 <= town.longitude_deg <= 180 for town in found)
    assert {town.timezone for town in found} <= zones
    assert all(town.country and folded(town.name) for town in found)
    people = [town.people for town in found]
    assert people == sorted(people, reverse=True)


def test_the_tables_name_the_gazetteer_and_its_licence() -> None:
    assert towns._table().startswith(b"# GeoNames (geonames.org), CC BY 4.0")
