"""Hardening off: from what the nursery says of lamps, cloths and site to the days on which plants come into the sun."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, time, timedelta
from itertools import pairwise
from pathlib import Path
from typing import Unpack

import pytest

from almanac.feed.entries import entries_of
from almanac.nursery.nursery import Nursery
from almanac.plan.care.programmes.hardening.derivation import Ramp
from almanac.plan.model import Plan, Task
from almanac.site.sun import sun_day
from almanac.terminal.why import why_text
from almanac.words.tasks import text, title
from almanac.words.warnings import warning_text
from almanac.words.why import find
from tests.nurseries import FROST, NO_FROST, Parts, bench
from tests.unit.given import has_task, of_rule, planned, published, task

CLOTHS = "cloths = [0.7, 0.4]"
HOURS = 'way = "hours"'
LIGHT = "light = { ppfd = 120, hours = 16 }"
POTS = "2027-03-10 received 7a --count 6 --stage pot"
TODAY = date(2027, 4, 10)
MANY = "number,name,crop,source,protected\n" + "\n".join(f"{n},Tin Kettle {n} (invented),fig,," for n in range(1, 8))
# Means of a place with cool nights, invented: at 10 C from the end of June on.
COOL = (
    '[frost.monthly]\nlows = ["-2 C", "-1 C", "1 C", "4 C", "7 C", "9 C", "12 C", "12 C", "9 C", "5 C", "2 C", "-1 C"]'
)


def nursery(folder: Path, log: str = POTS, today: date = TODAY, **parts: Unpack[Parts]) -> Nursery:
    """One whose pots stand under a lamp, with two cloths at hand."""
    return bench(folder, log, today, **(Parts(space=LIGHT, hardening=CLOTHS, varieties=MANY) | parts))


def ramp(plan: Plan, lot: str = "7a") -> list[Task]:
    """A lot's entries of hardening, in order of their days."""
    found = [task for task in plan.tasks if task.rule.id.startswith("harden") and lot in task.lots]
    return sorted(found, key=lambda task: task.due)


def titles(plan: Plan, lot: str = "7a") -> list[str]:
    return [title(task).split(": 7a")[0] for task in ramp(plan, lot)]


def hours(task: Task) -> tuple[time, time] | None:
    """Those of the clock between which plants stand in the place of a step; None where all day."""
    assert isinstance(task.derivation, Ramp)
    step = task.derivation.step
    return (step.out, step.back) if step and step.out and step.back else None


def carries(plan: Plan) -> list[Task]:
    return sorted(of_rule(plan, "carry"), key=lambda task: task.due)


def said(plan: Plan, at: Nursery, name: str) -> str:
    return why_text(find(name, plan), plan, at)


def one_line(words: str) -> str:
    return " ".join(words.split())


# --- under cloths ------------------------------------------------------------------------------------------------


def test_plants_come_from_full_shade_by_way_of_every_cloth_into_the_sun_on_bench_days(tmp_path: Path) -> None:
    plan = planned(nursery(tmp_path))

    assert titles(plan) == [
        "Out: full shade",
        "Harden: both cloths",
        "Harden: 70% cloth",
        "Harden: 40% cloth",
        "Harden: full sun",
        "Leave out overnight",
    ]
    assert [task.due.strftime("%a") for task in ramp(plan)] == ["Fri", "Tue", "Fri", "Tue", "Fri", "Sun"]


def test_each_step_gives_no_more_than_the_one_before_it_raised_by_the_share_a_day(tmp_path: Path) -> None:
    for kit in (CLOTHS, "cloths = [0.5]", "cloths = []", HOURS):
        [*steps, _] = ramp(planned(nursery(tmp_path, hardening=kit)))
        lights = [found.step.light for each in steps if isinstance(found := each.derivation, Ramp) and found.step]

        assert lights[0].peak_ppfd <= 120 * 1.3
        assert lights[0].dose_mol <= 120 * 16 * 0.0036 * 1.3
        for (last, before), (new, after) in pairwise(zip(lights, (each.due for each in steps), strict=True)):
            times = min(1.3 ** (after - before).days, 2.5)
            assert new.peak_ppfd <= last.peak_ppfd * times * 1.0001, kit
            assert new.dose_mol <= max(last.dose_mol * times, 120 * 16 * 0.0036 * 1.3) * 1.0001, kit


