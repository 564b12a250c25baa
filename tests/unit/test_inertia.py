"""A published day stays while it is good enough, and moves at once where it must."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise
from pathlib import Path

from almanac.forecast.late import late_by
from almanac.forecast.model import Milestone
from almanac.nursery.nursery import Nursery
from almanac.plan.context.turns import one_a_morning
from almanac.plan.ids import EntryId
from almanac.plan.inertia import may_be_off
from almanac.plan.model import Plan, Task
from almanac.plan.past import Past
from almanac.words.tasks import text
from tests.journeys.movement import looks_only, quiet, year_of_example
from tests.nurseries import WEEK, bench, frost_dates
from tests.unit.given import planned, published

DAY = timedelta(days=1)
STUCK = """2027-01-02 taken 7a --count 12
2027-01-05 stuck 7a --bin A
"""
LOOKED = "2027-01-20 looked 7a\n"
TODAY = date(2027, 1, 20)


def windows(plan: Plan) -> list[Task]:
    return [task for task in plan.tasks if not task.in_round and task.due >= plan.as_of]


def window(plan: Plan, rule: str) -> Task:
    [found] = [task for task in windows(plan) if task.rule.id == rule]
    return found


def told(nursery: Nursery, days: dict[str, date], first: Plan) -> Past:
    """What a plan published, some rules' entries on other days."""
    past = published(first, nursery.as_of)
    moved = {own: tuple((name, days.get(name.rule, day)) for name, day in held) for own, held in past.holders.items()}
    return Past(entries=past.entries, rounds=past.rounds, since=past.since, coming=past.coming, holders=moved)


# --- the rule ----------------------------------------------------------------------------------------------------


def test_a_day_weeks_off_may_be_off_by_a_quarter_of_its_band_and_three_days_at_least() -> None:
    far = TODAY + timedelta(days=30)

    assert may_be_off(far, (far, far + 10 * DAY, far + 40 * DAY), TODAY) == 10 * DAY
    assert may_be_off(far, (far, far + DAY, far + 4 * DAY), TODAY) == 3 * DAY
    assert may_be_off(far, None, TODAY) == 3 * DAY


def test_a_day_within_a_week_may_be_off_by_one() -> None:
    band = (TODAY, TODAY + 10 * DAY, TODAY + 40 * DAY)

    assert may_be_off(TODAY + 7 * DAY, band, TODAY) == DAY
    assert may_be_off(TODAY + 8 * DAY, band, TODAY) == 10 * DAY


def test_a_published_day_near_the_forecast_stays_and_one_far_from_it_moves(tmp_path: Path) -> None:
    nursery = bench(tmp_path, STUCK + LOOKED, TODAY)
    bare = planned(nursery)
    best = window(bare, "pot_up").due
    bench_day = next(day for n in range(1, 5) if (day := best + n * DAY).strftime("%a") in ("Tue", "Fri", "Sun"))

    near = window(planned(nursery, told(nursery, {"pot_up": bench_day}, bare)), "pot_up")
    far = window(planned(nursery, told(nursery, {"pot_up": best + 35 * DAY}, bare)), "pot_up")

    assert near.due == bench_day
    assert far.due == best


def test_looks_that_see_nothing_move_a_published_day_far_less_often_than_its_forecast(tmp_path: Path) -> None:
    log, past = STUCK, Past()
    told, bare = list[date](), list[date]()
    for look in range(7):
        as_of = date(2027, 1, 15) + 3 * look * DAY
        log += f"{as_of} looked 7a\n"
        nursery = bench(tmp_path / f"{look}", log, as_of)
        plan = planned(nursery, past)
        past = published(plan, as_of + 3 * DAY)
        told.append(window(plan, "pot_up").due)
        bare.append(window(planned(nursery), "pot_up").due)

    moves = [sum(one != other for one, other in pairwise(days)) for days in (told, bare)]

    assert moves[0] <= 2 <= moves[1] - 2, (told, bare)


# --- what moves at once ------------------------------------------------------------------------------------------


def test_days_away_move_a_published_day_at_once(tmp_path: Path) -> None:
    here = bench(tmp_path / "here", STUCK + LOOKED, TODAY)
    day = window(planned(here), "pot_up").due
    week = f"{WEEK}\naway = [ {{ from = {day - DAY}, to = {day + 3 * DAY} }} ]"
    away = bench(tmp_path / "away", STUCK + LOOKED, TODAY, week=week)

    found = window(planned(away, published(planned(here), TODAY)), "pot_up").due

    assert not day - DAY <= found <= day + 3 * DAY


