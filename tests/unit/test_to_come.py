"""Lots to come: what follows from them is in the calendar until they are stuck or dropped."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from almanac.plan.model import Plan
from almanac.words.tasks import text, title
from tests.nurseries import bench
from tests.unit.given import has_task, planned, published, task

THERE = "2027-01-05 received 7a --count 12 --stage rooting --bin A"
PLANNED = f"{THERE}\n2027-01-06 planned 7 --count 6 --value 2027-02-02"
TODAY = date(2027, 1, 8)
FOLLOWS = ("light", "first_water", "pot_up", "harden_out", "harden_nights", "offer_rooted", "plant_out")


def _of(plan: Plan, lot: str) -> set[str]:
    return {each.rule.id for each in plan.tasks for own in each.own if lot in own.lots}


def test_what_follows_from_a_lot_to_come_is_told_from_the_day_it_is_planned(tmp_path: Path) -> None:
    nursery = bench(tmp_path, PLANNED, TODAY)
    plan = planned(nursery)

    found = task(plan, "7b.pot_up")

    assert set(FOLLOWS) <= _of(plan, "7b")
    assert title(found) == "Pot up: 7b (planned)"
    assert "Not stuck yet: 6 planned" in text(found, nursery.book, TODAY)
    assert all(each.due >= date(2027, 2, 2) for each in plan.tasks if each.to_come)


def test_nothing_is_looked_at_or_done_in_a_round_for_a_lot_that_is_not_there(tmp_path: Path) -> None:
    plan = planned(bench(tmp_path, PLANNED, TODAY))

    assert not any(look.lot == "7b" for look in plan.looks)
    assert not any("7b" in each.lots for each in plan.rounds)


def test_a_lot_to_come_changes_nothing_for_those_there(tmp_path: Path) -> None:
    before, after = (planned(bench(tmp_path, log, TODAY)) for log in (THERE, PLANNED))

    assert {each.id: each.due for each in before.tasks} == {
        each.id: each.due for each in after.tasks if not each.to_come and each.counted_from != "planned"
    }
    assert [each.day for each in before.rounds] == [each.day for each in after.rounds]


def test_an_order_is_shipped_once_however_many_lots_are_to_come(tmp_path: Path) -> None:
    orders = ["12,2027-01-07,7,dormant,4,2027-02-25,US,VA,,"]

    plan = planned(bench(tmp_path, PLANNED, TODAY, orders=orders))

    assert [each.id for each in plan.tasks if each.counted_from == "ordered"] == ["order.12"]


@pytest.mark.parametrize(("stored", "lot"), [(9, "7c"), (6, "7b")], ids=["a part", "the whole"])
def test_once_it_is_stuck_its_entries_go_on_by_the_same_ids(tmp_path: Path, stored: int, lot: str) -> None:
    wood = f"2027-01-05 taken 7b --variety 7 --count {stored}\n{PLANNED}"
    before = planned(bench(tmp_path, wood, TODAY))
    day = date(2027, 2, 2)

    log = f"{wood}\n2027-02-02 stuck 7b --count 6 --bin A --refers r3"
    after = planned(bench(tmp_path, log, day), published(before, day))

    assert task(before, f"{lot}.pot_up").to_come is True
    assert task(after, f"{lot}.pot_up").to_come is False
    assert task(after, f"{lot}.pot_up").due == task(before, f"{lot}.pot_up").due
    assert not any(each.to_come for each in after.tasks)


def test_dropped_it_is_gone_from_the_calendar(tmp_path: Path) -> None:
    dropped = planned(bench(tmp_path, f"{PLANNED}\n2027-01-07 void --refers r2", TODAY))

    assert not any(each.to_come for each in dropped.tasks)
    assert not has_task(dropped, "r2.stick_planned")


def test_two_lots_of_one_number_to_come_have_the_letters_they_will_get(tmp_path: Path) -> None:
    log = f"{PLANNED}\n2027-01-06 planned 7 --count 4 --value 2027-02-16"

    plan = planned(bench(tmp_path, log, TODAY))

    assert task(plan, "7b.pot_up").due < task(plan, "7c.pot_up").due  # the one stuck first gets the next letter
    assert task(plan, "7b.first_water").count == 6


@pytest.mark.parametrize("day", [date(2027, 4, 11), date(2027, 4, 13), date(2027, 4, 16)])
def test_wood_planned_and_not_stuck_till_it_no_longer_keeps_is_planned_for_all_the_same(
    tmp_path: Path, day: date
) -> None:
    log = "2027-01-02 taken 7a --count 12\n2027-01-05 planned 7 --count 12 --value 2027-02-10"

    plan = planned(bench(tmp_path, log, day))

    assert any(task.to_come for task in plan.tasks)