def test_where_the_next_cloth_is_too_light_plants_stand_under_it_for_hours_first(tmp_path: Path) -> None:
    found = titles(planned(nursery(tmp_path, hardening="cloths = [0.5]")))

    assert found[0] == "Out: full shade"
    assert re.match("Harden: 50% cloth 1[5-8]:", found[1])  # late in the day: mornings are cold
    assert found[-3:] == ["Harden: 50% cloth", "Harden: full sun", "Leave out overnight"]


def test_where_no_cloth_is_named_light_shade_stands_for_it_and_the_entry_says_so(tmp_path: Path) -> None:
    at = nursery(tmp_path, hardening="")
    plan = planned(at)

    [shade] = [task for task in ramp(plan) if title(task).startswith("Harden: light shade: ")]
    assert "nursery.toml names no cloth" in text(shade, at.book, TODAY)


def test_plants_from_a_weak_lamp_take_longer_and_their_nights_out_come_later(tmp_path: Path) -> None:
    weak, strong = (planned(nursery(tmp_path, space=f"light = {{ ppfd = {ppfd}, hours = 16 }}")) for ppfd in (60, 250))

    assert ramp(weak)[-2].due > ramp(strong)[-2].due
    late, soon = weak.milestones["7a"]["outside"].days, strong.milestones["7a"]["outside"].days
    assert late is not None
    assert soon is not None
    assert late[1] > soon[1]


def test_under_a_lamp_so_weak_that_even_an_hour_of_shade_is_more_the_entry_says_so(tmp_path: Path) -> None:
    at = nursery(tmp_path, space="light = { ppfd = 0.01, hours = 1 }")

    assert "A clear day there is more than they bear: first a week nearer the lamp." in text(
        ramp(planned(at))[0], at.book, TODAY
    )


def test_where_no_lamp_is_named_a_common_one_is_taken_and_why_says_so(tmp_path: Path) -> None:
    at = nursery(tmp_path, space="")

    words = one_line(said(planned(at), at, "7a.harden_out"))

    assert "The lamp: 120 µmol for 16 h x 0.0036 = 6.9 mol a day (a common lamp: nursery.toml names none" in words


def test_the_lamp_is_that_of_the_bin_a_lot_rooted_in_with_the_hours_last_logged(tmp_path: Path) -> None:
    log = "2027-01-05 received 7a --count 6 --stage rooting --bin A\n2027-02-20 lamp --bin A --value '12 h'\n"
    at = nursery(tmp_path, f"{log}2027-03-20 potted 7a", space="", light="{ ppfd = 100, hours = 16 }")

    assert "100 µmol for 12 h x 0.0036 = 4.3 mol a day" in one_line(said(planned(at), at, "7a.harden_out"))


def test_why_tells_lamp_and_share_and_every_step_with_dose_and_peak_and_full_sun(tmp_path: Path) -> None:
    at = nursery(tmp_path)

    words = one_line(said(planned(at), at, "7a.harden.3"))

    assert "120 µmol for 16 h x 0.0036 = 6.9 mol a day (light under [space] in nursery.toml)." in words
    assert "may rise by 30% a day" in words
    assert words.count(" µmol; borne by then ") == 5
    assert "Full sun on 30 Apr: " in words


def test_every_entry_sends_to_tonights_forecast_and_names_the_crops_lowest_night(tmp_path: Path) -> None:
    at = nursery(tmp_path)

    for each in ramp(planned(at)):
        words = one_line(text(each, at.book, TODAY))
        bears = "36 F (2 C) cover or bring them in" if each.rule.id == "harden_nights" else "50 F (10 C) leave them in"
        assert f"Look at tonight's forecast; below about {bears}" in words


