"""Windows for taking, keeping and selling dormant wood against extension advice; each source stands beside its check.

Frost dates are those of the shipped station nearest to where the advice was given.
"""

from __future__ import annotations

import csv
from collections.abc import Mapping
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from almanac.nursery.load import load_nursery
from almanac.nursery.nursery import Nursery
from almanac.plan.wood.account import account_of
from almanac.plan.wood.season import CropSeason, season_of
from almanac.site.nights import Nights
from almanac.site.stations import every_station, nearest, table_of
from tests.conftest import teasel_yard
from tests.unit.given import moved

DATA = Path(__file__).parent / "data" / "wood_dates.csv"
EIGHT = ("fig", "grape", "mulberry", "elderberry", "black_currant", "willow", "dogwood", "rose")
FOUR_CLIMATES = [
    ("cold", 42.03, -93.62),
    ("subarctic", 64.84, -147.72),
    ("by the sea", 53.43, -6.25),
    ("mild winters", 30.21, -90.92),
]
AUTUMN, SOUTHERN_AUTUMN = date(2026, 9, 1), date(2027, 3, 1)


@pytest.fixture(scope="module")
def base(tmp_path_factory: pytest.TempPathFactory) -> Nursery:
    return load_nursery(teasel_yard(tmp_path_factory.mktemp("season")), datetime(2027, 3, 1, tzinfo=UTC))


def season_at(base: Nursery, crop: str, latitude: float, longitude: float, as_of: date = AUTUMN) -> CropSeason:
    nights = Nights(table_of(nearest(latitude, longitude, None), southern=latitude < 0), latitude)
    nursery = moved(base, latitude, nights, as_of)
    account = account_of(nursery)
    return season_of(crop, account.outdoors.winter_near(as_of), account)


def keeps(found: CropSeason) -> tuple[int, int]:
    """For how many days its wood keeps, from the careful end to the latest."""
    early, late = ((end - found.wood.cut).days for end in found.wood.keeps)
    return early, late


def _rows() -> list[dict[str, str]]:
    with DATA.open(encoding="utf-8") as file:
        return list(csv.DictReader(line for line in file if not line.startswith("#")))


@pytest.mark.parametrize(
    ("row", "crop"),
    [
        pytest.param(
            row,
            crop,
            id=f"{crop} {row['told']} {row['place']} {row['first']}",
            marks=[pytest.mark.xfail(reason=row["off"], strict=True)] if row["off"] else [],
        )
        for row in _rows()
        for crop in row["crops"].split()
    ],
)
def test_a_crops_windows_are_those_told_where_it_grows(row: Mapping[str, str], crop: str, base: Nursery) -> None:
    # The source of each row stands in it.
    latitude = float(row["lat"])
    southern = latitude < 0
    collect = season_at(base, crop, latitude, float(row["lon"]), SOUTHERN_AUTUMN if southern else AUTUMN).collect
    start = date(2027, 2, 1) if southern else date(2026, 8, 1)
    first, last = (_in_year(row[key], start) for key in ("first", "last"))

    if row["told"] == "taken":
        assert collect.opens <= first
        assert last <= collect.closes
    else:
        days = {
            "opens": collect.opens,
            "best": collect.due,
            "leaves": collect.leaf_fall[1],
            "swell": collect.buds_swell[1],
        }
        assert first <= days[row["told"]] <= last


def _in_year(month_day: str, start: date) -> date:
    day = date(start.year, int(month_day[:2]), int(month_day[3:]))
    return day if day >= start else day.replace(year=start.year + 1)


def test_fifteen_published_dates_and_more_of_eight_crops_and_more_are_held_against() -> None:
    rows = [row for row in _rows() if not row["off"]]

    assert len(rows) >= 15
    assert len({crop for row in rows for crop in row["crops"].split()}) >= 8


@pytest.mark.parametrize(("place", "latitude", "longitude"), FOUR_CLIMATES)
def test_no_day_of_the_calendar_ends_all_crops(place: str, latitude: float, longitude: float, base: Nursery) -> None:
    closes = [season_at(base, crop, latitude, longitude).collect.buds_swell[0] for crop in EIGHT]

    assert len(set(closes)) >= 6, place
    assert (max(closes) - min(closes)).days >= 28, place


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
        nights = Nights(table_of(station, southern=False), station.latitude_deg)
        nursery = moved(base, station.latitude_deg, nights, AUTUMN)
        account = account_of(nursery)
        found = season_of(crop, account.outdoors.winter_near(AUTUMN), account)

        assert found.hindered is None, station
        assert date(2027, 1, 1) <= found.wood.opens < found.wood.closes <= date(2027, 2, 28), station
        assert found.last_post is not None
        # A fig is cut before nights that kill it, and so is sold as long as it keeps.
        sold_till = date(2027, 1, 6) if crop == "fig" and found.collect.before_cold else date(2027, 2, 1)
        assert sold_till <= found.last_post <= found.wood.closes, station
