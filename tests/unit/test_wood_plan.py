"""The wood plan: how many to cut of each variety, what for and from which plant; what lies in store for what."""

from __future__ import annotations

import json
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from typing import Any, Unpack

import pytest

from almanac.actions.record import record
from almanac.actions.request import Request
from almanac.actions.wood import read_wood
from almanac.faults import Refusal
from almanac.plan.wood.cuts import Cut, Uses
from almanac.plan.wood.forsale import offers
from almanac.words.derivation import rule_of
from almanac.words.tasks import title
from tests.command import stickdate
from tests.nurseries import Parts, bench, write_nursery
from tests.unit.given import has_task, planned, task

WANTED = """number,name,crop,source,protected,price_cutting,price_plant,note,wanted
1,Leaky Gutter (invented),fig,,,4,14,,20
3,Bus Shelter (invented),fig,,,4,14,,16
7,Copper Kettle (invented),fig,,,4,14,,
"""
AUTUMN = date(2025, 11, 6)


def cut(folder: Path, number: str, log: str = "", day: date = AUTUMN, **parts: Unpack[Parts]) -> Cut:
    write_nursery(folder, log, **(Parts(varieties=WANTED) | parts))
    found = read_wood(folder, datetime.combine(day, time(17), UTC))
    return next(each for each in found.cuts if each.number == number)


def screen(folder: Path, log: str, day: str, **parts: Unpack[Parts]) -> tuple[str, Any]:
    write_nursery(folder, log, **(Parts(varieties=WANTED) | parts))
    told = stickdate("--nursery", folder, "--as-of", day, "wood").stdout
    return " ".join(told.split()), json.loads(stickdate("--nursery", folder, "--as-of", day, "wood", "--json").stdout)


def test_the_entry_that_has_wood_taken_says_how_many_of_each_variety(tmp_path: Path) -> None:
    found = task(planned(bench(tmp_path, "", AUTUMN, varieties=WANTED)), "fig.take_wood.2025")

    assert title(found) == "Take wood: 20 of no. 1, 16 of no. 3"
    assert rule_of(found).how.startswith("1: 20 (20 to sell). 3: 16 (16 to sell). ")


def test_what_was_cut_of_it_is_taken_off_until_nothing_is_left_to_cut(tmp_path: Path) -> None:
    some = "2025-11-05 taken 1a --count 15\n"
    every = some + "2025-11-06 taken 1b --count 5\n2025-11-06 taken 3a --count 16\n"

    part, whole = (planned(bench(tmp_path, log, AUTUMN, varieties=WANTED)) for log in (some, every))

    assert title(task(part, "fig.take_wood.2025")) == "Take wood: 5 of no. 1, 16 of no. 3"
    assert not has_task(whole, "fig.take_wood.2025")


def test_what_was_sold_stuck_or_died_was_had_all_the_same(tmp_path: Path) -> None:
    log = """2025-11-01 taken 1a --count 20
2025-11-02 stuck 1a --count 6 --refers 1b
2025-11-03 died 1a --count 2 --stage store
2025-11-04 taken 3a --count 10
2025-11-05 gave 3a --count 10
"""
    assert cut(tmp_path / "one", "1", log).count == 0
    assert cut(tmp_path / "three", "3", log).count == 6


def test_where_nobody_says_how_many_lots_planned_and_orders_do_and_one_in_ten_is_spare(tmp_path: Path) -> None:
    orders = ["1,2025-11-04,7,dormant,5,2026-01-20,US,VA,,"]

    found = cut(tmp_path, "7", "2025-11-04 planned 7 --count 12 --value 2026-02-02", orders=orders)

    assert found.uses == Uses(planned=12, orders=5, spare=2)
    assert found.count == 19


def test_plans_and_orders_may_ask_for_more_than_was_wanted(tmp_path: Path) -> None:
    found = cut(tmp_path, "1", "2025-11-04 planned 1 --count 30 --value 2026-02-02")

    assert found.count == 30
    assert found.uses == Uses(planned=30)


