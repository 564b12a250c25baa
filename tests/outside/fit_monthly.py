"""Fits the constants of frost tables from monthly means; writes `almanac/site/data/monthly.toml` and the test data.

    python -m tests.outside.fit_monthly FOLDER

FOLDER holds `fit_set_monthly_stats.csv`: a line a station, worked out from its daily lows of about fifty years: name,
country (AU lies in the south), mean and standard deviation of the daily low by month [°C], the share of freeze years
without a low at or below 0 °C, and the days (MM-DD) by which the last and the first such low had come in 10, 50 and
90 % of years. Its networks, told by the start of the id: ACORN (Bureau of Meteorology, Australia), TN (Autonomous
Province of Trento, Alps), MSC (Meteorological Service of Canada), others (United States, western Europe).

The Australian stations are many and the Alpine ones near each other, so each network counts as a whole, the Alpine for
less; those of MSC are only looked at. First persistence and tail are fitted with the stations' own s.d., then the usual
s.d. to dates and s.d. together, then what is made of a known date: how much the spread is corrected with the level, and
how much of a correction holds for the other season; last how much wider dates are told, so that the 10 % date comes
true in one year of ten of the stations that may be copied. The errors written down are of stations left out of the fit
by region (Australian states, the Alps, every other station alone), of those that freeze in more than 98 % of years. The
test data leave out TN and MSC, whose terms do not allow copies.
"""

from __future__ import annotations

import csv
import sys
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from statistics import fmean, median
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize
from scipy.special import ndtr, ndtri

from almanac.site.freeze_year import FreezeYear
from almanac.site.frost import FrostTable
from almanac.site.given import MonthlyLowsError
from almanac.site.monthly import MILD_C, from_monthly
from almanac.site.nightly import Constants, daily_curve, shortening, usual_daily_sd

Array = NDArray[np.float64]
HERE = Path(__file__).parent
TOML = HERE.parents[1] / "almanac" / "site" / "data" / "monthly.toml"
DATA = HERE / "data" / "monthly_lows.csv"
COUNTS = {"ACORN": 1.0, "other": 1.0, "TN": 0.3, "MSC": 0.0}
COPIED = ("ACORN", "other")
STATES = (14, 16, 27, 46, 76, 91)  # first two digits of the Australian numbers at which a state begins
NO_DATE_DAYS = 60.0  # counts as so far off where the model has no date and the record has one
SHARE_COUNTS_DAYS = 15.0  # a share of years off by 1 counts like dates off by so many days
SPREAD_COUNTS_DAYS = 36.0  # likewise the square of the logarithm of an s.d.
KINDS = ("default", "own", "known", "two_known")
DATES = (
    ("last_spring", (("90", 0.1), ("50", 0.5), ("10", 0.9))),
    ("first_autumn", (("10", 0.1), ("50", 0.5), ("90", 0.9))),
)
NO_ERRORS = {"default": 0.0, "own": 0.0, "known": 0.0, "two_known": 0.0}
START = Constants(
    persistence=0.67,
    tail=0.05,
    tail_per_c=0.01,
    tail_per_c_of_range=0.005,
    log_sd=1.08,
    log_sd_per_c_below_warmest=0.019,
    known_spread_per_c=0.24,
    known_to_other_season=0.75,
    error_days_cold=NO_ERRORS,
    error_days_mild=NO_ERRORS,
    error_share=NO_ERRORS,
    source="",
)
TAIL = ("persistence", "tail", "tail_per_c", "tail_per_c_of_range")
SPREAD = ("log_sd", "log_sd_per_c_below_warmest")
STEP = {"persistence": 0.05, "tail": 0.02, "log_sd": 0.05}


@dataclass(frozen=True)
class Station:
    """A station's monthly figures [°C], its share of years without a frost, its dates by season and chance."""

    id: str
    name: str
    southern: bool
    lows_c: list[float]
    sd_c: list[float]
    free: float
    dates: dict[str, dict[float, tuple[int, int] | None]]

    @property
    def network(self) -> str:
        return next((name for name in COUNTS if self.id.startswith(name)), "other")

    @property
    def region(self) -> str:
        if self.network == "ACORN":
            return f"ACORN {sum(int(self.id[6:8]) >= first for first in STATES)}"
        return "TN" if self.network == "TN" else self.id

    @property
    def often(self) -> bool:
        return self.free < 0.02

    def index(self, day: tuple[int, int]) -> int:
        return FreezeYear(self.southern).index(*day)


