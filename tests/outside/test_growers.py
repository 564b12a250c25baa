"""Forecasts and shares held against growers drawn without the model's assumptions, who log much or little.

STICKDATE_GROWERS sets how many are drawn; `simulate_growers` and `simulate_striking` print all figures, also the bad.
"""

from __future__ import annotations

import os
from functools import cache
from itertools import pairwise

import numpy as np
import pytest

from tests.outside.growers import BASE
from tests.outside.simulate_growers import AFTER, rises, simulate
from tests.outside.simulate_learning import Score
from tests.outside.simulate_striking import line_passed, plants_reached

GROWERS = int(os.environ.get("STICKDATE_GROWERS", "40"))
ROOM = 0.65 / GROWERS**0.5  # four standard errors of a share, three lots a grower together


@cache
def scores() -> dict[tuple[str, int, str], Score]:
    return simulate(GROWERS, BASE, ("everything", "sparse"))


@pytest.mark.long
@pytest.mark.parametrize("habit", ["everything", "sparse"])
@pytest.mark.parametrize("sign", ["roots", "potted"])
def test_eight_days_in_ten_come_inside_the_band_however_much_is_logged(habit: str, sign: str) -> None:
    for lots in AFTER:
        assert 0.80 - ROOM <= scores()[habit, lots, sign].covered <= 0.82 + ROOM


@pytest.mark.long
@pytest.mark.parametrize("habit", ["everything", "sparse"])
def test_no_forecast_gets_worse_by_more_lots(habit: str) -> None:
    for sign in ("roots", "potted"):
        each = [scores()[habit, lots, sign] for lots in AFTER]
        assert not any(rises(fewer, more) for fewer, more in pairwise(each))


@pytest.mark.long
def test_who_logs_only_sticking_potting_and_losses_learns_the_days_to_potting() -> None:
    none, twenty = scores()["sparse", 0, "potted"], scores()["sparse", 20, "potted"]

    assert twenty.error < 0.8 * none.error
    assert twenty.error <= 7.5 + 6 / GROWERS**0.5


@pytest.mark.long
def test_the_cuttings_told_give_the_plants_about_as_often_as_said() -> None:
    assert 0.84 <= float(np.mean(list(plants_reached(GROWERS).values()))) <= 0.97


@pytest.mark.long
def test_the_line_that_holds_nine_times_in_ten_is_passed_about_once_in_ten() -> None:
    assert line_passed(GROWERS, None, 8) <= 0.15 + ROOM / 2
