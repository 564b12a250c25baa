"""The shipped table of station normals: the nearest station to a place, and its frost table at 0 °C (32 °F).

A neighbour's dates are off by what those of stations as far away and as unlike in height are, and the table of a place
is so much wider than its neighbour's. Farther off, and of a neighbour where it does not freeze, nothing is concluded.

Reads two shipped files when first asked. US stations have 50 and 90 % dates; their 10 % dates are mirrored about the
middle one, and said to be. What the table rests on stands in `data/stations.toml` and the script it names.

`tests/outside/test_frost_comes_true.py` asks of each source that its 10 % dates come true in 8 to 13 years of 100.
"""

from __future__ import annotations

import gzip
from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from math import cos, hypot, pi, radians, sqrt

from almanac.faults import Fact, Miswritten
from almanac.plain import dataclass
from almanac.site.freeze_year import FreezeYear
from almanac.site.frost import FrostTable, from_published, never
from almanac.site.given import MonthDay
from almanac.site.shipped import shipped, shipped_figures

_DATES = ("last_90", "last_50", "last_10", "first_10", "first_50", "first_90")
_COLUMNS = ("id", "name", "where", "lat", "lon", "elev_m", *_DATES, "frost_free_share")
_LATITUDE, _LONGITUDE, _ELEVATION = 3, 4, 5
_KM_PER_DEGREE = 111.32
_UNKNOWN_M = 100.0  # a height not known is taken to differ by so much
_SD_OF_MEAN_ERROR = sqrt(pi / 2)  # the standard deviation of a normal error over its mean size


class NoStationError(Miswritten):
    """No station will do."""


@dataclass(frozen=True, kw_only=True)
class Station:
    """A station of the table.

    `dates` are the cells as shipped: MM-DD, empty, `never` or `always`. `frost_free_share` of years is None where the
    source does not tell.
    """

    id: str
    name: str
    where: str
    latitude_deg: float
    longitude_deg: float
    elevation_m: float | None
    dates: Mapping[str, str]
    frost_free_share: float | None

    def __str__(self) -> str:
        return f"{self.name}, {self.where} ({self.id})"


@dataclass(frozen=True, kw_only=True)
class Near:
    """A station with how far it is from a place; the height difference is None where a height is not known."""

    station: Station
    distance_km: float
    higher_m: float | None


@dataclass(frozen=True, kw_only=True)
class _Limits:
    height_km_per_m: float
    farthest_km: float
    farthest_m: float
    off_days: tuple[tuple[float, float, float], ...]
    source: str

    def off(self, near: Near) -> float:
        """The mean error of dates foretold from a station so far and so much higher or lower [days]."""
        higher = _UNKNOWN_M if near.higher_m is None else abs(near.higher_m)
        fits = (days for km, m, days in self.off_days if near.distance_km <= km and higher <= m)
        return next(fits, self.off_days[-1][2])


def nearest(latitude_deg: float, longitude_deg: float, elevation_m: float | None) -> Near:
    """The station nearest to a place, a metre of height counting as so many km, among those within both limits.

    Args:
        latitude_deg, longitude_deg: north and east are positive
        elevation_m: of the place; None where it is not known, and then height does not count
    Raises:
        NoStationError: none is near enough, or like enough in height
    """
    limits = _limits()
    best: tuple[bool, float, list[str], float, float | None] | None = None
    for cells in _rows():
        north = (float(cells[_LATITUDE]) - latitude_deg) * _KM_PER_DEGREE
        if abs(north) > limits.farthest_km * 2:
            continue
        east_deg = (float(cells[_LONGITUDE]) - longitude_deg + 180) % 360 - 180
        distance = hypot(north, east_deg * _KM_PER_DEGREE * cos(radians(latitude_deg)))
        height = cells[_ELEVATION]
        higher = float(height) - elevation_m if height and elevation_m is not None else None
        score = hypot(distance, (higher or 0.0) * limits.height_km_per_m)
        # One within both limits goes before any other; the rest only tell the reason of a refusal.
        refused = distance > limits.farthest_km or abs(higher or 0.0) > limits.farthest_m
        if best is None or (refused, score) < best[:2]:
            best = refused, score, cells, distance, higher
    if best is None or best[3] > 2 * limits.farthest_km:
        raise NoStationError(Fact("no_station_near", within_km=2 * limits.farthest_km))
    near = Near(station=_station(best[2]), distance_km=best[3], higher_m=best[4])
    if near.distance_km > limits.farthest_km:
        raise NoStationError(Fact("station_too_far", station=str(near.station), distance_km=near.distance_km))
    if near.higher_m is not None and abs(near.higher_m) > limits.farthest_m:
        raise NoStationError(Fact("station_too_high", station=str(near.station), higher_m=near.higher_m))
    return near


