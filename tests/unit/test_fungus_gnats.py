"""Against fungus gnats: when something is done, where, how often, the nursery's way; and mould beside them."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import pairwise
from pathlib import Path

import pytest

from almanac.plan.care.programmes.fungus_gnats.derivation import GnatDays
from almanac.plan.model import Plan
from almanac.words.derivation import steps
from almanac.words.warnings import warning_text
from tests.nurseries import bench
from tests.unit.given import has_task, look, of_rule, planned, task

STUCK = "2027-01-05 received 7a --count 12 --stage rooting --bin A"
ROOTED = f"{STUCK}\n2027-01-26 roots 7a --count 12\n2027-01-26 leaves 7a --count 12"
OPENED = f"{ROOTED}\n2027-02-01 opened 7a"
POTTED = f"{ROOTED}\n2027-02-01 potted 7a"
DRENCHES = "gnat_drench", "gnat_nematodes"


def rules_of(plan: Plan) -> set[str]:
    """The gnat rules that a plan's tasks and looks come from."""
    found = {each.rule.id for each in plan.tasks} | {each.rule.id for each in plan.looks}
    return {name for name in found if name.startswith("gnat_")} - {"gnat_card", "gnat_open"}


def all_clear(plan: Plan, place: str = "A") -> date:
    return task(plan, f"{place}.gnat_clear").earliest


def plan_of(
    folder: Path, log: str, today: date, way: str = "larvicide", *, mat: str = "25 C", air: str = "20 C"
) -> Plan:
    """The plan of a nursery that treats gnats its own way."""
    return planned(bench(folder, log, today, gnats=f'way = "{way}"', mat=mat, air=air))


# --- how many ask for it -----------------------------------------------------------------------------------------


def test_few_gnats_on_the_card_ask_for_denser_looks_only(tmp_path: Path) -> None:
    few = plan_of(tmp_path, f"{OPENED}\n2027-02-02 gnats --bin A --count 4", date(2027, 2, 2))
    many = plan_of(tmp_path, f"{OPENED}\n2027-02-02 gnats --bin A --count 5", date(2027, 2, 2))

    assert rules_of(few) == {"gnat_card_look", "gnat_clear"}
    assert "gnat_drench" in rules_of(many)


def test_gnats_that_nobody_counted_are_taken_to_be_many(tmp_path: Path) -> None:
    assert of_rule(plan_of(tmp_path, f"{OPENED}\n2027-02-02 gnats --bin A", date(2027, 2, 2)), "gnat_drench")


def test_a_card_without_a_gnat_begins_nothing_and_puts_nothing_off(tmp_path: Path) -> None:
    seen = f"{OPENED}\n2027-02-02 gnats --bin A --count 9"
    none = plan_of(tmp_path, f"{OPENED}\n2027-02-02 gnats --bin A --count 0", date(2027, 2, 2))
    before = plan_of(tmp_path, seen, date(2027, 2, 6))
    after = plan_of(tmp_path, f"{seen}\n2027-02-06 gnats --bin A --count 0", date(2027, 2, 6))

    assert rules_of(none) == set()
    assert all_clear(after) == all_clear(before)
    assert look(after, "A.gnat_card_look").seen.last == date(2027, 2, 6)


@pytest.mark.parametrize("about", ["--bin A", "7a"])
def test_a_card_without_a_gnat_is_no_trouble_and_one_with_a_single_gnat_is(about: str, tmp_path: Path) -> None:
    def troubles(count: int) -> set[str]:
        stock = bench(tmp_path, f"{OPENED}\n2027-02-02 gnats {about} --count {count}", date(2027, 2, 2)).stock
        return {*stock.bins["A"].troubles, *stock.lots["7a"].troubles}

    assert troubles(0) == set()
    assert troubles(1) == {"gnats"}


def test_once_something_is_done_a_few_more_put_off_the_end_and_do_not_stop_it(tmp_path: Path) -> None:
    log = f"{OPENED}\n2027-02-02 gnats --bin A --count 9"
    first = plan_of(tmp_path, log, date(2027, 2, 12))
    again = plan_of(tmp_path, f"{log}\n2027-02-12 gnats --bin A --count 1", date(2027, 2, 12))

    assert all_clear(again) == all_clear(first) + timedelta(days=10)
    assert max(each.earliest for each in of_rule(again, "gnat_drench")) > all_clear(first)


def test_all_clear_ends_it(tmp_path: Path) -> None:
    log = f"{OPENED}\n2027-02-02 gnats --bin A --count 9\n2027-02-28 all_clear --bin A --value gnats"

    assert rules_of(plan_of(tmp_path, log, date(2027, 2, 28))) == set()


