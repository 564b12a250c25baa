"""At places from frost in every month to none at all, a season's dates stand in order, or the step lacking is named.

Places are taken from the shipped table of stations by latitude, with a few of monthly lows, which tell of colder nights
too, and invented ones for the ends of the earth.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from almanac.forecast.bare import first_frosts
from almanac.nursery.load import load_nursery
from almanac.nursery.nursery import Nursery
from almanac.plan.wood.account import account_of
from almanac.plan.wood.season import CropSeason, next_lots, season_of
from almanac.plan.wood.sticking import LotToCome
from almanac.site.freeze_year import Curve
from almanac.site.frost import FrostTable, from_published, never
from almanac.site.monthly import from_monthly
from almanac.site.nights import Nights
from almanac.site.stations import every_station, table_of
from almanac.words.season import not_ready, not_sold
from tests.conftest import teasel_yard
from tests.unit.given import moved

TODAY = date(2027, 1, 15)
CROPS = ("fig", "grape", "willow")
STATIONS, LOWS = 28, 9
DATA = Path(__file__).parents[1] / "outside" / "data" / "monthly_lows.csv"


def _stations() -> Iterator[tuple[str, float, Nights]]:
    tell = (station for station in every_station() if "always" not in station.dates.values())
    every = sorted(tell, key=lambda station: station.latitude_deg)
    south, north = every[0].latitude_deg, every[-1].latitude_deg
    for number in range(STATIONS):
        wanted = south + (north - south) * number / (STATIONS - 1)
        station = min(every, key=lambda each: abs(each.latitude_deg - wanted))
        yield (
            str(station),
            station.latitude_deg,
            Nights(table_of(station, southern=station.latitude_deg < 0), station.latitude_deg),
        )


def _with_lows() -> Iterator[tuple[str, float, Nights]]:
    with DATA.open(encoding="utf-8") as file:
        rows = list(csv.DictReader(line for line in file if not line.startswith("#")))
    for row in rows[:: len(rows) // LOWS]:
        lows, latitude = [float(row[f"mean_{month:02}"]) for month in range(1, 13)], float(row["lat"])

        def at(threshold_c: float, lows: list[float] = lows, southern: bool = latitude < 0) -> FrostTable:
            return from_monthly(lows, threshold_c, southern, "a record's means")

        yield row["name"], latitude, Nights(at(0.0), latitude, at)


def _ends_of_the_earth() -> Iterator[tuple[str, float, Nights]]:
    yield "equator (invented)", 0.0, Nights(never(0.0, False, "invented"), 0.0)
    yield "20 south (invented)", -20.0, Nights(never(0.0, True, "invented"), -20.0)
    north = from_published(0.0, {0.9: (6, 25), 0.1: (7, 28)}, {0.1: (8, 3), 0.9: (8, 29)}, False, "invented")
    south = from_published(0.0, {0.9: (12, 25), 0.1: (1, 28)}, {0.1: (2, 2), 0.9: (2, 25)}, True, "invented")
    yield "70 north, frost in every month (invented)", 70.0, Nights(north, 70.0)
    yield "70 south, frost in every month (invented)", -70.0, Nights(south, -70.0)


PLACES = [*_stations(), *_with_lows(), *_ends_of_the_earth()]


@pytest.fixture(scope="module")
def base(tmp_path_factory: pytest.TempPathFactory) -> Nursery:
    return load_nursery(teasel_yard(tmp_path_factory.mktemp("everywhere")), datetime(2027, 1, 15, tzinfo=UTC))


def test_there_are_forty_places_in_both_halves_of_the_earth() -> None:
    assert len(PLACES) >= 40
    assert sum(latitude < 0 for _, latitude, _ in PLACES) >= 10
    assert sum(latitude > 0 for _, latitude, _ in PLACES) >= 10


@pytest.mark.parametrize(("name", "latitude", "nights"), PLACES, ids=[name for name, _, _ in PLACES])
def test_a_seasons_dates_stand_in_order_or_the_step_that_the_climate_does_not_allow_is_named(
    name: str, latitude: float, nights: Nights, base: Nursery
) -> None:
    nursery = moved(base, latitude, nights, TODAY)

    account = account_of(nursery)
    outdoors = account.outdoors
    for crop in CROPS:
        season = season_of(crop, outdoors.winter_near(TODAY), account)
        _wood_in_order(season)
        _sale_in_order(season)
        for lot in next_lots(season, season.collect.opens, outdoors):
            _lot_in_order(season, lot)


def _wood_in_order(season: CropSeason) -> None:
    collect, stick = season.collect, season.stick
    assert list(collect.leaf_fall) == sorted(collect.leaf_fall)
    assert list(collect.buds_swell) == sorted(collect.buds_swell)
    assert collect.opens <= collect.due <= collect.closes <= collect.buds_swell[1]
    assert collect.killing_night is None or collect.unprotected or collect.closes < collect.killing_night
    assert collect.opens <= stick.earliest <= stick.best <= stick.latest


def _sale_in_order(season: CropSeason) -> None:
    collect, wood = season.collect, season.wood
    if season.hindered:
        assert not_sold(season, TODAY)
        return
    assert season.last_post is not None
    assert collect.opens <= wood.opens <= season.last_post <= wood.closes <= wood.keeps[1]


def _lot_in_order(season: CropSeason, lot: LotToCome) -> None:
    assert season.collect.opens <= lot.cut <= season.collect.closes
    assert 0 <= (lot.stuck - lot.cut).days <= (season.wood.keeps[1] - season.wood.cut).days
    steps = [lot.milestones.get(step) for step in ("roots", "potted", "set_out", "outside", "hardened")]
    days = [step.days for step in steps if step and step.days]
    assert len(days) == len(steps) or not_ready(season.stick)
    for number in range(3):  # early, likely and late
        row = [lot.stuck, *(each[number] for each in days)]
        assert row == sorted(row)
    assert all(list(each) == sorted(each) for each in days)


@pytest.mark.parametrize(
    ("southern", "middle", "dates"),
    [
        (False, date(2026, 12, 21), [date(2026, 11, 29), date(2027, 1, 8), date(2027, 2, 17)]),
        (True, date(2027, 6, 21), [date(2027, 6, 1), date(2027, 7, 11), date(2027, 8, 20)]),
    ],
)
def test_a_first_frost_after_new_year_is_still_that_of_the_autumn_before_the_shortest_day(
    southern: bool, middle: date, dates: list[date]
) -> None:
    # A coast whose first frost comes 120, 160 or 200 days after 1 August, in the south after 1 February.
    coast = FrostTable(
        threshold_c=0.0,
        southern=southern,
        source="invented",
        estimate=True,
        spring=Curve(((211, 0.9), (230, 0.1))),
        autumn=Curve(((120, 0.1), (160, 0.5), (200, 0.9))),
        frost_free_share=0.0,
    )

    assert list(first_frosts(coast, middle)) == dates
