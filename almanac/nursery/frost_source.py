"""From [frost] of `nursery.toml` to what is known of the site's nights, whichever source it names; and faults.

Reads a station's record from the nursery's folder, and the shipped table of stations where it is asked for one.
"""

from __future__ import annotations

import gzip
from collections.abc import Mapping
from datetime import date
from pathlib import Path

from almanac.faults import Fact, Miswritten, Unusable
from almanac.nursery.settings import Settings
from almanac.nursery.settings_frost import Frost, Monthly, PublishedDates, Record, parse_chance, parse_month_day
from almanac.site.frost import FrostTable, from_published, never
from almanac.site.given import MonthDay, PublishedDatesError
from almanac.site.nights import Nights


class FrostSourceError(Unusable):
    """The frost source cannot be used. `key` says which one, `facts` all that is wrong with it."""

    def __init__(self, key: str, *facts: Fact) -> None:
        self.key = key
        super().__init__(*facts)


def nights_of(settings: Settings, folder: Path) -> Nights:
    """What is known of the nights of a nursery's site, its frost table first.

    Args:
        settings: its [site] and [frost]
        folder: where the files of a record lie
    Raises:
        FrostSourceError: with every fault of the source
    """
    frost, southern = settings.frost, settings.site.latitude < 0
    try:
        if frost.dates is not None:
            return Nights(_from_dates(frost.dates, southern, frost.source), settings.site.latitude)
        if frost.record is not None:
            return _from_record(frost, frost.record, settings.site.latitude, folder)
        if frost.monthly is not None:
            return _from_monthly(frost, frost.monthly, settings.site.latitude)
        return Nights(_from_station(settings, southern), settings.site.latitude)
    except PublishedDatesError as error:
        raise FrostSourceError("dates", *error.facts) from None
    except Miswritten as error:
        raise FrostSourceError("record" if frost.record else "station", error.fact) from None


def _from_dates(dates: PublishedDates, southern: bool, source: str) -> FrostTable:
    source = source or "as typed by the grower"
    if dates.never:
        return never(dates.threshold, southern, source)
    return from_published(dates.threshold, _dates(dates.last_spring), _dates(dates.first_autumn), southern, source)


def _dates(written: Mapping[str, str]) -> dict[float, MonthDay]:
    return {parse_chance(chance): parse_month_day(day) for chance, day in written.items()}


def _from_record(frost: Frost, record: Record, latitude: float, folder: Path) -> Nights:
    from almanac.site.daily import DailyRecordError, read_daily  # each source is paid for by those who name it
    from almanac.site.records import frost_table as record_table

    lows: dict[date, float] = {}
    for name in record.files:
        try:
            lows |= read_daily(_lines(folder / name), record.unit)
        except DailyRecordError as error:
            raise FrostSourceError("record", Fact("in_record", file=name, fact=error.fact)) from None
        except (OSError, UnicodeDecodeError, EOFError) as error:
            said = error.strerror if isinstance(error, OSError) else None
            fact = Fact("record_unreadable", file=name, said=said) if said else Fact("record_not_text", file=name)
            raise FrostSourceError("record", fact) from None
    years = (int(frost.years[:4]), int(frost.years[5:])) if frost.years else None
    source = frost.source or f"daily record {', '.join(record.files)}"

    def at(threshold_c: float) -> FrostTable:
        return record_table(lows, threshold_c, latitude < 0, source, years, frost.last)

    return Nights(at(frost.threshold_c), latitude, at)


def _from_monthly(frost: Frost, monthly: Monthly, latitude: float) -> Nights:
    from almanac.site.colder import colder_nights, wave_of
    from almanac.site.given import MonthlyLowsError
    from almanac.site.monthly import from_monthly

    known = {"last_spring": _dates(monthly.known.last_spring), "first_autumn": _dates(monthly.known.first_autumn)}
    source = frost.source or "mean lows of twelve months, as typed by the grower"

    def at(threshold_c: float) -> FrostTable:
        # The dates known are of the nursery's own threshold and peg no other; the spread of the depth of winter is told
        # by its own constants, unless the grower's standard deviations tell it.
        if threshold_c < table.threshold_c and monthly.daily_sd is None:
            return colder_nights(table, wave_of(table, latitude), threshold_c)
        return from_monthly(monthly.lows, threshold_c, latitude < 0, source, monthly.daily_sd)

    try:
        table = from_monthly(monthly.lows, frost.threshold_c, latitude < 0, source, monthly.daily_sd, known)
        return Nights(table, latitude, at)
    except MonthlyLowsError as error:
        raise FrostSourceError("monthly", *error.facts) from None


def _lines(path: Path) -> list[str]:
    data = path.read_bytes()
    return (gzip.decompress(data) if data[:2] == b"\x1f\x8b" else data).decode("utf-8-sig").splitlines()


def _from_station(settings: Settings, southern: bool) -> FrostTable:
    from almanac.site.stations import nearest, station, table_of

    frost, site = settings.frost, settings.site
    if abs(frost.threshold_c) > 0.1:
        raise FrostSourceError("station", Fact("station_threshold"))
    if frost.station == "nearest":
        height = site.elevation
        return table_of(nearest(site.latitude, site.longitude, height), southern)
    return table_of(station(str(frost.station)), southern)