# --- groups ------------------------------------------------------------------------------------------------------


def test_lots_potted_within_ten_days_harden_together_by_the_weakest_lamp(tmp_path: Path) -> None:
    log = (
        "2027-01-05 received 1a --count 6 --stage rooting --bin A\n2027-01-05 received 2a --count 4 --stage rooting\n"
        "2027-03-25 potted 1a\n2027-03-31 potted 2a"
    )
    lamps = "{ ppfd = 200, hours = 16 }"
    alone = planned(nursery(tmp_path, "\n".join(log.splitlines()[::2]), space="", light=lamps))
    plan = planned(nursery(tmp_path, log, space="", light=lamps))

    assert [task.lots for task in ramp(plan, "1a")] == [("1a", "2a")] * len(ramp(plan, "1a"))
    assert ramp(plan, "2a")[0].count == 10
    assert ramp(plan, "1a")[0].due >= ramp(alone, "1a")[0].due


def test_groups_that_come_to_the_same_place_on_one_day_share_its_entry(tmp_path: Path) -> None:
    log = "2027-02-20 received 1a --count 6 --stage pot\n2027-03-10 received 2a --count 4 --stage pot"

    plan = planned(nursery(tmp_path, log))  # both wait for the frost to pass

    assert [task.lots for task in ramp(plan, "1a")] == [("1a", "2a")] * 6
    assert len({task.id for task in plan.tasks}) == len(plan.tasks)


def test_groups_from_other_lamps_never_share_an_entry_that_says_another_place(tmp_path: Path) -> None:
    log = (
        "2027-01-05 received 1a --count 6 --stage rooting --bin A\n"
        "2027-01-05 received 2a --count 6 --stage rooting --bin B\n2027-02-20 potted 1a\n2027-03-10 potted 2a"
    )
    lamps = {"A": "{ ppfd = 120, hours = 16 }", "B": "{ ppfd = 60, hours = 16 }"}

    plan = planned(nursery(tmp_path, log, TODAY, space="", bins="AB", light=lamps))

    strong, weak = ramp(plan, "1a"), ramp(plan, "2a")
    assert strong[0].due == weak[0].due
    for each in strong[:-1]:
        others = [task for task in weak if task.due == each.due and "2a" in task.lots]
        assert all(task.id == each.id or title(task).split(":")[1] != title(each).split(":")[1] for task in others)
    assert strong[1].lots == ("1a",)
    assert weak[1].lots == ("2a",)


def test_groups_of_one_lamp_that_go_out_on_other_days_have_each_its_own_steps(tmp_path: Path) -> None:
    log = "2027-02-20 received 1a --count 6 --stage pot\n2027-05-20 received 2a --count 4 --stage pot"

    plan = planned(nursery(tmp_path, log, date(2027, 5, 20)))

    first, later = ramp(plan, "1a"), ramp(plan, "2a")
    assert first[0].due < later[0].due
    assert first[1].due != later[1].due


def test_the_next_morning_with_nothing_logged_every_step_stays_on_its_day(tmp_path: Path) -> None:
    log = f"{POTS}\n2027-04-30 set_out 7a"
    first = planned(nursery(tmp_path, log, date(2027, 4, 30)))
    known = {task.id: task.due for task in ramp(first)}

    for morning in (date(2027, 5, 1), date(2027, 5, 3), date(2027, 5, 6)):
        plan = planned(nursery(tmp_path, log, morning), published(first, morning))
        assert {task.id: task.due for task in ramp(plan)} == {n: day for n, day in known.items() if day >= morning}


def test_where_a_step_waits_for_a_public_holiday_nights_outside_are_foreseen_after_it_too(tmp_path: Path) -> None:
    # 31 May 2027 is a public holiday in the United States: the step of that Monday is made a week later.
    week = 'bench_days = ["mon"]\nholidays_off = true'
    plan = planned(nursery(tmp_path, f"{POTS}\n2027-05-10 set_out 7a", date(2027, 5, 10), week=week))

    *_, full_sun, _ = ramp(plan)
    outside = plan.milestones["7a"]["outside"].days
    assert date(2027, 5, 31) not in {each.due for each in ramp(plan)}
    assert outside is not None
    assert outside[1] > full_sun.due == date(2027, 6, 14)


