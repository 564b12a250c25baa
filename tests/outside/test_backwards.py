"""The way back from plants wanted to cuttings stuck, replayed forward: seasons drawn cutting by cutting from the rules.

Until a lot is potted the draws share nothing with the plan but the rules' figures: each cutting has its own days,
within its lot's, its variety's and its grower's; each lot its own share that finishes. What follows are waits that
hardly differ, but for frost: they are the forecast's own.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from functools import cache
from math import exp
from pathlib import Path
from random import Random
from statistics import median

import pytest

from almanac.forecast.history import surroundings
from almanac.forecast.milestones import milestones
from almanac.forecast.supposed import lot_stuck
from almanac.forecast.thermal import rate
from almanac.nursery.nursery import Nursery
from almanac.nursery.workdays import Workdays
from almanac.plan.backwards.aim import Aim, Way
from almanac.plan.backwards.bench import BinsAhead
from almanac.plan.backwards.ways import ways
from tests.nurseries import bench
from tests.unit.given import planned

DRAWS = 2000


def _days(nursery: Nursery, name: str, random: Random, shared: dict[str, float], of: int) -> list[float]:
    """Days to a milestone of each cutting of a lot, at the warmth of its bin."""
    rule = next(rule for rule in nursery.book.milestones_for("sealed_bag") if rule.name == name)
    duration = nursery.book.duration("fig", rule, "sealed_bag")
    assert duration is not None
    if name not in shared:  # of the grower and the variety: the same for all lots
        shared[name] = random.gauss(0, duration.between_growers) + random.gauss(0, duration.between_varieties)
    lot = random.gauss(0, duration.between_lots)
    pace = 1.0
    if rule.clock == "base" and duration.at is not None:
        warmth, mat = nursery.book.crops["fig"].base, nursery.settings.bin[0].mat
        pace = rate(warmth, mat) / rate(warmth, duration.at)
    return [duration.median * exp(shared[name] + lot + random.gauss(0, duration.spread)) / pace for _ in range(of)]


def _potted(nursery: Nursery, day: date, count: int, random: Random, shared: dict[str, float]) -> date:
    """The day on which a lot is potted: some days after half of it is well rooted."""
    roots, grown = (_days(nursery, name, random, shared, count) for name in ("roots", "well_rooted"))
    [waits] = _days(nursery, "potted", random, shared, 1)
    return day + timedelta(days=round(median(a + b for a, b in zip(roots, grown, strict=True)) + waits))


def _waits(nursery: Nursery) -> Callable[[date], date]:
    """From the day a lot is potted to the day it is hardened, likely; what follows potting hardly differs."""
    around = surroundings(nursery)

    @cache
    def ready(potted: date) -> date:
        lot = lot_stuck("fig", 20, potted, "", "sealed_bag", number="7", potted=potted)
        days = milestones(lot, around)["hardened"].days
        assert days is not None
        return days[1]

    return ready


def _reached(way: Way, aim: Aim, nursery: Nursery, seed: int) -> float:
    """How often the waves of a way gave the plants by the day."""
    random, ready = Random(seed), _waits(nursery)
    reached = 0
    for _ in range(DRAWS):
        shared: dict[str, float] = {}
        plants = 0
        for wave in way.waves:
            share = random.betavariate(aim.share * aim.concentration, (1 - aim.share) * aim.concentration)
            finished = sum(random.random() < share for _ in range(wave.count))
            if ready(_potted(nursery, wave.day, wave.count, random, shared)) <= aim.by:
                plants += finished
        reached += plants >= aim.plants
    return reached / DRAWS


@pytest.mark.parametrize(
    ("plants", "bags", "by"),
    [(20, 200, date(2027, 7, 25)), (8, 60, date(2027, 8, 20)), (30, 40, date(2027, 10, 15))],
    ids=["one wave", "a small one", "several waves"],
)
def test_the_way_back_replayed_forward_gives_the_plants_with_the_chance_it_states(
    plants: int, bags: int, by: date, tmp_path: Path
) -> None:
    nursery = bench(tmp_path, "", date(2026, 12, 1), bags=bags)
    strike = nursery.book.crops["fig"].strike
    aim = Aim(number="7", crop="fig", plants=plants, by=by, share=strike.finished, concentration=strike.concentration)
    plan = planned(nursery)
    around = surroundings(nursery)
    found = ways(
        aim,
        (0.5, 0.8, 0.9),
        BinsAhead(
            stock=nursery.stock, around=around, space=plan.space, workdays=Workdays(nursery.settings, nursery.place)
        ),
    )

    stated = [way.reached for way in found if way.waves]
    reached = [_reached(way, aim, nursery, 7) for way in found if way.waves]

    assert stated
    assert reached == pytest.approx(stated, abs=0.05)