def test_all_clear_of_a_bin_holds_for_a_lot_potted_out_of_it_since(tmp_path: Path) -> None:
    log = f"{ROOTED}\n2027-01-28 gnats 7a --count 9\n2027-02-01 potted 7a"

    assert "gnat_drench" in rules_of(plan_of(tmp_path, log, date(2027, 2, 2)))
    nursery = bench(tmp_path, f"{log}\n2027-02-28 all_clear --bin A --value gnats", date(2027, 2, 28))
    assert rules_of(planned(nursery)) == set()
    assert nursery.stock.lots["7a"].troubles == {}


def test_gnats_after_the_end_without_a_word_begin_it_anew(tmp_path: Path) -> None:
    log = f"{POTTED}\n2027-02-02 gnats --bin A --count 9\n2027-05-02 gnats --bin A --count 9"

    turns = of_rule(plan_of(tmp_path, log, date(2027, 5, 2)), "gnat_drench")

    assert min(each.earliest for each in turns) == date(2027, 5, 2)


# --- shut bags ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("way", ["larvicide", "nematodes", "drying"])
def test_a_shut_bag_without_roots_is_looked_through_and_never_wetted(tmp_path: Path, way: str) -> None:
    plan = plan_of(tmp_path, f"{STUCK}\n2027-01-20 gnats --bin A --count 30", date(2027, 1, 20), way, mat="20 C")

    assert rules_of(plan) == {"gnat_card_look", "gnat_cull", "gnat_clear"}
    assert look(plan, "7a.gnat_cull").every_days == 3


def test_from_the_first_opening_on_a_bag_is_drenched(tmp_path: Path) -> None:
    log = f"{ROOTED}\n2027-01-20 gnats --bin A --count 9"
    shut = plan_of(tmp_path, log, date(2027, 1, 28))
    opened = plan_of(tmp_path, f"{log}\n2027-01-28 opened 7a", date(2027, 1, 28))

    assert not [each for each in of_rule(shut, "gnat_drench") if each.earliest <= date(2027, 1, 28)]
    assert of_rule(opened, "gnat_drench")[0].earliest == date(2027, 1, 28)
    assert not has_task(opened, "7a.gnat_cull")


def test_rooted_bags_count_as_open_from_the_day_they_are_to_be_weaned(tmp_path: Path) -> None:
    plan = plan_of(tmp_path, f"{ROOTED}\n2027-01-27 gnats --bin A --count 9", date(2027, 1, 27))

    [first] = [each for each in plan.tasks if each.id == "7a.wean_loosen"]
    opens = first.earliest
    assert of_rule(plan, "gnat_drench")[0].earliest == opens
    assert look(plan, "7a.gnat_cull").end == opens - timedelta(days=1)


def test_pots_uncovered_open_no_bag_of_those_remaining(tmp_path: Path) -> None:
    log = f"{STUCK}\n2027-01-30 potted 7a --count 4\n2027-02-05 opened 7a\n2027-02-06 gnats --bin A --count 9"

    plan = plan_of(tmp_path, log, date(2027, 2, 6))

    assert {each.count for each in of_rule(plan, "gnat_drench")} == {4}  # the pots alone
    assert look(plan, "7a.gnat_cull").count == 8


# --- how often, until when ---------------------------------------------------------------------------------------


def test_a_warmer_mat_ends_it_sooner_and_a_cold_one_later(tmp_path: Path) -> None:
    ends = [
        all_clear(plan_of(tmp_path, f"{OPENED}\n2027-02-02 gnats --bin A", date(2027, 2, 2), mat=mat))
        for mat in ("25 C", "22 C", "18 C")
    ]

    # 28 days at 22 C, as published; 355.6 degree-days at 15.7 and at 8.7 degrees over the threshold.
    assert [(end - date(2027, 2, 2)).days for end in ends] == [23, 28, 41]


def test_a_power_cut_counts_from_its_day_on(tmp_path: Path) -> None:
    log = f"{OPENED}\n2027-02-02 gnats --bin A"
    warm = plan_of(tmp_path, log, date(2027, 2, 12), mat="22 C", air="15 C")
    cut = plan_of(tmp_path, f"{log}\n2027-02-12 mat --bin A --value off", date(2027, 2, 12), mat="22 C", air="15 C")

    # 10 of 28 days are over; the other 228.6 degree-days take 40.1 days at 5.7 degrees over the threshold.
    assert all_clear(warm) == date(2027, 3, 2)
    assert all_clear(cut) == date(2027, 2, 12) + timedelta(days=41)


