"""What must hold of the rounds of any nursery: drawn ones, with bins that log their looks and bins that do not."""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise
from pathlib import Path

import pytest

from almanac.nursery.nursery import Nursery
from almanac.nursery.workdays import Workdays
from almanac.plan.agenda.rounds import rounds_of
from almanac.plan.model import Look, Plan
from almanac.plan.past import Past
from tests.journeys.year import EVERYWHERE
from tests.nurseries import bench
from tests.unit.given import lines_of, longest_and_first, planned, published

START = date(2027, 1, 4)
SEEDS = range(24 if EVERYWHERE else 6)
WINDOWS = range(60 if EVERYWHERE else 8)
WEEKS = ("tue", "fri", "sun"), ("sat",), ("mon", "thu"), ("tue", "wed", "fri", "sun")


def day(number: int) -> date:
    return START + timedelta(days=number)


def drawn(folder: Path, seed: int, today: int, *, logs: bool = True) -> Nursery:
    """Up to eight lots in two bins and in pots, with signs, troubles, days away; looks logged of bin A, if at all."""
    draw = random.Random(seed)
    rows = []
    for number in range(draw.randint(2, 8)):
        lot, came = f"{draw.choice((7, 8))}{chr(97 + number)}", draw.randint(0, 12)
        where = draw.choice(("rooting --bin A", "rooting --bin A", "rooting --bin B", "pot"))
        rows.append((came, f"received {lot} --count {draw.randint(1, 12)} --stage {where}"))
        if draw.random() < 0.5:
            what = draw.choice(("gnats", "mould", "leaves")) if where != "pot" else "gnats"
            rows.append((came + draw.randint(4, 9), f"{what} {lot}"))
    if logs:
        rows += [(n, "looked --bin A") for n in range(14, 40, 3) if draw.random() < 0.7]
    log = "\n".join(f"{day(n)} {words}" for n, words in sorted(rows, key=lambda row: row[0]) if n <= today)
    leave = draw.randint(15, 50)
    week = f"bench_days = {list(draw.choice(WEEKS))}\naway = [ {{ from = {day(leave)}, to = {day(leave + 6)} }} ]"
    return bench(folder, log.replace("  ", " "), day(today), bins="AB", week=week)


def unkept(look: Look, plan: Plan) -> list[date]:
    """Latest days of a look that no round keeps, reckoned from the rule alone."""
    every, due = longest_and_first(look)
    visits = [each.day for each in plan.rounds if look.bin or look.id in lines_of(each)]
    if look.seen.last is not None and look.seen.last >= look.opens:
        due = look.seen.last + every
    missed = []
    for visit in [*(visit for visit in visits if look.opens <= visit <= look.end), look.end + timedelta(days=1)]:
        if due <= look.end and due < visit:
            missed.append(due)
        due = visit + every
    return missed


@pytest.mark.parametrize("seed", WINDOWS)
def test_no_entry_that_hangs_on_a_forecast_lies_outside_its_own_window(tmp_path: Path, seed: int) -> None:
    past, today = Past(), 20
    for waits in random.Random(seed).choices((1, 3, 7, 20), k=4):
        nursery = drawn(tmp_path, seed, today)
        plan = planned(nursery, past)
        for task in plan.tasks:
            if task.guessed and task.rule.kind == "window" and task.due >= plan.as_of:
                assert min(own.earliest for own in task.own) <= task.due, (plan.as_of, task.id)
                assert task.due <= max(own.latest for own in task.own), (plan.as_of, task.id)
        today += waits
        past = published(plan, day(today))


@pytest.mark.parametrize("seed", SEEDS)
def test_no_latest_day_and_no_window_is_missed_without_a_warning(tmp_path: Path, seed: int) -> None:
    past = Past()
    for today in (20, 26, 33, 41):
        before, plan = past, planned(drawn(tmp_path, seed, today), past)
        past = published(plan, day(today + 1))

        missed = [warning for warning in plan.warnings if warning.kind == "missed"]
        late = {lot for warning in missed for lot in (*warning.lots, *warning.bins)}
        for look in plan.looks:
            if look.seen.logs and look.end >= day(today):  # what is over is not made up for
                assert all(due < day(today) and (look.lot or look.bin) in late for due in unkept(look, plan)), look.id
        held = {name for each in plan.rounds for name in lines_of(each)}
        for job in (task for task in plan.tasks if task.in_round and not task.guessed):
            asked = {name for names in before.rounds.values() for name in names}
            assert job.id in held | asked, f"{job.id} is in no round"
        for each in plan.rounds:
            for line in each.lines:
                assert line.task is None or line.late_since or line.task.earliest <= each.day <= line.task.latest
        for warning in missed:
            assert warning.carried_to in {each.day for each in plan.rounds}