# --- set back ----------------------------------------------------------------------------------------------------

OUT = f"{POTS}\n2027-04-30 set_out 7a"


def test_once_set_out_the_steps_count_from_that_day(tmp_path: Path) -> None:
    plan = planned(nursery(tmp_path, f"{POTS}\n2027-05-04 set_out 7a", date(2027, 5, 4)))

    assert not has_task(plan, "7a.harden_out")
    assert task(plan, "7a.harden.2").due == date(2027, 5, 9)


def test_plants_brought_in_and_out_again_go_on_a_step_back(tmp_path: Path) -> None:
    back = f"{OUT}\n2027-05-08 brought_in 7a"  # the third step, the 70 % cloth, began on the 7th

    inside = planned(nursery(tmp_path, back, date(2027, 5, 8)))
    again = planned(nursery(tmp_path, f"{back}\n2027-05-11 set_out 7a", date(2027, 5, 11)))

    assert title(task(inside, "7a.harden_out")).startswith("Out: both cloths")
    assert titles(again)[0] == "Harden: 70% cloth"
    assert [task.id for task in ramp(again)][:2] == ["7a.harden.3", "7a.harden.4"]


def test_plants_kept_in_for_weeks_begin_anew_from_the_lamp(tmp_path: Path) -> None:
    back = f"{OUT}\n2027-05-08 brought_in 7a\n2027-05-28 set_out 7a"

    assert titles(planned(nursery(tmp_path, back, date(2027, 5, 28))))[0] == "Harden: both cloths"


def test_scorched_plants_rest_a_week_a_step_back_and_go_on_when_it_is_over(tmp_path: Path) -> None:
    log = f"{OUT}\n2027-05-12 scorch 7a"  # under the 40 % cloth since the 11th

    scorched = planned(nursery(tmp_path, log, date(2027, 5, 12)))
    well = planned(nursery(tmp_path, f"{log}\n2027-05-16 all_clear 7a", date(2027, 5, 16)))

    assert has_task(scorched, "7a.scorch")
    assert titles(scorched)[0] == titles(well)[0] == "Harden: 40% cloth"
    assert ramp(scorched)[0].due >= date(2027, 5, 19)
    assert ramp(well)[0].due == date(2027, 5, 16)


# --- by the clock ------------------------------------------------------------------------------------------------


def test_by_the_clock_plants_are_carried_into_the_last_sun_of_the_day_for_ever_longer(tmp_path: Path) -> None:
    at = nursery(tmp_path, hardening=HOURS)
    [*carried, sun, night] = ramp(planned(at))

    clocks = [clock for task in carried if (clock := hours(task))]
    lengths = [datetime.combine(TODAY, back) - datetime.combine(TODAY, out) for out, back in clocks]
    assert len(clocks) >= len(carried) - 3  # in full shade until they bear any sun
    assert lengths == sorted(lengths)
    assert timedelta(minutes=15) <= lengths[0] <= timedelta(hours=2)
    assert all(out >= time(12) for out, _ in clocks[:-1])
    assert re.search(r"Each day till \w{3} \d+ \w{3}\.", text(carried[-1], at.book, TODAY))
    assert hours(sun) is None
    assert night.rule.id == "harden_nights"


def test_when_the_clocks_change_there_are_new_times_that_day(tmp_path: Path) -> None:
    log = "2027-01-20 received 7a --count 6 --stage pot\n2027-03-09 set_out 7a"  # the clocks change on 14 March
    found = ramp(planned(nursery(tmp_path, log, date(2027, 3, 9), hardening=HOURS, frost=NO_FROST)))

    days = [task.due for task in found if task.rule.id == "harden" and hours(task)]
    assert date(2027, 3, 14) in days
    assert not any(before < date(2027, 3, 14) < after for before, after in pairwise(days))


