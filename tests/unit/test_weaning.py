"""Weaning: three steps to room air, in the bag or under a cover; a step back for wilting; then off the mat."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import pairwise
from pathlib import Path
from typing import Unpack

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from almanac.nursery.nursery import Nursery
from almanac.plan.model import Plan, Task
from almanac.rulebook.programmes.weaning import Weaning
from almanac.words.derivation import steps
from almanac.words.tasks import how_to_log_task
from tests.nurseries import Parts, bench
from tests.sizes import examples
from tests.unit.given import has_task, planned, task

STUCK = "2027-01-05 received 7a --count 12 --stage rooting --bin A"
READY = f"{STUCK}\n2027-01-29 roots 7a --count 4\n2027-02-05 leaves 7a --count 6"
EVERY = READY.replace("--count 4", "--count 12").replace("--count 6", "--count 12")
BAG = ("wean_loosen", "wean_half", "wean_open")
COVER = ("cover_lift", "cover_half", "uncover")


def day(text: str) -> date:
    return date.fromisoformat(f"2027-{text}")


def at(folder: Path, log: str, on: str, **parts: Unpack[Parts]) -> Nursery:
    """The nursery on a day of 2027; what is logged for later is not known yet."""
    lines = [line for line in log.splitlines() if line.strip() and line.split()[0] <= f"2027-{on}"]
    return bench(folder, "\n".join(lines), day(on), **parts)


def asked(plan: Plan, names: tuple[str, ...], lot: str = "7a") -> list[Task]:
    """The steps a plan asks of a lot, in the order they are to be done."""
    return [task(plan, f"{lot}.{name}") for name in names if has_task(plan, f"{lot}.{name}")]


# --- the steps ---------------------------------------------------------------------------------------------------


def test_a_rooted_lot_in_leaf_is_opened_in_three_steps_within_a_week(tmp_path: Path) -> None:
    found = asked(planned(at(tmp_path, READY, "02-05")), BAG)

    assert [each.rule.id for each in found] == list(BAG)
    assert 5 <= (found[-1].earliest - found[0].earliest).days <= 7


def test_once_a_step_is_logged_the_others_count_from_its_day_and_no_look_moves_them(tmp_path: Path) -> None:
    opened = f"{READY}\n2027-02-10 opened 7a"
    looked = f"{opened}\n2027-02-11 looked 7a"

    before, after = (planned(at(tmp_path, log, "02-11")) for log in (opened, looked))

    assert [each.earliest for each in asked(before, BAG)] == [day("02-13"), day("02-16")]
    assert [each.earliest for each in asked(after, BAG)] == [day("02-13"), day("02-16")]


def test_leaves_that_press_the_film_are_let_out_sooner_by_logging_the_first_step(tmp_path: Path) -> None:
    found = asked(planned(at(tmp_path, f"{READY}\n2027-02-06 opened 7a", "02-06")), BAG)

    assert [(each.rule.id, each.earliest) for each in found] == [
        ("wean_half", day("02-09")),
        ("wean_open", day("02-12")),
    ]


def test_a_bag_opened_before_its_roots_waits_for_them(tmp_path: Path) -> None:
    plan = planned(at(tmp_path, f"{STUCK}\n2027-01-12 leaves 7a\n2027-01-13 opened 7a", "01-13"))
    roots = plan.milestones["7a"]["roots"].days
    assert roots is not None

    assert [each.earliest for each in asked(plan, BAG)] == [roots[1], roots[1] + timedelta(days=3)]


def test_two_steps_logged_on_one_day_are_one(tmp_path: Path) -> None:
    log = f"{READY}\n2027-02-10 opened 7a\n2027-02-10 opened --bin A"

    assert [each.rule.id for each in asked(planned(at(tmp_path, log, "02-10")), BAG)] == ["wean_half", "wean_open"]


def test_a_lot_that_is_open_is_asked_for_no_step_in_bag_or_pot(tmp_path: Path) -> None:
    log = f"{READY}\n2027-02-10 opened 7a\n2027-02-13 opened 7a\n2027-02-16 opened 7a\n2027-02-24 potted 7a"

    for on in ("02-16", "02-24"):
        assert asked(planned(at(tmp_path, log, on)), BAG + COVER) == []


def test_where_looks_are_logged_a_step_that_was_not_is_asked_for_again_a_week_later(tmp_path: Path) -> None:
    log = f"{READY}\n2027-02-10 opened 7a\n2027-02-10 looked 7a\n2027-02-16 looked 7a"
    first = asked(planned(at(tmp_path, log, "02-10")), BAG)[0]

    again = asked(planned(at(tmp_path, log, "02-16")), BAG)[0]

    assert (first.rule.id, again.rule.id) == ("wean_half", "wean_half")
    assert again.earliest == first.earliest + timedelta(days=7)


# --- ending at potting -------------------------------------------------------------------------------------------


def potting(plan: Plan) -> date:
    """The day on which 7a is likely potted: four days after it is likely well rooted, as its window says."""
    return task(plan, "7a.pot_up").milestone.days[1] + timedelta(days=4)  # type: ignore[union-attr, index]


def test_bags_are_opened_within_a_week_of_their_potting_however_early_their_first_root(tmp_path: Path) -> None:
    # Common practice: 5 to 7 days from closed to open.
    for log in (READY, READY.replace("01-29 roots", "01-20 roots"), EVERY):
        plan = planned(at(tmp_path, log, "02-05"))
        found = asked(plan, BAG)

        assert 5 <= (potting(plan) - found[0].earliest).days <= 7
        assert found[-1].earliest < potting(plan)


def test_a_bag_in_leaf_without_roots_stays_shut(tmp_path: Path) -> None:
    plan = planned(at(tmp_path, f"{STUCK}\n2027-01-12 leaves 7a --count 9\n2027-01-20 looked 7a", "01-20"))

    assert all(each.guessed and each.earliest > day("01-20") for each in asked(plan, BAG))


def test_no_bag_is_opened_while_it_is_asked_why_its_roots_are_late(tmp_path: Path) -> None:
    plan = planned(at(tmp_path / "in time", STUCK, "01-20"))
    late = plan.milestones["7a"]["roots"].overdue_on
    assert late is not None
    assert asked(plan, BAG)

    silent = planned(at(tmp_path / "late", STUCK, f"{late + timedelta(days=1):%m-%d}"))

    assert asked(silent, ("late_roots",))
    assert asked(silent, BAG) == []


def test_rooted_bags_without_leaf_are_potted_and_not_weaned(tmp_path: Path) -> None:
    plan = planned(at(tmp_path, f"{STUCK}\n2027-01-29 roots 7a\n2027-02-20 well_rooted 7a", "02-20"))

    assert asked(plan, BAG) == []
    assert has_task(plan, "7a.pot_up")
    assert [each.rule.id for each in asked(plan, COVER)] == list(COVER)


def test_only_bags_that_showed_roots_and_leaf_are_counted(tmp_path: Path) -> None:
    assert {each.count for each in asked(planned(at(tmp_path, READY, "02-05")), BAG)} == {4}


def test_who_weans_in_the_pot_is_asked_for_no_step_in_the_bag(tmp_path: Path) -> None:
    plan = planned(at(tmp_path, READY, "02-05", weaning='when = "pot"'))

    assert asked(plan, BAG) == []
    assert not has_task(plan, "7a.gnat_open")
    assert [each.rule.id for each in asked(plan, COVER)] == list(COVER)


def test_where_potting_slips_after_opening_each_round_asks_for_the_weight(tmp_path: Path) -> None:
    log = f"{EVERY}\n2027-02-10 opened 7a\n2027-02-13 opened 7a\n2027-02-16 opened 7a\n2027-02-16 looked 7a"

    plan = planned(at(tmp_path, log, "02-17"))
    rounds = [each for each in plan.rounds if day("02-18") < each.day < day("02-28")]

    assert rounds
    for each in rounds:
        asks = {line.rule.id for line in each.lines if line.lot == "7a"}
        assert asks & {"open_weight", "water_again"}, (each.day, asks)


def test_a_fresh_card_is_hung_before_the_first_opening_and_not_weeks_ahead(tmp_path: Path) -> None:
    plan = planned(at(tmp_path, READY, "02-05"))

    assert task(plan, "7a.gnat_open").due <= asked(plan, BAG)[0].latest
    assert task(plan, "7a.gnat_open").earliest == asked(plan, BAG)[0].earliest


# --- wilting -----------------------------------------------------------------------------------------------------

WILTED = f"{READY}\n2027-02-10 opened 7a\n2027-02-13 opened 7a\n2027-02-14 wilt 7a"


def test_a_lot_that_wilts_is_closed_a_step_and_opened_no_further_until_it_is_firm(tmp_path: Path) -> None:
    plan = planned(at(tmp_path, WILTED, "02-14"))

    assert has_task(plan, "7a.wilt_back")
    assert "7a.wilt_look_bag" in {look.id for look in plan.looks}
    assert asked(plan, BAG) == []


def test_once_firm_it_goes_on_from_the_step_before(tmp_path: Path) -> None:
    found = asked(planned(at(tmp_path, f"{WILTED}\n2027-02-17 all_clear 7a", "02-17")), BAG)

    assert [(each.rule.id, each.earliest) for each in found] == [
        ("wean_half", day("02-18")),
        ("wean_open", day("02-21")),
    ]


def test_an_all_clear_of_mould_is_none_of_wilting(tmp_path: Path) -> None:
    log = f"{WILTED}\n2027-02-14 mould 7a\n2027-02-17 all_clear 7a --value mould"

    assert asked(planned(at(tmp_path, log, "02-17")), BAG) == []


def test_plants_that_wilt_in_the_heat_months_after_go_under_no_cover_again(tmp_path: Path) -> None:
    log = f"{READY}\n2027-02-20 potted 7a\n2027-02-21 opened 7a\n2027-02-24 opened 7a\n2027-02-27 opened 7a"
    log = f"{log}\n2027-04-20 wilt 7a\n2027-04-23 all_clear 7a"

    assert asked(planned(at(tmp_path, log, "04-23")), COVER) == []


# --- in the pot --------------------------------------------------------------------------------------------------


def test_bags_are_opened_at_their_bin_and_a_cover_is_lifted_where_no_bin_is(tmp_path: Path) -> None:
    bags = asked(planned(at(tmp_path, READY, "02-05")), BAG)
    pots = asked(planned(at(tmp_path, f"{READY}\n2027-02-20 potted 7a", "02-20")), COVER)

    assert ({each.bin for each in bags}, {each.bin for each in pots}) == ({"A"}, {""})


def test_potted_from_a_sealed_bag_it_is_covered_and_the_cover_lifted_over_a_week(tmp_path: Path) -> None:
    found = asked(planned(at(tmp_path, f"{READY}\n2027-02-20 potted 7a", "02-20")), COVER)

    assert [each.earliest for each in found] == [day("02-21"), day("02-24"), day("02-27")]


def test_a_half_weaned_lot_goes_on_under_the_cover_where_it_stood(tmp_path: Path) -> None:
    log = f"{READY}\n2027-02-10 opened 7a\n2027-02-13 opened 7a\n2027-02-14 potted 7a"

    found = asked(planned(at(tmp_path, log, "02-14")), BAG + COVER)

    assert [(each.rule.id, each.earliest) for each in found] == [("uncover", day("02-16"))]


def test_a_grower_who_logs_only_that_the_cover_is_off_is_asked_for_no_more(tmp_path: Path) -> None:
    log = f"{READY}\n2027-02-16 potted 7a\n2027-02-23 opened 7a"

    assert asked(planned(at(tmp_path, log, "02-23")), COVER) == []


def test_plants_that_came_in_pots_stand_under_no_cover(tmp_path: Path) -> None:
    plan = planned(at(tmp_path, "2027-02-20 received 7a --count 6 --stage pot --value trade", "02-20"))

    assert asked(plan, COVER) == []
    assert not has_task(plan, "7a.to_lamp")


def test_pots_stand_a_week_in_shade_and_go_to_the_lamp_when_their_cover_is_off(tmp_path: Path) -> None:
    weaned = f"{READY}\n2027-02-10 opened 7a\n2027-02-13 opened 7a\n2027-02-16 opened 7a"

    open_bag = planned(at(tmp_path, f"{weaned}\n2027-02-20 potted 7a", "02-20"))
    sealed = planned(at(tmp_path, f"{READY}\n2027-02-20 potted 7a", "02-20"))

    assert task(open_bag, "7a.to_lamp").earliest == day("02-27")
    assert task(sealed, "7a.to_lamp").earliest > task(sealed, "7a.uncover").latest


def test_of_a_lot_in_bags_and_pots_each_part_is_aired_by_itself(tmp_path: Path) -> None:
    log = f"{EVERY}\n2027-02-10 opened 7a\n2027-02-11 potted 7a --count 5\n2027-02-12 opened 7a --stage pot"

    plan = planned(at(tmp_path, log, "02-12"))

    assert [(each.rule.id, each.earliest) for each in asked(plan, BAG)] == [
        ("wean_half", day("02-13")),
        ("wean_open", day("02-16")),
    ]
    assert [(each.rule.id, each.earliest) for each in asked(plan, COVER)] == [("uncover", day("02-15"))]
    assert how_to_log_task(task(plan, "7a.wean_half")) == "stickdate log opened 7a --stage rooting"
    assert how_to_log_task(task(plan, "7a.uncover")) == "stickdate log opened 7a --stage pot"


def test_bags_remaining_shut_are_weaned_once_they_showed_roots_of_their_own(tmp_path: Path) -> None:
    rooted = planned(at(tmp_path, f"{EVERY}\n2027-02-11 potted 7a --count 5", "02-11"))
    bare = planned(at(tmp_path, f"{READY}\n2027-02-11 potted 7a --count 5", "02-11"))

    assert [each.rule.id for each in asked(rooted, BAG)] == list(BAG)
    assert [each.count for each in asked(rooted, BAG)] == [7, 7, 7]
    assert not any(each.guessed for each in asked(rooted, BAG))
    assert all(each.guessed for each in asked(bare, BAG))


# --- off the mat -------------------------------------------------------------------------------------------------

TWO_BINS = """{READY}
2027-02-05 mat --bin B --value '20 C'
2027-02-10 opened 7a
2027-02-13 opened 7a
2027-02-16 opened 7a""".replace("{READY}", READY)
THROUGH = f"{TWO_BINS}\n2027-02-18 well_rooted 7a"


def test_open_bags_stay_on_the_mat_while_it_hastens_their_roots(tmp_path: Path) -> None:
    plan = planned(at(tmp_path, TWO_BINS, "02-17", bins=("A", "B")))

    assert not has_task(plan, "7a.cool_bin")
    assert not has_task(plan, "7a.off_mat")


def test_no_advice_puts_off_the_potting_that_it_waits_for(tmp_path: Path) -> None:
    def likely(log: str) -> date:
        days = planned(at(tmp_path, log, "02-17", bins=("A", "B"))).milestones["7a"]["well_rooted"].days
        assert days is not None
        return days[1]

    moved = f"{TWO_BINS}\n2027-02-17 moved 7a --bin B"

    assert likely(moved) > likely(TWO_BINS)  # so nothing may ask for it yet
    asked_for = {each.rule.id for each in planned(at(tmp_path, TWO_BINS, "02-17", bins=("A", "B"))).tasks}
    assert not asked_for & {"cool_bin", "off_mat"}


def test_open_bags_with_roots_through_go_to_a_cooler_bin_that_has_room_where_potting_slips(tmp_path: Path) -> None:
    plan = planned(at(tmp_path, THROUGH, "02-18", bins=("A", "B")))

    found = task(plan, "7a.cool_bin")

    assert found.earliest == day("02-22")
    assert how_to_log_task(found) == "stickdate log moved 7a --bin B"


def test_roots_through_on_some_leave_the_lot_on_the_mat(tmp_path: Path) -> None:
    plan = planned(at(tmp_path, f"{TWO_BINS}\n2027-02-18 well_rooted 7a --count 5", "02-18", bins=("A", "B")))

    assert not has_task(plan, "7a.cool_bin")


def test_moving_them_frees_their_places_and_is_not_asked_for_again(tmp_path: Path) -> None:
    log = f"{THROUGH}\n2027-02-22 moved 7a --bin B"

    plan = planned(at(tmp_path, log, "02-22", bins=("A", "B")))
    taken = {room.bin: room.demand.expected(day("02-22")) for room in plan.space.rooms if room.bin}

    assert taken == {"A": 0, "B": 12}
    assert not has_task(plan, "7a.cool_bin")
    assert not has_task(plan, "7a.off_mat")


def test_where_no_cooler_bin_has_room_they_are_set_off_the_mat(tmp_path: Path) -> None:
    full = f"{THROUGH}\n2027-02-09 received 8a --count 15 --stage rooting --bin B"

    plan = planned(at(tmp_path, full, "02-18", bins=("A", "B")))

    assert has_task(plan, "7a.off_mat")
    assert not has_task(plan, "7a.cool_bin")


def test_two_lots_are_not_sent_to_the_same_places(tmp_path: Path) -> None:
    log = f"{THROUGH}\n" + THROUGH.replace("7a", "8a").replace("2027-02-05 mat --bin B --value '20 C'\n", "")

    plan = planned(at(tmp_path, log, "02-18", bins=("A", "B"), bags=24))
    eighteen = planned(at(tmp_path, log, "02-18", bins=("A", "B"), bags=18))

    assert has_task(plan, "7a.cool_bin")
    assert has_task(plan, "8a.cool_bin")
    assert has_task(eighteen, "7a.cool_bin")
    assert has_task(eighteen, "8a.off_mat")


def test_a_bin_without_a_mat_is_left_for_no_other(tmp_path: Path) -> None:
    plan = planned(at(tmp_path, f"{THROUGH}\n2027-02-18 mat --bin A --value off", "02-18", bins=("A", "B")))

    assert not has_task(plan, "7a.cool_bin")
    assert not has_task(plan, "7a.off_mat")


# --- always ------------------------------------------------------------------------------------------------------


def test_why_tells_how_a_step_was_dated(tmp_path: Path) -> None:
    plan = planned(at(tmp_path, f"{WILTED}\n2027-02-17 all_clear 7a", "02-17"))
    derivation = task(plan, "7a.wean_open").derivation
    assert derivation is not None

    assert steps(derivation, "metric") == [
        "Step 3 of 3; 1 logged and standing.",
        "Closed back a step for wilting on Sun 14 Feb; goes on once it is firm.",
        "Step 2 is counted from the day it was firm again, Wed 17 Feb, 1 day on.",
        "Each further step 3 days after the one before.",
        "A step may be 2 days late; once logged, the next counts from that day.",
    ]


EVENTS = ("opened", "opened --stage rooting", "opened --stage pot", "wilt", "all_clear", "looked")
SIGNS = ("roots", "leaves", "well_rooted --count 4", "potted --count 4", "potted")


@st.composite
def _logs(draw: st.DrawFn) -> list[tuple[int, str]]:
    """What may be logged of a lot in four months, in any order that cuttings allow; days from its start."""
    rows, rooting, pots = [], 12, 0
    for number in sorted(draw(st.lists(st.integers(3, 110), max_size=14))):
        what = draw(st.sampled_from(EVENTS + SIGNS))
        if what == "potted" or "potted --count" in what:
            moved = rooting if what == "potted" else min(4, rooting)
            if not moved:
                continue
            what, rooting, pots = f"potted 7a --count {moved}", rooting - moved, pots + moved
        elif (
            ("rooting" in what and not rooting)
            or ("pot" in what.split("--stage")[-1] and "--stage" in what and not pots)
            or (what.startswith("well_rooted") and rooting < 4)
        ):
            continue
        rows.append((number, what if "7a" in what else what.replace(what.split()[0], f"{what.split()[0]} 7a", 1)))
    return rows


@pytest.mark.long
@settings(max_examples=examples(60), suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(rows=_logs(), today=st.integers(0, 120))
def test_steps_come_in_order_apart_and_never_before_roots_whatever_is_logged(
    tmp_path: Path, rows: list[tuple[int, str]], today: int
) -> None:
    start = day("01-05")
    log = "\n".join([STUCK, *(f"{start + timedelta(days=n)} {what}" for n, what in rows if n <= today)])
    nursery = bench(tmp_path, log, start + timedelta(days=today))
    plan, lot = planned(nursery), nursery.stock.lots["7a"]
    rules = nursery.book.programme(Weaning)

    in_bag, in_pot = asked(plan, BAG), asked(plan, COVER)

    for found, names in ((in_bag, BAG), (in_pot, COVER)):
        places = [names.index(each.rule.id) for each in found]
        assert places == list(range(places[0], places[0] + len(places))) if places else True
        for first, second in pairwise(found):
            assert first.latest < second.earliest  # so never two on one day
            assert 1 <= (second.due - first.due).days <= rules.between + rules.late
    roots = plan.milestones["7a"].get("roots")
    for each in in_bag:
        assert lot.count("rooting")
        assert roots is not None
        assert roots.window is not None
        assert each.earliest >= roots.window[1] or roots.known
        assert roots.known is None or each.earliest >= roots.known
    assert not in_pot or lot.count("pot") or plan.milestones["7a"]["potted"].days
    assert len({each.due for each in in_bag}) == len(in_bag)


@pytest.mark.parametrize("stage", ["store", "outside"])
def test_a_bag_is_opened_where_bags_or_pots_are(tmp_path: Path, stage: str) -> None:
    from almanac.nursery.logbook import Row, row_problems
    from almanac.words.faults import fact_text

    [problem] = row_problems(Row(id="r1", day=day("02-01"), what="opened", lot="7a", stage=stage))
    assert fact_text(problem) == f"opened is logged of rooting or pot, not of {stage}"
