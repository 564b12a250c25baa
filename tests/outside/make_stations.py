"""Make `almanac/site/data/stations.tsv.gz`, the shipped table of station normals, and print its leave-one-out errors.

Run once by hand: python tests/outside/make_stations.py FREEZE_NORMALS.csv.gz STATION_STATISTICS.csv

Sources: US Climate Normals 1981-2010, 32 F freeze dates (NOAA National Centers for Environmental Information), of which
the 50 and 90 % columns are at hand; and quantiles of yearly frost dates at 0 °C, worked out from the daily records of
the Bureau of Meteorology (ACORN-SAT 2.5.0), KNMI, Met Éireann and, for Lyon, the Global Historical Climatology Network.
Stations of other networks in the statistics are left out: their terms are not open enough to ship them.

Leave-one-out: each station with four dates is foretold by the nearest other one, for several weights of height. The
weight with the least mean error stands in `almanac/site/data/stations.toml`, and so does the mean error by how far and
how much higher or lower the nearest other one lies.
"""

from __future__ import annotations

import csv
import gzip
import math
import sys
from datetime import date
from pathlib import Path

import numpy as np

OUT = Path(__file__).parents[2] / "almanac" / "site" / "data" / "stations.tsv.gz"
COLUMNS = (
    "id",
    "name",
    "where",
    "lat",
    "lon",
    "elev_m",
    "last_90",
    "last_50",
    "last_10",
    "first_10",
    "first_50",
    "first_90",
    "frost_free_share",
)
OPEN_NETWORKS = ("ACORN", "KNMI", "MEI", "FR")


def us_rows(path: Path) -> list[dict[str, str]]:
    """The stations of the US normals; `never` where the season is the whole year, `always` where there is none."""
    found = []
    with gzip.open(path, "rt", encoding="utf-8") as stream:
        for row in csv.DictReader(stream):
            dates = {
                "last_90": row["last_p90"],
                "last_50": row["last_p50"],
                "first_50": row["first_p50"],
                "first_90": row["first_p90"],
            }
            if not row["last_p50"][:1].isdigit():
                if row["last_p50"].startswith("year-round"):
                    dates = dict.fromkeys(dates, "always")
                elif row["gsl_days_p50"].startswith("365"):
                    dates = dict.fromkeys(dates, "never")
                else:
                    continue
            found.append(
                {
                    "id": row["station"],
                    "name": row["name"].title(),
                    "where": f"US {row['state']}",
                    **_place(row),
                    **dates,
                }
            )
    return found


def other_rows(path: Path) -> list[dict[str, str]]:
    """Southern and European stations; a date that is never reached stays empty."""
    found = []
    with path.open(encoding="utf-8") as stream:
        for row in csv.DictReader(line for line in stream if not line.startswith("#")):
            if not row["id"].startswith(OPEN_NETWORKS) or not row["lat"]:
                continue
            dates = {
                "last_90": row["last_q10"],
                "last_50": row["last_q50"],
                "last_10": row["last_q90"],
                "first_10": row["first_q10"],
                "first_50": row["first_q50"],
                "first_90": row["first_q90"],
            }
            dates = {name: "" if value == "none" else value for name, value in dates.items()}
            if not any(dates.values()):
                dates = dict.fromkeys(dates, "never")
            dates["frost_free_share"] = f"{float(row['share_years_without']):.3f}"
            found.append({"id": row["id"], "name": row["name"], "where": row["country"], **_place(row), **dates})
    return found


def _place(row: dict[str, str]) -> dict[str, str]:
    height = row["elev_m"]
    return {
        "lat": f"{float(row['lat']):.3f}",
        "lon": f"{float(row['lon']):.3f}",
        "elev_m": f"{float(height):.0f}" if height and math.isfinite(float(height)) else "",
    }


def write(rows: list[dict[str, str]]) -> None:
    """The table, sorted by latitude so that a look-up reads a band of it; the same bytes each time."""
    ordered = sorted(rows, key=lambda row: (float(row["lat"]), row["id"]))
    lines = ["\t".join(row.get(name, "") for name in COLUMNS) for row in ordered]
    OUT.write_bytes(gzip.compress("\n".join(lines).encode(), 9, mtime=0))