@pytest.mark.parametrize("kit", [CLOTHS, HOURS, "cloths = []"])
def test_under_the_midnight_sun_hardening_has_its_days_and_ends(kit: str, tmp_path: Path) -> None:
    log = "2027-05-20 received 7a --count 6 --stage pot"
    found = ramp(planned(nursery(tmp_path, log, date(2027, 5, 21), frost=NO_FROST, hardening=kit, latitude=69.6)))

    assert title(found[-2]).startswith("Harden: full sun")
    assert all(out < back for task in found if (clock := hours(task)) for out, back in [clock])


# --- where the sun is fierce -------------------------------------------------------------------------------------

EQUINOX = date(2027, 3, 21)


def under_a_high_sun(folder: Path, site: str = "") -> Nursery:
    return nursery(folder, POTS, EQUINOX, latitude=10.0, frost=NO_FROST, site=site)


def test_where_the_sun_stands_overhead_afternoon_shade_stays(tmp_path: Path) -> None:
    at = under_a_high_sun(tmp_path)
    last = ramp(planned(at))[-2]

    assert title(last).startswith("Harden: sun, shade from 1")
    assert "Afternoon shade stays" in text(last, at.book, EQUINOX)


def test_where_clouds_are_usual_they_are_shade_enough(tmp_path: Path) -> None:
    cloudy = "radiation = [" + "13, " * 12 + '"MJ m-2 d-1"]'

    plan = planned(under_a_high_sun(tmp_path, site=cloudy))

    assert title(ramp(plan)[-2]).startswith("Harden: full sun")


def test_where_nights_are_as_hot_as_in_a_desert_afternoon_shade_stays_under_a_lower_sun(tmp_path: Path) -> None:
    lows = "[frost.monthly]\nlows = [" + ", ".join(
        f'"{low} C"' for low in (5, 7, 11, 17, 23, 26, 28, 27, 23, 17, 10, 6)
    )
    log, today = "2027-07-20 received 7a --count 6 --stage pot", date(2027, 7, 21)

    hot = planned(nursery(tmp_path, log, today, frost=f"{lows}]"))
    unknown = planned(nursery(tmp_path, log, today, frost=NO_FROST))

    assert title(ramp(hot)[-2]).startswith("Harden: sun, shade from 1")
    assert title(ramp(unknown)[-2]).startswith("Harden: full sun")


# --- frost and nights --------------------------------------------------------------------------------------------


def test_plants_live_out_once_nights_are_usually_warm_enough_where_that_is_known(tmp_path: Path) -> None:
    at = nursery(tmp_path, frost=COOL)
    plan = planned(at)

    start, lives = ramp(plan)[0].due, ramp(plan)[-1].due
    assert at.frost.date_for_spring(0.1, 2027) < lives  # type: ignore[operator]  # it freezes there
    assert (at.frost.usual_low_c(lives) or 0) >= 10.0
    assert timedelta(days=14) <= lives - start <= timedelta(days=21)
    assert "14 days before nights are usually warm enough" in one_line(said(plan, at, "7a.harden_out"))


def test_where_nights_are_never_warm_enough_no_day_is_named_and_a_warning_says_why(tmp_path: Path) -> None:
    plan = planned(nursery(tmp_path, frost=COOL.replace('"12 C"', '"9 C"')))

    [warning] = [each for each in plan.warnings if each.kind == "never_safe"]
    assert not ramp(plan)
    assert warning_text(warning, TODAY) == (
        "7a: no date for 'set out to harden', frost-free nights are never usually as warm as 50 F (10 C); "
        "keep it under cover at night, or grow a hardier crop."
    )


def test_where_usual_nights_are_not_known_why_says_that_frost_and_ramp_alone_count(tmp_path: Path) -> None:
    at = nursery(tmp_path)

    assert "Usual nights are not known here: frost and ramp alone count" in one_line(
        said(planned(at), at, "7a.harden_out")
    )


