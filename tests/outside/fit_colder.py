"""Fits what is made of frost dates for colder nights; writes `almanac/site/data/colder.toml` and the test data.

    python -m tests.outside.fit_colder FOLDER

FOLDER holds `fit_set_monthly_stats.csv` (told in `fit_monthly`) and `daily/ID.csv.gz`, daily lows (date, low) of some
of its stations. How far the usual low swings through the year is fitted to the monthly means of all stations that
freeze in nine years of ten, from their latitudes and dates; each network counts as a whole, the south and the Alps for
less. How lows spread is then
fitted to the days by which one winter in ten and one in two of the daily records since
1966 have had their first night at or below thresholds from -3 to -28 °C, and to the share of winters that have one. The
error written down is that of the day by which one winter in ten has it, each station left out of the fit of the swing;
the spread, four numbers from two hundred days and more, is fitted to all. The test data leave out what terms forbid.
"""

from __future__ import annotations

import csv
import gzip
import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from statistics import fmean, stdev

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize

from almanac.site.colder import ColderNights, colder_nights, frost_days, shipped_colder, usual_lows, wave_of
from almanac.site.freeze_year import FreezeYear
from almanac.site.frost import FrostTable, from_published
from tests.outside.fit_monthly import COPIED, COUNTS, Station, stations

HERE = Path(__file__).parent
TOML = HERE.parents[1] / "almanac" / "site" / "data" / "colder.toml"
DATA = HERE / "data" / "colder_nights.csv"
THRESHOLDS = (-3.0, -5.0, -7.0, -9.4, -12.0, -15.0, -17.8, -21.0, -23.3, -28.0)
FAHRENHEIT = ("USC00053005", "USW00024233")
SINCE, WHOLE = 1966, 350
NONE, NONE_COUNTS, MOST, SHARE_COUNTS = 999, 45, 60, 20  # days; a night that only one of the two has counts so many
COUNT = {"ACORN": 0.3, "other": 1.0, "TN": 0.3, "MSC": 0.1}  # of the swing: winters of the south are mild
SWELLING = {False: (2, 3, 4), True: (8, 9, 10)}
SEASON = {False: (2, 3), True: (8, 9)}  # the months whose mean low tells how late winters differ


@dataclass(frozen=True)
class Record:
    """First nights below thresholds by daily record: share of winters, day of one in ten and one in two."""

    station: Station
    latitude_deg: float
    nights: dict[float, tuple[float, int, int]]
    coldest: float
    late_winter_sd_c: float


def table_of(station: Station) -> FrostTable:
    """As a source of frost dates has it."""
    days = {season: {chance: day for chance, day in found.items() if day} for season, found in station.dates.items()}
    return from_published(0.0, days["last_spring"], days["first_autumn"], station.southern, station.name)


def latitudes(folder: Path) -> dict[str, float]:
    with (folder / "fit_set_monthly_stats.csv").open(encoding="utf-8") as lines:
        rows = csv.DictReader(line for line in lines if not line.startswith("#"))
        return {row["id"]: float(row["lat"]) for row in rows if row["lat"]}


def often(station: Station) -> bool:
    return all(day for days in station.dates.values() for day in days.values())


# --- the swing -------------------------------------------------------------------------------------------------------


def swing_of(station: Station) -> float:
    """Half of what the wave nearest to the monthly means goes up and down [°C]."""
    angles = (np.arange(12) + 0.5) / 12 * 2 * np.pi
    lows = np.array(station.lows_c)
    return float(2 * np.hypot(np.mean(lows * np.cos(angles)), np.mean(lows * np.sin(angles))))


def features(station: Station, latitude: float) -> list[float]:
    first, last, spread = frost_days(table_of(station)) or (0, 0, 1)
    middle = FreezeYear(station.southern).index(*((6, 21) if station.southern else (12, 21)))
    return [1.0, abs(latitude), (first + last) / 2 - middle, float(np.log(max(spread, 1)))]


def swing_fit(every: Sequence[Station], where: dict[str, float]) -> NDArray[np.float64]:
    counts = {network: sum(station.network == network for station in every) for network in COUNTS}
    weights = np.sqrt([COUNT[station.network] / counts[station.network] for station in every])
    of = np.array([features(station, where[station.id]) for station in every])
    found = np.linalg.lstsq(of * weights[:, None], np.array([swing_of(s) for s in every]) * weights, rcond=None)[0]
    return np.asarray(found)


