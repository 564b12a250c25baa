"""One verdict a lot and day: of two jobs that stand against each other one goes first, the other waits."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

from almanac.plan.model import Plan
from tests.nurseries import bench
from tests.unit.given import has_task, planned, task

DRINKS = """2027-01-05 received 7a --count 12 --stage rooting --bin A
2027-01-25 roots 7a --count 12
2027-01-28 leaves 7a --count 12
2027-02-06 drawing 7a"""


def on(folder: Path, log: str, day: date) -> Plan:
    return planned(bench(folder, f"{DRINKS}\n{log}", day))


def test_no_water_while_leaves_wilt_or_mould_is_wiped(tmp_path: Path) -> None:
    day = date(2027, 2, 8)
    plain = on(tmp_path, "2027-02-08 looked 7a", day)

    assert task(plain, "7a.first_water").earliest <= day
    for trouble, first in (("wilt", "wilt_back"), ("mould", "mould_wipe")):
        plan = on(tmp_path, f"2027-02-08 {trouble} 7a", day)

        assert has_task(plan, f"7a.{first}")
        assert task(plan, "7a.first_water").earliest > task(plan, f"7a.{first}").latest


def test_what_waited_is_asked_for_once_the_other_is_done(tmp_path: Path) -> None:
    plan = on(tmp_path, "2027-02-08 mould 7a\n2027-02-09 all_clear 7a", date(2027, 2, 9))

    assert task(plan, "7a.first_water").earliest <= date(2027, 2, 9)


def test_on_the_day_a_bag_is_opened_nobody_is_told_to_tighten_its_neck(tmp_path: Path) -> None:
    gnats = on(tmp_path, "2027-02-08 gnats --bin A --count 9\n2027-02-08 looked 7a", date(2027, 2, 8))

    for each in gnats.rounds:
        rules = {line.rule.id for line in each.lines if line.lot == "7a"}
        assert not ("gnat_cull" in rules and rules & {"wean_loosen", "wean_half", "wean_open"}), each.day


def test_a_question_asked_for_weeks_puts_potting_off_till_the_bench_day_that_asks_it_and_no_longer(
    tmp_path: Path,
) -> None:
    log = "2027-01-05 received 7a --count 12 --stage rooting --bin A"
    plans = [planned(bench(tmp_path / f"{n}", log, date(2027, 1, 6) + n * timedelta(days=1))) for n in range(0, 60, 2)]

    asked = [plan for plan in plans if has_task(plan, "7a.late_roots") and has_task(plan, "7a.pot_up")]
    now = [plan for plan in asked if task(plan, "7a.late_roots").earliest <= plan.as_of]

    assert now
    for plan in now:
        pot_up, bench_day = task(plan, "7a.pot_up"), timedelta(days=4)  # three of them a week
        assert pot_up.milestone
        assert pot_up.milestone.days
        own = pot_up.milestone.days[0] + timedelta(days=pot_up.rule.opens_day or 0)
        assert pot_up.earliest <= max(own, plan.as_of + bench_day), plan.as_of


def test_no_shipped_rules_wait_for_one_another(tmp_path: Path) -> None:
    rules = bench(tmp_path, DRINKS, date(2027, 2, 8)).book.tasks()
    waits = {name: set(rule.waits_for) for name, (rule, _) in rules.items()}

    assert [(one, other) for one in waits for other in waits[one] if one in waits[other]] == []