def test_pots_stand_in_the_air_of_the_room_and_not_on_the_mat(tmp_path: Path) -> None:
    plan = plan_of(tmp_path, f"{POTTED}\n2027-02-02 gnats --bin A", date(2027, 2, 2), mat="25 C", air="22 C")

    assert all_clear(plan) == date(2027, 3, 2)


def test_in_mix_too_cold_for_gnats_to_grow_it_ends_all_the_same(tmp_path: Path) -> None:
    plan = plan_of(tmp_path, f"{POTTED}\n2027-02-02 gnats --bin A", date(2027, 2, 2), air="5 C")

    assert all_clear(plan) == date(2027, 2, 2) + timedelta(days=119)  # the longest cycle published, at 12.3 C


def test_a_lot_potted_later_is_drenched_at_once_and_then_keeps_step_with_the_others(tmp_path: Path) -> None:
    log = f"{POTTED}\n2027-01-05 received 8a --count 6 --stage rooting --bin A\n2027-02-02 gnats --bin A --count 9"
    plan = plan_of(tmp_path, f"{log}\n2027-02-08 potted 8a", date(2027, 2, 8))

    turns = of_rule(plan, "gnat_drench")

    own = sorted(each.earliest for each in turns if "8a" in each.lots)
    assert own[0] == date(2027, 2, 8)
    assert all((two - one).days <= 7 for one, two in pairwise(own))
    assert next(each.lots for each in turns if each.earliest > date(2027, 2, 16)) == ("7a", "8a")


def test_what_is_logged_as_treated_is_counted_from(tmp_path: Path) -> None:
    log = f"{POTTED}\n2027-02-02 gnats --bin A --count 9\n2027-02-04 treated 7a --value Bti"

    turns = of_rule(plan_of(tmp_path, log, date(2027, 2, 4)), "gnat_drench")

    assert turns[0].id == "A.gnat_drench.2"
    assert (turns[0].earliest, turns[0].latest) == (date(2027, 2, 9), date(2027, 2, 11))


# --- the nursery's way -------------------------------------------------------------------------------------------


def test_nematodes_are_refused_on_a_hot_mat_once_and_the_top_is_dried_instead(tmp_path: Path) -> None:
    plan = plan_of(tmp_path, f"{OPENED}\n2027-02-02 gnats --bin A", date(2027, 2, 2), "nematodes", mat="25.5 C")

    [warning] = [each for each in plan.warnings if each.kind == "refused"]
    told = warning_text(warning, date(2027, 2, 2))
    assert "bin A (7a)" in told
    assert "78 F (25.5 C), too hot" in told
    assert "60-70 F (15.5-21 C)" in told
    assert not of_rule(plan, "gnat_nematodes")
    assert task(plan, "A.gnat_dry.1").lots == ("7a",)


def test_too_few_gnats_to_act_on_are_no_reason_to_refuse_nematodes(tmp_path: Path) -> None:
    few = f"{OPENED}\n2027-02-02 gnats --bin A --count 1"

    plan = plan_of(tmp_path, few, date(2027, 2, 2), "nematodes", mat="25.5 C")

    assert not [each for each in plan.warnings if each.kind == "refused"]


def test_nematodes_go_into_pots_in_a_cool_room_before_larvae_of_the_first_turn_are_grown(tmp_path: Path) -> None:
    plan = plan_of(tmp_path, f"{POTTED}\n2027-02-02 gnats --bin A", date(2027, 2, 2), "nematodes", air="20 C")

    turns = sorted(of_rule(plan, "gnat_nematodes"), key=lambda each: each.earliest)

    # 10 days at 75 F are 146 degree-days: at 20 C a larva feeds 13.6 days, so 13 is the most.
    assert not [each for each in plan.warnings if each.kind == "refused"]
    assert {(two.latest - one.earliest).days for one, two in pairwise(turns)} == {13}


@pytest.mark.parametrize(("way", "wanted"), [("drying", {"gnat_dry"}), ("traps", {"gnat_traps"})])
def test_who_dries_or_traps_is_told_how_and_nothing_else(tmp_path: Path, way: str, wanted: set[str]) -> None:
    plan = plan_of(tmp_path, f"{OPENED}\n2027-02-02 gnats --bin A", date(2027, 2, 2), way)

    assert rules_of(plan) == {"gnat_card_look", "gnat_clear", *wanted}


# --- why ---------------------------------------------------------------------------------------------------------