def lows_off(every: Sequence[Station], where: dict[str, float], constants: ColderNights) -> float:
    """By how much the estimated mean low of the months of swelling buds is off: root mean square [°C]."""
    off = []
    for station in every:
        lows, months = usual_lows(table_of(station), where[station.id], constants), SWELLING[station.southern]
        off.append(fmean(lows[month - 1] - station.lows_c[month - 1] for month in months))
    return float(np.sqrt(np.mean(np.square(off))))


def with_swing(constants: ColderNights, of: NDArray[np.float64]) -> ColderNights:
    swing, degree, late, spread = (round(float(x), 4) for x in of)
    return replace(
        constants, swing=swing, swing_per_degree=degree, swing_per_day_late=late, swing_per_log_spread=spread
    )


# --- the records -----------------------------------------------------------------------------------------------------


def records(folder: Path, every: Sequence[Station], where: dict[str, float]) -> Iterator[Record]:
    for station in every:
        path = folder / "daily" / f"{station.id}.csv.gz"
        if path.exists():
            yield _record(path, station, where[station.id])


def _record(path: Path, station: Station, latitude: float) -> Record:
    winters: dict[int, dict[int, float]] = {}
    seasons: dict[int, list[float]] = {}
    year = FreezeYear(station.southern)
    with gzip.open(path, "rt", encoding="utf-8") as lines:
        for row in csv.reader(line for line in lines if line[0].isdigit()):
            day, low = date.fromisoformat(row[0]), float(row[1])
            low = (low - 32) / 1.8 if station.id in FAHRENHEIT else low
            if day.year >= SINCE:
                winters.setdefault(year.start(day).year, {})[year.index(day.month, day.day)] = low
                if day.month in SEASON[station.southern]:
                    seasons.setdefault(day.year, []).append(low)
    whole = [lows for lows in winters.values() if len(lows) >= WHOLE]
    nights = {}
    for threshold in THRESHOLDS:
        firsts = sorted(min((day for day, low in lows.items() if low <= threshold), default=NONE) for lows in whole)
        share = fmean(first < NONE for first in firsts)
        nights[threshold] = share, firsts[int(0.1 * (len(firsts) - 1))], firsts[int(0.5 * (len(firsts) - 1))]
    means = np.array([fmean(lows) for lows in seasons.values() if len(lows) > 50])
    trend = np.polyval(np.polyfit(np.arange(len(means)), means, 1), np.arange(len(means)))
    coldest = float(np.median([min(lows.values()) for lows in whole]))
    return Record(station, latitude, nights, coldest, stdev(means - trend))


def found_nights(table: FrostTable) -> tuple[float, int, int]:
    start = FreezeYear(table.southern).start(date(2001, 12, 31))
    chances = [table.chance_before(date.fromordinal(start.toordinal() + day)) for day in range(365)]
    first, middle = (next((day for day, chance in enumerate(chances) if chance >= q), NONE) for q in (0.1, 0.5))
    return chances[-1], first, middle


def errors(record: Record, constants: ColderNights) -> Iterator[tuple[float, tuple[float, int, int]]]:
    frost = table_of(record.station)
    wave = wave_of(frost, record.latitude_deg, constants)
    for threshold in THRESHOLDS:
        yield threshold, found_nights(colder_nights(frost, wave, threshold, constants))


def off(seen: int, found: int) -> float | None:
    if seen == NONE and found == NONE:
        return None
    return min(NONE_COUNTS if NONE in (seen, found) else abs(found - seen), MOST)


def cost(every: Sequence[Record], constants: ColderNights) -> float:
    total: list[float] = []
    for record in every:
        for threshold, (share, tenth, half) in errors(record, constants):
            seen = record.nights[threshold]
            total += [days for pair in ((seen[1], tenth), (seen[2], half)) if (days := off(*pair)) is not None]
            total.append(SHARE_COUNTS * abs(share - seen[0]))
    return fmean(total)


def spread_fit(every: Sequence[Record], constants: ColderNights) -> ColderNights:
    """By simplex, from what the constants have."""
    names = ("tail", "tail_per_c", "log_sd", "log_sd_per_c_below_warmest")

    def tried(x: Sequence[float]) -> ColderNights:
        tail, per_c, log_sd, per_c_below = (round(float(each), 4) for each in x)
        return replace(constants, tail=tail, tail_per_c=per_c, log_sd=log_sd, log_sd_per_c_below_warmest=per_c_below)

    start = np.array([getattr(constants, name) for name in names])
    simplex = np.array([start, *(start + step for step in np.diag([0.02, 0.006, 0.08, 0.008]))])
    found = minimize(
        lambda x: cost(every, tried(x)), start, method="Nelder-Mead", options={"maxfev": 60, "initial_simplex": simplex}
    )
    return tried(found.x)