def test_a_later_frost_moves_putting_out_at_once(tmp_path: Path) -> None:
    mild = bench(tmp_path / "mild", STUCK + LOOKED, TODAY)
    frost = frost_dates("04-18 05-01 05-14", "10-05 10-18 11-02")
    cold = bench(tmp_path / "cold", STUCK + LOOKED, TODAY, frost=frost)

    before, after = planned(mild), planned(cold, published(planned(mild), TODAY))

    assert window(after, "harden_out").due == window(planned(cold), "harden_out").due
    assert window(after, "harden_out").due > window(before, "harden_out").due


# --- what waits for an act not logged ----------------------------------------------------------------------------


def test_an_act_not_logged_waits_a_week_then_moves_once_in_four() -> None:
    planned_for = date(2027, 3, 3)
    days = [planned_for + n * DAY for n in range(42)]

    late = [late_by(planned_for, day) for day in days]

    assert {day - planned_for for day, by in zip(days, late, strict=True) if not by} == {n * DAY for n in range(8)}
    assert set(late) == {timedelta(0), 28 * DAY, 56 * DAY}
    assert late.count(28 * DAY) == 28, "three weeks of silence and more"


def test_what_waits_for_potting_says_so_and_moves_once_in_weeks_of_silence(tmp_path: Path) -> None:
    log = f"{STUCK}2027-02-01 roots 7a\n2027-02-20 well_rooted 7a --count 12\n"
    past, days, said = Past(), [], ""
    for week in range(6):
        as_of = date(2027, 6, 1) + timedelta(weeks=week)  # no frost holds it any more
        nursery = bench(tmp_path / f"{week}", log, as_of)
        plan = planned(nursery, past)
        past = published(plan, as_of + timedelta(weeks=1))
        task = window(plan, "offer_rooted")
        days.append(task.due)
        said = text(task, nursery.book, as_of)

    assert len(set(days)) <= 3, days
    assert "Waits for potting up, not logged yet: only if potted by then." in said


def test_hardening_waits_for_potting_as_long_as_potting_a_week_ago_still_keeps_it(tmp_path: Path) -> None:
    log = f"{STUCK}2027-02-01 roots 7a\n2027-05-20 well_rooted 7a --count 12\n"
    past, told = Past(), {}
    for number in range(70):
        as_of = date(2027, 5, 21) + number * DAY
        plan = planned(bench(tmp_path / f"{number}", log, as_of), past)
        past = published(plan, as_of + DAY)
        told[as_of] = window(plan, "harden_out").due
    # Four weeks from potting to putting out (rules/care/hardening.toml), less a week in which potting went unlogged,
    # and up to three mornings until its kind of act has its turn.
    moves = [as_of for as_of, day in told.items() if as_of - DAY in told and told[as_of - DAY] != day]

    assert moves, "ten weeks of silence"
    assert all(17 <= (told[as_of - DAY] - as_of).days <= 22 for as_of in moves)
    assert all((later - sooner).days >= 22 for sooner, later in pairwise(moves))


def test_putting_out_keeps_its_day_when_its_own_week_begins(tmp_path: Path) -> None:
    log = f"{STUCK}2027-02-01 roots 7a\n2027-02-20 well_rooted 7a --count 12\n2027-02-26 potted 7a\n"
    first = planned(bench(tmp_path / "first", log, date(2027, 3, 1)))
    day = window(first, "harden_out").due
    past = published(first, day - 6 * DAY)

    found = {
        window(planned(bench(tmp_path / f"{before}", log, day - before * DAY), past), "harden_out").due
        for before in range(6)
    }

    assert found == {day}


def test_once_a_step_after_a_putting_out_not_logged_has_gone_by_none_of_the_next_is_told_for_weeks(
    tmp_path: Path,
) -> None:
    # Put out now and told the next step, plants would go from a lamp's light into three times as much.
    log = f"{STUCK}2027-02-01 roots 7a\n2027-02-20 well_rooted 7a --count 12\n2027-02-26 potted 7a\n"
    first = planned(bench(tmp_path / "first", log, date(2027, 3, 1)))
    steps = sorted(task.due for task in first.tasks if task.rule.id == "harden")
    out, past = window(first, "harden_out").due, published(first, steps[0])

    def told(as_of: date) -> list[date]:
        plan = planned(bench(tmp_path / f"{as_of}", log, as_of), past)
        return sorted(task.due for task in plan.tasks if task.rule.id == "harden" and task.due >= as_of)

    assert out < steps[0]
    assert told(steps[0])[0] == steps[0]
    assert told(steps[0] + DAY)[0] >= steps[0] + 28 * DAY


