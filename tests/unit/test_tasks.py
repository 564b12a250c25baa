"""What there is to do: the tasks of a lot, a bin or a crop, when their windows open and close, and what ends them."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from itertools import count, pairwise
from pathlib import Path
from typing import Any

import pytest

from almanac.plan.ids import EntryId
from almanac.plan.model import Plan
from almanac.plan.past import Past
from tests.journeys.year import Year
from tests.nurseries import SOUTHERN_FROST, bench
from tests.unit.given import has_task, look, of_rule, planned, published, task

STUCK = "2027-01-05 received 7a --count 12 --stage rooting --bin A"
READY = f"{STUCK}\n2027-02-16 well_rooted 7a --count 6"


def ids(plan: Plan, lot: str) -> set[str]:
    """The rules of the tasks that concern a lot."""
    return {each.rule.id for each in plan.tasks if lot in each.lots}


# --- windows open and close --------------------------------------------------------------------------------------


def test_potting_up_stays_open_while_part_of_the_lot_is_in_its_bags(tmp_path: Path) -> None:
    log = f"{READY}\n2027-02-19 potted 7a --count 5"

    found = task(planned(bench(tmp_path, log, date(2027, 2, 20))), "7a.pot_up")

    assert found.count == 7
    assert found.latest > date(2027, 2, 20)


def test_potting_up_closes_when_no_bag_is_left(tmp_path: Path) -> None:
    log = f"{READY}\n2027-02-19 potted 7a --count 5\n2027-02-20 died 7a --count 7 --stage rooting --value rot"

    plan = planned(bench(tmp_path, log, date(2027, 2, 21)))

    assert not has_task(plan, "7a.pot_up")
    assert "first_feed" in ids(plan, "7a")


def test_a_lot_in_store_is_neither_looked_through_for_roots_nor_potted_up(tmp_path: Path) -> None:
    plan = planned(bench(tmp_path, "2027-01-05 taken 7a --count 12", date(2027, 1, 6)))

    assert ids(plan, "7a") == {"offer", "last_post", "store_limit"}
    assert {each.rule.id for each in plan.looks} == {"store_look", "store_look_late"}


def test_of_a_lot_that_is_all_gone_nothing_is_left_to_do(tmp_path: Path) -> None:
    plan = planned(bench(tmp_path, f"{STUCK}\n2027-01-09 gave 7a --count 12", date(2027, 1, 10)))

    assert ids(plan, "7a") == set()
    assert plan.looks == ()
    assert plan.rounds == ()


def test_a_window_counted_from_a_forecast_opens_early_and_closes_late(tmp_path: Path) -> None:
    waiting = task(planned(bench(tmp_path, STUCK, date(2027, 1, 6))), "7a.pot_up")
    seen = task(planned(bench(tmp_path, READY, date(2027, 2, 16))), "7a.pot_up")

    assert waiting.latest - waiting.earliest > seen.latest - seen.earliest


def test_no_window_opens_before_what_it_counts_from_may_come(tmp_path: Path) -> None:
    plan = planned(bench(tmp_path, f"{STUCK}\n2027-01-06 taken 8a --count 9", date(2027, 1, 6)))

    for each in plan.tasks:
        if each.milestone and each.milestone.window and each.rule.kind != "deadline":
            assert each.earliest >= each.milestone.window[0], each.id


@pytest.mark.parametrize("month", range(1, 13))
def test_every_task_is_due_in_its_window_on_a_bench_day_at_home_where_there_is_one(tmp_path: Path, month: int) -> None:
    today = date(2027, month, 20)
    week = 'bench_days = ["tue", "sat"]\naway = [ { from = 2027-03-10, to = 2027-03-21 } ]'
    log = f"{READY}\n2027-01-06 taken 8a --count 9" if month > 2 else "2027-01-06 taken 8a --count 9"

    for each in planned(bench(tmp_path, log, today, week=week)).tasks:
        assert each.earliest <= each.due <= each.latest or each.rule.kind == "deadline", each.id
        if each.rule.kind == "window" and each.latest >= today:
            assert each.due >= today, each.id
            days = [each.earliest + timedelta(days=n) for n in range((each.latest - each.earliest).days + 1)]
            home = [d for d in days if d >= today and not date(2027, 3, 10) <= d <= date(2027, 3, 21)]
            assert each.due in home or not home, each.id
            assert each.due.weekday() in (1, 5) or not any(d.weekday() in (1, 5) for d in home), each.id


# --- what is done is gone ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("before", "done", "gone"),
    [
        (f"{STUCK}\n2027-01-25 roots 7a\n2027-01-25 leaves 7a", "2027-02-03 watered 7a", "7a.first_water"),
        (f"{STUCK}\n2027-01-25 roots 7a\n2027-01-25 leaves 7a", "2027-02-02 opened 7a", "7a.wean_loosen"),
        (f"{STUCK}\n2027-02-16 potted 7a", "2027-03-10 fed 7a", "7a.first_feed"),
        (f"{STUCK}\n2027-02-16 potted 7a", "2027-02-23 opened 7a", "7a.uncover"),
        (f"{STUCK}\n2027-01-25 mould 7a", "2027-01-26 treated 7a --value copper", "7a.mould_treat"),
        (f"{STUCK}\n2027-01-25 mould 7a", "2027-01-26 all_clear 7a --value mould", "7a.mould_clear"),
        (f"{STUCK}\n2027-01-25 rot 7a", "2027-01-25 died 7a --count 1 --value rot", "7a.rot"),
        (f"{STUCK}\n2027-01-25 dry 7a", "2027-01-26 all_clear 7a", "7a.dry_bag"),
        (f"{STUCK}\n2027-01-25 leaves 7a", "2027-01-25 lamp --bin A --value '16 h'", "A.lamp_on"),
        (f"{STUCK}\n2027-01-25 leaves 7a", "2027-01-26 roots 7a", "7a.leaf_no_root"),
        ("2027-01-06 taken 7a --count 9", "2027-01-20 stuck 7a --bin A", "7a.store_limit"),
        ("2027-01-06 taken 7a --count 9\n2027-02-01 pushing 7a", "2027-02-02 stuck 7a --bin A", "7a.pushing_store"),
    ],
)
def test_what_is_logged_as_done_is_no_longer_asked_for(tmp_path: Path, before: str, done: str, gone: str) -> None:
    day = date.fromisoformat(done.split()[0])

    assert has_task(planned(bench(tmp_path, before, day)), gone)
    assert not has_task(planned(bench(tmp_path, f"{before}\n{done}", day)), gone)


def test_an_all_clear_of_one_trouble_leaves_the_other(tmp_path: Path) -> None:
    log = f"{STUCK}\n2027-01-20 mould 7a\n2027-01-20 gnats --bin A\n2027-01-22 all_clear 7a --value mould"

    plan = planned(bench(tmp_path, log, date(2027, 1, 22)))

    assert not has_task(plan, "7a.mould_clear")
    assert has_task(plan, "A.gnat_clear")


def test_mould_in_the_bin_and_later_in_a_lot_of_it_is_looked_after_from_the_later_day(tmp_path: Path) -> None:
    log = f"{STUCK}\n2027-01-10 mould --bin A\n2027-01-16 mould 7a"

    assert look(planned(bench(tmp_path, log, date(2027, 1, 16))), "7a.mould_look").start == date(2027, 1, 16)


def test_a_task_of_one_bin_does_not_end_by_what_is_logged_of_another(tmp_path: Path) -> None:
    log = (
        f"{STUCK}\n2027-01-05 received 8a --count 3 --stage rooting --bin B\n"
        "2027-01-20 leaves 7a\n2027-01-20 leaves 8a\n2027-01-20 lamp --bin A --value '16 h'"
    )

    plan = planned(bench(tmp_path, log, date(2027, 1, 21), bins="AB"))

    assert not has_task(plan, "A.lamp_on")
    assert has_task(plan, "B.lamp_on")


def test_the_earliest_lot_of_a_bin_says_when_its_lamp_goes_on(tmp_path: Path) -> None:
    log = f"{STUCK}\n2027-01-20 received 8a --count 3 --stage rooting --bin A\n2027-01-24 leaves 7a"

    found = task(planned(bench(tmp_path, log, date(2027, 1, 24))), "A.lamp_on")

    assert found.earliest == date(2027, 1, 24)


# --- leaves and roots --------------------------------------------------------------------------------------------


def test_a_lot_in_leaf_without_roots_gets_a_word_to_wait_and_no_earlier_potting(tmp_path: Path) -> None:
    leafless = planned(bench(tmp_path, f"{STUCK}\n2027-01-20 looked 7a", date(2027, 1, 20)))
    in_leaf = planned(bench(tmp_path, f"{STUCK}\n2027-01-20 leaves 7a", date(2027, 1, 20)))

    assert not has_task(leafless, "7a.leaf_no_root")
    assert has_task(in_leaf, "7a.leaf_no_root")
    assert task(in_leaf, "7a.pot_up").earliest == task(leafless, "7a.pot_up").earliest


def test_a_lot_past_its_95_percent_day_gets_a_task_to_find_out_why(tmp_path: Path) -> None:
    log = f"{STUCK}\n2027-02-09 looked 7a"

    plan = planned(bench(tmp_path, log, date(2027, 2, 9)))

    roots = plan.milestones["7a"]["roots"]
    assert roots.overdue(date(2027, 2, 9))
    assert task(plan, "7a.late_roots").earliest == roots.overdue_on


# --- gnats -------------------------------------------------------------------------------------------------------


def test_against_gnats_pots_are_drenched_but_never_a_bag_that_is_rooting(tmp_path: Path) -> None:
    log = f"{STUCK}\n2027-01-05 received 8a --count 6 --stage pot\n2027-01-20 gnats 7a\n2027-01-20 gnats 8a"

    plan = planned(bench(tmp_path, log, date(2027, 1, 20)))

    assert "gnat_drench" in ids(plan, "8a")
    assert "gnat_drench" not in ids(plan, "7a")
    assert look(plan, "7a.gnat_cull").bin == "A"


def test_drenches_follow_one_another_within_a_generation_and_count_from_the_last_one_done(tmp_path: Path) -> None:
    log = "2027-01-05 received 8a --count 6 --stage pot\n2027-01-20 gnats 8a"

    fresh = planned(bench(tmp_path, log, date(2027, 1, 20)))
    late = planned(bench(tmp_path, f"{log}\n2027-01-22 treated 8a --value Bti", date(2027, 1, 22)))

    turns, after = of_rule(fresh, "gnat_drench"), of_rule(late, "gnat_drench")
    every = 5  # days that Bti lasts; larvae in pots at 20 C feed for 13
    assert turns[0].earliest == date(2027, 1, 20)
    assert {(two.earliest - one.earliest).days for one, two in pairwise(turns)} == {every}
    assert after[0].earliest == date(2027, 1, 22) + timedelta(days=every)
    assert turns[-1].earliest - date(2027, 1, 20) <= timedelta(days=34)  # 355.6 degree-days at 10.7 over the threshold


# --- selling -----------------------------------------------------------------------------------------------------


def test_protected_varieties_are_never_offered_for_sale(tmp_path: Path) -> None:
    wood = "2027-01-05 taken 7a --count 9\n2027-01-05 taken 9a --count 9"
    plants = "2027-05-20 received 7a --count 3 --stage outside\n2027-05-20 received 9a --count 3 --stage outside"

    winter = planned(bench(tmp_path, wood, date(2027, 1, 6)))
    spring = planned(bench(tmp_path, plants, date(2027, 5, 21)))

    assert [lot for each in winter.tasks if each.feed == "sales" for lot in each.lots] == ["7a", "7a"]
    assert [lot for each in spring.tasks if each.feed == "sales" for lot in each.lots] == ["7a"]
    assert task(winter, "9a.store_limit").protected == ("9a",)


def test_who_does_not_sell_is_asked_to_sell_nothing(tmp_path: Path) -> None:
    plan = planned(
        bench(tmp_path, "2027-01-05 taken 7a --count 9", date(2027, 1, 6), sale="dormant = false\nrooted = false")
    )

    assert not [each for each in plan.tasks if each.feed == "sales"]


def last_post_when_latest_is(folder: Path, wanted: date, **files: Any) -> date:
    """The day of the last post of a lot whose wood, three days on the way, arrives in time if sent by a certain day."""
    arrives, taken = wanted + timedelta(days=3), wanted - timedelta(days=70)
    for _ in range(9):  # wood keeps about as long whenever it is taken
        plan = planned(bench(folder, f"{taken} taken 7a --count 9", taken, **files))
        [offer], [last_post] = of_rule(plan, "offer"), of_rule(plan, "last_post")
        if offer.latest == arrives:
            assert last_post.latest == last_post.due  # what every screen says is a day on which post goes
            return last_post.due
        taken += arrives - offer.latest
    raise AssertionError("no lot has its last post then")


def test_the_last_post_goes_on_a_post_day_before_a_public_holiday(tmp_path: Path) -> None:
    # Monday 15 February 2027 is the third of the month: Washington's Birthday, 5 U.S.C. 6103(a).
    found = last_post_when_latest_is(tmp_path, date(2027, 2, 15))

    assert found == date(2027, 2, 10)  # Wednesday: post goes from Monday to Wednesday


def test_where_that_monday_is_no_holiday_the_post_goes(tmp_path: Path) -> None:
    # No holiday of the Federal Republic falls in February (laws of the Länder; from memory).
    assert last_post_when_latest_is(tmp_path, date(2027, 2, 15), country="DE") == date(2027, 2, 15)


def test_from_thursday_to_sunday_the_last_post_was_wednesdays(tmp_path: Path) -> None:
    for day in (4, 5, 6, 7):
        assert last_post_when_latest_is(tmp_path, date(2027, 2, day)) == date(2027, 2, 3)


def test_the_last_post_does_not_wait_for_days_away(tmp_path: Path) -> None:
    week = 'bench_days = ["tue"]\naway = [ { from = 2027-02-08, to = 2027-02-15 } ]'

    assert last_post_when_latest_is(tmp_path, date(2027, 2, 15), week=week) == date(2027, 2, 3)


# --- one entry for several lots ----------------------------------------------------------------------------------


def test_lots_that_harden_within_a_few_days_go_out_as_one_group_and_later_ones_as_another(tmp_path: Path) -> None:
    log = (
        "2027-04-06 received 7a --count 6 --stage pot\n2027-04-09 received 8a --count 6 --stage pot\n"
        "2027-05-20 received 8b --count 6 --stage pot"
    )

    plan = planned(bench(tmp_path, log, date(2027, 5, 20)))

    groups = {group.lots: group.count for group in of_rule(plan, "harden_out")}
    assert groups == {("7a", "8a"): 12, ("8b",): 6}


def test_a_group_is_dated_by_its_last_lot(tmp_path: Path) -> None:
    one, both = (
        planned(bench(tmp_path, log, date(2027, 5, 12)))
        for log in (
            "2027-05-12 received 8a --count 6 --stage pot",
            "2027-05-06 received 7a --count 6 --stage pot\n2027-05-12 received 8a --count 6 --stage pot",
        )
    )

    [alone], [together] = of_rule(one, "harden_out"), of_rule(both, "harden_out")
    assert together.lots == ("7a", "8a")
    assert (together.earliest, together.due) == (alone.earliest, alone.due)
    assert [part.lots for part in together.parts] == [("7a",), ("8a",)]
    assert all(part.latest >= together.due for part in together.parts)


# --- the year ----------------------------------------------------------------------------------------------------


def test_wood_is_taken_round_the_shortest_day_which_in_the_south_is_in_june(tmp_path: Path) -> None:
    stock_plant = "2026-05-20 received 7a --count 3 --stage outside"
    north = planned(bench(tmp_path, stock_plant, date(2026, 11, 2)))
    south = planned(bench(tmp_path, stock_plant, date(2027, 5, 10), frost=SOUTHERN_FROST, latitude=-37.0))

    [northern], [southern] = of_rule(north, "take_wood"), of_rule(south, "take_wood")
    assert abs((northern.latest - date(2026, 12, 21)).days) <= 60  # nights that kill close it before that day
    assert abs((southern.latest - date(2027, 6, 21)).days) <= 60


def test_when_buds_swell_outdoors_no_more_wood_is_taken_this_winter(tmp_path: Path) -> None:
    log = "2026-05-20 received 7a --count 3 --stage outside"

    before = planned(bench(tmp_path, log, date(2026, 11, 2)))
    after = planned(bench(tmp_path, f"{log}\n2026-11-01 buds_swelling fig", date(2026, 11, 2)))

    assert [each for each in of_rule(before, "take_wood") if each.earliest <= date(2026, 11, 2)]
    assert not [each for each in of_rule(after, "take_wood") if each.earliest <= date(2026, 11, 2)]


def test_a_lot_planned_is_to_be_stuck_on_its_day_and_once_stuck_no_more(tmp_path: Path) -> None:
    log = "2027-01-05 planned 7 --count 12 --value 2027-02-02"
    stuck = "2027-02-02 received 7a --count 12 --stage rooting --bin A --refers r1"

    before = planned(bench(tmp_path, log, date(2027, 1, 6)))
    after = planned(bench(tmp_path, f"{log}\n{stuck}", date(2027, 2, 2)))

    assert task(before, "r1.stick_planned").count == 12
    assert task(before, "r1.stick_planned").earliest == date(2027, 2, 2)
    assert not has_task(after, "r1.stick_planned")


# --- what was published and is over ------------------------------------------------------------------------------


def test_an_entry_that_is_over_stays_on_its_day_and_the_next_round_reminds_of_it(tmp_path: Path) -> None:
    before = planned(bench(tmp_path, READY, date(2027, 2, 16)))
    over = task(before, "7a.pot_up").due
    next_day = over + timedelta(days=1)

    after = planned(bench(tmp_path, READY, next_day), published(before, next_day))

    assert task(after, "7a.pot_up").due == over
    assert "7a.pot_up" in {line.id for line in after.rounds[0].lines}
    assert all(line.id != "7a.pot_up" for each in after.rounds[1:] for line in each.lines)


def test_a_window_that_comes_again_is_another_entry(tmp_path: Path) -> None:
    entry, day = EntryId("A", "lamp_on"), date(2026, 12, 8)
    first_lamp = Past(entries={entry: day}, holders={entry: ((entry, day),)})

    for today in (date(2027, 1, 20), date(2027, 1, 21)):  # leaves logged on their own day, and on the day after
        found = planned(bench(tmp_path, f"{STUCK}\n2027-01-20 leaves 7a", today), first_lamp)

        assert task(found, "A.lamp_on").id == "A.lamp_on~2"
        assert task(found, "A.lamp_on").due >= today


def test_no_two_tasks_share_an_id(tmp_path: Path) -> None:
    log = f"{READY}\n2027-01-06 taken 8a --count 9\n2027-02-01 gnats --bin A\n2027-02-01 mould 7a"

    for day in (date(2027, 2, 16), date(2027, 3, 10), date(2027, 6, 1)):
        names = [each.id for each in planned(bench(tmp_path, log, day)).tasks]
        assert len(names) == len(set(names))


# --- signs in another order, lots in parts -----------------------------------------------------------------------


def test_a_lot_that_had_roots_before_its_leaves_is_not_told_to_wait_for_roots(tmp_path: Path) -> None:
    log = f"{STUCK}\n2027-01-20 roots 7a\n2027-01-28 leaves 7a"

    assert "leaf_no_root" not in ids(planned(bench(tmp_path, log, date(2027, 1, 28))), "7a")


def test_the_bags_remaining_are_weaned_and_potted_when_they_are_ready_in_their_turn(tmp_path: Path) -> None:
    log = f"{READY}\n2027-02-16 leaves 7a\n2027-02-19 potted 7a --count 5\n2027-03-20 well_rooted 7a --count 6"

    found = task(planned(bench(tmp_path, log, date(2027, 3, 20))), "7a.pot_up")

    assert found.earliest == date(2027, 3, 20)
    assert found.count == 7


def test_an_overdue_sign_looked_for_in_vain_makes_no_pots_ready_but_the_looks_go_on(tmp_path: Path) -> None:
    log = f"{STUCK}\n2027-03-20 looked 7a"

    plan = planned(bench(tmp_path, log, date(2027, 3, 20)))

    assert {"pots_ready", "pot_up", "wean_loosen"} & ids(plan, "7a") == set()
    assert "7a.bag_look" in {each.id for each in plan.looks}


def test_gnats_seen_at_the_bench_raise_no_alarm_of_a_look_missed(tmp_path: Path) -> None:
    log = f"{STUCK}\n2027-01-13 gnats --bin A --count 9"

    plan = planned(bench(tmp_path, log, date(2027, 1, 13)))

    assert not [warning for warning in plan.warnings if warning.kind == "missed"]


def test_every_turn_of_a_treatment_counts_from_the_same_sighting(tmp_path: Path) -> None:
    log = f"{READY}\n2027-02-19 potted 7a\n2027-02-20 gnats 7a --count 9"

    turns = of_rule(planned(bench(tmp_path, log, date(2027, 2, 20))), "gnat_drench")

    assert len(turns) > 2
    assert {each.since for each in turns} == {date(2027, 2, 20)}


def test_a_lot_stuck_again_after_the_cold_store_starts_from_nothing(tmp_path: Path) -> None:
    log = f"{READY}\n2027-02-19 stored 7a\n2027-03-01 stuck 7a --bin A"

    plan = planned(bench(tmp_path, log, date(2027, 3, 2)))

    assert task(plan, "7a.pot_up").earliest > date(2027, 3, 20)
    assert "bag_look_rooted" not in {each.rule.id for each in plan.looks if each.start < date(2027, 3, 10)}


def test_wood_is_to_be_taken_before_there_is_any_lot(tmp_path: Path) -> None:
    assert of_rule(planned(bench(tmp_path, "", date(2027, 11, 25))), "take_wood")


def test_the_probe_is_read_the_day_after_sticking_and_after_each_turn_of_the_mat(tmp_path: Path) -> None:
    log = "2027-01-05 received 7a --count 12 --stage rooting --bin A"
    read = f'{log}\n2027-01-06 temperature --bin A --value "24 C"'
    cut = f"{read}\n2027-01-20 mat --bin A --value off"
    on = f'{cut}\n2027-01-21 mat --bin A --value "25 C"'
    again = f'{on}\n2027-01-22 temperature --bin A --value "25 C"'

    def asked(rows: str, today: date) -> list[tuple[str, date]]:
        plan = planned(bench(tmp_path, rows, today))
        return [(task.id, task.due) for task in plan.tasks if task.rule.id.startswith("probe_")]

    assert asked(log, date(2027, 1, 5)) == [("7a.probe_stuck", date(2027, 1, 6))]
    assert asked(read, date(2027, 1, 6)) == []
    assert asked(cut, date(2027, 1, 20)) == []
    assert asked(on, date(2027, 1, 21)) == [("A.probe_mat", date(2027, 1, 22))]
    assert asked(again, date(2027, 1, 22)) == []


# --- troubles stay until they are logged as over -----------------------------------------------------------------


def grower(folder: Path, log: str) -> Year:
    base = bench(folder, f"{STUCK}\n{log}", date(2027, 5, 30))
    return Year(replace(base, rows=(), every_row=()), rows=list(base.every_row), numbers=count(100))


def morning(year: Year, day: date) -> Plan:
    """The plan of a day, of what was logged until then, with all that was published before."""
    today = Year(year.base, [row for row in year.rows if row.day <= day], year.published)
    nursery, plan = today.plan(day)
    year.publish(plan, nursery)
    return plan


def asks(plan: Plan, name: str, day: date) -> bool:
    return any(str(line.id) == name for each in plan.rounds if each.day == day for line in each.lines)


def test_mould_that_was_looked_at_and_not_treated_is_asked_for_again(tmp_path: Path) -> None:
    mould = date(2027, 1, 26)
    year = grower(tmp_path, f"{mould} mould 7a\n{mould} looked --bin A")

    morning(year, mould)
    after = morning(year, date(2027, 1, 27))
    again = next(each.day for each in after.rounds)
    year.log(again, "treated", "7a", value="copper")

    assert again <= date(2027, 1, 28)
    assert asks(after, "7a.mould_treat", again)
    assert not has_task(morning(year, again), "7a.mould_treat")


@pytest.mark.parametrize(
    ("trouble", "question"),
    [({"what": "mould", "lot": "7a"}, "7a.mould_clear"), ({"what": "gnats", "bin": "A", "count": 9}, "A.gnat_clear")],
)
def test_whether_a_trouble_is_over_is_asked_each_week_until_somebody_says_so(
    tmp_path: Path, trouble: dict[str, Any], question: str
) -> None:
    year = grower(tmp_path, "2027-01-25 looked --bin A")
    day = date(2027, 1, 26)
    year.log(day, **trouble)
    asked = []
    while day < date(2027, 4, 20):
        plan = morning(year, day)
        asked += [day] if asks(plan, question, day) else []
        year.log(day, "looked", bin="A")
        day = next((each.day for each in plan.rounds if each.day > day), day + timedelta(days=7))

    assert len(asked) >= 4, asked
    assert all(6 <= (later - sooner).days <= 12 for sooner, later in pairwise(asked)), asked
    year.log(day, "all_clear", lot=trouble.get("lot", ""), bin=trouble.get("bin", ""))
    assert not has_task(morning(year, day), question)


def test_of_the_few_left_without_roots_past_the_time_to_give_up_only_that_is_asked_once_a_fortnight(
    tmp_path: Path,
) -> None:
    year = grower(tmp_path, "2027-02-09 roots 7a --count 9\n2027-03-02 potted 7a --count 9")
    day = date(2027, 4, 24)  # 109 days after sticking; given up from 90 on
    asked, other = [], set()
    while day < date(2027, 7, 1):
        plan = morning(year, day)
        asked += [day] if asks(plan, "7a.give_up", day) else []
        in_bags = (task for task in plan.tasks if "7a" in task.lots and task.rule.while_in == "rooting")
        other |= {task.rule.id for task in in_bags} - {"give_up"}
        other |= {task.rule.id for task in plan.tasks if task.bin == "A" and task.rule.scope == "bin"}
        year.log(day, "looked", bin="A")
        day = next((each.day for each in plan.rounds if each.day > day), day + timedelta(days=7))

    assert other == set()
    assert len(asked) >= 3, asked
    assert all(13 <= (later - sooner).days <= 20 for sooner, later in pairwise(asked)), asked


def test_what_is_drenched_on_a_day_is_asked_of_a_lot_once(tmp_path: Path) -> None:
    log = "2027-02-05 gnats --bin A --count 9\n2027-02-09 opened 7a\n2027-02-16 potted 7a --count 6"
    looks = "\n".join(f"2027-02-{day:02} looked --bin A" for day in (5, 9, 12, 14, 16))
    year = grower(tmp_path, f"{log}\n{looks}")

    for day in (5, 9, 12, 14, 16):
        plan = morning(year, date(2027, 2, day))
        for each in plan.rounds:
            drenched = [line.task.lots for line in each.lines if line.task and line.rule.id == "gnat_drench"]
            assert len(drenched) == len(set(drenched)), (each.day, drenched)
