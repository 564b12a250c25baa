"""Colder nights estimated from frost dates, against the daily records of stations; sources stand in the data file."""

from __future__ import annotations

import csv
from collections import defaultdict
from datetime import date
from pathlib import Path
from statistics import fmean

from almanac.site.colder import shipped_colder
from almanac.site.freeze_year import FreezeYear
from almanac.site.frost import from_published
from almanac.site.nights import Nights

DATA = Path(__file__).parent / "data" / "colder_nights.csv"
CHANCES = ("10", "50", "90")


def _by_station() -> list[tuple[Nights, list[dict[str, str]]]]:
    with DATA.open(encoding="utf-8") as file:
        rows = list(csv.DictReader(line for line in file if not line.startswith("#")))
    found: dict[str, list[dict[str, str]]] = defaultdict(list)
    for row in rows:
        found[row["id"]].append(row)
    return [(_nights(each[0]), each) for each in found.values()]


def _nights(row: dict[str, str]) -> Nights:
    latitude = float(row["lat"])

    def dates(season: str) -> list[tuple[int, int]]:
        return [(int(row[f"{season}_{each}"][:2]), int(row[f"{season}_{each}"][3:])) for each in CHANCES]

    last, first = (dict(zip((0.1, 0.5, 0.9), dates(season), strict=True)) for season in ("last", "first"))
    return Nights(from_published(0.0, last, first, latitude < 0, row["name"]), latitude)


def _day_of_a_tenth(nights: Nights, threshold_c: float) -> int | None:
    year = FreezeYear(nights.frost.southern)
    table = nights.at(threshold_c)
    day = table.date_for_autumn(0.1, 2001) if table else None
    return year.index(day.month, day.day) if day else None


def test_the_day_by_which_one_winter_in_ten_has_a_colder_night_is_off_as_the_program_says() -> None:
    off = [
        abs(found - int(row["day_10"]))
        for nights, rows in _by_station()
        for row in rows
        if row["day_10"] and (found := _day_of_a_tenth(nights, float(row["threshold_c"]))) is not None
    ]

    assert len(off) >= 60
    assert fmean(off) <= shipped_colder().error_days  # which is of stations left out of the fit


def test_the_share_of_winters_with_a_colder_night_is_off_as_the_program_says() -> None:
    off = []
    for nights, rows in _by_station():
        end = date(2001, 1, 31) if nights.frost.southern else date(2001, 7, 31)
        for row in rows:
            table = nights.at(float(row["threshold_c"]))
            assert table is not None
            off.append(abs(table.chance_before(end) - float(row["share"])))

    assert fmean(off) <= shipped_colder().error_share + 0.01


def test_nights_that_kill_grown_figs_are_foretold_within_three_weeks_where_they_are_usual() -> None:
    # 15 F, what growers name for the fig, in the daily records: nine stations have such a night in half of all winters.
    usual = [
        (nights, row)
        for nights, rows in _by_station()
        for row in rows
        if row["threshold_c"] == "-9.4" and float(row["share"]) >= 0.45
    ]

    assert len(usual) >= 7
    for nights, row in usual:
        found = _day_of_a_tenth(nights, -9.4)
        assert found is not None, row["name"]
        assert abs(found - int(row["day_10"])) <= 21, row["name"]