def test_the_first_night_out_comes_after_days_in_full_light_and_not_before_the_frost_has_passed(tmp_path: Path) -> None:
    early = planned(nursery(tmp_path, "2027-01-20 received 7a --count 6 --stage pot\n2027-03-02 set_out 7a", TODAY))
    usual = planned(nursery(tmp_path))

    [night] = of_rule(early, "harden_nights")
    assert night.due >= date(2027, 4, 30)  # the nursery's own 10 % date, though they went out by day in March
    *_, last, first_night = ramp(usual)
    assert first_night.due - last.due >= timedelta(days=2)


def test_plants_go_out_by_day_two_weeks_before_the_accepted_frost_and_live_out_after_it(tmp_path: Path) -> None:
    found = ramp(planned(nursery(tmp_path)))

    assert found[0].due == date(2027, 4, 16)  # the nursery's own 10 % date is 30 April
    assert date(2027, 4, 30) <= found[-1].due <= date(2027, 5, 10)


@pytest.mark.parametrize(
    ("log", "frost", "held"),
    [
        (POTS, FROST, "full sun borne by"),
        (f"{POTS}\n2027-03-30 set_out 7a", FROST, "frost no likelier than you accept from 30 Apr"),
        (f"{POTS}\n2027-05-20 set_out 7a", COOL, "nights usually warm enough from"),
    ],
    ids=["ramp", "frost", "nights"],
)
def test_the_entry_names_which_of_three_days_keeps_them_in(log: str, frost: str, held: str, tmp_path: Path) -> None:
    at = nursery(tmp_path, log, date.fromisoformat(log.splitlines()[-1][:10]), frost=frost)
    [night] = of_rule(planned(at), "harden_nights")

    assert f"waits for this: {held}" in text(night, at.book, TODAY)


def test_plants_set_out_early_wait_for_the_accepted_frost_and_the_entry_says_so(tmp_path: Path) -> None:
    at = nursery(tmp_path, f"{POTS}\n2027-03-30 set_out 7a", date(2027, 3, 30))
    plan = planned(at)
    *_, step, night = ramp(plan)

    assert night.due == date(2027, 4, 30)
    assert "waits for this: frost no likelier than you accept from 30 Apr" in text(night, at.book, TODAY)
    assert re.search(r"the ramp may be \d+ days late before living out \(30 Apr\) is too", text(step, at.book, TODAY))


def test_a_step_that_holds_up_living_out_says_what_its_delay_puts_off(tmp_path: Path) -> None:
    at = nursery(tmp_path)
    plan = planned(at)
    lives = ramp(plan)[-1].due

    words = text(task(plan, "7a.harden.3"), at.book, TODAY)

    assert f"every later step and living out ({lives.day} May) then come as many days later" in words


# --- carried out and in ------------------------------------------------------------------------------------------


def test_what_goes_out_and_comes_in_is_an_entry_of_every_day_until_they_live_out(tmp_path: Path) -> None:
    plan = planned(nursery(tmp_path, OUT, date(2027, 4, 30)))
    lives = ramp(plan)[-1].due

    days = [task.due for task in carries(plan)]
    assert days == [date(2027, 4, 30) + timedelta(days=n) for n in range((lives - date(2027, 4, 30)).days)]


def test_what_is_carried_is_told_three_weeks_ahead_and_no_sooner(tmp_path: Path) -> None:
    early = planned(nursery(tmp_path, POTS, date(2027, 3, 21)))

    assert not carries(early)
    assert ramp(early)