def station(wanted: str) -> Station:
    """The station of an id.

    Raises:
        NoStationError: there is none; near ones are named
    """
    by_id = {cells[0]: cells for cells in _rows()}
    if wanted.upper() in by_id:
        return _station(by_id[wanted.upper()])
    from difflib import get_close_matches  # for ids that were mistaken alone

    near = get_close_matches(wanted.upper(), by_id, n=1, cutoff=0.85)
    raise NoStationError(Fact("no_station", wanted=wanted, near=str(_station(by_id[near[0]])) if near else None))


def every_station() -> list[Station]:
    """All stations of the table."""
    return [_station(cells) for cells in _rows()]


def table_of(chosen: Near | Station, southern: bool) -> FrostTable:
    """The frost table of a station, or of a place near it, with notes on where it lies and what is mirrored.

    Raises:
        NoStationError: the station knows no date at all, or lies in the other half of the earth; or it never freezes
            there, which says nothing of a place near it
    """
    at = chosen.station if isinstance(chosen, Near) else chosen
    if at.dates["last_50"] != "never" and (at.latitude_deg < 0) != southern:
        raise NoStationError(Fact("station_turned_round", station=str(at)))
    source = f"station normals, {at}"
    spring = _season(at, {0.9: "last_90", 0.5: "last_50", 0.1: "last_10"}, southern)
    autumn = _season(at, {0.1: "first_10", 0.5: "first_50", 0.9: "first_90"}, southern)
    notes = _notes(chosen)
    if at.dates["last_50"] == "never" and isinstance(chosen, Near):
        raise NoStationError(Fact("station_never_freezes", station=str(at), distance_km=chosen.distance_km))
    if at.dates["last_50"] == "never":
        table = never(0.0, southern, source)
        if at.frost_free_share is None:
            notes = [*notes, Fact("station_without_dates")]
    elif at.dates["last_50"] == "always":
        raise NoStationError(Fact("station_always_freezes", station=str(at)))
    elif not spring or not autumn:
        raise NoStationError(Fact("station_seldom_freezes", station=str(at)))
    else:
        mirrored = not at.dates["last_10"] and not at.dates["first_10"]
        if mirrored:
            notes = [*notes, Fact("dates_mirrored")]
        table = from_published(0.0, spring, autumn, southern, source)
        table = replace(table, estimate=table.estimate or mirrored or isinstance(chosen, Near))
    if at.frost_free_share is not None and 0 < at.frost_free_share < 1:
        notes = [*notes, Fact("share_of_years", share=1 - at.frost_free_share)]
    table = replace(table, frost_free_share=at.frost_free_share, notes=(*notes, *table.notes))
    return table.in_doubt(_limits().off(chosen) * _SD_OF_MEAN_ERROR) if isinstance(chosen, Near) else table


def _season(at: Station, cells: Mapping[float, str], southern: bool) -> dict[float, MonthDay]:
    """The dates of a season by chance, the 10 % one mirrored about the middle where it is not there."""
    year = FreezeYear(southern)
    found = {}
    for chance, cell in cells.items():
        text = at.dates[cell]
        if text[:1].isdigit():
            found[chance] = (int(text[:2]), int(text[3:]))
    if 0.1 not in found and 0.5 in found and 0.9 in found:
        middle, other = year.index(*found[0.5]), year.index(*found[0.9])
        day = year.date_in(2001, 2 * middle - other)
        found[0.1] = (day.month, day.day)
    return found


def _notes(chosen: Near | Station) -> list[Fact]:
    if isinstance(chosen, Station):
        return []
    notes = [Fact("km_away", distance_km=chosen.distance_km)]
    if chosen.higher_m is None:
        notes.append(Fact("height_not_compared"))
    else:
        notes.append(Fact("higher_than_you", higher_m=chosen.higher_m))
    notes.append(Fact("off_as_neighbours", off_days=_limits().off(chosen)))
    return notes


@cache
def _limits() -> _Limits:
    found = shipped_figures("stations.toml")
    return _Limits(**found | {"off_days": tuple((km, m, days) for km, m, days in found["off_days"])})


@cache
def _rows() -> list[list[str]]:
    """The cells of each station, in the order of `_COLUMNS`."""
    return [line.split("\t") for line in gzip.decompress(shipped("stations.tsv.gz")).decode().splitlines()]


def _station(cells: list[str]) -> Station:
    row = dict(zip(_COLUMNS, cells, strict=True))
    height = float(row["elev_m"]) if row["elev_m"] else None
    free = float(row["frost_free_share"]) if row["frost_free_share"] else None
    return Station(
        id=row["id"],
        name=row["name"],
        where=row["where"],
        latitude_deg=float(row["lat"]),
        longitude_deg=float(row["lon"]),
        elevation_m=height,
        dates=row,
        frost_free_share=free,
    )