def test_steps_after_a_putting_out_that_only_rounds_asked_for_move_once_and_by_weeks(tmp_path: Path) -> None:
    log = f"{STUCK}2027-02-01 roots 7a\n2027-02-20 well_rooted 7a --count 12\n2027-02-26 potted 7a\n"
    first = planned(bench(tmp_path / "first", log, date(2027, 3, 1)))
    steps = sorted(task.due for task in first.tasks if task.rule.id == "harden")
    past = published(first, steps[0])
    past = replace(past, holders={own: held for own, held in past.holders.items() if own.rule != "harden_out"})

    told = set[date]()
    for day in (steps[0] + number * DAY for number in range(1, 11)):
        plan = planned(bench(tmp_path / f"{day}", log, day), past)
        told.add(min(task.due for task in plan.tasks if task.rule.id == "harden" and task.due >= day))

    # Put out now and told what comes next, plants would go from a lamp's light into three times as much.
    assert len(told) == 1, told
    assert min(told) >= steps[0] + 26 * DAY


def test_where_no_feed_told_of_a_putting_out_it_begins_this_week_and_its_steps_wait_their_time(tmp_path: Path) -> None:
    log = f"{STUCK}2027-02-01 roots 7a\n2027-02-20 well_rooted 7a --count 12\n2027-02-26 potted 7a\n"
    first = planned(bench(tmp_path / "first", log, date(2027, 3, 1)))
    out, second = window(first, "harden_out").due, min(task.due for task in first.tasks if task.rule.id == "harden")
    as_of = second + DAY

    plan = planned(bench(tmp_path / "later", log, as_of))

    following = min(task.due for task in plan.tasks if task.rule.id == "harden" and task.due >= as_of)
    assert second - out <= following - as_of < 14 * DAY


def test_an_entry_of_lots_of_which_one_is_potted_does_not_wait_for_potting(tmp_path: Path) -> None:
    log = STUCK + STUCK.replace("7a", "7b")
    log += "".join(f"2027-02-20 well_rooted {lot}\n" for lot in ("7a", "7b")) + "2027-02-24 potted 7b\n"
    nursery = bench(tmp_path, "\n".join(sorted(log.splitlines())), date(2027, 3, 3))

    plan = planned(nursery)

    shared = [task for task in plan.tasks if {own.waits_for for own in task.own} == {"", "potted"}]
    # Of those that the lot still in its bags dates, too: the other is there, and stays to be done if it is late.
    assert {task.rule.id for task in shared} >= {"harden_out", "offer_rooted"}
    assert {task.waits_for for task in shared} == {""}


def test_of_several_that_can_wait_no_longer_for_potting_one_moves_a_morning() -> None:
    soonest = (date(2027, 5, 10),) * 3
    goes = Milestone(name="set_out", title="", days=(soonest[0], date(2027, 6, 1), date(2027, 6, 3)), soonest=soonest)
    found = {lot: {"set_out": goes} for lot in ("7a", "7b", "8a")}
    days = {"7a": date(2027, 5, 8), "7b": date(2027, 5, 8), "8a": date(2027, 5, 9)}
    told_as = {"7a": "7a", "7b": "7a", "8a": "8a"}
    past = Past(
        holders={
            EntryId(lot, "harden_out"): ((EntryId(told_as[lot], "harden_out"), day),) for lot, day in days.items()
        },
    )

    after = one_a_morning(found, past)

    keeps = {lot: after[lot]["set_out"].keeps(days[lot], date(2027, 6, 1)) for lot in found}
    assert keeps == {"7a": False, "7b": False, "8a": True}


# --- how much moves ----------------------------------------------------------------------------------------------


def test_on_mornings_with_nothing_logged_one_entry_in_twenty_changes(tmp_path: Path) -> None:
    year, first = year_of_example("quince-lane", tmp_path)

    found = [each.share for each in quiet(year, first, 10)]

    # Whole seasons are measured by `python -m tests.journeys.movement`.
    assert sum(found) / len(found) <= 0.05, found


def test_a_look_moves_little_beyond_the_next_steps_of_its_lot(tmp_path: Path) -> None:
    year, first = year_of_example("quince-lane", tmp_path)

    found = list(looks_only(year, first, 8))

    assert len(found) >= 3
    assert sum(len(far.moved) for _, far, _ in found) / len(found) <= 2
    assert sum(len(each.reworded) for each, *_ in found) / sum(each.both for each, *_ in found) <= 0.12
