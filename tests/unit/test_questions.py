"""Questions that come back, whether roots are through and why there are none: asked, answered, asked no sooner."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise
from pathlib import Path

from almanac.plan.model import Plan
from almanac.plan.past import Past
from tests.nurseries import bench
from tests.unit.given import has_task, lines_of, planned, published, task

STUCK = "2027-01-05 received 7a --count 12 --stage rooting --bin A"
ROOTED = f"{STUCK}\n2027-01-29 roots 7a --count 4"
WEEK = timedelta(days=7)


def asked(folder: Path, log: str, rule: str, until: date, *, looks: bool = True) -> list[date]:
    """The days on which rounds asked a question of 7a; each round is looked through, where `looks` are logged."""
    days: list[date] = []
    rounds: dict[date, frozenset[object]] = {}
    today, past = date.fromisoformat(log.splitlines()[-1][:10]), Past()
    while today <= until:
        plan = planned(bench(folder, log, today), past)
        here = [each for each in plan.rounds if each.day == today]
        if any(line.id == f"7a.{rule}" for each in here for line in each.lines):
            days.append(today)
        log = f"{log}\n{today} looked --bin A" if here and looks else log
        rounds |= {each.day: frozenset(lines_of(each)) for each in here}
        today += timedelta(days=1)
        past = replace(published(plan, today), rounds=dict(rounds))  # type: ignore[arg-type]  # ids
    return days


def ready_on(plan: Plan) -> date:
    """The day by which half of 7a is likely well rooted."""
    days = plan.milestones["7a"]["well_rooted"].days
    assert days is not None
    return days[1]


def test_looks_that_count_no_ready_bags_put_potting_off_by_no_day(tmp_path: Path) -> None:
    looked = ROOTED + "".join(f"\n2027-0{day} looked 7a" for day in ("2-02", "2-12", "2-20", "2-27", "3-05"))

    before = planned(bench(tmp_path, ROOTED, date(2027, 1, 29)))
    after = planned(bench(tmp_path, looked, date(2027, 3, 5)))

    assert ready_on(after) == ready_on(before)
    assert task(after, "7a.pot_up").earliest == task(before, "7a.pot_up").earliest


def test_who_looks_and_never_says_well_rooted_is_asked_within_a_week_of_the_likely_day(tmp_path: Path) -> None:
    likely = ready_on(planned(bench(tmp_path, ROOTED, date(2027, 1, 29))))

    found = asked(tmp_path, ROOTED, "roots_through", likely + 3 * WEEK)

    assert likely <= found[0] < likely + WEEK
    assert all(second - first >= WEEK for first, second in pairwise(found))
    assert len(found) >= 2


def test_who_logs_nothing_more_than_roots_is_asked_too(tmp_path: Path) -> None:
    likely = ready_on(planned(bench(tmp_path, ROOTED, date(2027, 1, 29))))

    assert likely <= asked(tmp_path, ROOTED, "roots_through", likely + WEEK, looks=False)[0] < likely + WEEK


def test_none_ready_is_an_answer_that_moves_the_day_and_rests_the_question_for_a_week(tmp_path: Path) -> None:
    likely = ready_on(planned(bench(tmp_path, ROOTED, date(2027, 1, 29))))
    log = f"{ROOTED}\n{likely + WEEK} well_rooted 7a --count 0"

    plan = planned(bench(tmp_path, log, likely + WEEK))

    assert "well_rooted" not in bench(tmp_path, log, likely + WEEK).stock.lots["7a"].signs
    assert ready_on(plan) > likely + WEEK
    assert task(plan, "7a.roots_through").earliest >= likely + 2 * WEEK


def test_once_some_are_said_to_be_ready_potting_is_asked_for_and_the_question_is_over(tmp_path: Path) -> None:
    plan = planned(bench(tmp_path, f"{ROOTED}\n2027-03-01 well_rooted 7a --count 5", date(2027, 3, 1)))

    assert has_task(plan, "7a.pot_up")
    assert not has_task(plan, "7a.roots_through")


# --- no roots past their time ------------------------------------------------------------------------------------

LATE = f"{STUCK}\n2027-02-18 looked 7a"


def test_a_lot_without_roots_is_dug_up_once_in_three_weeks_and_not_at_every_round(tmp_path: Path) -> None:
    found = asked(tmp_path, LATE, "late_roots", date(2027, 4, 4))

    assert len(found) == 3  # by the day of giving up
    assert all((second - first).days >= 21 for first, second in pairwise(found))


def test_callus_on_the_worst_bag_or_a_count_of_no_roots_settles_it_for_three_weeks(tmp_path: Path) -> None:
    for answer in ("callus 7a --count 1", "roots 7a --count 0"):
        log = f"{LATE}\n2027-03-02 {answer}"

        assert task(planned(bench(tmp_path, log, date(2027, 3, 2))), "7a.late_roots").earliest == date(2027, 3, 23)
        assert asked(tmp_path, log, "late_roots", date(2027, 3, 22)) == []


def test_past_the_day_of_giving_up_nobody_is_asked_why_there_are_no_roots(tmp_path: Path) -> None:
    plan = planned(bench(tmp_path, f"{STUCK}\n2027-04-20 looked 7a", date(2027, 4, 20)))

    assert not has_task(plan, "7a.late_roots")


def test_who_logs_looks_and_no_signs_at_all_is_asked_by_the_days_of_the_rule(tmp_path: Path) -> None:
    never_looked = planned(bench(tmp_path, STUCK, date(2027, 1, 5))).milestones["7a"]["well_rooted"].days
    assert never_looked is not None
    looked = f"{STUCK}\n2027-01-12 looked 7a\n2027-01-20 looked 7a"

    found = asked(tmp_path, looked, "roots_through", never_looked[1] + 3 * WEEK)

    assert never_looked[1] <= found[0] < never_looked[1] + 2 * WEEK


def test_who_logs_signs_and_none_of_roots_is_not_asked_whether_they_are_through(tmp_path: Path) -> None:
    seen = f"{STUCK}\n2027-01-25 callus 7a --count 3\n2027-02-12 looked 7a"

    assert not has_task(
        planned(bench(tmp_path, f"{seen}\n2027-02-25 looked 7a", date(2027, 2, 25))), "7a.roots_through"
    )