@pytest.mark.parametrize("seed", SEEDS)
def test_no_round_lies_on_a_day_away_without_a_warning_that_names_its_lots(tmp_path: Path, seed: int) -> None:
    nursery = drawn(tmp_path, seed, 20)

    plan = planned(nursery)

    warned = {warning.day: warning.lots for warning in plan.warnings if warning.kind == "away"}
    away = {each.day: each.lots for each in plan.rounds if nursery.settings.is_away(each.day)}
    assert warned == away


@pytest.mark.parametrize("seed", SEEDS)
def test_planning_again_with_what_was_published_changes_nothing(tmp_path: Path, seed: int) -> None:
    nursery = drawn(tmp_path, seed, 30)
    first = planned(nursery)

    again = planned(nursery, published(first, nursery.as_of))

    assert [(each.day, each.lines) for each in again.rounds] == [(each.day, each.lines) for each in first.rounds]
    assert again.tasks == first.tasks
    assert again.warnings == first.warnings


@pytest.mark.parametrize("seed", SEEDS)
def test_looks_logged_on_the_planned_day_move_no_round(tmp_path: Path, seed: int) -> None:
    nursery = drawn(tmp_path, seed, 30, logs=False)
    when = next(each.day for each in planned(nursery).rounds)
    morning = planned(drawn(tmp_path, seed, (when - START).days, logs=False), published(planned(nursery), when))
    assert morning.rounds[0].day == when

    before = rounds_days(morning.looks, nursery, morning, when)
    seen = [
        replace(look, seen=replace(look.seen, last=when, logs=True)) if look.bin and look.is_open(when) else look
        for look in morning.looks
    ]
    after = rounds_days(seen, nursery, morning, when)

    assert before[0] == when
    assert after == before


def rounds_days(looks: list[Look] | tuple[Look, ...], nursery: Nursery, plan: Plan, today: date) -> list[date]:
    """The days of rounds for these looks, the jobs those of a plan that was published."""
    jobs = [task for task in plan.tasks if task.in_round]
    workdays = Workdays(nursery.settings, nursery.place)
    past = published(plan, today)
    return [each.day for each in rounds_of(looks, jobs, (), workdays, past, today)[0]]


@pytest.mark.parametrize("shift", [-1, 1])
@pytest.mark.parametrize("seed", SEEDS)
def test_a_forecast_that_moves_by_a_day_moves_no_round_that_it_need_not(tmp_path: Path, seed: int, shift: int) -> None:
    nursery = drawn(tmp_path, seed, 30)
    plan, today = planned(nursery), nursery.as_of
    days, workdays = [each.day for each in plan.rounds], Workdays(nursery.settings, nursery.place)

    def price(chosen: list[date], looks: Sequence[Look]) -> tuple[int, int, int, int]:
        off = sum(not workdays.is_bench_day(day) for day in chosen)
        return sum(map(workdays.is_away, chosen)), off, len(chosen) + days_late(looks, chosen), len(chosen)

    stayed = 0
    for number, look in enumerate(plan.looks):
        moved = [*plan.looks[:number], replace(look, end=look.end + timedelta(days=shift)), *plan.looks[number + 1 :]]

        found = rounds_days(moved, nursery, plan, today)

        if found != days:
            gone = set(days) - set(found)
            kept = all(not late_on(each, days, today) for each in moved)
            assert not kept or price(found, moved) < price(days, moved), f"{look.id} moves {gone}"
        else:
            stayed += 1
    assert stayed > 0


def days_late(looks: Sequence[Look], visits: list[date]) -> int:
    """The days after the first of these visits on which a look is past the day it is wished by."""
    late = set()
    for here, there in pairwise([*visits, date.max]):
        for look in looks:
            wish = look.wished(here)
            until = min(there, look.end + timedelta(days=1)) if wish <= look.end else wish
            late |= {wish + timedelta(days=n) for n in range(1, (until - wish).days + 1)}
    return len(late)


def late_on(look: Look, visits: list[date], today: date) -> bool:
    """Whether visits on these days would let a latest day of a look pass that is still to come."""
    every, due = longest_and_first(look)
    if look.seen.last is not None and look.seen.last >= look.opens:
        due = look.seen.last + every
    for visit in [*(visit for visit in visits if look.opens <= visit <= look.end), look.end + timedelta(days=1)]:
        if today <= due <= look.end and due < visit:
            return True
        due = visit + every
    return False