def stations(path: Path) -> list[Station]:
    """Those of a table of the columns told above; lines that start with # are left out."""

    def station(row: Mapping[str, str]) -> Station:
        return Station(
            row["id"],
            row["name"],
            row["country"] == "AU",
            [float(row[f"mean_{month:02}"]) for month in range(1, 13)],
            [float(row[f"sd_{month:02}"]) for month in range(1, 13)],
            float(row["share_years_without"]),
            {
                season: {chance: _day(row[f"{season.split('_')[0]}_q{column}"]) for column, chance in columns}
                for season, columns in DATES
            },
        )

    with path.open(encoding="utf-8") as lines:
        return [station(row) for row in csv.DictReader(line for line in lines if not line.startswith("#"))]


def _day(written: str) -> tuple[int, int] | None:
    return None if written == "none" else (int(written[:2]), int(written[3:]))


# --- the errors of a table -------------------------------------------------------------------------------------------


def errors(station: Station, table: FrostTable, known: Sequence[str] = ()) -> list[float]:
    """Days between the dates of a table and the record's; without those of the middle that were given."""
    found = []
    for season, date_for in (("last_spring", table.date_for_spring), ("first_autumn", table.date_for_autumn)):
        for chance, day in station.dates[season].items():
            if day is None or (season in known and chance == 0.5):
                continue
            got = date_for(chance, 2001)
            found.append(abs(station.index((got.month, got.day)) - station.index(day)) if got else NO_DATE_DAYS)
    return found


def by_kind(station: Station, constants: Constants) -> Iterator[tuple[str, list[float]]]:
    """The errors of a station's dates by what is given besides its means: (kind, days of each date not given)."""
    for kind, table, known in tables(station, constants):
        yield kind, errors(station, table, known)


def tables(station: Station, constants: Constants | None) -> Iterator[tuple[str, FrostTable, tuple[str, ...]]]:
    """Its table by kind; with one date known twice, once for either season."""

    def table(sd_c: list[float] | None = None, known: Sequence[str] = ()) -> FrostTable:
        middle = {season: {0.5: day} for season in known if (day := station.dates[season][0.5])}
        return from_monthly(station.lows_c, 0.0, station.southern, "", sd_c, middle, constants)

    yield "default", table(), ()
    yield "own", table(station.sd_c), ()
    for kind, known in (
        ("known", ("last_spring",)),
        ("known", ("first_autumn",)),
        ("two_known", ("last_spring", "first_autumn")),
    ):
        if all(station.dates[season][0.5] for season in known):
            yield kind, table(known=known), known


# --- the same model for all stations at once -----------------------------------------------------------------------


@dataclass(frozen=True)
class Batch:
    """Stations as arrays: a row a station, the days of its freeze year along it."""

    stations: list[Station]
    means: Array
    days: Array
    own_sd: Array

    @classmethod
    def of(cls, chosen: list[Station]) -> Batch:
        dates = [[_index(one, day) for season in one.dates.values() for day in season.values()] for one in chosen]
        return cls(
            chosen,
            _freeze_year(chosen, np.array([one.lows_c for one in chosen])),
            np.array(dates),
            _spread(chosen, np.array([one.sd_c for one in chosen])),
        )

    def errors(self, constants: Constants, *, own: bool) -> tuple[Array, Array]:
        """For each station the mean error of its dates [days] and that of its share of frost-free years."""
        sd = self.own_sd
        if not own:
            sd = _spread(self.stations, np.array([usual_daily_sd(one.lows_c, constants) for one in self.stations]))
        tail = np.array([shortening(one.lows_c, 0.0, constants) for one in self.stations])
        u = -self.means / sd
        u = u - tail[:, None] * np.minimum(u, 0) ** 2
        autumn, back = _so_far(u, constants.persistence), _so_far(u[:, ::-1], constants.persistence)
        got = np.stack(
            [364 - _crossing(back, chance) for chance in (0.1, 0.5, 0.9)]
            + [_crossing(autumn, chance) for chance in (0.1, 0.5, 0.9)],
            axis=1,
        )
        there = ~np.isnan(self.days)
        off = np.where(np.isnan(got), NO_DATE_DAYS, np.abs(got - self.days))
        days = np.where(there, off, 0.0).sum(axis=1) / np.maximum(there.sum(axis=1), 1)
        return days, np.abs(1 - autumn[:, -1] - np.array([one.free for one in self.stations]))


