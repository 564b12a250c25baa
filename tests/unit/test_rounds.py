"""Rounds: what a visit to the bench gathers, what it cannot keep, and how it stays the same from morning to morning."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise
from pathlib import Path

import pytest

from almanac.nursery.nursery import Nursery
from almanac.plan.ids import EntryId
from almanac.plan.model import Plan
from almanac.plan.past import Past
from almanac.words.rounds import round_text
from almanac.words.warnings import warning_text
from almanac.words.why import find
from tests.journeys.year import Year
from tests.nurseries import WEEK, Parts, bench
from tests.unit.given import lines_of, longest_and_first, of_rule, planned, published, task

STUCK = "2027-01-05 received 7a --count 12 --stage rooting --bin A"
MIXED = f"""{STUCK}
2027-01-08 received 8a --count 6 --stage rooting --bin A
2027-01-08 taken 7b --count 9
2027-01-19 looked --bin A
"""
IN_POTS = "2027-02-01 received 8a --count 6 --stage pot"


def days(plan: Plan) -> list[date]:
    return [each.day for each in plan.rounds]


def latest_days_missed(plan: Plan, nursery: Nursery) -> set[tuple[str, date]]:
    """Looks and latest days from today on that no round keeps, reckoned anew from each look's own rule."""
    missed = set()
    for look in plan.looks:
        first, every = look.rule.first_day or 0, look.rule.every_days or 0
        opens = look.start + timedelta(days=max(first - every, 0) + 1)
        longest, due = longest_and_first(look)
        if look.seen.last and look.seen.last >= opens:
            due = max(due, look.seen.last + longest)
        for day in [*(day for day in days(plan) if opens <= day <= look.end), look.end + timedelta(days=1)]:
            if nursery.as_of <= due <= look.end and due < day:
                missed.add((look.lot or look.bin, due))
            due = day + longest
    return missed


# --- one visit for all -------------------------------------------------------------------------------------------


def test_one_visit_looks_at_every_lot_of_its_bins(tmp_path: Path) -> None:
    log = f"{STUCK}\n2027-01-07 received 8a --count 6 --stage rooting --bin B"

    plan = planned(bench(tmp_path, log, date(2027, 1, 7), bins="AB"))

    second = plan.rounds[1]
    assert set(second.lots) == {"7a", "8a"}
    assert {line.bin for line in second.lines} == {"A", "B"}


def test_two_lots_of_a_bin_cost_no_more_visits_than_the_hastier_of_them(tmp_path: Path) -> None:
    alone = planned(bench(tmp_path, STUCK, date(2027, 1, 6)))
    both = planned(
        bench(tmp_path, f"{STUCK}\n2027-01-05 received 8a --count 12 --stage rooting --bin A", date(2027, 1, 6))
    )

    assert days(both) == days(alone)


def test_a_round_is_walked_bin_by_bin_and_lot_by_lot_in_their_order(tmp_path: Path) -> None:
    lots = ("10a", "9b", "9a", "9z", "9aa")
    log = "\n".join(f"2027-01-05 received {lot} --count 2 --stage rooting --bin B" for lot in lots)
    varieties = "number,name,crop\n7,Copper Kettle,fig\n9,Tin Whistle,fig\n10,Blue Ladder,fig\n"

    plan = planned(bench(tmp_path, f"{log}\n{STUCK}", date(2027, 1, 5), bins="AB", varieties=varieties))

    found = [(line.bin, line.lot) for line in plan.rounds[0].lines]
    assert [lot for _, lot in found if lot] == ["7a", "9a", "9b", "9z", "9aa", "10a"]
    assert [place for place, _ in found] == ["A"] * 2 + ["B"] * 6  # each with a card to hang


def test_a_lot_is_looked_at_with_the_list_for_its_age_alone(tmp_path: Path) -> None:
    for each in planned(bench(tmp_path, STUCK, date(2027, 1, 5))).rounds:
        looks = [line for line in each.lines if line.look is not None and line.lot == "7a"]
        assert len({(line.rule.after, line.lot) for line in looks}) == len(looks)


def test_every_latest_day_is_kept_when_nobody_is_away(tmp_path: Path) -> None:
    nursery = bench(tmp_path, MIXED, date(2027, 1, 20))

    plan = planned(nursery)

    assert not latest_days_missed(plan, nursery)
    assert plan.warnings == ()
    assert all(each.on_bench_day for each in plan.rounds if each.day < date(2027, 2, 20))


