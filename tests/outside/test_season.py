"""Windows for taking, keeping and selling dormant wood against extension advice; each source stands beside its check.

Frost dates are those of the shipped station nearest to where the advice was given.
"""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest

from almanac.nursery.load import load_nursery
from almanac.nursery.nursery import Nursery
from almanac.plan.wood.account import account_of
from almanac.plan.wood.season import CropSeason, season_of
from almanac.site.nights import Nights
from almanac.site.stations import every_station, nearest, table_of
from tests.conftest import teasel_yard
from tests.unit.given import moved

AUTUMN, SOUTHERN_AUTUMN = date(2026, 9, 1), date(2027, 3, 1)


@pytest.fixture(scope="module")
def base(tmp_path_factory: pytest.TempPathFactory) -> Nursery:
    return load_nursery(teasel_yard(tmp_path_factory.mktemp("season")), datetime(2027, 3, 1, tzinfo=UTC))


def season_at(base: Nursery, crop: str, latitude: float, longitude: float, as_of: date = AUTUMN) -> CropSeason:
    nights = Nights(table_of(nearest(latitude, longitude, None), southern=latitude < 0))
    nursery = moved(base, latitude, nights, as_of)
    account = account_of(nursery)
    return season_of(crop, account.outdoors.winter_near(as_of), account)


def keeps(found: CropSeason) -> tuple[int, int]:
    """For how many days its wood keeps, from the careful end to the latest."""
    early, late = ((end - found.wood.cut).days for end in found.wood.keeps)
    return early, late


@pytest.mark.parametrize("crop", ["willow", "dogwood"])
def test_willow_and_dogwood_are_taken_from_about_the_first_of_december_in_eastern_washington(
    crop: str, base: Nursery
) -> None:
    # USDA NRCS Plant Materials Technical Note 29 (Spokane, 1995), introduction: "after the cold has come (30-40 F),
    # about 1 December in eastern Washington".
    found = season_at(base, crop, 47.66, -117.43)

    assert abs((found.collect.opens - date(2026, 12, 1)).days) <= 7


def test_grape_is_taken_in_november_in_missouri_and_keeps_till_late_january(base: Nursery) -> None:
    # Missouri State University, State Fruit Experiment Station news, 24 January 2014: cuttings collected in November,
    # stored cold, put into the heated bed in late January.
    found = season_at(base, "grape", 37.13, -92.26)

    assert found.collect.opens <= date(2026, 11, 10) <= found.collect.closes
    assert keeps(found)[0] >= (date(2027, 1, 24) - date(2026, 11, 1)).days
    assert found.stick.earliest <= date(2027, 1, 24) <= found.stick.latest


def test_grape_keeps_in_the_cold_for_six_to_eight_months(base: Nursery) -> None:
    # Storage of grapevine canes, Conscientia Beam 2018, abstract: canes of 6 to 8 months at 1 C still rooted.
    early, late = keeps(season_at(base, "grape", 37.13, -92.26))

    assert abs(early - 6 * 30) <= 7
    assert abs(late - 8 * 30) <= 7


def test_fig_is_taken_in_louisiana_while_trees_are_pruned_in_winter(base: Nursery) -> None:
    # LSU AgCenter, Ascension Parish column of January 2022: dormant wood, while trees are being pruned in winter.
    collect = season_at(base, "fig", 30.21, -90.92).collect

    assert collect.opens <= date(2027, 1, 10)
    assert collect.closes >= date(2027, 1, 31)


def test_fig_in_the_south_is_taken_from_april_or_may(base: Nursery) -> None:
    # Acta Horticulturae 605:137-140 (2003): in Brazil the earliest dormant dates, April and May, rooted best. Where the
    # trial stood it hardly freezes, so this is checked where frost brings the leaves down: Canberra.
    collect = season_at(base, "fig", -35.31, 149.2, SOUTHERN_AUTUMN).collect

    assert collect.opens.month in (4, 5)
    assert collect.due.month in (4, 5)


@pytest.mark.parametrize("crop", ["willow", "dogwood", "forsythia", "elderberry", "grape"])
def test_shrubs_are_still_dormant_in_iowa_in_february(crop: str, base: Nursery) -> None:
    # Iowa State University Extension, Consider hardwood stem cuttings, February 2017: late winter while dormant.
    collect = season_at(base, crop, 42.03, -93.62).collect

    assert collect.opens < date(2027, 2, 1)
    assert collect.closes >= date(2027, 2, 20)


@pytest.mark.parametrize("crop", ["forsythia", "elderberry"])
def test_what_is_best_taken_in_late_winter_has_its_good_day_then(crop: str, base: Nursery) -> None:
    # The same: late winter.
    assert date(2027, 2, 1) <= season_at(base, crop, 42.03, -93.62).collect.due <= date(2027, 3, 20)


@pytest.mark.parametrize("crop", ["black_currant", "red_currant"])
def test_currants_are_taken_in_alaska_just_before_growth_begins(crop: str, base: Nursery) -> None:
    # Georgeson Botanical Garden, University of Alaska Fairbanks: one-year wood, just before growth begins. Growth in
    # Fairbanks begins in early May (from memory). A neighbour's frost dates are wide, and the early one counts.
    assert date(2027, 3, 10) <= season_at(base, crop, 64.84, -147.72).collect.due <= date(2027, 5, 5)


def test_fig_wood_keeps_for_weeks_that_growers_tell(base: Nursery) -> None:
    # Common practice: 8 to 16 weeks at 34-40 F.
    assert keeps(season_at(base, "fig", 37.3, -79.9)) == (8 * 7, 16 * 7)


@pytest.mark.parametrize("crop", ["fig", "elderberry"])
def test_where_northern_winters_are_cold_dormant_wood_is_sold_in_january_and_february(crop: str, base: Nursery) -> None:
    # Common practice: January to the end of February in northern cold-winter places.
    cold = [
        station
        for station in every_station()
        if station.latitude_deg > 35
        and "always" not in station.dates.values()
        and "09" <= station.dates["first_50"] < "11"
    ]
    for station in cold[:: len(cold) // 12]:
        nursery = moved(base, station.latitude_deg, Nights(table_of(station, southern=False)), AUTUMN)
        account = account_of(nursery)
        found = season_of(crop, account.outdoors.winter_near(AUTUMN), account)

        assert found.hindered is None, station
        assert date(2027, 1, 1) <= found.wood.opens < found.wood.closes <= date(2027, 2, 28), station
        assert found.last_post is not None
        assert date(2027, 2, 1) <= found.last_post <= found.wood.closes, station
