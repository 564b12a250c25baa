"""Frost tables from monthly mean lows against the frost dates of the same stations' daily records, at 0 °C.

`data/monthly_lows.csv`, whose head names its sources: 84 stations of Australia, the United States and western Europe.
The shipped constants were fitted to these and other stations; what is asked here is that they do as well as was found.
The careful dates are told wider than that (`test_frost_comes_true.py`). The errors that a
grower is told are larger: those of stations left out of the fit (`fit_monthly.py` prints both).
The dates of a record of fifty years are themselves off by some three days.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from statistics import fmean, median

import pytest

from almanac.site.monthly import MILD_C, from_monthly
from almanac.site.nightly import shipped_constants
from tests.outside.fit_monthly import DATA, KINDS, Station, errors, stations, tables


@cache
def every() -> list[Station]:
    return stations(DATA)


@cache
def days_off() -> dict[str, dict[str, float]]:
    """By kind and station the mean error of the 10, 50 and 90 % dates of both seasons that were not given [days]."""
    found: dict[str, dict[str, list[float]]] = {kind: {} for kind in KINDS}
    for one in every():
        if one.often:
            for kind, table, known in tables(one, replace(shipped_constants(), wider={})):
                found[kind].setdefault(one.id, []).extend(errors(one, table, known))
    return {kind: {name: fmean(days) for name, days in each.items()} for kind, each in found.items()}


def test_the_stations_are_of_many_climates() -> None:
    freezing = [one for one in every() if one.often]

    coldest = [min(one.lows_c) for one in freezing]
    assert len(freezing) == 32
    assert (
        sum(low < -5 for low in coldest),
        sum(-5 <= low < 1 for low in coldest),
        sum(low >= 1 for low in coldest),
    ) == (
        3,
        8,
        21,
    )
    assert sum(one.southern for one in freezing) == 22
    assert not any(one.network in ("TN", "MSC") for one in every())  # their terms do not allow a copy


@pytest.mark.parametrize(
    ("kind", "mean", "middle"),
    [
        ("default", 8.7, 7.5),  # hoped for: 7. Ten of the stations lie above 10, most of them wet and mild all year
        ("own", 4.9, 4.4),  # hoped for: 4.2
        ("known", 6.1, 5.8),  # over all six dates, the known one among them: 5.0
        ("two_known", 4.8, 4.2),  # likewise 3.1
    ],
)
def test_dates_lie_as_near_the_record_as_was_found(kind: str, mean: float, middle: float) -> None:
    found = days_off()[kind].values()

    assert len(found) == 32
    assert fmean(found) <= mean
    assert median(found) <= middle


def test_a_known_date_and_a_spread_of_its_own_each_bring_a_place_nearer_to_its_record() -> None:
    default, own, known, two_known = (fmean(days_off()[kind].values()) for kind in KINDS)

    assert own < known < default
    assert two_known < known


def test_a_grower_is_told_no_smaller_error_than_was_found() -> None:
    constants = shipped_constants()

    for kind in KINDS:
        by_winter: dict[bool, list[float]] = {True: [], False: []}
        for one in every():
            if one.often:
                by_winter[min(one.lows_c) >= MILD_C].append(days_off()[kind][one.id])
        assert fmean(by_winter[True]) <= constants.error_days_mild[kind] + 0.1
        assert fmean(by_winter[False]) <= constants.error_days_cold[kind] + 0.1


@pytest.mark.parametrize(
    ("own_sd", "mean", "near"),
    [
        (True, 0.07, 0.88),  # hoped for: all within 0.15
        (False, 0.20, 0.53),
    ],
)
def test_the_share_of_years_without_frost_is_mostly_near_that_of_the_record(
    own_sd: bool, mean: float, near: float
) -> None:
    rare = [one for one in every() if not one.often]

    tables_of = [from_monthly(one.lows_c, 0.0, one.southern, "", one.sd_c if own_sd else None) for one in rare]

    off = [abs((table.frost_free_share or 0.0) - one.free) for one, table in zip(rare, tables_of, strict=True)]
    assert len(off) >= 20
    assert fmean(off) <= mean
    assert sum(each <= 0.15 for each in off) / len(off) >= near


def test_places_that_never_freeze_are_told_so() -> None:
    # Darwin: no low at or below 0 C in the record of 1910-2023 (Bureau of Meteorology); means of the months, to
    # the degree, from memory.
    darwin = [25.0, 25.0, 25.0, 24.0, 22.0, 20.0, 19.0, 20.0, 23.0, 25.0, 25.0, 25.0]

    assert from_monthly(darwin, 0.0, True, "").frost_free_share == 1.0