def _index(one: Station, day: tuple[int, int] | None) -> float:
    return float("nan") if day is None else one.index(day)


def _freeze_year(chosen: list[Station], monthly: Array) -> Array:
    """What `daily_curve` does, for rows; it is linear in the twelve values."""
    curves = monthly @ _basis()
    firsts = [one.index((1, 1)) for one in chosen]
    rows: Array = np.array([np.roll(curve, first) for curve, first in zip(curves, firsts, strict=True)])
    return rows


@cache
def _basis() -> Array:
    return np.array([daily_curve(tuple(month)) for month in np.eye(12)])


def _spread(chosen: list[Station], sd: Array) -> Array:
    least: Array = sd.min(axis=1)[:, None] / 2
    found: Array = np.maximum(_freeze_year(chosen, sd), least)
    return found


def _so_far(quantiles: Array, correlation: float) -> Array:
    """What `almanac.site.nightly.frost_so_far` does, for rows."""
    nodes, weights = np.polynomial.legendre.leggauss(6)
    free = np.clip(ndtr(-quantiles), 1e-12, 1)
    h, k, half = quantiles[:, :-1], quantiles[:, 1:], np.arcsin(correlation) / 2
    both = free[:, :-1] * free[:, 1:]
    for node, weight in zip(nodes, weights, strict=True):
        sine = np.sin(half * (node + 1))
        both = both + weight * half / (2 * np.pi) * np.exp(-(h * h + k * k - 2 * h * k * sine) / (2 * (1 - sine**2)))
    ratio = np.minimum(both / free[:, :-1], 1)
    result: Array = 1 - np.cumprod(np.concatenate([free[:, :1], ratio], axis=1), axis=1)
    return result


def _crossing(rising: Array, chance: float) -> Array:
    """The day, in parts, on which each row reaches a chance; nan where it does not."""
    z: Array = ndtri(np.clip(rising, 1e-12, 1 - 1e-12))
    wanted = ndtri(chance)
    after = (rising >= chance).argmax(axis=1)
    before, rows = np.maximum(after - 1, 0), np.arange(len(rising))
    step = np.maximum(z[rows, after] - z[rows, before], 1e-9)
    result: Array = np.where(
        rising[:, -1] >= chance, before + np.where(after > 0, (wanted - z[rows, before]) / step, 1), np.nan
    )
    return result


# --- the fit -------------------------------------------------------------------------------------------------------


def _fits(one: Station) -> bool:
    return COUNTS[one.network] > 0 and one.free < 1


def fit(chosen: list[Station], start: Constants, runs: int) -> Constants:
    """The constants that serve some stations best, all but the part that holds for the other season."""
    batch = Batch.of([one for one in chosen if _fits(one)])
    networks = np.array([one.network for one in batch.stations])
    often = np.array([one.often for one in batch.stations])
    free = np.array([one.free for one in batch.stations])
    logs = np.log(np.array([one.sd_c for one in batch.stations]))

    def by_network(value: Array, among: NDArray[np.bool_]) -> float:
        return sum(
            weight * float(value[among & (networks == name)].mean())
            for name, weight in COUNTS.items()
            if (among & (networks == name)).any()
        )

    def cost(constants: Constants, *, own: bool) -> float:
        days, share = batch.errors(constants, own=own)
        some = share[~often & (free < 1)]
        total = by_network(days, often) + SHARE_COUNTS_DAYS * float(some.mean() + np.maximum(some - 0.1, 0).mean())
        if not own:
            usual = np.log(np.array([usual_daily_sd(one.lows_c, constants) for one in batch.stations]))
            total += SPREAD_COUNTS_DAYS * by_network(((usual - logs) ** 2).mean(axis=1), free < 2)
        return total

    found = _least(lambda constants: cost(constants, own=True), start, TAIL, runs)
    return _least(lambda constants: cost(constants, own=False), found, SPREAD, runs)


def _least(cost: Callable[[Constants], float], start: Constants, names: Sequence[str], runs: int) -> Constants:
    def constants(values: Sequence[float]) -> Constants:
        changed: dict[str, Any] = dict(zip(names, map(float, values), strict=True))
        return replace(start, **changed)

    first = np.array([getattr(start, name) for name in names])
    corners = np.array([first, *(first + np.diag([STEP.get(name, 0.006) for name in names]))])
    found = minimize(
        lambda values: cost(constants(values)) if values[0] < 0.95 or names != TAIL else 1e6,
        first,
        method="Nelder-Mead",
        options={"maxfev": runs, "xatol": 1e-4, "fatol": 1e-3, "initial_simplex": corners},
    )
    return constants(found.x)


