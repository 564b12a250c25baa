"""A grower who weighs a bag and a pot at every visit is led through the spring by weight, and nothing dries out."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from random import Random
from typing import Literal

import pytest

from almanac.nursery.load import load_nursery
from almanac.nursery.lots import Lot
from tests.conftest import teasel_yard
from tests.journeys.test_year import PLACES, _check, _show
from tests.journeys.year import EVERYWHERE, Year, log_what_is_asked, next_day_that_asks

FULL = {"rooting": 420.0, "pot": 1800.0}  # grams, when just watered and drained
AVAILABLE = {"rooting": 147.0, "pot": 720.0}  # of that, what plants can draw


class Scale:
    """What a sample bag, later a pot, of lot 1b weighs: it loses so much a day once it has roots and leaf."""

    def __init__(self, bag_g: float, pot_g: float, noise_g: float) -> None:
        self.loses = {"rooting": bag_g, "pot": pot_g}
        self.noise, self.random = noise_g, Random(5)
        self.driest = {"rooting": 0.0, "pot": 0.0}

    def gone(self, lot: Lot, today: date) -> float:
        """Grams gone since it was last watered; the largest share of what plants can draw is remembered."""
        stage = self.stage(lot)
        drinks = [lot.signs[name].day for name in ("roots", "leaves") if name in lot.signs]
        if stage == "rooting" and len(drinks) < 2:
            return 0.0
        since = max([lot.water_since(stage), *(drinks if stage == "rooting" else [])])
        gone = self.loses[stage] * (today - since).days
        self.driest[stage] = max(self.driest[stage], gone / AVAILABLE[stage])
        return gone

    def stage(self, lot: Lot) -> Literal["pot", "rooting"]:
        return "pot" if lot.count("pot") else "rooting"

    def weigh(self, year: Year, lot: Lot, today: date) -> None:
        grams = FULL[self.stage(lot)] - self.gone(lot, today) + self.random.gauss(0, self.noise)
        year.log(today, "weighed", lot.id, value=f"{grams:.0f} g")


LOTS = [(4.0, 40.0, 2.0), (7.0, 25.0, 2.0)]  # grams that a bag and a pot lose a day, grams that the scale is out by


@pytest.mark.parametrize(("bag_g", "pot_g", "noise_g"), LOTS if EVERYWHERE else LOTS[:1])
def test_a_grower_who_weighs_waters_in_time_and_reads_nothing_twice(
    bag_g: float, pot_g: float, noise_g: float, tmp_path: Path
) -> None:
    folder = teasel_yard(tmp_path / "lane", **PLACES["37 north"])
    year, start = Year(load_nursery(folder, datetime(2030, 1, 1, tzinfo=UTC))), date(2027, 1, 13)
    year.log(start, "taken", "1a", variety="1", count=20)
    year.log(start, "stuck", "1a", count=12, bin="A", refers="1b")
    scale, as_of, by_weight = Scale(bag_g, pot_g, noise_g), start + timedelta(days=9), set[str]()

    while as_of < date(2027, 5, 20):
        past = year.past(as_of)
        nursery, plan = year.plan(as_of)
        _check(nursery, plan, past)
        _show(nursery, plan)
        lot = nursery.stock.lots["1b"]
        scale.gone(lot, as_of)
        asks = {task.rule.id for task in plan.tasks if "1b" in task.lots}
        assert not {"water", "first_water"} <= asks
        if "water" in asks:
            by_weight.add(scale.stage(lot))
        year.publish(plan, nursery)
        log_what_is_asked(year, nursery, plan)
        if any(each.day == as_of for each in plan.rounds):
            scale.weigh(year, year.nursery(as_of).stock.lots["1b"], as_of)
            told = year.plan(as_of)[1].tasks  # a weight that asks for water is answered while the can is at hand
            if any(task.rule.id == "water" and "1b" in task.lots and task.due <= as_of for task in told):
                year.log(as_of, "watered", "1b")
        as_of = next_day_that_asks(plan)

    assert by_weight == {"pot", "rooting"}
    assert max(scale.driest.values()) <= 0.8  # pots are looked at every seventh day at the latest
