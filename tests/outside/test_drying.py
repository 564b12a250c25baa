"""The drying line against certified results, against another library, and against drawn weighings."""

from __future__ import annotations

import csv
from datetime import date, timedelta
from pathlib import Path
from random import Random

import pytest
from scipy import stats

from almanac.forecast.drying import drying
from almanac.forecast.straight import crossing, crossing_share, fitted, student
from almanac.nursery.events import EVENTS
from almanac.nursery.lots import Weighing
from almanac.rulebook.load import load_rules
from almanac.rulebook.programmes.watering import Watering

DATA = Path(__file__).parent / "data"
BOOK, FAULTS = load_rules(None, EVENTS)
assert BOOK is not None, FAULTS
RULES = BOOK.programme(Watering)
LEFT = 1 - RULES.bag.available * RULES.bag.gone  # of the full weight, when it is to be watered


def norris() -> list[tuple[float, float]]:
    with (DATA / "nist_norris.csv").open(encoding="utf-8") as lines:
        return [
            (float(row["x"]), float(row["y"]))
            for row in csv.DictReader(line for line in lines if not line.startswith("#"))
        ]


def test_the_line_agrees_with_the_certified_results_of_the_norris_data() -> None:
    # NIST Statistical Reference Datasets, Norris: certified estimates, their standard deviations, residual deviation.
    found = fitted(norris())

    assert found is not None
    assert found.intercept == pytest.approx(-0.262323073774029, rel=1e-10)
    assert found.slope == pytest.approx(1.00211681802045, rel=1e-12)
    assert found.error_at(0.0) == pytest.approx(0.232818234301152, rel=1e-10)
    assert found.slope_error == pytest.approx(0.429796848199937e-03, rel=1e-10)
    assert found.scatter == pytest.approx(0.884796396144373, rel=1e-10)


@pytest.mark.parametrize("free", [1, 2, 3, 4, 5, 8, 13, 40])
@pytest.mark.parametrize("chance", [0.75, 0.9, 0.975, 0.999])
def test_students_t_agrees_with_another_library(free: int, chance: float) -> None:
    assert student(chance, free) == pytest.approx(float(stats.t.ppf(chance, free)), rel=1e-9)


def test_at_the_ends_of_its_range_the_line_is_just_as_far_off_the_level_as_its_error_allows() -> None:
    # By definition of Fieller's limits: there the line's distance from the level is t times its standard error.
    points = [(0.0, 400.0), (2.0, 391.0), (5.0, 377.0), (8.0, 366.0), (9.0, 359.0)]
    line = fitted(points)
    assert line is not None

    ends = crossing(line, 330.0, 0.1)

    assert ends is not None
    for x in (ends[0], ends[2]):
        assert abs(line.at(x) - 330.0) == pytest.approx(float(stats.t.ppf(0.9, 3)) * line.error_at(x), rel=1e-9)


@pytest.mark.parametrize("late_d", [0, 3])
@pytest.mark.parametrize(("noise_g", "count"), [(1.0, 4), (2.0, 4), (2.0, 6), (4.0, 6)])
def test_the_day_lies_within_its_range_as_often_as_said(noise_g: float, count: int, late_d: int) -> None:
    # Drawn weighings of a bag that loses 5 g a day, scale errors normal: the range from 10 to 90 % should hold 80 % of
    # days. The late end is cut where too much would be gone, and whole days are rounded down, so it is asked of the
    # line itself, with the full weight's own error in it; first weighed at once, or so many days after the watering.
    random = Random(f"{noise_g} {count} {late_d}")
    held = dated = 0
    for _ in range(1500):
        days = [late_d + 2.0 * n for n in range(count)]
        weights = [(x, 400 - 5 * x + random.gauss(0, noise_g)) for x in days]
        line = fitted(weights)
        assert line is not None
        ends = crossing_share(line, LEFT, 0.0, 0.1) if late_d else crossing(line, weights[0][1] * LEFT, 0.1, LEFT, 0.0)
        if ends:
            dated += 1
            held += ends[0] <= (400 - 400 * LEFT) / 5 <= ends[2]

    assert dated > 1400
    assert held / dated == pytest.approx(0.8, abs=0.03)


def test_a_weighed_bag_is_dated_nearer_than_by_a_week_between_looks() -> None:
    # Four weighings two days apart on a kitchen scale (to 1 g, 2 g off at times): how far off is the likely day?
    random, misses = Random(7), []
    for _ in range(400):
        start, rate = date(2027, 2, 1), random.uniform(2.5, 8.0)
        weighings = [
            Weighing(
                day=start + timedelta(days=2 * n),
                grams=float(round(412 - rate * 2 * n + random.gauss(0, 2))),
                stage="rooting",
                run=start,
            )
            for n in range(4)
        ]
        found = drying(weighings, start, start, RULES.bag, RULES, start + timedelta(days=6))
        if found.days:
            true = 412 * (1 - LEFT) / rate
            misses.append(abs((found.days[1] - start).days - true))

    assert len(misses) > 300
    assert sorted(misses)[len(misses) // 2] < 2