@pytest.mark.parametrize(("alarm", "rings"), [("bench", True), ("morning", True), ("none", False)])
def test_the_day_rings_going_out_and_coming_in(alarm: str, rings: bool, tmp_path: Path) -> None:
    at = nursery(tmp_path, OUT, date(2027, 4, 30), calendar=f'alarm = "{alarm}"')
    plan = planned(at)
    first = carries(plan)[0]

    [entry] = [entry for entry in entries_of(plan, at) if entry.id == first.id]

    assert first.clock is not None
    assert isinstance(entry.start, datetime)
    assert isinstance(entry.end, datetime)
    assert entry.start.tzinfo is UTC
    assert entry.start.astimezone(at.place.zone).time() == first.clock[0]
    assert entry.end.astimezone(at.place.zone).time() == first.clock[1]
    assert entry.alarm == (timedelta(0) if rings else None)
    assert entry.alarm_back == (entry.end - entry.start if rings else None)


@pytest.mark.parametrize("kit", [CLOTHS, HOURS, "cloths = [0.5]"])
def test_nothing_is_carried_at_dawn_or_left_out_after_sunset(kit: str, tmp_path: Path) -> None:
    at = nursery(tmp_path, OUT, date(2027, 4, 30), hardening=kit)

    for each in carries(planned(at)):
        sun = sun_day(at.place, each.due)
        assert each.clock is not None
        assert sun.sunrise is not None
        assert sun.sunset is not None
        out, back = (datetime.combine(each.due, moment, at.place.zone) for moment in each.clock)
        assert out - sun.sunrise >= timedelta(hours=3)
        assert back < sun.sunset


def test_the_first_day_out_is_short_and_each_day_longer_until_the_mild_hours_are_all_theirs(tmp_path: Path) -> None:
    clocks = [task.clock for task in carries(planned(nursery(tmp_path, OUT, date(2027, 4, 30)))) if task.clock]
    lengths = [
        (datetime.combine(TODAY, back) - datetime.combine(TODAY, out)).total_seconds() / 3600 for out, back in clocks
    ]

    assert lengths[:3] == [3.0, 4.5, 6.0]
    assert min(lengths[6:]) > 9


def test_where_afternoons_are_hot_plants_go_out_early(tmp_path: Path) -> None:
    at = under_a_high_sun(tmp_path)
    first = next(
        task for task in carries(planned(nursery(tmp_path, POTS, date(2027, 4, 14), latitude=10.0, frost=NO_FROST)))
    )

    assert first.clock is not None
    sun = sun_day(at.place, first.due).sunrise
    assert sun is not None
    assert (sun + timedelta(hours=2)).time() <= first.clock[0] < (sun + timedelta(hours=2, minutes=20)).time()


def test_pots_to_carry_are_counted_in_minutes(tmp_path: Path) -> None:
    at = nursery(tmp_path, OUT.replace("--count 6", "--count 60"), date(2027, 4, 30))

    assert "60 pots, some 15 min each way." in text(carries(planned(at))[0], at.book, TODAY)


@pytest.mark.parametrize(
    ("way", "title_", "least"), [("frame", "Frame open", "45 F"), ("fleece", "Fleece off", "48 F")]
)
def test_under_a_frame_or_fleece_they_stay_out_down_to_so_many_degrees_less(
    way: str, title_: str, least: str, tmp_path: Path
) -> None:
    at = nursery(tmp_path, OUT, date(2027, 4, 30), hardening=f'{CLOTHS}\nnights = "{way}"')
    first = carries(planned(at))[0]

    assert title(first).startswith(title_)
    assert f"with a forecast under {least}" in text(first, at.book, TODAY)
    assert "In at night" not in text(first, at.book, TODAY)


def test_what_stands_out_the_same_hours_is_one_walk_whatever_the_crop(tmp_path: Path) -> None:
    varieties = (
        "number,name,crop,source,protected\n7,Tin Kettle (invented),fig,,\n8,Ink Pot (invented),black_currant,,\n"
    )
    log = "2027-03-20 received 7a --count 6 --stage pot\n2027-03-20 received 8a --count 4 --stage pot\n"
    out = f"{log}2027-04-30 set_out 7a\n2027-04-30 set_out 8a"
    at = nursery(tmp_path, out, date(2027, 4, 30), varieties=varieties)

    first = carries(planned(at))[0]

    assert first.lots == ("7a", "8a")
    assert "10 pots" in text(first, at.book, TODAY)


