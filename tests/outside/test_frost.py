"""The frost table against published tables of freeze dates."""

import csv
from datetime import date
from pathlib import Path

import pytest

from almanac.site.frost import FrostTable, from_published
from almanac.site.given import MonthDay

LEBANON = Path(__file__).parent / "data" / "ncei_freeze_lebanon_nh.csv"  # source: its first lines
THRESHOLDS_F = (16, 20, 24, 28, 32, 36)


def published(what: str, threshold_f: int) -> dict[float, MonthDay]:
    """The nine published dates, by chance."""
    lines = [line for line in LEBANON.read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
    return {
        int(row["probability_pct"]) / 100: (int(row["date"][:2]), int(row["date"][3:]))
        for row in csv.DictReader(lines)
        if row["what"] == what and int(row["threshold_f"]) == threshold_f
    }


def table_through(threshold_f: int, chances: tuple[float, ...]) -> FrostTable:
    spring, autumn = published("last_spring", threshold_f), published("first_fall", threshold_f)
    return from_published(
        (threshold_f - 32) / 1.8,
        {chance: spring[chance] for chance in chances},
        {chance: autumn[chance] for chance in chances},
        southern=False,
        source="NCEI normals 1981-2010",
    )


def days_off(found: date | None, expected: MonthDay) -> int:
    assert found is not None
    return abs((found - date(found.year, *expected)).days)


def test_the_ten_percent_date_is_the_careful_one_in_spring_and_in_autumn() -> None:
    # NCEI, Lebanon NH, 32 °F: last spring 10 % 24 May, 90 % 26 April; first fall 10 % 25 September, 90 %
    # 15 October.
    table = table_through(32, (0.1, 0.5, 0.9))

    assert table.chance_after(date(2026, 5, 24)) == 0.1
    assert table.chance_after(date(2026, 4, 26)) == 0.9
    assert table.chance_before(date(2026, 9, 25)) == 0.1
    assert table.chance_before(date(2026, 10, 15)) == 0.9


@pytest.mark.parametrize("threshold_f", THRESHOLDS_F)
def test_three_published_dates_give_the_other_six_within_two_days(threshold_f: int) -> None:
    # NCEI, Lebanon NH: from the 10, 50 and 90 % dates of six thresholds, those of 20, 30, 40, 60, 70 and 80.
    # Of the 72 dates found, 30 are the published ones, 35 one day off and 7 two days.
    table = table_through(threshold_f, (0.1, 0.5, 0.9))
    spring, autumn = published("last_spring", threshold_f), published("first_fall", threshold_f)

    for chance in (0.2, 0.3, 0.4, 0.6, 0.7, 0.8):
        assert days_off(table.date_for_spring(chance, 2026), spring[chance]) <= 2
        assert days_off(table.date_for_autumn(chance, 2026), autumn[chance]) <= 2


@pytest.mark.parametrize("threshold_f", THRESHOLDS_F)
def test_a_single_middle_date_gives_the_careful_ones_within_four_days(threshold_f: int) -> None:
    # NCEI, Lebanon NH: the 10 % dates from the 50 % one and the usual spread. Lebanon lies inland,
    # like most stations behind that spread; by a mild coast it falls short (see the file of the spread).
    table = table_through(threshold_f, (0.5,))

    assert table.estimate
    assert days_off(table.date_for_spring(0.1, 2026), published("last_spring", threshold_f)[0.1]) <= 4
    assert days_off(table.date_for_autumn(0.1, 2026), published("first_fall", threshold_f)[0.1]) <= 4
