"""Frost tables from daily records against the published freeze dates of the same stations and years."""

from __future__ import annotations

import csv
import gzip
from datetime import date
from functools import cache
from pathlib import Path

from almanac.site.daily import read_daily
from almanac.site.records import frost_table

DATA = Path(__file__).parent / "data"


@cache
def lows_by_station() -> dict[str, list[str]]:
    """The plain lines of each station's record, as a grower would have them."""
    found: dict[str, list[str]] = {}
    with gzip.open(DATA / "daily_lows_1980_2011.csv.gz", "rt", encoding="utf-8") as stream:
        for row in csv.DictReader(line for line in stream if not line.startswith("#")):
            found.setdefault(row["id"], ["date,low"]).append(f"{row['date']},{row['low']}")
    return found


def published() -> list[dict[str, str]]:
    text = (DATA / "ncei_freeze_32f_1981_2010.csv").read_text(encoding="utf-8")
    return list(csv.DictReader(line for line in text.splitlines() if not line.startswith("#")))


def days_apart(found: date | None, told: str) -> int:
    """Days between a date and a month-day of any year, the short way round."""
    assert found is not None
    month, day = map(int, told.split("-"))
    apart = abs((found - date(found.year, month, day)).days)
    return min(apart, 365 - apart)


def test_the_dates_of_eight_stations_lie_near_the_published_normals() -> None:
    # US Climate Normals 1981-2010, 32 F, 50 % and 90 % columns. The provider's method is not the plain quantile of the
    # record, so single dates differ by more than the mean of 4 days asked for.
    apart = []
    for row in published():
        lows = read_daily(lows_by_station()[row["station"]], row["unit"])
        table = frost_table(lows, 0.0, False, row["station"], years=(1980, 2010))
        for chance, number in ((0.5, "p50"), (0.9, "p90")):
            apart.append(days_apart(table.date_for_spring(chance, 2005), row[f"last_{number}"]))
            apart.append(days_apart(table.date_for_autumn(chance, 2005), row[f"first_{number}"]))

    assert len(apart) == 32
    assert sum(apart) / len(apart) <= 4.0
    assert max(apart) <= 16