def test_a_variety_of_a_crop_whose_others_are_counted_is_cut_only_for_plans_and_orders(tmp_path: Path) -> None:
    assert cut(tmp_path, "7").count == 0


def test_stored_wood_serves_plans_first_then_orders_and_swelling_buds_only_plans(tmp_path: Path) -> None:
    log = """2025-11-01 taken 1a --count 4
2025-11-01 taken 1b --count 16
2025-12-20 pushing 1a
2025-12-20 planned 1 --count 6 --value 2026-01-20
"""
    orders = ["1,2025-12-20,1,dormant,5,2026-01-20,US,VA,,"]

    kept = cut(tmp_path, "1", log, date(2025, 12, 21), orders=orders).kept

    assert [(each.wood.lot, each.uses) for each in kept] == [
        ("1a", Uses(planned=4)),
        ("1b", Uses(planned=2, orders=5, sale=9)),
    ]


def test_cuts_are_shared_among_sound_mother_plants_and_none_is_cut_from_a_sick_one(tmp_path: Path) -> None:
    mothers = [
        'variety = "1"\nplace = "south wall"',
        'variety = "1"\nplace = "hedge"',
        'variety = "1"\nplace = "ditch"\nhealth = "sick"',
        'variety = "1"\nplace = "gate"\nhealth = "doubtful"',
        'variety = "3"\nplace = "yard"\nhealth = "sick"',
    ]

    one = cut(tmp_path / "one", "1", "2025-11-05 taken 1a --count 5", mothers=mothers)
    text, _ = screen(tmp_path / "all", "", "2025-11-06", mothers=mothers)

    assert [(mother.place, count) for mother, count in one.shares] == [("south wall", 8), ("hedge", 7)]
    assert not cut(tmp_path / "three", "3", mothers=mothers).left
    assert "20 (20 to sell) from south wall 10, hedge 10" in text
    assert "3 yard sick: no wood of it" in text


def test_once_the_window_is_over_it_is_said_that_it_is_too_late(tmp_path: Path) -> None:
    text, _ = screen(tmp_path, "2025-11-01 taken 3a --count 16", "2025-12-20")

    assert "1 Leaky Gutter (i… over 10 Nov" in text


COLD = f"[frost]\nmonthly = {{ lows = {[f'{low} C' for low in (-12, -11, -5, 1, 7, 12, 15, 14, 9, 3, -2, -8)]} }}"


def test_wood_best_taken_late_is_taken_before_the_last_day_to_stick_it(tmp_path: Path) -> None:
    # In such cold black currant is best cut just before growth (University of Alaska Fairbanks), which is after the
    # last day from which lots still harden by autumn.
    currant = "number,name,crop,source,protected\n2,Ditch Ink (invented),black_currant,,\n"
    plan = planned(bench(tmp_path, "", date(2025, 11, 1), varieties=currant, frost=COLD, latitude=43.0))

    take, stick = (task(plan, f"black_currant.{rule}.2025") for rule in ("take_wood", "stick_wood"))

    assert take.due < stick.latest
    assert take.latest <= stick.latest


def test_wood_of_a_lot_planned_is_taken_before_the_day_it_is_to_be_stuck(tmp_path: Path) -> None:
    currant = Parts(varieties="number,name,crop,source,protected\n5,Tin Roof (invented),red_currant,,\n")
    day, sticks = date(2025, 12, 9), date(2026, 1, 6)
    plans = f"2025-12-09 planned 5 --count 10 --value {sticks}\n2025-12-09 planned 5 --count 4 --value 2026-02-20\n"
    there = "2025-12-05 received 5a --count 10 --stage store\n"

    bare, wanted, first_covered = (
        cut(tmp_path / name, "5", log, day, **currant)
        for name, log in (("bare", ""), ("wanted", plans), ("covered", there + plans))
    )

    assert bare.days[1] > date(2026, 2, 20), "else it would be taken in time of itself"
    assert wanted.days[1] == sticks - timedelta(days=7)
    assert first_covered.days[1] == date(2026, 2, 13), "those of the first plan just suffice"