# --- days away ---------------------------------------------------------------------------------------------------


def test_short_days_away_are_gone_round(tmp_path: Path) -> None:
    week = 'bench_days = ["tue", "fri", "sun"]\naway = [ { from = 2027-01-15, to = 2027-01-16 } ]'
    nursery = bench(tmp_path, STUCK, date(2027, 1, 6), week=week)

    plan = planned(nursery)

    assert not [day for day in days(plan) if date(2027, 1, 15) <= day <= date(2027, 1, 16)]
    assert not latest_days_missed(plan, nursery)
    assert plan.warnings == ()


def test_in_longer_days_away_a_round_stands_and_a_warning_names_day_bin_and_lots(tmp_path: Path) -> None:
    week = 'bench_days = ["tue", "fri", "sun"]\naway = [ { from = 2027-01-12, to = 2027-01-19 } ]'
    nursery = bench(tmp_path, STUCK, date(2027, 1, 6), week=week)

    plan = planned(nursery)

    away = [each for each in plan.rounds if date(2027, 1, 12) <= each.day <= date(2027, 1, 19)]
    assert away
    assert all(each.away for each in away)
    assert [(w.kind, w.day, w.bins, w.lots) for w in plan.warnings] == [
        ("away", each.day, ("A",), ("7a",)) for each in away
    ]
    assert not latest_days_missed(plan, nursery)


def test_a_lot_logged_days_late_is_looked_at_soon_though_earlier_rounds_went_by_without_it(tmp_path: Path) -> None:
    before = Past(rounds={date(2027, 1, 29): frozenset()}, since=date(2027, 1, 29))

    for stage in ("pot", "outside", "rooting --bin A"):
        log = f"2027-02-15 received 8a --count 6 --stage {stage}"
        plan = planned(bench(tmp_path, log, date(2027, 2, 25)), before)
        assert plan.rounds, stage
        assert plan.rounds[0].day <= date(2027, 3, 1), stage


def test_a_public_holiday_is_a_bench_day_unless_the_nursery_says_otherwise(tmp_path: Path) -> None:
    friday = date(2026, 12, 25)
    log = "2026-12-19 received 7a --count 12 --stage rooting --bin A"
    week = 'bench_days = ["fri"]'

    usual = planned(bench(tmp_path, log, date(2026, 12, 20), week=week))
    off = planned(bench(tmp_path, log, date(2026, 12, 20), week=f"{week}\nholidays_off = true"))

    assert [each.on_bench_day for each in usual.rounds if each.day == friday] == [True]
    assert not any(each.on_bench_day for each in off.rounds if each.day == friday)


# --- bench days --------------------------------------------------------------------------------------------------


def stuck_on(day: date) -> str:
    """Lots stuck on a day, a fortnight and a month after it; of one roots were seen."""
    later, last = day + timedelta(days=15), day + timedelta(days=31)
    return f"""{day} received 7a --count 12 --stage rooting --bin A
{later} received 8a --count 6 --stage rooting --bin A
{last} received 7b --count 6 --stage rooting --bin A
{last} roots 7a --count 4
"""


@pytest.mark.parametrize("week", ["tue fri", "mon wed fri"])
def test_nobody_whose_bench_days_lie_no_more_than_four_days_apart_is_sent_on_another(tmp_path: Path, week: str) -> None:
    # Sealed bags are looked through every 3 to 7 days in the first six weeks (common practice), in the first two at the
    # short end: 4 days is the longest gap of any look where nothing is wrong.
    bench_days = f"bench_days = {week.split()}"
    for shift in range(7):
        start = date(2027, 1, 4) + timedelta(days=shift)
        for today in (start, start + timedelta(days=15), start + timedelta(days=31), start + timedelta(days=32)):
            log = "\n".join(row for row in stuck_on(start).splitlines() if row[:10] <= f"{today}")
            plan = planned(bench(tmp_path, log, today, week=bench_days))

            weaning = {line.rule.id for each in plan.rounds for line in each.lines if line.rule.id.startswith("wean_")}
            off = [
                each
                for each in plan.rounds
                if not each.on_bench_day and not weaning & {line.rule.id for line in each.lines}
            ]
            assert off == []
            assert len(plan.rounds) > 10
            assert not [warning for warning in plan.warnings if warning.kind == "off_bench"]