def test_on_a_day_away_the_entry_says_to_ask_someone(tmp_path: Path) -> None:
    away = 'bench_days = ["tue", "fri", "sun"]\naway = [{ from = 2027-05-01, to = 2027-05-02 }]'
    found = carries(planned(nursery(tmp_path, OUT, date(2027, 4, 30), week=away)))

    assert [title(task).startswith("Ask someone: out") for task in found[:4]] == [False, True, True, False]


def test_a_day_gone_by_is_not_asked_for_again(tmp_path: Path) -> None:
    first = planned(nursery(tmp_path, OUT, date(2027, 4, 30)))
    morning = date(2027, 5, 4)

    plan = planned(nursery(tmp_path, OUT, morning), published(first, morning))

    assert all(task.due >= morning for task in carries(plan))
    assert not any("carry" in line.id for each in plan.rounds for line in each.lines)


def test_groups_that_stand_out_other_hours_are_entries_of_their_own(tmp_path: Path) -> None:
    log = f"{POTS}\n2027-03-10 received 6a --count 4 --stage pot\n2027-04-27 set_out 6a\n2027-04-30 set_out 7a"
    found = [
        task for task in carries(planned(nursery(tmp_path, log, date(2027, 4, 30)))) if task.due < date(2027, 5, 2)
    ]

    assert [task.lots for task in found] == [("6a",), ("7a",)] * 2
    assert [title(task) for task in found[:2]] == ["Out 12:00–19:30: 6a (4)", "Out 16:30–19:30: 7a (6)"]


def test_plants_not_put_out_on_their_day_are_late_and_asked_for_in_the_next_rounds(tmp_path: Path) -> None:
    log = f"{POTS}\n" + "\n".join(f"2027-04-{day} looked 7a" for day in (16, 20, 23, 27))
    plan = planned(nursery(tmp_path, log, date(2027, 4, 28)))

    assert task(plan, "7a.harden_out").due == date(2027, 4, 16)
    late = [line for each in plan.rounds[:1] for line in each.lines if line.id == "7a.harden_out"]
    assert [line.late_since for line in late] == [date(2027, 4, 16)]
    assert ramp(plan)[1].due > date(2027, 4, 28)  # the steps are told as if they went out next


def test_pots_kept_in_over_winter_are_late_since_this_spring_and_not_the_one_before(tmp_path: Path) -> None:
    winter, spring = (planned(nursery(tmp_path, POTS, day)) for day in (date(2028, 1, 12), date(2028, 4, 26)))

    assert task(winter, "7a.harden_out").due >= date(2028, 4, 14)
    assert task(spring, "7a.harden_out").due == date(2028, 4, 16)


SECOND_SUMMER = """2026-01-05 received 7a --count 6 --stage pot
2026-04-20 set_out 7a
2026-05-10 outside 7a
2026-11-10 brought_in 7a
2026-11-12 resting 7a
2027-03-14 woke 7a
"""


def test_plants_brought_in_for_a_winter_are_asked_out_on_one_day_that_does_not_slip(tmp_path: Path) -> None:
    days = [date(2027, 4, 10) + timedelta(days=number) for number in range(0, 42, 3)]
    dues = [
        task.due
        for number, day in enumerate(days)
        for task in planned(bench(tmp_path / str(number), SECOND_SUMMER, day)).tasks
        if task.rule.id == "harden_out"
    ]

    assert len(dues) == len(days)
    assert (max(dues) - min(dues)).days <= 7  # nothing logged: it was once to be after today, then it stays late


def test_plants_that_rest_by_the_year_in_shelter_are_not_fed(tmp_path: Path) -> None:
    for number, day in enumerate((date(2027, 12, 20), date(2028, 1, 20))):
        plan = planned(bench(tmp_path / str(number), SECOND_SUMMER, day))
        assert not [
            task.id for task in plan.tasks if task.rule.id == "feed" and task.earliest <= day + timedelta(days=28)
        ]
