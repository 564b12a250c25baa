"""Plants that come with roots: into the stage they are in, with what they need then, and no share in what strikes."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from almanac.forecast.history import surroundings
from almanac.nursery.nursery import Nursery
from almanac.plan.wood.forsale import offer_of
from tests.nurseries import bench
from tests.unit.given import has_task, look, planned, task

TODAY = date(2027, 4, 5)


def here(folder: Path, log: str, today: date = TODAY) -> Nursery:
    return bench(folder, log, today)


@pytest.mark.parametrize("what", ["liner", "air_layer", "plant"])
def test_what_comes_with_roots_stands_in_pots_and_is_no_wood_with_swelling_buds(what: str, tmp_path: Path) -> None:
    nursery = here(tmp_path, f"2027-04-04 received 7a --count 10 --value {what}\n")
    plan = planned(nursery)

    lot = nursery.stock.lots["7a"]
    assert (lot.count("pot"), lot.count("store")) == (10, 0)
    assert not [each for each in plan.milestones["7a"].values() if each.name == "pushing" and each.days]
    assert offer_of(nursery, "7", "dormant").there == 0


def test_what_comes_with_roots_is_watered_shaded_kept_apart_and_potted_on(tmp_path: Path) -> None:
    plan = planned(here(tmp_path, "2027-04-04 received 7a --count 10 --value liner\n"))

    assert has_task(plan, "7a.arrived")
    assert look(plan, "7a.apart_look").end == date(2027, 5, 2)
    assert task(plan, "7a.pot_arrived").latest == date(2027, 5, 2)
    assert not has_task(plan, "7a.pot_up")


def test_a_liner_potted_on_is_not_asked_for_again(tmp_path: Path) -> None:
    log = "2027-04-01 received 7a --count 10 --value liner\n2027-04-04 potted_on 7a\n"

    assert not has_task(planned(here(tmp_path, log)), "7a.pot_arrived")


def test_what_was_rooted_elsewhere_says_nothing_of_what_strikes_here(tmp_path: Path) -> None:
    log = "2027-04-01 received 7a --count 10 --value liner --stage rooting --bin A\n2027-04-04 potted 7a\n"
    log += "2027-04-01 received 7b --count 6 --value liner\n"

    nursery = here(tmp_path, log)

    rated = surroundings(nursery)
    for lot in nursery.stock.lots.values():
        assert rated.rate("rooted", lot).lots == rated.rate("finished", lot).lots == 0
    assert not rated.experience


def test_plants_that_came_in_are_not_sold_before_four_weeks_apart(tmp_path: Path) -> None:
    log = "2027-04-01 received 7a --count 10 --value plant\n2027-04-02 hardened 7a\n"

    held = offer_of(here(tmp_path, log), "7", "rooted")
    free = offer_of(here(tmp_path, log, date(2027, 4, 29)), "7", "rooted")

    assert (held.free, free.free) == (0, 10)
    assert held.batches[0].hold
    assert held.batches[0].hold.reason == "apart"