def test_two_bench_days_a_week_stay_two(tmp_path: Path) -> None:
    plan = planned(bench(tmp_path, STUCK, date(2027, 1, 5), week='bench_days = ["tue", "sat"]'))

    rooting = [each.day for each in plan.rounds if each.day < date(2027, 2, 1)]
    assert [day.weekday() for day in rooting] == [5, 1, 5, 1, 5, 1, 5]


def test_with_one_bench_day_the_first_fortnight_asks_for_another_and_says_so_once(tmp_path: Path) -> None:
    nursery = bench(tmp_path, STUCK, date(2027, 1, 5), week='bench_days = ["sat"]')

    plan = planned(nursery)

    off = [each for each in plan.rounds if not each.on_bench_day]
    [warning] = plan.warnings
    assert warning.kind == "off_bench"
    assert warning.days == tuple(each.day for each in off)
    assert warning.days
    assert all(day <= date(2027, 1, 5) + timedelta(days=14) for day in warning.days)
    assert warning.would_do == (("tue",), ("wed",))  # each three or four days from Saturday
    assert warning_text(warning, plan.as_of) == (
        "Off your bench days: Tue 12 Jan. 'Sweat, mould, a tight neck' of 7a waits no longer than 4 days. With Tuesday "
        "or Wednesday as a bench day too there would be none."
    )


def test_every_round_off_the_bench_days_says_what_cannot_wait_for_the_next(tmp_path: Path) -> None:
    log = f"{STUCK}\n2027-01-12 mould 7a"
    nursery = bench(tmp_path, log, date(2027, 1, 12), week='bench_days = ["mon"]')

    plan = planned(nursery)

    off = [each for each in plan.rounds if not each.on_bench_day]
    assert off
    assert all(each.forced for each in off)
    treated = next(each for each in off if "7a.mould_treat" in lines_of(each))
    assert treated.forced
    assert treated.forced.treats
    told = round_text(treated, nursery.book, ())
    assert "Off your bench days: 'Treat mould, no leaf yet' of 7a waits no longer than" in told
    assert "Off your bench days" in find(treated.id, plan).why


def test_a_round_moves_off_a_holiday_to_another_day_that_is_no_bench_day_either(tmp_path: Path) -> None:
    log = "2026-12-18 received 7a --count 12 --stage rooting --bin A"
    week = 'bench_days = ["tue", "fri"]\nholidays_off = true'

    plan = planned(bench(tmp_path, log, date(2026, 12, 18), week=week))

    holidays = {date(2026, 12, 25), date(2027, 1, 1)}  # both Fridays
    assert holidays.isdisjoint(days(plan))
    assert {each.day for each in plan.rounds if not each.on_bench_day} & {
        day + timedelta(days=n) for day in holidays for n in (-1, 1)
    }


