"""From the text of a station's daily record to its lows by date: three open forms, one result. Pure.

Forms: GHCN-Daily fixed width (`.dly`, tenths of °C; Menne et al. 2012, Journal of Atmospheric and Oceanic Technology
29:897-910, and the network's readme), the network's CSV (STATION, DATE, ..., TMIN), and a plain CSV `date,low`.
A value that is missing (-9999) or carries a quality flag is left out, so its day counts as missing.
"""

from __future__ import annotations

import csv
from collections.abc import Callable, Iterable, Iterator
from datetime import date
from itertools import chain

from almanac.faults import Fact, Miswritten

_TO_C: dict[str, Callable[[float], float]] = {
    "C": lambda value: value,
    "F": lambda value: (value - 32) * 5 / 9,
    "tenths C": lambda value: value / 10,
}
UNITS = tuple(_TO_C)
# No place on earth has a low beyond these (World Meteorological Organization, archive of weather and climate extremes:
# -89.2 °C at Vostok, 1983; the highest lows known are under 45 °C), and none has a mean low beyond the second pair.
_LOWEST_C, _HIGHEST_C = -90.0, 45.0
_MEAN_C = (-60.0, 32.0)


class DailyRecordError(Miswritten):
    """A daily record that cannot be used."""


def read_daily(lines: Iterable[str], unit: str) -> dict[date, float]:
    """The lows of a record by date [°C].

    Args:
        lines: the file's lines, in any of the three forms; lines that start with # are passed over
        unit: what the numbers of a CSV are in: one of UNITS (a `.dly` file is always in tenths of °C)
    Raises:
        DailyRecordError: another kind of file, two stations in one, a date or number that is none, or numbers that
            cannot be of the unit
    """
    if unit not in _TO_C:
        raise DailyRecordError(Fact("no_unit_of_record", unit=unit, known=UNITS))
    kept = (line for line in lines if line.strip() and not line.startswith("#"))
    first = next(kept, "")
    if len(first) > 260 and first[17:21].isalpha() and first[11:17].isdigit():
        lows = dict(_fixed_width(chain([first], kept)))
    else:
        lows = _csv(first, kept, _TO_C[unit])
    _plausible(lows, unit)
    return lows


def _fixed_width(lines: Iterable[str]) -> Iterator[tuple[date, float]]:
    station = ""
    for number, line in enumerate(lines, 1):
        if line[17:21] != "TMIN":
            continue
        if station and line[:11] != station:
            raise DailyRecordError(Fact("line_of_other_station", line=number, station=line[:11], first=station))
        station = line[:11]
        try:
            year, month = int(line[11:15]), int(line[15:17])
            for day in range(31):
                value = line[21 + 8 * day : 26 + 8 * day]
                if value.strip() and value != "-9999" and line[27 + 8 * day : 28 + 8 * day] in (" ", ""):
                    yield date(year, month, day + 1), int(value) / 10
        except ValueError:
            raise DailyRecordError(Fact("not_a_dly_line", line=number, text=line[:30].strip())) from None


def _csv(first: str, lines: Iterable[str], to_c: Callable[[float], float]) -> dict[date, float]:
    header = [cell.strip().upper() for cell in next(csv.reader([first.removeprefix("\ufeff")]), [])]
    low = next((name for name in ("LOW", "TMIN") if name in header), "")
    if "DATE" not in header or not low:
        raise DailyRecordError(Fact("no_record", begins=first.strip()[:40]))
    day_at, low_at = header.index("DATE"), header.index(low)
    station_at = header.index("STATION") if "STATION" in header else None
    flags_at = header.index("TMIN_ATTRIBUTES") if "TMIN_ATTRIBUTES" in header else None
    lows: dict[date, float] = {}
    stations = set()
    for number, cells in enumerate(csv.reader(lines), 2):
        try:
            if station_at is not None:
                stations.add(cells[station_at])
            value = float(cells[low_at]) if cells[low_at].strip() else -9999.0
            if value in (-9999.0, -999.9) or (flags_at is not None and _flagged(cells, flags_at)):
                continue
            lows[date.fromisoformat(cells[day_at].strip())] = to_c(value)
        except (ValueError, IndexError):
            raise DailyRecordError(Fact("not_a_low", row=number, text=",".join(cells)[:40])) from None
    if len(stations) > 1:
        raise DailyRecordError(Fact("several_stations", count=len(stations), stations=tuple(sorted(stations)[:3])))
    return lows


def _flagged(cells: list[str], flags_at: int) -> bool:
    """Whether the quality flag, second of the measurement, quality and source flags, is set."""
    flags = cells[flags_at].split(",") if flags_at < len(cells) else []
    return len(flags) > 1 and bool(flags[1].strip())


def _plausible(lows: dict[date, float], unit: str) -> None:
    if not lows:
        raise DailyRecordError(Fact("no_lows"))
    coldest, warmest = min(lows.values()), max(lows.values())
    middle = sum(lows.values()) / len(lows)
    if coldest < _LOWEST_C or warmest > _HIGHEST_C or not _MEAN_C[0] <= middle <= _MEAN_C[1]:
        found = Fact("lows_of_other_unit", unit=unit, coldest_c=coldest, warmest_c=warmest, mean_c=middle)
        raise DailyRecordError(found)