def day_of_freeze_year(text: str) -> int:
    month, day = map(int, text.split("-"))
    return (date(2001, month, min(day, 28)) - date(2001, 8, 1)).days % 365


def leave_one_out(rows: list[dict[str, str]]) -> None:
    """Mean absolute error in days of the 50 % dates of the nearest other station, by weight of height [km per m]."""
    full = [row for row in rows if row["where"].startswith("US") and row["last_50"][:1].isdigit() and row["elev_m"]]
    lat, lon, height = (np.array([float(row[name]) for row in full]) for name in ("lat", "lon", "elev_m"))
    last, first = (np.array([day_of_freeze_year(row[name]) for row in full]) for name in ("last_50", "first_50"))
    for weight in (0.0, 0.05, 0.1, 0.15, 0.2, 0.3, 0.4, 0.6, 1.0):
        errors, within = [], []
        for i in range(len(full)):
            east = (lon - lon[i]) * 111.32 * np.cos(np.radians(lat[i]))
            apart = np.hypot((lat - lat[i]) * 111.32, east)
            score = np.hypot(apart, weight * (height - height[i]))
            score[i] = np.inf
            best = int(np.argmin(score))
            both = [abs((series[best] - series[i] + 182) % 365 - 182) for series in (last, first)]
            errors.append(np.mean(both))
            within.append(score[best])
        often, near = np.quantile(errors, 0.9), np.median(within)
        print(f"weight {weight:.2f} km/m: mean {np.mean(errors):.2f} d, 90 % in {often:.1f} d, score {near:.0f}")


def off_by_class(rows: list[dict[str, str]]) -> list[tuple[int, int, float]]:
    """The mean error of the 50 % dates of the nearest station, by distance [km] and by difference in height [m]."""
    full = [row for row in rows if row["last_50"][:1].isdigit() and row["first_50"][:1].isdigit() and row["elev_m"]]
    lat, lon, height = (np.array([float(row[name]) for row in full]) for name in ("lat", "lon", "elev_m"))
    south = lat < 0
    days = [np.array([day_of_freeze_year(row[name]) for row in full]) for name in ("last_50", "first_50")]
    nearest, pairs = [], []
    for i in range(len(full)):
        apart = np.hypot((lat - lat[i]) * 111.32, (lon - lon[i]) * 111.32 * np.cos(np.radians(lat[i])))
        higher = np.abs(height - height[i])
        off = np.mean([np.abs((series - series[i] + 182) % 365 - 182) for series in days], axis=0)
        there = (apart < 80) & (higher < 300) & (south == south[i]) & (np.arange(len(full)) != i)
        if there.any():
            each = np.column_stack([apart[there], higher[there], off[there]])
            pairs.append(each)
            nearest.append(each[int(np.argmin(np.hypot(each[:, 0], 0.6 * each[:, 1])))])
    one, every = np.array(nearest), np.vstack(pairs)

    def mean(of: np.ndarray, km: int, m: int) -> tuple[float, int]:
        low_m = {50: 0, 100: 50, 200: 100, 300: 200}[m]
        some = of[(of[:, 0] >= km - 20) & (of[:, 0] < km) & (of[:, 1] >= low_m) & (of[:, 1] < m)]
        return (float(some[:, 2].mean()) if len(some) else 0.0), len(some)

    found = []
    for km in (20, 40, 60, 80):
        for m in (50, 100, 200, 300):
            own, count = mean(one, km, m)
            like = mean(every, km, m)[0] * mean(one, km, 50)[0] / mean(every, km, 50)[0]
            found.append((km, m, round(own if count >= 30 else like, 1)))
    return found


if __name__ == "__main__":
    table = us_rows(Path(sys.argv[1])) + other_rows(Path(sys.argv[2]))
    write(table)
    print(len(table), "stations,", OUT.stat().st_size, "bytes")
    leave_one_out(table)
    for each in off_by_class(table):
        print(f"  {list(each)},")