def fit_known(chosen: list[Station], constants: Constants) -> Constants:
    """What is made of a known date, tried in steps; a still wider spread gains next to nothing, and fits any date."""

    def mean_error(tried: Constants) -> float:
        return sum(
            COUNTS[one.network]
            / sum(other.network == one.network for other in chosen)
            * fmean(fmean(days) for kind, days in by_kind(one, tried) if kind in KINDS[2:])
            for one in chosen
        )

    spread = (replace(constants, known_spread_per_c=value) for value in (0.0, 0.12, 0.24))
    best = min(spread, key=mean_error)
    other = (replace(best, known_to_other_season=part) for part in (0.25, 0.5, 0.75, 1.0))
    return min(other, key=mean_error)


# --- what is told and written --------------------------------------------------------------------------------------


def comes_true(station: Station, season: str, day: tuple[int, int]) -> float:
    """How often frost still comes after a day of spring, or has come by a day of autumn, by the record's three days."""
    points = sorted((station.index(at), float(ndtri(chance))) for chance, at in station.dates[season].items() if at)
    place = station.index(day)
    (a, b) = points[:2] if place < points[1][0] else points[-2:]
    return float(ndtr(a[1] + (b[1] - a[1]) * (place - a[0]) / max(b[0] - a[0], 1)))


def fit_wider(every: list[Station], constants: Constants) -> dict[str, float]:
    """By what is given, the least factor with which the 10 % dates that none is known of come true often enough."""
    found = {}
    for kind in ("default", "known"):
        for factor in np.arange(1.0, 2.0, 0.05):
            tried = replace(constants, wider={kind: float(factor)})
            shares = []
            for one in every:
                for name, table, known in tables(one, tried) if one.often and one.network in COPIED else ():
                    for season, date_for in (
                        ("last_spring", table.date_for_spring),
                        ("first_autumn", table.date_for_autumn),
                    ):
                        day = date_for(0.1, 2001)
                        if name == kind and season not in known and day:
                            shares.append(comes_true(one, season, (day.month, day.day)))
            if fmean(shares) <= 0.1:
                break
        found[kind] = round(float(factor), 2)
    return found


def left_out(every: list[Station], constants: Constants) -> dict[str, Constants]:
    """For each region the constants fitted without it."""
    regions = sorted({one.region for one in every if _fits(one)})
    return {region: fit([one for one in every if one.region != region], constants, 200) for region in regions}


def told(every: list[Station], of: Callable[[Station], Constants], title: str) -> dict[str, dict[str, float]]:
    """Print the errors by network and kind; give those of the stations that may be copied, by how cold they are."""
    print(
        f"\n{title}\n{'':22}" + "".join(f"{kind:>12}" for kind in KINDS) + "   days, dates not given, mean by station"
    )
    found: list[tuple[Station, dict[str, float]]] = []
    for one in every:
        if one.often:
            errors_of: dict[str, list[float]] = {}
            for kind, days in by_kind(one, of(one)):
                errors_of.setdefault(kind, []).extend(days)
            found.append((one, {kind: fmean(days) for kind, days in errors_of.items()}))
    copied = [(one, each) for one, each in found if one.network in COPIED]
    rows = {name: [each for one, each in found if one.network == name] for name in COUNTS}
    rows |= {"ACORN and other": [each for _, each in copied]}
    rows |= {"  of these mild": [each for one, each in copied if min(one.lows_c) >= MILD_C]}
    rows |= {"  of these cold": [each for one, each in copied if min(one.lows_c) < MILD_C]}
    means = {name: {kind: fmean(each[kind] for each in row) for kind in KINDS} for name, row in rows.items()}
    for name, row in rows.items():
        print(f"{name:18}{len(row):4}" + "".join(f"{means[name][kind]:12.2f}" for kind in KINDS))
    print(f"{'  median':22}" + "".join(f"{median(each[kind] for _, each in copied):12.2f}" for kind in KINDS))
    shares: dict[str, float] = {}
    rare = [one for one in every if not one.often and one.free < 1 and one.network in COPIED]
    for kind in ("default", "own"):
        off = []
        for one in rare:
            table = from_monthly(one.lows_c, 0.0, one.southern, "", one.sd_c if kind == "own" else None, None, of(one))
            off.append(abs((table.frost_free_share or 0.0) - one.free))
        shares[kind] = fmean(off)
        print(
            f"share of years without a frost, {kind}: {len(off)} stations with one in fifty or more, "
            f"mean error {shares[kind]:.3f}, largest {max(off):.2f}, above 0.15 in {sum(o > 0.15 for o in off)}"
        )
    return {"mild": means["  of these mild"], "cold": means["  of these cold"], "share": shares}


