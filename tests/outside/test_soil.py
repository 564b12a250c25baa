"""The warmth of a bed's soil against the heat equation, solved step by step: the formula under test is not used.

The equation of conduction: Carslaw & Jaeger 1959, Conduction of Heat in Solids, section 2.6. The diffusivity of soils:
Moene & van Dam 2014, Transport in the Atmosphere-Vegetation-Soil Continuum, table 2.2, after de Vries 1963.
"""

from __future__ import annotations

from datetime import date, timedelta
from itertools import pairwise

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from almanac.nursery.events import EVENTS
from almanac.rulebook.load import load_rules
from almanac.rulebook.programmes.open_ground import OpenGround
from almanac.site.soil import bed_years, damping
from almanac.site.usual import UsualYear

DIFFUSIVITY_M2_DAY = 0.5e-6 * 86400
STEP_M, LAYERS, FOOT = 0.05, 100, 2  # layers down to 5 m; the foot of a stick is in the second, 10 cm down
BOOK, _ = load_rules(None, EVENTS)
assert BOOK is not None
BED = BOOK.programme(OpenGround).soil
PLACES = {
    "northern": UsualYear((-9.0, -8.0, -3.0, 3.0, 9.0, 14.0, 17.0, 16.0, 11.0, 5.0, 0.0, -6.0), False, 1.5),
    "southern": UsualYear((13.0, 13.0, 11.0, 8.0, 5.0, 3.0, 2.0, 3.0, 5.0, 7.0, 9.0, 11.0), True, 1.0),
}


@pytest.mark.parametrize("name", PLACES)
def test_soil_under_a_stick_is_as_warm_as_heat_conducted_down_from_the_air_makes_it(name: str) -> None:
    usual = PLACES[name]
    start, last = date(2021, 1, 1), 3 * 365
    air = np.array([usual.mean_c(start + timedelta(days=day)) for day in range(last)])

    def warming(day: float, soil: np.ndarray) -> np.ndarray:
        above = np.concatenate(([np.interp(day, np.arange(last), air)], soil[:-1]))
        below = np.concatenate((soil[1:], soil[-1:]))
        rate: np.ndarray = DIFFUSIVITY_M2_DAY * (above - 2 * soil + below) / STEP_M**2
        return rate

    days = range(2 * 365, last - 20)
    solved = solve_ivp(warming, (0, last - 1), np.full(LAYERS, air.mean()), method="LSODA", t_eval=days, max_step=10)
    truth = dict(zip(days, solved.y[FOOT - 1], strict=True))

    spans = list(pairwise(bed_years(usual, start.year, 4, BED.depth).soil_c))
    checked = [
        (warmth, truth[day])
        for (first, warmth), (until, _) in spans
        for day in [((first - start).days + (until - start).days) // 2]
        if day in truth
    ]
    assert len(checked) > 30
    assert max(abs(told - true) for told, true in checked) < 0.6


def test_ten_centimetres_of_moist_loam_pass_on_most_of_the_yearly_swing_some_days_late() -> None:
    share, late = damping(BED.depth)

    # The yearly wave is damped to a third some 2.2 m down and comes a sixth of a year late there, so that at 10 cm
    # 19 parts in 20 are left, and it comes two to three days late: common practice of soil physics.
    assert 0.93 < share < 0.97
    assert timedelta(days=2) <= late <= timedelta(days=4)


def test_the_yearly_wave_of_the_rule_is_damped_as_in_a_soil_between_moist_clay_and_moist_sand() -> None:
    # Table 2.2: clay 0.40 mm2/s at a fifth of water, sand 0.99; the depth is sqrt(2 k / w), w = 2 pi a year.
    clay, sand = (100 * np.sqrt(2 * k * 1e-6 * 365.25 * 86400 / (2 * np.pi)) for k in (0.40, 0.99))

    assert clay < BED.damped < sand
