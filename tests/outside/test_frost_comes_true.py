"""How often the 10 % dates of each source come true, over stations whose own frosts are known.

Stations of the climate normals (US, 1981-2010, 32 F) are each foretold by the table of the nearest other one, and their
own 50 and 90 % dates say how often frost comes after a date. Stations of `data/monthly_lows.csv` (its head names the
sources) are foretold from their middle date, or from their monthly means alone; the 10, 50 and 90 % days of their
records say the same. None of the latter stood in the table that the spread of a single date was taken from.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from functools import cache
from statistics import NormalDist, fmean

import numpy as np
import pytest

from almanac.site import stations
from almanac.site.freeze_year import FreezeYear
from almanac.site.frost import FrostTable, from_published
from almanac.site.monthly import from_monthly
from almanac.site.stations import Near, NoStationError, Station, every_station, table_of
from tests.outside.fit_monthly import DATA
from tests.outside.fit_monthly import Station as OfRecord
from tests.outside.fit_monthly import stations as of_records

_NORMAL = NormalDist()
SEASONS = ("last_spring", "first_autumn")


# --- the nearest station ------------------------------------------------------------------------------------------


@cache
def neighbours() -> list[tuple[Station, Near]]:
    """One station in four, and the one that the program would choose for its place if it were not there."""
    every = every_station()
    lat, lon = (np.array([getattr(one, name) for one in every]) for name in ("latitude_deg", "longitude_deg"))
    height = np.array([np.nan if one.elevation_m is None else one.elevation_m for one in every])
    limits, found = stations._limits(), []
    for i in range(0, len(every), 4):
        east = (lon - lon[i] + 180) % 360 - 180
        apart = np.hypot((lat - lat[i]) * 111.32, east * 111.32 * np.cos(np.radians(lat[i])))
        higher = height - height[i]
        unlike = np.nan_to_num(higher)
        score = np.hypot(apart, unlike * limits.height_km_per_m)
        score[(apart > limits.farthest_km) | (np.abs(unlike) > limits.farthest_m)] = np.inf
        score[i] = np.inf
        best = int(np.argmin(score))
        if np.isfinite(score[best]):
            found.append(
                (
                    every[i],
                    Near(
                        station=every[best],
                        distance_km=float(apart[best]),
                        higher_m=None if np.isnan(higher[best]) else higher[best],
                    ),
                )
            )
    return found


def day_of(one: Station, name: str) -> int | None:
    text = one.dates[name]
    return FreezeYear(one.latitude_deg < 0).index(int(text[:2]), int(text[3:])) if text[:1].isdigit() else None


def foretold() -> Iterator[tuple[Station, Near, FrostTable]]:
    """Every station that has dates, with the table of its neighbour."""
    for one, near in neighbours():
        if day_of(one, "last_50") and day_of(one, "first_50"):
            try:
                yield one, near, table_of(near, one.latitude_deg < 0)
            except NoStationError:
                continue


def test_ten_percent_dates_of_the_nearest_station_come_true_in_one_year_of_ten() -> None:
    spring: list[float] = []
    autumn: list[float] = []
    for one, _, table in foretold():
        year = FreezeYear(one.latitude_deg < 0)
        last, first = table.date_for_spring(0.1, 2005), table.date_for_autumn(0.1, 2005)
        for day, middle, other, found in (
            (last, "last_50", "last_90", spring),
            (first, "first_50", "first_90", autumn),
        ):
            at, end = day_of(one, middle), day_of(one, other)
            if day and at is not None and end is not None and at != end:
                spread = abs(at - end) / _NORMAL.inv_cdf(0.9)
                off = year.index(day.month, day.day) - at
                found.append(1 - _NORMAL.cdf((off if found is spring else -off) / spread))

    assert len(spring) > 1000
    assert 0.08 <= fmean(spring) <= 0.13
    assert 0.08 <= fmean(autumn) <= 0.13


def test_the_error_told_of_a_neighbour_is_that_found_of_stations_as_far_away() -> None:
    told: dict[str, list[float]] = {}
    found: dict[str, list[float]] = {}
    for one, near, table in foretold():
        [off] = (note.values["off_days"] for note in table.notes if note.kind == "off_as_neighbours")
        each = [
            abs(at - there)
            for name in ("last_50", "first_50")
            if (at := day_of(one, name)) is not None and (there := day_of(near.station, name)) is not None
        ]
        if each:
            name = "under 20 km" if near.distance_km < 20 else "to 40" if near.distance_km < 40 else "beyond"
            if near.distance_km >= 60:
                name = "beyond 60"
            assert isinstance(off, float)
            told.setdefault(name, []).append(off)
            found.setdefault(name, []).append(fmean(each))

    assert set(told) == {"under 20 km", "to 40", "beyond", "beyond 60"}
    for name, days in found.items():
        assert fmean(told[name]) == pytest.approx(fmean(days), rel=0.3), name


def test_a_neighbour_where_it_does_not_freeze_never_makes_a_place_frost_free() -> None:
    mild = [(one, near) for one, near in neighbours() if near.station.dates["last_50"] == "never"]

    assert any(day_of(one, "last_50") for one, _ in mild)  # and there are such places where it does freeze
    for one, near in mild:
        with pytest.raises(NoStationError):
            table_of(near, one.latitude_deg < 0)


# --- a single date, and monthly means alone -----------------------------------------------------------------------


@cache
def often() -> list[OfRecord]:
    return [one for one in of_records(DATA) if one.often]


def comes_true(one: OfRecord, season: str, day: int) -> float:
    """How often frost still comes after a day of spring, or has come by a day of autumn, by the days of its record."""
    points = sorted((one.index(at), _NORMAL.inv_cdf(chance)) for chance, at in one.dates[season].items() if at)
    (a, b) = points[:2] if day < points[1][0] else points[-2:]
    return _NORMAL.cdf(a[1] + (b[1] - a[1]) * (day - a[0]) / max(b[0] - a[0], 1))


def shares(tables: Mapping[str, FrostTable]) -> tuple[float, float]:
    """Of all stations, how often their 10 % dates come true, in spring and in autumn."""
    found: list[list[float]] = [[], []]
    for one in often():
        table = tables[one.id]
        for number, day in enumerate((table.date_for_spring(0.1, 2005), table.date_for_autumn(0.1, 2005))):
            if day:
                found[number].append(comes_true(one, SEASONS[number], one.index((day.month, day.day))))
    return fmean(found[0]), fmean(found[1])


def single_date(one: OfRecord) -> FrostTable:
    middle = {season: {0.5: one.dates[season][0.5]} for season in SEASONS}
    assert all(days[0.5] for days in middle.values())
    return from_published(0.0, middle["last_spring"], middle["first_autumn"], one.southern, "")  # type: ignore[arg-type]


def test_the_ten_percent_dates_worked_out_of_a_single_date_come_true_in_one_year_of_ten() -> None:
    spring, autumn = shares({one.id: single_date(one) for one in often()})

    assert 0.08 <= spring <= 0.13
    assert 0.08 <= autumn <= 0.13


def test_a_single_date_asks_for_a_second() -> None:
    table = single_date(often()[0])

    assert [note.kind for note in table.notes] == ["single_date", "single_date"]


def test_the_ten_percent_dates_of_monthly_means_alone_come_true_in_one_year_of_ten() -> None:
    spring, autumn = shares({one.id: from_monthly(one.lows_c, 0.0, one.southern, "") for one in often()})

    assert 0.08 <= spring <= 0.13
    assert 0.08 <= autumn <= 0.13


@pytest.mark.parametrize("known", SEASONS)
def test_where_the_date_of_one_season_is_known_that_of_the_other_is_as_wide_as_it_should_be(known: str) -> None:
    def table(one: OfRecord) -> FrostTable:
        middle = one.dates[known][0.5]
        assert middle
        return from_monthly(one.lows_c, 0.0, one.southern, "", None, {known: {0.5: middle}})

    assert all(0.08 <= share <= 0.135 for share in shares({one.id: table(one) for one in often()}))


def test_a_wider_table_keeps_its_middle_date() -> None:
    one = often()[0]
    table = single_date(one)

    wider = replace(table).in_doubt(20.0)

    assert wider.date_for_spring(0.5, 2005) == table.date_for_spring(0.5, 2005)
    assert wider.date_for_spring(0.1, 2005) > table.date_for_spring(0.1, 2005)  # type: ignore[operator]
