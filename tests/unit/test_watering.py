"""Water: by weight where a bag or pot is weighed, by the plain looks where not, none while it is too wet."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from almanac.forecast.drying import Drying, drying
from almanac.nursery.events import EVENTS
from almanac.nursery.lots import Weighing
from almanac.plan.care.programmes.watering import Weighed
from almanac.plan.model import Plan
from almanac.rulebook.load import load_rules
from almanac.rulebook.programmes.watering import Watering
from almanac.terminal.why import why_text
from almanac.units import parse
from almanac.words.why import find
from tests.nurseries import bench
from tests.sizes import examples
from tests.unit.given import has_task, look, planned, published, task

IN_LEAF = (
    "2027-01-05 received 7a --count 12 --stage rooting --bin A\n2027-01-25 roots 7a --count 2\n2027-01-28 leaves 7a"
)
POTTED = "2027-02-01 received 7a --count 9 --stage pot"
DAILY = 'bench_days = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"]'
BOOK, FAULTS = load_rules(None, EVENTS)
assert BOOK is not None, FAULTS
RULES = BOOK.programme(Watering)
START = date(2027, 2, 1)


def weighed(*weights: tuple[str, str], lot: str = "7a") -> str:
    """Lines of the logbook: weights by date."""
    return "\n".join(f"{day} weighed {lot} --value '{weight}'" for day, weight in weights)


def plan_of(folder: Path, log: str, today: str, units: str = "metric") -> Plan:
    return planned(bench(folder, log, date.fromisoformat(today), week=DAILY, units=units))


def has_look(plan: Plan, name: str) -> bool:
    return any(each.id == name for each in plan.looks)


def why(folder: Path, log: str, today: str, name: str, units: str = "metric") -> str:
    """What `stickdate why` prints, its lines joined."""
    nursery = bench(folder, log, date.fromisoformat(today), week=DAILY, units=units)
    plan = planned(nursery)
    return " ".join(why_text(find(name, plan), plan, nursery).split())


FALLING = weighed(("2027-02-01", "400 g"), ("2027-02-05", "392 g"), ("2027-02-09", "384 g"))
LOST = weighed(("2027-02-01", "400 g"), ("2027-02-03", "390 g"), ("2027-02-05", "380 g"), ("2027-02-07", "370 g"))


# --- a date by weight --------------------------------------------------------------------------------------------


def test_three_weighings_on_a_line_give_the_day_on_which_half_the_water_is_gone(tmp_path: Path) -> None:
    # 2 g a day; of 400 g 35 % is water for the plant, and half of that, 70 g, is gone after 35 days.
    found = task(plan_of(tmp_path, f"{IN_LEAF}\n{FALLING}", "2027-02-09"), "7a.water")

    assert (found.earliest, found.due, found.latest) == (date(2027, 3, 8),) * 3
    assert found.count == 12


def test_weights_off_the_line_widen_the_window(tmp_path: Path) -> None:
    uneven = weighed(("2027-02-01", "400 g"), ("2027-02-04", "386 g"), ("2027-02-07", "368 g"), ("2027-02-10", "357 g"))

    found = task(plan_of(tmp_path, f"{IN_LEAF}\n{uneven}", "2027-02-10"), "7a.water")

    assert found.earliest < found.due < found.latest


def test_a_weighed_lot_is_told_its_water_once(tmp_path: Path) -> None:
    plan = plan_of(tmp_path, f"{IN_LEAF}\n2027-01-30 watered 7a\n{LOST}", "2027-02-07")

    assert task(plan, "7a.water").due == date(2027, 2, 13)
    assert not has_task(plan, "7a.first_water")
    assert look(plan, "7a.water_again").start == date(2027, 2, 13)  # as if watered then


def test_a_bag_dated_by_weight_is_not_told_its_first_water_too(tmp_path: Path) -> None:
    plan = plan_of(tmp_path, f"{IN_LEAF}\n{LOST}", "2027-02-07")

    assert has_task(plan, "7a.water")
    assert not has_task(plan, "7a.first_water")


def test_fresh_damp_mix_on_the_day_leaves_came_stands_for_the_first_water(tmp_path: Path) -> None:
    assert has_task(plan_of(tmp_path, IN_LEAF, "2027-02-01"), "7a.first_water")
    assert not has_task(plan_of(tmp_path, f"{IN_LEAF}\n2027-01-28 rebagged 7a", "2027-02-01"), "7a.first_water")


def test_a_weighed_bag_found_dry_is_watered_at_once_and_has_no_other_day_for_it(tmp_path: Path) -> None:
    plan = plan_of(tmp_path, f"{IN_LEAF}\n{LOST}\n2027-02-08 dry 7a", "2027-02-08")

    asks = {each.rule.id for each in plan.tasks if "7a" in each.lots} | {each.rule.id for each in plan.looks}
    assert "dry_water" in asks
    assert not asks & {"water", "first_water", "water_again", "dry_bag"}


def test_a_bag_watered_once_and_found_wet_is_not_looked_at_for_its_next_water(tmp_path: Path) -> None:
    watered = f"{IN_LEAF}\n2027-01-30 watered 7a"

    assert has_look(plan_of(tmp_path, watered, "2027-02-06"), "7a.water_again")
    assert not has_look(plan_of(tmp_path, f"{watered}\n2027-02-06 wet 7a", "2027-02-06"), "7a.water_again")


def test_two_weighings_are_not_enough(tmp_path: Path) -> None:
    two = weighed(("2027-02-01", "400 g"), ("2027-02-05", "392 g"))

    plan = plan_of(tmp_path, f"{IN_LEAF}\n{two}", "2027-02-05")

    assert not has_task(plan, "7a.water")
    assert has_task(plan, "7a.first_water")


def test_the_next_weighing_comes_half_way_to_the_date(tmp_path: Path) -> None:
    found = task(plan_of(tmp_path, f"{IN_LEAF}\n{FALLING}", "2027-02-09"), "7a.weigh")

    assert found.earliest <= date(2027, 2, 22) <= found.latest < date(2027, 3, 8)
    assert found.latest - found.earliest == timedelta(days=3)


def test_a_bag_light_already_is_to_be_watered_on_the_day_it_was_weighed(tmp_path: Path) -> None:
    light = f"{LOST}\n" + weighed(("2027-02-16", "325 g"))

    found = task(plan_of(tmp_path, f"{IN_LEAF}\n{light}", "2027-02-16"), "7a.water")

    assert found.due == date(2027, 2, 16)
    assert not has_task(plan_of(tmp_path, f"{IN_LEAF}\n{light}", "2027-02-16"), "7a.weigh")


def test_the_scales_unit_makes_no_difference(tmp_path: Path) -> None:
    ounces = weighed(("2027-02-01", "14.1096 oz"), ("2027-02-05", "0.392 kg"), ("2027-02-09", "0.84658 lb"))

    found = task(plan_of(tmp_path, f"{IN_LEAF}\n{ounces}", "2027-02-09"), "7a.water")

    assert found.due in (date(2027, 3, 7), date(2027, 3, 8))


def test_weights_are_shown_in_the_nurserys_units(tmp_path: Path) -> None:
    told = why(tmp_path, f"{IN_LEAF}\n{FALLING}", "2027-02-09", "7a.water", units="us")

    assert "Due when the sample bag weighs 11.6 oz." in told
    assert "5 Feb: 13.8 oz" in told
    assert " g " not in told


def test_why_shows_weighings_slope_share_and_date(tmp_path: Path) -> None:
    told = why(tmp_path, f"{IN_LEAF}\n{LOST}", "2027-02-07", "7a.water")

    assert "1 Feb: 400 g" in told
    assert "7 Feb: 370 g" in told
    assert "Line through the last 4: it loses 5.0 g a day, give or take 0.0 g (standard error)." in told
    assert "50% of that is gone, at 330 g" in told
    assert "The line is down to that on 15 Feb: 9 in 10 not before 15 Feb, 9 in 10 by 15 Feb." in told


def test_what_was_weighed_before_roots_and_leaf_sets_the_full_weight_and_not_the_rate(tmp_path: Path) -> None:
    before = weighed(("2027-01-06", "400 g"), ("2027-01-12", "400 g"), ("2027-01-19", "399 g"))
    after = weighed(("2027-02-01", "398 g"), ("2027-02-03", "388 g"), ("2027-02-05", "378 g"))

    received, *signs = IN_LEAF.splitlines()

    told = why(tmp_path, "\n".join([received, before, *signs, after]), "2027-02-05", "7a.water")

    assert "loses 5.0 g a day" in told
    assert "Full weight 400 g" in told
    assert "12 Jan: 400 g (not in the line)" in told


def test_pots_have_their_day_too_and_their_look_goes_on_without_the_water(tmp_path: Path) -> None:
    plain = plan_of(tmp_path, POTTED, "2027-02-07")
    told = plan_of(tmp_path, f"{POTTED}\n{LOST}", "2027-02-07")

    assert task(told, "7a.water").due == date(
        2027, 2, 17
    )  # of 400 g 40 % is for the plant, half of it 80 g, at 5 g a day
    assert (
        look(told, "7a.pot_water").start == look(told, "7a.pot_leaves").end == date(2027, 2, 17)
    )  # looked for again after
    assert look(told, "7a.pot_leaves").every_days == look(plain, "7a.pot_water").every_days


def test_bags_weighed_say_nothing_of_the_pots_they_went_into(tmp_path: Path) -> None:
    plan = plan_of(tmp_path, f"{IN_LEAF}\n{LOST}\n2027-02-08 potted 7a", "2027-02-08")

    assert not has_task(plan, "7a.water")
    assert not has_task(plan, "7a.weigh")
    assert has_look(plan, "7a.pot_water")


# --- a new run ---------------------------------------------------------------------------------------------------


def test_after_watering_a_new_count_begins_from_the_new_full_weight(tmp_path: Path) -> None:
    log = f"{IN_LEAF}\n{LOST}\n2027-02-15 watered 7a\n" + weighed(
        ("2027-02-15", "420 g"), ("2027-02-17", "400 g"), ("2027-02-19", "380 g")
    )

    found = task(plan_of(tmp_path, log, "2027-02-19"), "7a.water")

    assert found.due == date(2027, 2, 22)  # 73.5 g at 10 g a day
    assert not has_task(plan_of(tmp_path, f"{IN_LEAF}\n{LOST}\n2027-02-15 watered 7a", "2027-02-15"), "7a.water")


def test_the_rate_before_the_watering_is_a_first_guess_of_when_to_weigh_again(tmp_path: Path) -> None:
    log = f"{IN_LEAF}\n{LOST}\n2027-02-15 watered 7a\n" + weighed(("2027-02-15", "420 g"))

    plan = plan_of(tmp_path, log, "2027-02-15")

    weigh = task(plan, "7a.weigh")  # half of the 14 days that 73.5 g last at 5 g a day
    assert (weigh.earliest, weigh.latest) == (date(2027, 2, 21), date(2027, 2, 24))
    assert not has_task(plan, "7a.water")
    assert has_look(plan, "7a.water_again")


def test_a_pot_first_weighed_days_after_its_watering_is_dated_from_the_weight_it_had_then(tmp_path: Path) -> None:
    potted = POTTED.replace("02-01", "01-20")
    log = f"{potted}\n2027-01-28 watered 7a\n{LOST}"  # 5 g a day: 420 g on 28 January, and 84 g are for the plant

    assert task(plan_of(tmp_path, log, "2027-02-07"), "7a.water").due == date(2027, 2, 13)
    assert "Not weighed on 28 Jan" in why(tmp_path, log, "2027-02-07", "7a.water")


@pytest.mark.parametrize("order", ["watered first", "weighed first"])
def test_a_weighing_on_the_day_of_watering_is_of_the_watered_bag_if_it_is_heavier(tmp_path: Path, order: str) -> None:
    wet = ["2027-02-15 watered 7a", weighed(("2027-02-15", "420 g"))]
    lines = wet if order == "watered first" else wet[::-1]
    after = weighed(("2027-02-17", "400 g"), ("2027-02-19", "380 g"))

    found = task(plan_of(tmp_path, "\n".join([IN_LEAF, LOST, *lines, after]), "2027-02-19"), "7a.water")

    assert found.due == date(2027, 2, 22)


def test_a_bag_heavier_without_a_watering_logged_is_taken_as_watered_and_said_so(tmp_path: Path) -> None:
    log = f"{IN_LEAF}\n{LOST}\n" + weighed(("2027-02-15", "420 g"))

    plan = plan_of(tmp_path, log, "2027-02-15")

    assert not has_task(plan, "7a.water")
    assert not has_task(plan, "7a.first_water")
    assert look(plan, "7a.water_again").start == date(2027, 2, 15)
    told = why(tmp_path, log, "2027-02-15", "7a.weigh")
    assert "Heavier on 15 Feb with no watering logged: taken as watered then." in told


# --- weights that mean nothing -----------------------------------------------------------------------------------

GARBAGE = {
    "no weight lost": (("400 g", "400 g", "400 g", "400 g"), "it does not get lighter for sure."),
    "creeping up": (("400 g", "404 g", "409 g", "415 g"), "it does not get lighter for sure."),
    "to and fro": (("400 g", "385 g", "398 g", "387 g"), "it does not get lighter for sure."),
    "another bag": (("4000 g", "392 g", "384 g", "376 g"), "392 g on 3 Feb is too light for this bag"),
    "nothing": (("400 g", "392 g", "0 g"), "0 g on 5 Feb is too light for this bag"),
    "next to nothing lost": (("400.0 g", "399.9 g", "399.8 g", "399.7 g"), "so slow that it lasts over 30 days more."),
    "one far off": (("400 g", "392 g", "352 g", "369 g", "368 g"), "352 g on 5 Feb does not fit the others"),
    "the first one far off": (("484 g", "376 g", "368 g", "360 g"), "484 g on 1 Feb does not fit the others"),
}


@pytest.mark.parametrize("case", GARBAGE)
def test_weights_that_mean_nothing_leave_it_to_the_plain_rule_and_say_why(tmp_path: Path, case: str) -> None:
    weights, reason = GARBAGE[case]
    days = ("2027-02-01", "2027-02-03", "2027-02-05", "2027-02-07", "2027-02-09")
    log = f"{IN_LEAF}\n" + weighed(*zip(days, weights, strict=False))

    plan = plan_of(tmp_path, log, "2027-02-09")

    assert not has_task(plan, "7a.water")
    assert has_task(plan, "7a.first_water")
    told = why(tmp_path, log, "2027-02-09", "7a.first_water")
    assert f"No date by weight: {reason}" in told
    assert told.count("No date by weight") == 1


def test_who_asks_for_the_water_of_a_lot_without_a_date_is_told_why_there_is_none(tmp_path: Path) -> None:
    told = why(tmp_path, f"{POTTED}\n{weighed(('2027-02-01', '400 g'))}", "2027-02-02", "7a.water")

    assert "1 of the 3 weighings that give a date." in told


def test_weights_gone_stale_are_forgotten(tmp_path: Path) -> None:
    log = f"{POTTED}\n{LOST}"  # due on 17 February

    in_time, stale = plan_of(tmp_path, log, "2027-02-27"), plan_of(tmp_path, log, "2027-02-28")

    assert has_task(in_time, "7a.water")
    assert look(in_time, "7a.pot_water").start == date(2027, 2, 17)
    assert not {each.rule.id for each in stale.tasks} & {"water", "weigh"}
    assert look(stale, "7a.pot_water").start == date(2027, 2, 1)
    assert not has_look(stale, "7a.pot_leaves")


# --- no water before its time ------------------------------------------------------------------------------------


def test_a_weighed_bag_without_roots_and_leaf_gets_no_date(tmp_path: Path) -> None:
    leafless = "\n".join(IN_LEAF.splitlines()[:2])

    plan = plan_of(tmp_path, f"{leafless}\n{LOST}", "2027-02-07")

    assert not has_task(plan, "7a.water")
    assert not has_task(plan, "7a.weigh")


@pytest.mark.parametrize("where", ["7a", "--bin A"])
@pytest.mark.parametrize("weights", ["", LOST])
def test_a_wet_bag_gets_no_water_until_it_is_logged_dry_again(tmp_path: Path, where: str, weights: str) -> None:
    log = f"{IN_LEAF}\n{weights}\n2027-02-08 wet {where}"

    wet = plan_of(tmp_path, log, "2027-02-08")
    cleared = plan_of(tmp_path, f"{log}\n2027-02-12 all_clear {where}", "2027-02-12")
    fresh = plan_of(tmp_path, f"{log}\n2027-02-12 rebagged 7a", "2027-02-12")

    asks = ("7a.water", "7a.first_water")
    assert not any(has_task(wet, name) for name in asks)
    assert has_look(wet, "7a.wet_look")
    assert has_task(cleared, "7a.water" if weights else "7a.first_water")
    assert not has_look(cleared, "7a.wet_look")
    assert not has_task(fresh, "7a.first_water")
    assert look(fresh, "7a.water_again").start == date(2027, 2, 12)  # fresh mix is damp


def test_a_dry_bag_that_drinks_is_watered_and_one_without_roots_gets_a_spoonful(tmp_path: Path) -> None:
    leafless = IN_LEAF.splitlines()[0]

    drinks = plan_of(tmp_path, f"{IN_LEAF}\n2027-02-08 dry 7a", "2027-02-08")
    rootless = plan_of(tmp_path, f"{leafless}\n2027-02-08 dry 7a", "2027-02-08")
    watered = plan_of(tmp_path, f"{IN_LEAF}\n2027-02-08 dry 7a\n2027-02-09 watered 7a", "2027-02-09")

    assert has_task(drinks, "7a.dry_water")
    assert not has_task(drinks, "7a.dry_bag")
    assert not has_task(drinks, "7a.first_water")
    assert has_task(rootless, "7a.dry_bag")
    assert not has_task(rootless, "7a.dry_water")
    assert not has_task(watered, "7a.dry_water")
    assert has_look(watered, "7a.water_again")


# --- who does not weigh ------------------------------------------------------------------------------------------


def test_weighings_that_were_undone_leave_no_trace_in_the_plan(tmp_path: Path) -> None:
    plain = f"{IN_LEAF}\n2027-02-09 looked 7a"
    undone = f"{IN_LEAF}\n{FALLING}\n" + "\n".join(f"2027-02-09 void --refers r{n}" for n in (4, 5, 6))

    before = plan_of(tmp_path, plain, "2027-02-09")
    after = plan_of(tmp_path, f"{undone}\n2027-02-09 looked 7a", "2027-02-09")

    assert [(t.id, t.earliest, t.due, t.latest) for t in before.tasks] == [
        (t.id, t.earliest, t.due, t.latest) for t in after.tasks
    ]
    assert before.looks == after.looks
    assert [each.day for each in before.rounds] == [each.day for each in after.rounds]


def test_nobody_is_asked_to_weigh_who_has_not_weighed(tmp_path: Path) -> None:
    for log in (IN_LEAF, f"{IN_LEAF}\n2027-02-05 watered 7a", POTTED):
        plan = plan_of(tmp_path, log, "2027-02-09")

        assert not {each.rule.id for each in plan.tasks} & {"water", "weigh"}


def test_lots_watered_on_one_day_share_an_entry_and_each_keeps_its_weight(tmp_path: Path) -> None:
    other = IN_LEAF.replace("7a", "8a") + "\n" + LOST.replace("7a", "8a").replace("400", "401").replace("380", "381")
    nursery = bench(tmp_path, f"{IN_LEAF}\n{LOST}\n{other}", date(2027, 2, 7), week=DAILY)
    plan = planned(nursery)

    shared = task(plan, "7a.water")
    told, own = (" ".join(why_text(find(name, plan), plan, nursery).split()) for name in (shared.id, "7a.water"))

    if shared.lots == ("7a", "8a"):
        assert "330 g (7a), 331 g (8a)" in told
        assert "8a: 1 Feb: 401 g" in told
        assert "330 g" in own
        assert "331 g" not in own, "asked of one lot it answers for that lot"
        assert f"In the calendar with 8a, on Mon 15 Feb: stickdate why {shared.id}" in own


def test_a_morning_on_which_nothing_was_logged_moves_no_water(tmp_path: Path) -> None:
    log = f"{IN_LEAF}\n{LOST}"

    first = plan_of(tmp_path, log, "2027-02-07")
    nursery = bench(tmp_path, log, date(2027, 2, 8), week=DAILY)
    second = planned(nursery, published(first, date(2027, 2, 8)))

    assert task(first, "7a.water").due == task(second, "7a.water").due
    assert task(first, "7a.weigh").due == task(second, "7a.weigh").due


# --- always ------------------------------------------------------------------------------------------------------


def run(grams: list[float], days: list[int], as_of: int = 0) -> Drying:
    """What a bag weighed on some days after it was watered comes to."""
    items = [
        Weighing(day=START + timedelta(days=n), grams=weight, stage="rooting", run=START)
        for n, weight in zip(days, grams, strict=True)
    ]
    return drying(items, START, START, RULES.bag, RULES, START + timedelta(days=max(days) + as_of))


@given(full=st.integers(150, 3000), wait=st.integers(8, 30), days=st.sets(st.integers(1, 8), min_size=2, max_size=8))
@pytest.mark.long
@settings(max_examples=examples(200))
def test_weights_on_a_line_give_its_very_day_and_more_of_them_the_same(full: int, wait: int, days: set[int]) -> None:
    rate = full * RULES.bag.available * RULES.bag.gone / wait
    ordered = [0, *sorted(days)]

    for count in range(RULES.least, len(ordered) + 1):
        found = run([full - rate * n for n in ordered[:count]], ordered[:count])

        assert found.days == (START + timedelta(days=wait),) * 3


@given(
    grams=st.lists(st.floats(100, 2000), min_size=3, max_size=9),
    unit=st.sampled_from(["g", "kg", "oz", "lb"]),
)
@pytest.mark.long
@settings(max_examples=examples(200))
def test_whatever_the_weights_and_the_unit_the_answer_is_a_day_or_a_reason(grams: list[float], unit: str) -> None:
    days = [2 * n for n in range(len(grams))]
    size = parse(f"1 {unit}", "mass")

    found, scaled = run(grams, days), run([each * size for each in grams], days)

    assert (found.days is None) != (found.doubt is None)
    assert found.doubt == scaled.doubt
    if found.days and scaled.days:
        assert START + timedelta(days=days[-1]) <= found.days[0] <= found.days[1] <= found.days[2]
        assert all(abs((a - b).days) <= 1 for a, b in zip(found.days, scaled.days, strict=True))
        assert found.days[1] <= START + timedelta(days=days[-1] + round(RULES.ahead))


def test_the_figures_behind_an_entry_are_its_own_lots(tmp_path: Path) -> None:
    found = task(plan_of(tmp_path, f"{IN_LEAF}\n{LOST}", "2027-02-07"), "7a.water").derivation

    assert isinstance(found, Weighed)
    assert [item.grams for item in found.drying.weighings] == [400, 390, 380, 370]
