"""Sentences: dates and spans as said, where a day comes from, what cannot be kept."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest

from almanac.forecast.model import Milestone
from almanac.plan.changes import Changes
from almanac.plan.ids import EntryId
from almanac.plan.model import Forced, Plan, PlanWarning
from almanac.plan.spaces import Place
from almanac.rulebook.models import Where
from almanac.words.dates import day, days, shift, span, weekday
from almanac.words.lock_screen import round_title
from almanac.words.lots import named, places_named, status, whereabouts
from almanac.words.milestones import arithmetic, forecast
from almanac.words.moved import told
from almanac.words.rounds import round_text
from almanac.words.tasks import reason, text, title
from almanac.words.warnings import forced_text, warning_text
from tests.nurseries import FROST_ALL_SUMMER, bench
from tests.unit.given import planned, task

STUCK = "2027-01-05 received 7a --count 12 --stage rooting --bin A"
ISO = re.compile(r"\d{4}-\d\d-\d\d")


def plan_of(folder: Path, log: str, today: date) -> Plan:
    return planned(bench(folder, log, today))


# --- dates -------------------------------------------------------------------------------------------------------


def test_a_date_is_said_in_words_that_two_countries_read_alike() -> None:
    assert day(date(2027, 3, 4)) == "4 Mar"
    assert weekday(date(2027, 3, 4)) == "Thu 4 Mar"


def test_the_year_is_said_only_where_it_is_another() -> None:
    assert weekday(date(2027, 1, 4), date(2026, 12, 30)) == "Mon 4 Jan 2027"
    assert weekday(date(2027, 1, 4), date(2027, 12, 30)) == "Mon 4 Jan"
    assert span(date(2026, 12, 30), date(2027, 1, 4), date(2026, 12, 20)) == "30 Dec to 4 Jan 2027"


def test_a_span_of_one_day_is_a_day() -> None:
    assert span(date(2027, 3, 4), date(2027, 3, 4)) == "4 Mar"


def test_days_are_counted_as_people_count_them() -> None:
    assert [days(number) for number in (0, 1, 2)] == ["0 days", "1 day", "2 days"]


def test_what_moved_is_said_as_sooner_or_later() -> None:
    monday = date(2027, 3, 1)

    assert shift(monday, monday + timedelta(days=7)) == "7 days later"
    assert shift(monday, monday - timedelta(days=1)) == "1 day sooner"
    assert shift(monday, monday) == "same day"


# --- lots --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("logged", "said"), [(9, "early"), (10, "on time"), (20, "on time"), (21, "late")])
def test_a_lot_is_on_time_while_its_latest_sign_came_as_nine_lots_in_ten_would_have(
    tmp_path: Path, logged: int, said: str
) -> None:
    nursery = bench(tmp_path, STUCK, date(2027, 1, 6))
    [lot] = nursery.stock.lots.values()
    usual = (date(2027, 2, 10), date(2027, 2, 15), date(2027, 2, 20))
    roots = Milestone(name="roots", title="Roots", logged=date(2027, 2, logged), usual=usual)
    coming = Milestone(name="leaves", title="Leaves", days=(date(2027, 3, 1),) * 3)

    found = {lot.id: {"roots": roots, "leaves": coming}}

    assert status(lot, replace(planned(nursery), as_of=date(2027, 2, 22), milestones=found)) == said


def test_few_lots_are_named_and_many_are_counted() -> None:
    assert named(["7a", "7b"]) == "7a, 7b"
    assert named(["1a", "2a", "3a", "4a", "5a"], most=3) == "1a, 2a and 3 more"


def test_it_is_said_where_each_part_of_a_lot_is(tmp_path: Path) -> None:
    log = f"{STUCK}\n2027-02-20 potted 7a --count 4\n2027-02-21 died 8a --count 2 --value dry"
    nursery = bench(tmp_path, f"2027-01-05 taken 8a --count 2\n{log}", date(2027, 2, 22))

    assert whereabouts(nursery.stock.lots["7a"]) == "8 rooting in A, 4 in pots"
    assert whereabouts(nursery.stock.lots["8a"]) == "closed"


# --- where a day comes from --------------------------------------------------------------------------------------


def test_a_logged_milestone_is_said_as_logged_and_a_forecast_as_likely_between_two_days(tmp_path: Path) -> None:
    found = plan_of(tmp_path, f"{STUCK}\n2027-01-20 roots 7a --count 3", date(2027, 1, 21)).milestones["7a"]

    assert forecast(found["roots"], date(2027, 1, 21)) == "20 Jan, logged"
    assert forecast(found["callus"], date(2027, 1, 21)) == "by 20 Jan (roots)"
    assert re.fullmatch(r"\d+ \w+ \(\d+ \w+–\d+ \w+\)", forecast(found["potted"], date(2027, 1, 21)))


def test_the_count_that_showed_it_is_said_with_the_reason(tmp_path: Path) -> None:
    plan = plan_of(tmp_path, f"{STUCK}\n2027-01-20 roots 7a --count 3", date(2027, 1, 21))

    assert "logged 20 Jan on 3 of 12" in reason(task(plan, "7a.pots_ready"), plan.as_of)


def test_a_forecast_that_has_passed_is_said_to_be_expected_by_now(tmp_path: Path) -> None:
    plan = plan_of(tmp_path, STUCK, date(2027, 2, 5))

    assert "expected by now" in reason(task(plan, "7a.pots_ready"), plan.as_of)


def test_the_reason_stays_the_same_until_something_is_logged(tmp_path: Path) -> None:
    monday, tuesday = (plan_of(tmp_path, STUCK, date(2027, 1, day)) for day in (11, 12))

    for name in ("7a.pot_up", "7a.first_water", "A.lamp_on"):
        assert reason(task(monday, name), monday.as_of) == reason(task(tuesday, name), tuesday.as_of)


def test_a_task_of_another_year_says_its_year(tmp_path: Path) -> None:
    plan = plan_of(tmp_path, "2026-12-20 received 7a --count 12 --stage rooting --bin A", date(2026, 12, 21))

    assert "2027" in forecast(plan.milestones["7a"]["potted"], plan.as_of)
    assert any("2027" in line for line in arithmetic(plan.milestones["7a"]["roots"], "us", plan.as_of))


@pytest.mark.parametrize(("units", "expected"), [("us", "at 77 °F"), ("metric", "at 25 °C")])
def test_warmth_is_told_in_the_nurserys_own_units(tmp_path: Path, units: str, expected: str) -> None:
    nursery = bench(tmp_path, STUCK, date(2027, 1, 6), units=units)
    plan = planned(nursery)

    assert expected in arithmetic(plan.milestones["7a"]["roots"], nursery.units, plan.as_of)[0]


def test_a_forecast_that_stands_still_has_no_date(tmp_path: Path) -> None:
    nursery = bench(tmp_path, f"{STUCK}\n2027-01-06 mat --bin A --value off", date(2027, 1, 12), air="9 C")

    assert forecast(planned(nursery).milestones["7a"]["roots"], nursery.as_of) == "no date"


# --- tasks and rounds --------------------------------------------------------------------------------------------


def test_a_title_says_what_and_for_whom_in_a_line_of_a_phone(tmp_path: Path) -> None:
    log = f"{STUCK}\n2027-02-10 well_rooted 7a\n2027-01-05 taken 8a --count 9"
    plan = plan_of(tmp_path, log, date(2027, 2, 11))

    assert title(task(plan, "7a.pot_up")) == "Pot up: 7a (12)"
    assert all(len(title(each)) <= 60 for each in plan.tasks)


def test_an_entry_says_how_why_and_how_to_log_it(tmp_path: Path) -> None:
    nursery = bench(tmp_path, f"{STUCK}\n2027-02-10 well_rooted 7a", date(2027, 2, 11))
    plan = planned(nursery)
    entry = text(task(plan, "7a.pot_up"), nursery.book, plan.as_of)

    assert "Why: Counted from well rooted, logged 10 Feb" in entry
    assert "stickdate log potted 7a" in entry
    assert "stickdate why 7a.pot_up" in entry
    assert not ISO.search(entry)


def test_work_that_multiplies_a_protected_variety_says_so(tmp_path: Path) -> None:
    log = "2026-11-20 taken 7a --count 9\n2027-02-05 taken 9a --count 9"
    nursery = bench(tmp_path, log, date(2027, 2, 6))
    plan = planned(nursery)

    assert "Protected: 9a" in text(task(plan, "9a.store_limit"), nursery.book, plan.as_of)
    assert "Protected" not in text(task(plan, "7a.store_limit"), nursery.book, plan.as_of)


def test_a_lot_planned_of_a_protected_variety_says_so_before_it_is_stuck(tmp_path: Path) -> None:
    nursery = bench(tmp_path, "2027-01-05 planned 9 --count 12 --value 2027-01-08", date(2027, 1, 6))
    plan = planned(nursery)

    assert nursery.book.cautions["protected"].short in text(task(plan, "r1.stick_planned"), nursery.book, plan.as_of)


def test_a_round_says_bins_lots_and_minutes_and_each_thing_to_look_for_once(tmp_path: Path) -> None:
    log = f"{STUCK}\n2027-01-05 received 8a --count 6 --stage rooting --bin A"
    nursery = bench(tmp_path, log, date(2027, 1, 6))
    each = planned(nursery).rounds[1]

    assert re.fullmatch(r"Bench: 7a, 8a, \d+ min", round_title(each))
    assert round_text(each, nursery.book, ()).count("sweat on the inside") == 1
    assert "7a, 8a: " in round_text(each, nursery.book, ())


def test_a_round_while_away_asks_for_someone_else(tmp_path: Path) -> None:
    week = 'bench_days = ["tue"]\naway = [ { from = 2027-01-06, to = 2027-01-20 } ]'
    nursery = bench(tmp_path, STUCK, date(2027, 1, 6), week=week)
    each = planned(nursery).rounds[0]

    assert each.away
    assert round_text(each, nursery.book, ()).startswith("You are away: ask someone to do this.")


# --- what cannot be kept -----------------------------------------------------------------------------------------


def test_each_warning_names_the_lots_and_what_can_be_done(tmp_path: Path) -> None:
    plan = planned(bench(tmp_path, f"{STUCK}\n2027-02-20 potted 7a", date(2027, 2, 21), frost=FROST_ALL_SUMMER))
    [never_safe] = plan.warnings
    monday = date(2027, 3, 1)

    assert warning_text(never_safe, monday).startswith("7a: no date for 'set out to harden'")
    wednesday = date(2027, 3, 3)
    missed = PlanWarning(
        kind="missed", day=monday, lots=("7a", "8a"), places=(Place("bin", "A"),), carried_to=wednesday
    )
    assert warning_text(missed, wednesday) == "No look logged in bin A on Mon 1 Mar (7a, 8a): look today."
    assert warning_text(missed, date(2027, 3, 2)) == (
        "No look logged in bin A on Mon 1 Mar (7a, 8a): look on Wed 3 Mar, or ask someone to look sooner."
    )
    assert warning_text(PlanWarning(kind="away", day=monday, lots=("7a",), places=(Place("bin", "A"),)), monday) == (
        "You are away on Mon 1 Mar and it cannot wait: ask someone to look at bin A that day (7a); "
        "pages for them: stickdate sheet --away helper.pdf."
    )
    assert "too cold or too warm" in warning_text(PlanWarning(kind="standstill", day=monday, lots=("7a",)), monday)


def test_what_goes_and_comes_again_under_one_name_has_moved_and_what_is_past_its_day_says_so(tmp_path: Path) -> None:
    today = date(2027, 2, 2)
    plan = planned(bench(tmp_path, "2026-12-28 received 7a --count 6 --stage rooting --bin A", today))
    light, pots = (task(plan, name) for name in ("7a.first_water", "7a.pots_ready"))
    again = replace(light, id=light.id.again(2), due=today + timedelta(days=9))
    ready = replace(pots, due=today - timedelta(days=3), latest=today + timedelta(days=3))
    late = replace(pots, id=pots.id.again(2), due=today - timedelta(days=3), latest=today - timedelta(days=1))
    things = {each.id: each for each in (light, again, ready, late)}
    changes = Changes(moved=(), added=(again.id, ready.id, late.id), removed=(light.id,), things=things)

    found = told(changes, {name: str(name) for name in things} | {again.id: "Light", light.id: "Light"}, today)

    assert [(each.what, each.when) for each in found.moved] == [("Light", "Thu 11 Feb")]
    assert [each.when for each in found.added] == ["now", "overdue since 1 Feb"]
    assert found.removed == ()


@pytest.mark.parametrize(
    ("places", "told"),
    [
        ((("bin", "A"),), "bin A"),
        ((("bin", "A"), ("bin", "B"), ("bin", "A")), "bins A, B"),
        ((("bed", "ditch"), ("tray", "T"), ("bin", "A"), ("bin", "B")), "bins A, B, tray T and bed ditch"),
        ((), ""),
    ],
)
def test_several_places_are_named_by_what_they_are_bins_first(places: tuple[tuple[Where, str], ...], told: str) -> None:
    assert places_named(Place(*each) for each in places) == told


def test_a_look_at_a_whole_tray_that_cannot_wait_names_the_tray(tmp_path: Path) -> None:
    book = bench(tmp_path, "", date(2027, 1, 9)).book
    day_on = date(2027, 1, 13)
    forced = Forced(
        id=EntryId("T", "gnat_card"),
        rule=book.task("gnat_card"),
        lot="",
        bin="T",
        of_kind="tray",
        latest=day_on,
        since=None,
        treats=False,
    )

    assert "of tray T waits no longer than" in forced_text(forced, day_on)