# --- what is written -------------------------------------------------------------------------------------------------


def main(folder: Path) -> None:
    where = latitudes(folder)
    every = [s for s in stations(folder / "fit_set_monthly_stats.csv") if often(s) and s.id in where]
    constants = with_swing(shipped_colder(), swing_fit(every, where))
    found = list(records(folder, every, where))
    constants = spread_fit(found, constants)
    days, shares = [], []
    for record in found:
        without = [station for station in every if station.id != record.station.id]
        left_out = with_swing(constants, swing_fit(without, where))
        line = []
        for threshold, (share, tenth, half_day) in errors(record, left_out):
            seen = record.nights[threshold]
            shares.append(abs(share - seen[0]))
            if NONE not in (seen[1], tenth):
                days.append(tenth - seen[1])
            line.append(f"{threshold:g}: {seen[0]:.2f}/{share:.2f} {seen[1]}/{tenth} {seen[2]}/{half_day}")
        print(record.station.name, f"coldest {record.coldest:.1f}", *line, sep="\n  ")
    season = round(fmean(record.late_winter_sd_c for record in found), 1)
    constants = replace(
        constants,
        season_sd_c=season,
        lows_off_c=round(lows_off(every, where, constants), 1),
        error_days=round(fmean(map(abs, days)), 1),
        error_share=round(fmean(shares), 2),
        source=(
            f"Fitted to the frost dates and monthly means of {len(every)} stations and the daily lows of {len(found)} "
            "since 1966: Bureau of Meteorology (ACORN-SAT v2.5.0), Autonomous Province of Trento, Meteorological "
            "Service of Canada, NOAA NCEI (GHCN-Daily), Colorado Climate Center, KNMI, Met Eireann; by "
            "tests/outside/fit_colder.py"
        ),
    )
    print(f"days of one winter in ten: off by {constants.error_days} of {len(days)}, mean {fmean(days):+.1f}")
    print(f"share of winters off by {constants.error_share}; late winters differ by {season} C")
    TOML.write_text(toml(constants), encoding="utf-8")
    write_data([record for record in found if record.station.network in COPIED])


def toml(constants: ColderNights) -> str:
    lines = [
        "# Constants of colder nights and usual lows from frost dates, and the mean errors to expect: of the day by",
        "# which one winter in ten has had its first night below a colder threshold [days], and of the share of",
        "# winters with one. Written by tests/outside/fit_colder.py; `above_c` is the mean of its stations, what is",
        "# `rare` a guess.",
    ]
    for name, value in vars(constants).items():
        lines.append(f'{name} = "{value}"' if isinstance(value, str) else f"{name} = {value}")
    return "\n".join(lines) + "\n"


def write_data(found: Sequence[Record]) -> None:
    with DATA.open("w", encoding="utf-8", newline="") as file:
        file.write(
            "# Frost dates (0 C: 10, 50 and 90 % of years have a frost after the last ones, by the first ones); then\n"
            "# by threshold the share of winters since 1966 with a night at or below it, and the day of the freeze\n"
            "# year (0: 1 August, south 1 February) by which one in ten and one in two had had it (empty: fewer had).\n"
            "# Worked out from daily lows by tests/outside/fit_colder.py: ACORN Bureau of Meteorology, ACORN-SAT\n"
            "# v2.5.0; USC, USW, FR NOAA NCEI, GHCN-Daily, but USC00053005 Colorado Climate Center; KNMI260 KNMI;\n"
            "# MEI532 Met Eireann.\n"
        )
        writer = csv.writer(file, lineterminator="\n")
        dates = [f"{season}_{round(chance * 100)}" for season in ("last", "first") for chance in (0.1, 0.5, 0.9)]
        writer.writerow(["id", "name", "lat", *dates, "threshold_c", "share", "day_10", "day_50"])
        for record in found:
            at = record.station
            written = [
                f"{day[0]:02}-{day[1]:02}"
                for season in ("last_spring", "first_autumn")
                for chance in (0.1, 0.5, 0.9)
                if (day := at.dates[season][chance])
            ]
            for threshold, (share, tenth, half) in record.nights.items():
                days = ["" if day == NONE else day for day in (tenth, half)]
                writer.writerow([at.id, at.name, record.latitude_deg, *written, threshold, f"{share:.3f}", *days])


if __name__ == "__main__":
    main(Path(sys.argv[1]))