def many_bags(lots: int) -> tuple[str, str]:
    """So many lots of 24 bags, stuck over a fortnight; and their varieties."""
    names = [f"{1 + number // 20}{chr(97 + number % 20)}" for number in range(lots)]
    rows = sorted((number % 14, name) for number, name in enumerate(names))
    log = "\n".join(
        f"{date(2027, 1, 4) + timedelta(days=n)} received {name} --count 24 --stage rooting --bin A" for n, name in rows
    )
    return log, "number,name,crop\n" + "".join(f"{n},Number {n},fig\n" for n in range(1, lots // 20 + 2))


def test_a_round_longer_than_a_person_works_is_spread_over_days_and_says_so(tmp_path: Path) -> None:
    log, varieties = many_bags(40)  # some eight hours of looking, before any of them shows roots
    nursery = bench(tmp_path, log, date(2027, 1, 18), varieties=varieties, bags=2000)

    plan = planned(nursery)

    bags = [each for each in plan.rounds if each.day < date(2027, 1, 26)]
    assert max(each.minutes for each in bags) <= 4 * 60
    assert all(each.is_part for each in bags)
    assert "Too long for one day: " in round_text(bags[0], nursery.book, ())
    for name in nursery.stock.lots:
        seen = [each.day for each in bags if name in each.lots]
        assert all((two - one).days <= 7 for one, two in pairwise([nursery.as_of, *seen, date(2027, 1, 26)])), name


def test_what_no_days_suffice_for_is_said(tmp_path: Path) -> None:
    log, varieties = many_bags(100)
    nursery = bench(tmp_path, log, date(2027, 1, 25), varieties=varieties, bags=9000, week=f'{WEEK}\nlongest = "1 h"')

    plan = planned(nursery)

    [warning] = [each for each in plan.warnings if each.kind == "long_round"]
    assert "more than you work at the bench on a day ([week] longest)" in warning_text(warning, plan.as_of)
    assert all(each.minutes < 12 * 60 for each in plan.rounds[:3])  # twenty hours, over the days there are


def test_lots_left_for_the_other_days_of_a_long_round_are_looked_at_then(tmp_path: Path) -> None:
    log, varieties = many_bags(40)
    parts = Parts(varieties=varieties, bags=2000)
    first = planned(bench(tmp_path, log, date(2027, 1, 18), **parts))
    next_day = first.rounds[0].day + timedelta(days=1)

    after = planned(bench(tmp_path, log, next_day, **parts), published(first, next_day))

    week = [each for each in after.rounds if each.day < next_day + timedelta(days=7)]
    assert set(first.rounds[0].lots) | {lot for each in week for lot in each.lots} == set(first.milestones)
    assert not set(first.rounds[0].lots) & set(week[0].lots)


def test_a_long_round_is_not_packed_anew_each_morning(tmp_path: Path) -> None:
    log, varieties = many_bags(60)
    parts = Parts(varieties=varieties, bags=2000)
    first = planned(bench(tmp_path, log, date(2027, 1, 18), **parts))
    next_day = date(2027, 1, 19)

    after = planned(bench(tmp_path, log, next_day, **parts), published(first, next_day))

    def held(plan: Plan) -> dict[date, set[EntryId]]:
        return {each.day: lines_of(each) for each in plan.rounds if next_day <= each.day < date(2027, 1, 25)}

    assert sum(map(len, held(first).values())) > 20
    assert held(after) == held(first)


def test_what_is_still_to_do_is_asked_at_one_round_and_again_after_a_full_interval(tmp_path: Path) -> None:
    log = f"{STUCK}\n2027-02-01 roots 7a\n2027-02-08 well_rooted 7a --count 12"
    nursery = bench(tmp_path, log, date(2027, 2, 9))
    year, asked = Year(nursery, list(nursery.every_row)), []
    for number in range(50):
        as_of = date(2027, 2, 9) + timedelta(days=number)
        nursery, plan = year.plan(as_of)
        year.publish(plan, nursery)
        asked += [each.day for each in plan.rounds if each.day == as_of and "7a.pot_up" in lines_of(each)]

    rule = task(plan, "7a.pot_up").rule
    wait = (rule.closes_day or 0) - (rule.due_day or 0)
    assert len(asked) >= 2
    assert all((two - one).days >= max(wait, 7) for one, two in pairwise(asked)), asked


# --- looks logged, and looks missed ------------------------------------------------------------------------------

LOGS = f"{STUCK}\n2027-01-05 received 8a --count 6 --stage rooting --bin B\n2027-01-08 looked --bin A"


def test_a_round_not_logged_is_taken_to_be_done_where_looks_are_never_logged(tmp_path: Path) -> None:
    before = planned(bench(tmp_path, STUCK, date(2027, 1, 6)))
    next_day = days(before)[0] + timedelta(days=1)

    after = planned(bench(tmp_path, STUCK, next_day), published(before, next_day))

    assert days(after) == days(before)[1:]
    assert after.warnings == ()


@pytest.mark.parametrize("with_calendar", [True, False])
def test_a_round_not_logged_is_missed_where_looks_are_logged_and_comes_on_the_next_day_it_can(
    tmp_path: Path, with_calendar: bool
) -> None:
    before = planned(bench(tmp_path, LOGS, date(2027, 1, 8), bins="AB"))
    assert days(before)[:2] == [date(2027, 1, 8), date(2027, 1, 12)]
    wednesday = date(2027, 1, 13)
    past = published(before, wednesday) if with_calendar else Past()

    after = planned(bench(tmp_path, LOGS, wednesday, bins="AB"), past)

    [missed] = after.warnings
    assert (missed.kind, missed.day, missed.lots, missed.bins) == ("missed", date(2027, 1, 12), ("7a",), ("A",))
    assert missed.carried_to == days(after)[0] == wednesday
    assert after.rounds[0].makes_up == (missed,)
    assert "7a" in after.rounds[0].lots


def test_a_round_missed_while_its_latest_day_allows_it_waits_for_the_next_bench_day(tmp_path: Path) -> None:
    log = "2027-01-05 received 7a --count 6 --stage rooting --bin A\n2027-02-02 roots 7a\n2027-02-08 leaves 7a\n"
    log += "2027-02-09 looked --bin A"
    before = Past(rounds={date(2027, 2, 10): frozenset()}, since=date(2027, 2, 10))

    after = planned(bench(tmp_path, log, date(2027, 2, 11)), before)

    [missed] = after.warnings
    assert missed.day == date(2027, 2, 10)
    assert missed.carried_to == days(after)[0] == date(2027, 2, 12)


def test_a_look_missed_while_away_waits_till_the_grower_is_back_and_says_so(tmp_path: Path) -> None:
    week = 'bench_days = ["tue", "fri", "sun"]\naway = [ { from = 2027-01-13, to = 2027-01-14 } ]'
    before = planned(bench(tmp_path, LOGS, date(2027, 1, 8), bins="AB", week=week))
    thursday = date(2027, 1, 14)

    after = planned(bench(tmp_path, LOGS, thursday, bins="AB", week=week), published(before, thursday))

    [missed] = [warning for warning in after.warnings if warning.kind == "missed"]
    assert missed.carried_to == days(after)[0] == date(2027, 1, 15)


def test_what_was_said_of_a_lot_left_out_counts_as_a_look_at_it(tmp_path: Path) -> None:
    log = f"{STUCK}\n2027-01-05 received 8a --count 6 --stage rooting --bin A\n2027-01-08 looked 8a"

    silent = planned(bench(tmp_path, log, date(2027, 1, 9)))
    told = planned(bench(tmp_path, f"{log}\n2027-01-08 wet 7a", date(2027, 1, 9)))

    assert [warning.lots for warning in silent.warnings] == [("7a",)]
    assert told.warnings == ()


def test_after_a_fortnight_without_a_look_logged_rounds_are_taken_to_be_done_again(tmp_path: Path) -> None:
    for day, warned in ((date(2027, 1, 22), True), (date(2027, 1, 23), False)):
        plan = planned(bench(tmp_path, LOGS, day, bins="AB"))
        assert any(warning.kind == "missed" for warning in plan.warnings) is warned


# --- small jobs --------------------------------------------------------------------------------------------------


def test_a_small_job_joins_the_visit_that_lies_in_its_window(tmp_path: Path) -> None:
    without = planned(bench(tmp_path, f"{IN_POTS}\n2027-02-02 looked 8a", date(2027, 2, 2)))

    feeding = [each for each in without.tasks if each.rule.id == "first_feed"]
    [held] = [each.day for each in without.rounds if "8a.first_feed" in lines_of(each)]
    assert feeding[0].earliest <= held <= feeding[0].latest
    assert feeding[0].due == held


def test_a_treatment_makes_a_visit_of_its_own_only_where_none_lies_in_its_window(tmp_path: Path) -> None:
    log = f"{IN_POTS}\n2027-02-09 looked 8a"

    usual = planned(bench(tmp_path, log, date(2027, 2, 9)))
    treating = planned(bench(tmp_path, f"{log}\n2027-02-09 gnats 8a", date(2027, 2, 9)))

    turns = of_rule(treating, "gnat_drench")
    assert len(turns) > 3
    for turn in turns:
        [held] = [each.day for each in treating.rounds if turn.id in lines_of(each)]
        assert turn.earliest <= held <= turn.latest
    for each in treating.rounds:
        if lines_of(each) <= {turn.id for turn in turns}:  # it was made for a turn alone
            [turn] = [turn for turn in turns if turn.id in lines_of(each)]
            assert not any(turn.earliest <= day <= turn.latest for day in days(usual))
    for each in treating.rounds:
        drenches = {turn.id for turn in turns} & lines_of(each)
        assert drenches or each.on_bench_day or each.day > date(2027, 3, 20)


def test_mould_found_after_todays_round_is_treated_before_the_next_one(tmp_path: Path) -> None:
    log = f"{STUCK}\n2027-01-12 looked 7a\n2027-01-13 mould 7a"

    mouldy = planned(bench(tmp_path, log, date(2027, 1, 13)))

    [treated] = [each.day for each in mouldy.rounds if "7a.mould_treat" in lines_of(each)]
    assert date(2027, 1, 13) <= treated <= date(2027, 1, 15)


def test_mould_that_comes_back_after_an_all_clear_is_treated_again(tmp_path: Path) -> None:
    first = planned(bench(tmp_path, f"{STUCK}\n2027-01-12 mould 7a", date(2027, 1, 12)))
    again = f"{STUCK}\n2027-01-12 mould 7a\n2027-01-16 all_clear 7a\n2027-01-26 mould 7a"

    second = planned(bench(tmp_path, again, date(2027, 1, 26)), published(first, date(2027, 1, 26)))

    assert "7a.mould_treat" in {name for each in second.rounds[:2] for name in lines_of(each)}


def test_a_job_already_asked_for_in_a_round_gone_by_is_not_asked_for_again(tmp_path: Path) -> None:
    log = "2027-02-01 received 8a --count 6 --stage pot\n2027-02-20 looked 8a"
    before = planned(bench(tmp_path, log, date(2027, 2, 20)))
    [held] = [each.day for each in before.rounds if "8a.first_feed" in lines_of(each)]
    next_day = held + timedelta(days=1)

    after = planned(bench(tmp_path, log, next_day), published(before, next_day))

    assert all("8a.first_feed" not in lines_of(each) for each in after.rounds)


def told_for(plan: Plan, job: str, day: date) -> Past:
    """What a plan published, one small job told in the round of another day."""
    past, name = published(plan, plan.as_of), task(plan, job).id
    rounds = {each: lines - {name} | ({name} if each == day else set()) for each, lines in past.coming.items()}
    assert day in rounds
    return replace(past, coming=rounds)


def round_of(plan: Plan, job: str) -> date:
    """The day of the round that holds a small job."""
    [day] = [each.day for each in plan.rounds if job in lines_of(each)]
    return day


def test_mould_in_store_is_seen_to_at_the_next_round_though_a_later_one_was_told(tmp_path: Path) -> None:
    log = f"2027-01-02 taken 7a --count 12\n{STUCK.replace('7a', '8a')}\n2027-02-02 mould 7a"
    nursery = bench(tmp_path, log, date(2027, 2, 2))
    soon = planned(nursery)
    [job] = of_rule(soon, "store_mould")
    later = next(day for day in days(soon) if round_of(soon, job.id) < day <= job.latest)

    after = planned(nursery, told_for(soon, job.id, later))

    assert round_of(after, job.id) == round_of(soon, job.id)


def test_a_small_job_of_known_days_stays_in_a_later_round_of_its_window_and_leaves_one_too_soon(tmp_path: Path) -> None:
    nursery = bench(tmp_path, f"{IN_POTS}\n2027-02-02 looked 8a", date(2027, 2, 2))
    bare = planned(nursery)
    [sooner, best, later] = [day for day in days(bare) if date(2027, 2, 19) <= day <= date(2027, 2, 26)]

    found = [
        round_of(planned(nursery, told_for(bare, "8a.first_feed", day)), "8a.first_feed") for day in (sooner, later)
    ]

    assert round_of(bare, "8a.first_feed") == best
    assert found == [best, later]


def test_a_small_job_that_hangs_on_a_forecast_stays_in_a_round_near_its_day_and_leaves_one_far_off(
    tmp_path: Path,
) -> None:
    nursery = bench(tmp_path, f"{STUCK}\n2027-01-20 looked 7a", date(2027, 1, 20))
    bare = planned(nursery)
    feed = task(bare, "7a.first_feed")
    best = round_of(bare, feed.id)
    inside = [day for day in days(bare) if feed.earliest <= day < best]

    found = {day: round_of(planned(nursery, told_for(bare, feed.id, day)), feed.id) for day in (inside[0], inside[-1])}

    assert inside[0] < best - timedelta(days=14) < best - timedelta(days=7) < inside[-1]
    assert found == {inside[0]: best, inside[-1]: inside[-1]}


# --- the same the next morning -----------------------------------------------------------------------------------


def test_the_same_files_on_the_same_day_give_the_same_plan(tmp_path: Path) -> None:
    one, other = (planned(bench(tmp_path, MIXED, date(2027, 1, 20))) for _ in range(2))

    assert [(each.day, each.lines) for each in one.rounds] == [(each.day, each.lines) for each in other.rounds]
    assert one.tasks == other.tasks


NO_LOOK_LOGGED = MIXED.replace("2027-01-19 looked --bin A\n", "")
STATES = {
    "fresh": (NO_LOOK_LOGGED, date(2027, 1, 20)),
    "roots seen": (f"{NO_LOOK_LOGGED}2027-01-24 roots 7a --count 4", date(2027, 1, 24)),
    "mould": (f"{NO_LOOK_LOGGED}2027-01-22 mould 7a", date(2027, 1, 22)),
    "gnats in pots": (f"{IN_POTS}\n2027-02-05 gnats 8a", date(2027, 2, 5)),
    "hardening": ("2027-03-20 received 8a --count 6 --stage pot\n2027-04-30 set_out 8a", date(2027, 4, 30)),
}


@pytest.mark.parametrize("state", STATES)
def test_the_next_morning_with_nothing_logged_the_rounds_to_come_are_as_they_were(tmp_path: Path, state: str) -> None:
    log, start = STATES[state]
    plan = planned(bench(tmp_path, log, start))
    known = plan

    for morning in range(1, 6):
        today = start + timedelta(days=morning)
        plan = planned(bench(tmp_path, log, today), published(known, today))

        assert days(plan) == [day for day in days(known) if day >= today]
        changed = [
            new.day
            for new, old in zip(plan.rounds, [each for each in known.rounds if each.day >= today], strict=True)
            if lines_of(new) != lines_of(old)
        ]
        assert len(changed) <= 1  # the next one, which reminds of what was not done


def test_a_round_that_took_place_today_stays_in_the_calendar(tmp_path: Path) -> None:
    morning = planned(bench(tmp_path, STUCK, date(2027, 1, 8)))

    evening = planned(bench(tmp_path, f"{STUCK}\n2027-01-08 looked --bin A", date(2027, 1, 8)))

    assert days(morning)[0] == date(2027, 1, 8)
    assert days(evening)[0] == date(2027, 1, 8)
    assert evening.rounds[0].done
    assert not morning.rounds[0].done


def test_looks_logged_on_the_planned_day_leave_every_other_round_as_it_was(tmp_path: Path) -> None:
    morning = planned(bench(tmp_path, LOGS, date(2027, 1, 12), bins="AB"))
    known = published(morning, date(2027, 1, 12))
    assert days(morning)[0] == date(2027, 1, 12)

    # Later come small jobs in pots, and potting is put off a day by bags in which a look saw no roots.
    before_pots = [day for day in days(morning) if day < date(2027, 3, 1)]
    for logged in ("looked --bin A", "looked --bin A\n2027-01-12 looked --bin B", "looked 7a"):
        evening = planned(bench(tmp_path, f"{LOGS}\n2027-01-12 {logged}", date(2027, 1, 12), bins="AB"), known)
        assert [day for day in days(evening) if day < date(2027, 3, 1)] == before_pots


def test_a_look_out_of_turn_is_counted_from(tmp_path: Path) -> None:
    morning = planned(bench(tmp_path, STUCK, date(2027, 1, 11), week='bench_days = ["tue"]'))

    evening = planned(bench(tmp_path, f"{STUCK}\n2027-01-11 looked 7a", date(2027, 1, 11), week='bench_days = ["tue"]'))

    assert date(2027, 1, 11) not in days(morning)
    assert days(evening)[0] == date(2027, 1, 11)
    assert days(evening)[1] <= date(2027, 1, 15)


def test_a_plan_looks_forward_only(tmp_path: Path) -> None:
    for today in (date(2027, 1, 5), date(2027, 2, 20), date(2027, 7, 1)):
        plan = planned(bench(tmp_path, STUCK, today))
        assert all(day >= today for day in days(plan))


def test_nothing_is_asked_of_a_pot_before_the_day_on_which_it_is_to_be_potted(tmp_path: Path) -> None:
    plan = planned(bench(tmp_path, MIXED, date(2027, 1, 20)))

    for lot in ("7a", "8a"):
        potting = task(plan, f"{lot}.pot_up").due
        asked = [
            each.day for each in plan.rounds for line in each.lines if line.rule.after == "potted" and line.lot == lot
        ]
        assert asked
        assert min(asked) >= potting
