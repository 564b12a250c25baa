"""Potting up: what is ready and what stays, never for leaves alone; pots and mix by the date they are needed."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from almanac.plan.demand import Demand, Move, Number, Stay
from almanac.plan.room.pots import pots_needed
from almanac.plan.spaces import Room, Space
from almanac.terminal.space import space_json, space_text
from almanac.words.derivation import rule_of, steps
from almanac.words.tasks import how_to_log_task, text, title
from tests.nurseries import bench
from tests.saying import as_json
from tests.unit.given import has_task, planned, task

STUCK = "2027-01-05 received 7a --count 12 --stage rooting --bin A"
ROOTED = f"{STUCK}\n2027-01-29 roots 7a --count 4"
READY = f"{ROOTED}\n2027-02-16 well_rooted 7a --count 5"
FIRST = f"{READY}\n2027-02-17 potted 7a --count 5"


# --- what is ready -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("crop", ["fig", "grape", "willow"])
@pytest.mark.parametrize("signs", ["leaves 7a --count 12", "budbreak 7a\n2027-01-16 leaves 7a"])
def test_leaves_without_roots_lead_to_no_potting_however_many(tmp_path: Path, crop: str, signs: str) -> None:
    varieties = f"number,name,crop,source,protected\n7,Copper Kettle,{crop},,\n"
    log = f"{STUCK}\n2027-01-15 {signs}\n2027-01-18 looked 7a"

    bare = planned(bench(tmp_path, f"{STUCK}\n2027-01-18 looked 7a", date(2027, 1, 18), varieties=varieties))
    leafy = planned(bench(tmp_path, log, date(2027, 1, 18), varieties=varieties))

    for name in ("7a.pot_up", "7a.pots_ready"):
        assert task(leafy, name).earliest == task(bare, name).earliest
        assert task(leafy, name).earliest > date(2027, 1, 18)


def test_leaves_and_no_roots_past_their_time_are_not_asked_to_be_potted(tmp_path: Path) -> None:
    plan = planned(bench(tmp_path, f"{STUCK}\n2027-01-25 leaves 7a\n2027-03-20 looked 7a", date(2027, 3, 20)))

    assert not has_task(plan, "7a.pot_up")
    assert not has_task(plan, "7a.pots_ready")
    assert has_task(plan, "7a.late_roots")


def test_the_entry_names_how_many_are_ready_and_logs_as_many(tmp_path: Path) -> None:
    nursery = bench(tmp_path, READY, date(2027, 2, 16))

    found = task(planned(nursery), "7a.pot_up")

    assert title(found) == "Pot up: 7a (5 of 12 cuttings)"
    assert how_to_log_task(found) == "stickdate log potted 7a --count 5"
    assert "Ready: 5 of 12. The other 7 stay in their bags." in text(found, nursery.book, nursery.as_of)


def test_once_those_ready_are_potted_the_rest_has_a_later_window_of_its_own(tmp_path: Path) -> None:
    plan = planned(bench(tmp_path, FIRST, date(2027, 2, 17)))

    found = task(plan, "7a.pot_up")

    assert title(found) == "Pot up: 7a in bags (7)"
    assert found.guessed
    assert found.earliest > date(2027, 2, 17)
    assert found.due > date(2027, 2, 20)


def test_the_rest_is_looked_at_until_it_is_ready_in_its_turn_and_then_the_last_of_it(tmp_path: Path) -> None:
    second = f"{FIRST}\n2027-03-05 well_rooted 7a --count 4"
    third = f"{second}\n2027-03-06 potted 7a --count 4\n2027-03-25 well_rooted 7a --count 3"

    left = planned(bench(tmp_path, FIRST, date(2027, 2, 17)))
    next_ = task(planned(bench(tmp_path, second, date(2027, 3, 5))), "7a.pot_up")
    last = task(planned(bench(tmp_path, third, date(2027, 3, 25))), "7a.pot_up")

    assert "7a.bag_look_rooted" in {look.id for look in left.looks}
    assert (title(next_), next_.earliest) == ("Pot up: 7a in bags (4 of 7 cuttings)", date(2027, 3, 5))
    assert (title(last), last.earliest) == ("Pot up: 7a in bags (3 of 3 cuttings)", date(2027, 3, 25))


def test_some_of_those_ready_potted_leaves_the_others_ready(tmp_path: Path) -> None:
    log = f"{ROOTED}\n2027-02-16 well_rooted 7a --count 8\n2027-02-17 potted 7a --count 5"

    found = task(planned(bench(tmp_path, log, date(2027, 2, 17))), "7a.pot_up")

    assert title(found) == "Pot up: 7a in bags (3 of 7 cuttings)"
    assert found.earliest == date(2027, 2, 16)


def test_how_many_were_ready_is_not_told_of_a_lot_that_lost_some_since(tmp_path: Path) -> None:
    log = f"{ROOTED}\n2027-02-16 well_rooted 7a --count 8\n2027-02-17 died 7a --count 2 --value rot"

    found = task(planned(bench(tmp_path, log, date(2027, 2, 17))), "7a.pot_up")

    assert title(found) == "Pot up: 7a (10)"


def test_bags_said_to_be_ready_and_left_are_reminded_of(tmp_path: Path) -> None:
    log = f"{ROOTED}\n2027-02-16 well_rooted 7a\n2027-02-17 potted 7a --count 5"

    plan = planned(bench(tmp_path, log, date(2027, 3, 20)))

    assert "7a.pot_up" in {each.id for each in plan.overdue()}


# --- pots and mix ------------------------------------------------------------------------------------------------


def test_pots_are_counted_from_what_is_seen_rooted_and_what_usually_roots(tmp_path: Path) -> None:
    nursery = bench(tmp_path, ROOTED, date(2027, 1, 29))
    share = nursery.book.crops["fig"].strike.rooted

    found = task(planned(nursery), "7a.pots_ready")
    assert found.derivation is not None

    assert f"{4 + share * 8:.1f} plants" in steps(found.derivation, "metric")[0]
    assert rule_of(found).title == "Pots and mix ready: 9 pots"
    assert "29 l (7.7 gal)" in rule_of(found).how


def test_lots_potted_in_one_week_are_told_with_their_pots_together(tmp_path: Path) -> None:
    log = f"{ROOTED}\n{ROOTED.replace('7a', '8a')}"

    found = task(planned(bench(tmp_path, log, date(2027, 1, 29))), "7a.pots_ready")

    assert "With 8a that week: 18 pots, 58 l (15 gal) of mix." in rule_of(found).how


def test_pots_are_ready_before_the_lot_is_and_never_asked_for_before_its_roots(tmp_path: Path) -> None:
    plan = planned(bench(tmp_path, STUCK, date(2027, 1, 6)))
    roots, ready = plan.milestones["7a"]["roots"].days, plan.milestones["7a"]["well_rooted"].days
    assert roots is not None
    assert ready is not None

    found = task(plan, "7a.pots_ready")

    assert roots[1] <= found.earliest < found.latest <= ready[1]


def test_the_space_command_lists_pots_by_the_day_they_are_needed(tmp_path: Path) -> None:
    log = f"{ROOTED}\n2027-01-30 planned 8 --count 10 --value 2027-02-10"
    nursery = bench(tmp_path, log, date(2027, 1, 30), units="us")
    plan = planned(nursery)

    told, data = space_text(plan, nursery), as_json(space_json(plan, nursery))["pots"]

    assert [each["lots"] for each in data] == [["7a"], ["8"]]
    assert "by" in told
    assert "7.7 gal" in told


@st.composite
def _stays(draw: st.DrawFn) -> list[Stay]:
    found = []
    for number in range(draw(st.integers(0, 12))):
        most = draw(st.integers(1, 30))
        count = Number(
            most=most,
            surely=draw(st.integers(0, most)),
            share=draw(st.floats(0.05, 0.95)),
            concentration=draw(st.floats(1, 40)),
        )
        early, middle, late = sorted(draw(st.lists(st.integers(1, 200), min_size=3, max_size=3)))
        start = date(2027, 1, 4).toordinal()
        move = Move(early=start + early, likely=start + middle, late=start + late, not_before=start + 1)
        found.append(Stay(lot=f"{number}a", number=count, comes=draw(st.sampled_from([move, None]))))
    return found


@given(stays=_stays())
def test_the_pots_of_all_weeks_are_the_plants_expected_of_all_lots_and_each_is_in_one_week(stays: list[Stay]) -> None:
    first = date(2027, 1, 4)
    lamps = Room(place="lamps", bin="", capacity=None, demand=Demand(first=first.toordinal(), days=28, stays=stays))

    weeks = pots_needed(Space(first=first, last=first, rooms=(lamps,), in_no_bin=0, planned=()))

    coming = [stay for stay in stays if stay.comes]
    assert sum(week.expected for week in weeks) == pytest.approx(sum(stay.number.moments()[0] for stay in coming))
    assert sorted(lot for week in weeks for lot in week.lots) == sorted(stay.lot for stay in coming)
    assert [week.by for week in weeks] == sorted(week.by for week in weeks)