def written(constants: Constants, errors_of: Mapping[str, Mapping[str, float]], fitted_to: int) -> str:
    """The text of `monthly.toml`."""
    lines = [f"{name} = {getattr(constants, name):.4f}" for name in (*TAIL, *SPREAD)]
    lines.append(f"known_spread_per_c = {constants.known_spread_per_c:.2f}")
    lines.append(f"known_to_other_season = {constants.known_to_other_season:.2f}")
    lines.append(
        f'source = "Fitted to monthly means, standard deviations and frost dates of {fitted_to} daily records, most of '
        "fifty years: Bureau of Meteorology (ACORN-SAT v2.5.0), Autonomous Province of Trento, NOAA NCEI "
        '(GHCN-Daily), Colorado Climate Center, KNMI, Met Eireann; by tests/outside/fit_monthly.py"'
    )
    for table, key, places in (
        ("error_days_cold", "cold", 1),
        ("error_days_mild", "mild", 1),
        ("error_share", "share", 2),
    ):
        lines += ["", f"[{table}]", *(f"{kind} = {error:.{places}f}" for kind, error in errors_of[key].items())]
    lines += ["", "[wider]", *(f"{kind} = {factor:.2f}" for kind, factor in constants.wider.items())]
    head = (
        "# Constants of frost tables from monthly mean lows, and the mean errors to expect of them: days of a date,\n"
        "# in stations left out of the fit by region, where the coldest month is near 0 °C or below (cold) or\n"
        "# above (mild); of the share of years without a frost; and how much wider dates are told than nights\n"
        "# alone would have them, so that the 10 % date comes true in one year of ten. Written by\n"
        "# tests/outside/fit_monthly.py.\n"
    )
    return head + "\n".join(lines) + "\n"


def copy(folder: Path, chosen: list[Station]) -> None:
    """The test data: the table's lines of the stations that may be copied."""
    kept = {one.id for one in chosen if one.network in COPIED and one.free < 1}
    head = (
        "# Daily lows at or below 0 C, by station, of the freeze years named (1 August or 1 February on): mean and\n"
        "# standard deviation of the daily low by month [C], share of years without a frost, days by which the last\n"
        "# and the first frost had come in 10, 50 and 90 % of years (a year without: before, or after, every day).\n"
        "# Worked out from daily records: ACORN Bureau of Meteorology, ACORN-SAT v2.5.0; USC, USW, FR NOAA NCEI,\n"
        "# GHCN-Daily, but USC00053005 Colorado Climate Center; KNMI260 KNMI; MEI532 Met Eireann. Written by\n"
        "# tests/outside/fit_monthly.py.\n"
    )
    lines = (folder / "fit_set_monthly_stats.csv").read_text(encoding="utf-8").splitlines()
    rows = [line for number, line in enumerate(lines) if number == 0 or line.split(",")[0] in kept]
    DATA.write_text(head + "\n".join(rows) + "\n", encoding="utf-8")


def main(folder: Path) -> None:
    every = stations(folder / "fit_set_monthly_stats.csv")
    fitted = fit(every, START, 700)
    fitted = fit_known([one for one in every if one.often and COUNTS[one.network] > 0], fitted)
    told(every, lambda _: fitted, "All stations in the fit")
    without = left_out(every, fitted)
    errors_of = told(every, lambda one: without.get(one.region, fitted), "Each region left out of the fit")
    fitted = replace(fitted, wider=fit_wider(every, fitted))
    TOML.write_text(written(fitted, errors_of, sum(map(_fits, every))), encoding="utf-8")
    copy(folder, every)
    print(f"\n{TOML}\n{DATA}")


if __name__ == "__main__":
    try:
        main(Path(sys.argv[1]))
    except MonthlyLowsError as error:
        sys.exit(f"a station's figures do not fit: {error}")
