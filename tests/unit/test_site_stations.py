"""What must hold of the shipped table of station normals."""

from __future__ import annotations

from datetime import date

import pytest

from almanac.site.frost import FrostTable
from almanac.site.stations import NoStationError, nearest, station, table_of
from tests.saying import noted, refused


def test_a_place_beside_a_station_gets_that_station_with_distance_and_height() -> None:
    near = nearest(37.317, -79.974, 358.0)

    assert near.station.id == "USW00013741"
    assert near.distance_km < 1
    assert near.higher_m == pytest.approx(0, abs=2)


def test_a_station_alike_in_height_goes_before_a_nearer_one_on_the_mountain() -> None:
    valley = nearest(39.24, -106.3, 2900.0)

    assert valley.higher_m is not None
    assert abs(valley.higher_m) < 400


def test_the_ten_percent_date_is_mirrored_and_said_to_be() -> None:
    table = table_of(station("USW00013741"), southern=False)

    early, middle, careful = (table.date_for_spring(chance, 2026) for chance in (0.9, 0.5, 0.1))
    assert early is not None
    assert middle is not None
    assert careful is not None
    assert abs((careful - middle).days - (middle - early).days) <= 1
    assert table.estimate
    assert any("mirrored" in note for note in noted(table))


def test_a_neighbour_where_it_never_freezes_says_nothing_of_a_place() -> None:
    with refused(NoStationError, match="says nothing of your place"):
        table_of(nearest(25.79, -80.13, 2.0), southern=False)


def test_a_neighbours_careful_dates_lie_wider_than_its_own_and_the_middle_ones_where_they_are() -> None:
    there, here = (table_of(at, southern=False) for at in (station("USW00013741"), nearest(37.317, -79.974, 358.0)))

    for of_chance in (FrostTable.date_for_spring, FrostTable.date_for_autumn):
        middle, careful = of_chance(there, 0.5, 2026), of_chance(there, 0.1, 2026)
        assert of_chance(here, 0.5, 2026) == middle
        wider = of_chance(here, 0.1, 2026)
        assert middle
        assert careful
        assert wider
        assert abs(wider - middle) > abs(careful - middle)


def test_a_station_named_where_it_never_freezes_makes_every_night_safe() -> None:
    table = table_of(station("USW00092811"), southern=False)

    # The normals say no more than a season of 365 days in nine years of ten.
    assert table.frost_free_share is None
    assert any("one year in ten at most" in note for note in noted(table))
    assert table.chance_after(date(2026, 1, 15)) == 0.0


def test_southern_stations_have_their_last_frost_in_the_southern_spring() -> None:
    found = table_of(station("ACORN072150"), southern=True).date_for_spring(0.5, 2026)

    assert found is not None
    assert 8 <= found.month <= 11


@pytest.mark.parametrize(
    ("latitude", "longitude", "elevation", "said"),
    [
        (0.0, 0.0, 0.0, "no station of the table lies within"),
        (46.0, 11.1, 200.0, "lies within 160 km [(]99 miles[)]; give dates of your own, or a record"),
        (39.12, -106.45, 4390.0, "ft[)] lower; give dates of your own, or a record"),
    ],
)
def test_a_station_too_far_or_too_unlike_in_height_is_refused_with_the_reason(
    latitude: float, longitude: float, elevation: float, said: str
) -> None:
    with refused(NoStationError, said):
        nearest(latitude, longitude, elevation)


def test_a_wrong_id_names_the_nearest_one() -> None:
    with refused(NoStationError, r"did you mean .*USW000"):
        station("USW0001374")


def test_stations_whose_terms_do_not_allow_it_are_not_shipped() -> None:
    from almanac.site import stations

    assert not [cells[0] for cells in stations._rows() if cells[0].startswith(("MSC", "TN"))]


def test_no_date_makes_frost_likelier_than_it_is_in_the_whole_year() -> None:
    # Hobart: 58 % of the 50 years have no frost, so that a single date a season is known.
    table = table_of(station("ACORN094029"), southern=True)

    assert table.frost_free_share == pytest.approx(0.58)
    assert table.chance_after(date(2026, 5, 1)) == pytest.approx(0.42)
    assert table.chance_before(date(2026, 12, 31)) == pytest.approx(0.42)
    assert table.estimate


def test_a_rare_frost_is_told_where_the_record_has_no_date_for_it() -> None:
    table = table_of(station("ACORN091293"), southern=True)

    assert table.frost_free_share == pytest.approx(0.94)
    assert "frost comes in 6% of years" in noted(table)


def test_a_station_of_unknown_height_is_found_and_hides_no_other() -> None:
    beside = nearest(-35.31, 149.20, 570.0)
    farther_north = nearest(-32.62, 148.6, 280.0)

    assert (beside.station.id, beside.higher_m) == ("ACORN070351", None)
    assert farther_north.station.id == "ACORN065070"


def test_a_station_within_both_limits_goes_before_one_alike_in_height_but_too_far() -> None:
    near = nearest(40.989, -80.542, 684.0)

    assert near.distance_km <= 150
    assert near.higher_m is not None
    assert abs(near.higher_m) <= 400


def test_a_station_of_the_other_half_of_the_earth_is_refused() -> None:
    with refused(NoStationError, "other half of the earth"):
        table_of(station("ACORN072150"), southern=False)