def test_why_gives_warmth_days_spacing_last_adult_and_end(tmp_path: Path) -> None:
    plan = plan_of(tmp_path, f"{OPENED}\n2027-02-02 gnats --bin A --count 9", date(2027, 2, 2), mat="22 C")

    derivation = task(plan, "A.gnat_drench.1").derivation

    assert isinstance(derivation, GnatDays)
    told = " ".join(steps(derivation, "metric"))
    for part in ("9 on the card", "22 °C", "19.5 days", "28.0 days", "11.5 days", "every 5 days", "2 Mar"):
        assert part in told


# --- nothing contradictory on one day ----------------------------------------------------------------------------

STAGES = {
    "shut": STUCK,
    "green": f"{STUCK}\n2027-01-20 budbreak 7a --count 3",
    "in leaf": f"{STUCK}\n2027-01-20 leaves 7a --count 3",
    "rooted": ROOTED,
    "opened": f"{ROOTED}\n2027-01-27 opened 7a",
    "part potted": f"{ROOTED}\n2027-01-27 potted 7a --count 5",
    "potted": f"{ROOTED}\n2027-01-27 potted 7a",
}
# Of one lot on one day: what is said by the first, none of the others may say.
APART = {
    "mould_treat": {"mould_wipe", "mould_clear"},
    "gnat_cull": {"wean_loosen", "wean_half", "wean_open"},
    "gnat_drench": {"gnat_dry", "gnat_nematodes", "wet_bag", "gnat_clear"},
    "gnat_dry": {"dry_bag"},
}


@pytest.mark.parametrize("wet", ["wet 7a", "wet --bin A"])
def test_no_bag_found_too_wet_is_drenched_whether_the_lot_or_its_bin_was_named(tmp_path: Path, wet: str) -> None:
    seen = f"{OPENED}\n2027-02-02 gnats --bin A --count 9\n2027-02-02 {wet}"

    found = rules_of(plan_of(tmp_path, seen, date(2027, 2, 2)))

    assert "gnat_drench" not in found
    assert "gnat_dry" in found


@pytest.mark.parametrize("stage", STAGES)
@pytest.mark.parametrize("way", ["larvicide", "nematodes", "drying"])
def test_no_day_asks_for_two_things_that_contradict_each_other(tmp_path: Path, stage: str, way: str) -> None:
    troubles = "\n".join(
        f"2027-01-28 {name} 7a" for name in ("mould", "gnats") + (("wet",) if stage != "potted" else ())
    )

    plan = plan_of(tmp_path, f"{STAGES[stage]}\n{troubles}", date(2027, 1, 28), way)

    for each in plan.rounds:
        said = {line.rule.id for line in each.lines if not line.task or "7a" in line.task.lots}
        for name, others in APART.items():
            if stage == "part potted" and name in ("gnat_cull", "gnat_drench"):
                continue  # one line is about the pots or the bags to open, the other about shut bags, and says so
            assert name not in said or not said & others, f"{each.day}: {name} and {said & others}"


@pytest.mark.parametrize("stage", STAGES)
def test_copper_is_sprayed_only_before_leaf_and_green_is_wiped(tmp_path: Path, stage: str) -> None:
    plan = planned(bench(tmp_path, f"{STAGES[stage]}\n2027-01-28 mould 7a", date(2027, 1, 28)))

    in_bags, green = stage != "potted", stage != "shut"
    assert has_task(plan, "7a.mould_treat") == (in_bags and not green)
    assert has_task(plan, "7a.mould_wipe") == (in_bags and green)


def test_bags_are_looked_through_every_three_or_four_days_in_the_first_weeks_and_after_mould(tmp_path: Path) -> None:
    plan = planned(bench(tmp_path, f"{STUCK}\n2027-02-01 mould 7a", date(2027, 2, 1)))
    fresh = planned(bench(tmp_path, STUCK, date(2027, 1, 5)))

    first = [each.day for each in fresh.rounds if each.day <= date(2027, 1, 19)]
    again = [each.day for each in plan.rounds if each.day <= date(2027, 2, 13)]
    assert all((two - one).days <= 4 for one, two in pairwise(first))
    assert all((two - one).days <= 4 for one, two in pairwise(again))
    assert look(plan, "7a.mould_look").every_days == look(fresh, "7a.bag_look_first").every_days == 3


def test_rot_is_taken_out_and_the_rest_of_the_lot_looked_at_again(tmp_path: Path) -> None:
    plan = planned(bench(tmp_path, f"{STUCK}\n2027-01-28 rot 7a", date(2027, 1, 28)))

    assert has_task(plan, "7a.rot")
    assert look(plan, "7a.rot_look").every_days == 3