def test_wood_to_be_sold_is_best_cut_when_the_sale_opens(tmp_path: Path) -> None:
    currant = "number,name,crop,source,protected,wanted\n4,Pond Garnet (invented),red_currant,,,8\n"
    plan = planned(bench(tmp_path, "", date(2025, 11, 1), varieties=currant, frost=COLD, latitude=43.0))

    take, offer = (task(plan, f"red_currant.{rule}.2025") for rule in ("take_wood", "offer"))

    assert take.due <= offer.earliest


def test_of_two_mother_plants_the_one_outdoors_ends_the_window_and_the_sheltered_one_goes_on(tmp_path: Path) -> None:
    mothers = ['variety = "1"\nplace = "garage"\nsheltered = true', 'variety = "1"\nplace = "wall"']

    early = cut(tmp_path, "1", mothers=mothers)
    late = cut(tmp_path, "1", day=early.days[2] + timedelta(days=1), mothers=mothers)

    assert early.later == late.days[2] > early.days[2]
    assert [(mother.place, count) for mother, count in early.shares] == [("garage", 10), ("wall", 10)]
    assert [(mother.place, count) for mother, count in late.shares] == [("garage", 20)]


def test_what_comes_of_a_plant_in_doubt_is_not_cut_to_be_sold(tmp_path: Path) -> None:
    found = cut(tmp_path, "1", mothers=['variety = "1"\nhealth = "doubtful"'])

    assert found.uses == Uses(spare=20)


def test_wood_of_a_plant_in_doubt_is_held_back_from_sale_and_that_of_the_sound_one_is_not(tmp_path: Path) -> None:
    mothers = ['variety = "1"\nplace = "gate"\nhealth = "doubtful"', 'variety = "1"\nplace = "wall"']
    log = "2025-11-01 taken 1a --count 6 --value gate\n2025-11-01 taken 1b --count 6 --value wall\n"

    found = offers(bench(tmp_path, log, date(2025, 12, 1), varieties=WANTED, mothers=mothers))

    assert [(batch.lot, batch.hold and batch.hold.reason) for batch in found[0].batches] == [
        ("1a", "doubtful"),
        ("1b", None),
    ]


def test_wood_is_logged_with_the_plant_it_came_from_and_the_plan_counts_it(tmp_path: Path) -> None:
    mothers = ['variety = "1"\nplace = "south wall"\nsheltered = true\nsince = 2019']
    folder = write_nursery(tmp_path, "", varieties=WANTED, mothers=mothers)
    now = datetime.combine(AUTUMN, time(17), UTC)

    with pytest.raises(Refusal) as refused:
        record(folder, now, Request(what="taken", about=("1",), count=9, value="soth wall"))
    record(folder, now, Request(what="taken", about=("1",), count=9, value="South wall"))
    text = " ".join(stickdate("--nursery", folder, "--as-of", "2025-11-06", "wood").stdout.split())

    assert refused.value.fact.kind == "mother_unknown"
    assert "1 south wall sheltered, since 2019, 9 cut this winter" in text


def test_the_wood_plan_says_what_lies_in_store_for_what_and_until_when(tmp_path: Path) -> None:
    text, said = screen(tmp_path, "2025-11-01 taken 1a --count 12\n2024-12-01 taken 3a --count 4", "2025-12-20")

    [one] = [each for each in said["varieties"] if each["number"] == "1"]
    assert one["cut"] == 8
    assert one["in_store"][0]["for"] == {"planned": 0, "orders": 0, "sale": 12, "spare": 0}
    assert [each["lot"] for each in said["older"]] == ["3a"]
    assert "1a 12 cut 1 Nov 12 to sell; sold till" in text
    assert "3a 4 cut 1 Dec 2024 past its time since" in text
