"""Lamps over bins: on at the first green, up after roots, set anew with the days, off when the day will do."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta
from itertools import pairwise, zip_longest
from pathlib import Path

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from almanac.plan.care.programmes.light.derivation import LampHours
from almanac.plan.model import Plan, Task
from almanac.site.lamp import daylight, lit_h
from almanac.site.place import Place
from almanac.terminal.why import why_text
from almanac.words.derivation import rule_of
from almanac.words.tasks import how_to_log_task, text, title
from almanac.words.why import find
from tests.nurseries import FROST, NO_FROST, SOUTHERN_FROST, bench
from tests.sizes import examples
from tests.unit.given import has_task, planned, published, task

CLOSED = "{ ppfd = 120, hours = 16 }"
WINDOW = '{ ppfd = 120, hours = 16, where = "window", share = 0.3 }'
STUCK = "2027-01-05 received 7a --count 12 --stage rooting --bin A"
GREEN = f"{STUCK}\n2027-01-24 leaves 7a"
LIT = f"{GREEN}\n2027-01-24 lamp --bin A --value '14 h'"
TODAY = date(2027, 1, 26)


def lamp_tasks(plan: Plan, bin_name: str = "A") -> list[Task]:
    """The timer's tasks of a bin, in the order of their days."""
    found = [each for each in plan.tasks if each.rule.id in ("lamp_on", "lamp_set") and each.bin == bin_name]
    return sorted(found, key=lambda each: each.due)


def derivation(each: Task) -> LampHours:
    assert isinstance(each.derivation, LampHours)
    return each.derivation


def hours(tasks: Iterable[Task]) -> list[float]:
    return [derivation(each).setting.hours for each in tasks]


# --- a closed bin ------------------------------------------------------------------------------------------------


def test_a_lamp_goes_on_low_at_the_first_green_and_up_once_there_are_roots(tmp_path: Path) -> None:
    plan = planned(bench(tmp_path, STUCK, date(2027, 1, 12), light=CLOSED))

    on, up = lamp_tasks(plan)

    assert (on.id, up.id) == ("A.lamp_on", "A.lamp_set.roots")
    assert (on.counted_from, up.counted_from) == ("leaves", "roots")
    assert hours([on, up]) == [14, 16]
    assert up.due - on.due >= timedelta(days=7)


def test_roots_seen_before_the_leaves_make_it_full_from_the_start(tmp_path: Path) -> None:
    plan = planned(bench(tmp_path, f"{STUCK}\n2027-01-20 roots 7a\n2027-01-24 leaves 7a", TODAY, light=CLOSED))

    assert hours(lamp_tasks(plan)) == [16]


def test_a_timer_is_told_by_the_clock_with_what_light_it_gives(tmp_path: Path) -> None:
    nursery = bench(tmp_path, GREEN, TODAY, light='{ ppfd = 120, hours = 16, on = "05:30" }')
    plan = planned(nursery)
    on = task(plan, "A.lamp_on")

    told = text(on, nursery.book, plan.as_of)

    assert title(on) == "Lamp on: bin A"
    assert "05:30 to 19:30 (14 h), the rest dark. That is the light they want." in told
    assert how_to_log_task(on) == 'stickdate log lamp --bin A --value "14 h"'


@pytest.mark.parametrize(
    ("light", "words", "told_by_why"),
    [
        # 4 mol in 16 h are 4 / (16 x 0.0036) = 69 µmol, 39 % over 50; 10 mol in 14 h are 198, 21 % under 250.
        ("{ ppfd = 50, hours = 16 }", "too little: hang it lower, for 39% more light at the leaves.", "give 69 µmol"),
        ("{ ppfd = 250, hours = 16 }", "hang it higher, for 21% less light at the leaves.", "give 198 µmol"),
        ("{ ppfd = 80, hours = 12 }", "06:00 to 18:00 (12 h)", "80 µmol x 12 h x 0.0036 = 3.5 mol"),
        ("", "06:00 to 22:00 (16 h)", "Lamp: not in nursery.toml"),
    ],
)
def test_a_lamp_too_weak_or_too_strong_is_said_to_be(tmp_path: Path, light: str, words: str, told_by_why: str) -> None:
    nursery = bench(tmp_path, GREEN, TODAY, light=light)
    plan = planned(nursery)

    told = text(task(plan, "A.lamp_on"), nursery.book, plan.as_of)

    assert words in told
    assert " mol" not in told
    assert told_by_why in " ".join(why_text(find("A.lamp_on", plan), plan, nursery).split())


def test_why_prints_the_sums(tmp_path: Path) -> None:
    nursery = bench(tmp_path, GREEN, TODAY, light=WINDOW)
    plan = planned(nursery)

    told = " ".join(why_text(find("A.lamp_on", plan), plan, nursery).split())

    assert "Wanted (Fig in leaf): 4 mol a day until there are roots; 4 to 10 suit." in told
    assert "14 h to 16 h of light, at least 8 h dark." in told
    # 4 h x 120 µmol x 3600 s = 1.728 mol, which with 10 h of day makes 14 h.
    assert "Lamp: 120 µmol x 4 h x 0.0036 = 1.7 mol; it may burn 16 h." in told
    assert "Day, about 21 Jan: 10.0 h, 07:30 to 17:32; 30% of a usual share of clear sky makes 3.8 mol." in told
    assert "Together 5.6 mol; 14.0 h lit, 10.0 h dark." in told
    assert "For 4 mol the lamp would need 0.4 h; the shortest day that suits asks for more." in told


# --- what was logged ---------------------------------------------------------------------------------------------


def test_a_lamp_logged_within_what_the_crop_bears_is_left_alone_until_roots(tmp_path: Path) -> None:
    [up] = lamp_tasks(planned(bench(tmp_path, LIT, TODAY, light=CLOSED)))

    assert (up.id, hours([up])) == ("A.lamp_set.roots", [16])
    assert lamp_tasks(planned(bench(tmp_path, LIT.replace("14 h", "16 h"), TODAY, light=CLOSED))) == []


def test_a_lamp_that_leaves_too_little_dark_is_set_anew_the_day_after_it_was_logged(tmp_path: Path) -> None:
    first, *_ = lamp_tasks(planned(bench(tmp_path, LIT.replace("14 h", "20 h"), date(2027, 1, 24), light=CLOSED)))

    assert (hours([first]), first.earliest, first.counted_from) == ([14], date(2027, 1, 25), "lamp")


def test_a_lamp_logged_low_on_the_day_roots_were_seen_is_asked_up_a_week_later(tmp_path: Path) -> None:
    log = f"{LIT}\n2027-01-24 roots 7a"

    [up] = lamp_tasks(planned(bench(tmp_path, log, TODAY, light=CLOSED)))

    assert (hours([up]), up.earliest) == ([16], date(2027, 2, 1))


def test_hours_far_from_those_wanted_are_set_anew_a_week_later(tmp_path: Path) -> None:
    first, *_ = lamp_tasks(planned(bench(tmp_path, LIT.replace("14 h", "7 h"), TODAY, light=WINDOW)))

    assert derivation(first).before == 7
    assert date(2027, 1, 31) <= first.earliest <= date(2027, 2, 1)


def test_once_set_it_is_asked_for_no_more(tmp_path: Path) -> None:
    rooted = f"{LIT}\n2027-01-31 roots 7a"
    before = planned(bench(tmp_path, rooted, date(2027, 1, 31), light=CLOSED))
    done = f"{rooted}\n2027-02-02 lamp --bin A --value '16 h'"

    after = planned(bench(tmp_path, done, date(2027, 2, 2), light=CLOSED))

    assert has_task(before, "A.lamp_set.roots")
    assert lamp_tasks(after) == []


def test_a_lamp_logged_as_off_over_leaves_in_a_closed_bin_is_asked_on_again(tmp_path: Path) -> None:
    log = f"{LIT}\n2027-02-01 lamp --bin A --value off"

    [again, *_] = lamp_tasks(planned(bench(tmp_path, log, date(2027, 2, 2), light=CLOSED)))

    assert again.rule.id == "lamp_set"
    assert again.due > date(2027, 2, 1)


def test_a_lamp_left_on_from_lots_long_gone_is_no_lamp_of_those_that_came_after(tmp_path: Path) -> None:
    log = (
        "2026-01-05 received 8a --count 4 --stage rooting --bin A\n2026-01-20 leaves 8a\n"
        "2026-01-20 lamp --bin A --value '16 h'\n2026-03-10 potted 8a\n"
        "2026-06-01 outside 8a\n2026-06-02 planted 8a --count 4 --stage outside\n" + GREEN
    )

    assert has_task(planned(bench(tmp_path, log, TODAY, light=CLOSED)), "A.lamp_on")


@pytest.mark.parametrize("end", ["potted 7a", "died 7a --count 12 --value rot", "resting 7a"])
def test_a_bin_whose_lots_are_potted_gone_or_at_rest_wants_no_lamp(tmp_path: Path, end: str) -> None:
    plan = planned(bench(tmp_path, f"{GREEN}\n2027-01-26 {end}", TODAY, light=CLOSED))

    assert lamp_tasks(plan) == []


def test_a_lot_moved_in_while_in_leaf_wants_its_lamp_from_that_day(tmp_path: Path) -> None:
    log = f"{GREEN}\n2027-02-02 moved 7a --bin B"

    on = task(planned(bench(tmp_path, log, date(2027, 2, 2), bins="AB", light=CLOSED)), "B.lamp_on")

    assert (on.earliest, on.counted_from) == (date(2027, 2, 2), "moved")


def test_the_probe_is_read_the_day_after_in_a_closed_bin_alone(tmp_path: Path) -> None:
    closed, window = (planned(bench(tmp_path, LIT, TODAY, light=light)) for light in (CLOSED, WINDOW))

    assert task(closed, "A.lamp_probe").earliest == date(2027, 1, 25)
    assert not has_task(window, "A.lamp_probe")


# --- beside the day ----------------------------------------------------------------------------------------------


def test_beside_a_window_the_lamp_gives_way_as_days_grow(tmp_path: Path) -> None:
    log = f"{GREEN}\n2027-01-24 roots 7a"

    tasks = lamp_tasks(planned(bench(tmp_path, log, TODAY, light=WINDOW)))

    assert [each.rule.id for each in tasks] == ["lamp_on", *["lamp_set"] * (len(tasks) - 1)]
    assert hours(tasks) == sorted(hours(tasks), reverse=True)
    assert all(each.due.isoweekday() in (2, 5, 7) and each.counted_from == "daylight" for each in tasks[1:])
    assert len(tasks) >= 3


def test_when_the_day_alone_will_do_the_lamp_is_never_asked_for(tmp_path: Path) -> None:
    log = "2027-05-05 received 7a --count 12 --stage rooting --bin A\n2027-05-25 leaves 7a\n2027-05-25 roots 7a"

    north = planned(bench(tmp_path, log, date(2027, 5, 26), light=WINDOW, latitude=60.0))

    assert lamp_tasks(north) == []


def test_a_lamp_is_told_to_go_off_when_the_day_has_grown_enough(tmp_path: Path) -> None:
    log = (
        "2027-03-20 received 7a --count 12 --stage rooting --bin A\n2027-04-08 leaves 7a\n"
        "2027-04-08 roots 7a\n2027-04-09 lamp --bin A --value '6 h'"
    )
    nursery = bench(tmp_path, log, date(2027, 4, 10), light=WINDOW, latitude=60.0)
    plan = planned(nursery)

    last = lamp_tasks(plan)[-1]

    assert (title(last), rule_of(last).log) == ("Lamp off: bin A", 'log lamp {lot} --value "off"')
    assert "Timer off." in text(last, nursery.book, plan.as_of)


def test_several_crops_get_no_more_light_and_no_longer_days_than_each_bears(tmp_path: Path) -> None:
    crops = tmp_path / "rules" / "crops"
    crops.mkdir(parents=True)
    tender = '[light]\nhours = "14.5 h"\ndark = "9.5 h"\ndli_low = 5.0\ndli_high = 6.0\n'
    (crops / "grape.toml").write_text(tender, encoding="utf-8")
    log = (
        f"{GREEN}\n2027-01-24 received 5a --count 4 --stage rooting --bin A\n2027-01-24 leaves 5a\n2027-01-24 roots 5a"
    )
    varieties = "number,name,crop,source,protected\n7,Copper Kettle,fig,,\n5,Grey Arch,grape,,\n"

    on = task(planned(bench(tmp_path, log, TODAY, light=CLOSED, varieties=varieties)), "A.lamp_on")

    wanted = derivation(on).wanted
    assert (wanted.least_mol, wanted.most_mol, wanted.most_h) == (5.0, 6.0, 14.5)
    assert (derivation(on).setting.hours, set(derivation(on).crops)) == (14.0, {"Fig", "Grape"})


def test_measured_radiation_tells_the_day_better_than_a_share_of_clear_sky(tmp_path: Path) -> None:
    radiation = 'radiation = [9, 11, 15, 18, 21, 23, 22, 20, 17, 13, 9, 8, "MJ m-2 d-1"]'
    nursery = bench(tmp_path, f"{GREEN}\n2027-01-24 roots 7a", TODAY, light=WINDOW, site=radiation)

    on = task(planned(nursery), "A.lamp_on")

    day = derivation(on).day
    assert day is not None
    assert day.measured
    assert day.dose_mol == pytest.approx(9.3 * 7.058 / 3.6 * 0.3, abs=0.3)  # a little over the mean of January


# --- always ------------------------------------------------------------------------------------------------------


def test_a_forecast_that_moves_by_a_day_rewrites_next_to_nothing(tmp_path: Path) -> None:
    early, late = (
        lamp_tasks(planned(bench(tmp_path, f"{STUCK}\n2027-01-{day} looked 7a", date(2027, 1, day), light=WINDOW)))
        for day in (18, 19)
    )

    assert [each.id for each in early] == [each.id for each in late]
    assert hours(early) == hours(late)
    assert [each.due for each in early if not each.milestone] == [each.due for each in late if not each.milestone]


def test_a_morning_on_which_nothing_was_logged_moves_no_lamp(tmp_path: Path) -> None:
    before = planned(bench(tmp_path, STUCK, date(2027, 1, 12), light=WINDOW))

    for number in range(1, 30):
        today = date(2027, 1, 12) + timedelta(days=number)
        after = planned(bench(tmp_path, STUCK, today, light=WINDOW), published(before, today))

        were = {each.id: each.due for each in lamp_tasks(before) if each.due >= today}
        assert {each.id: each.due for each in lamp_tasks(after) if each.due >= today}.items() >= were.items()


LIGHTS = st.builds(
    lambda ppfd, most, place, share, on: (
        f'{{ ppfd = {ppfd}, hours = {most}, on = "{on:02}:00", where = "{place}"'
        + (f", share = {share:.2f}" if place != "closed" else "")
        + " }"
    ),
    st.integers(20, 400),
    st.integers(4, 24),
    st.sampled_from(["closed", "window", "greenhouse"]),
    st.floats(0.1, 0.8),
    st.integers(0, 23),
)


@pytest.mark.long
@settings(max_examples=examples(30), suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    light=LIGHTS,
    latitude=st.integers(-60, 70),
    start=st.dates(date(2027, 1, 1), date(2027, 12, 31)),
    roots=st.one_of(st.none(), st.integers(10, 40)),
    green=st.integers(15, 35),
)
@example(  # the sun comes back after the polar night, at noon, and the lamp was to burn from midnight
    light='{ ppfd = 20, hours = 4, on = "00:00", where = "window", share = 0.50 }',
    latitude=69,
    start=date(2027, 12, 1),
    roots=None,
    green=34,
)
def test_wherever_and_whenever_plants_get_their_dark_and_the_timer_is_set_once_a_day_by_an_hour_or_more(
    tmp_path: Path, light: str, latitude: int, start: date, roots: int | None, green: int
) -> None:
    log = [f"{start} received 7a --count 12 --stage rooting --bin A"]
    events = [(green, "leaves 7a")] + ([(roots, "roots 7a")] if roots else [])
    log += [f"{start + timedelta(days=day)} {what}" for day, what in sorted(events)]
    today = start + timedelta(days=max(day for day, _ in events))
    frost = NO_FROST if abs(latitude) < 24 else SOUTHERN_FROST if latitude < 0 else FROST

    nursery = bench(tmp_path, "\n".join(log), today, light=light, latitude=float(latitude), frost=frost)
    plan = planned(nursery)
    tasks = lamp_tasks(plan)

    assert len({each.id for each in tasks}) == len(tasks)
    assert len({each.due for each in tasks}) == len(tasks)
    for each, following in pairwise(tasks):
        assert each.latest < following.earliest
        assert abs(derivation(each).setting.hours - derivation(following).setting.hours) >= 1
    potted = plan.milestones["7a"]["potted"].days if "potted" in plan.milestones["7a"] else None
    _dark_is_kept(tasks, nursery.place, potted[1] if potted else today)


def _dark_is_kept(tasks: list[Task], place: Place, end: date) -> None:
    for each, following in zip_longest(tasks, tasks[1:]):
        found = derivation(each)
        until = following.since if following else end
        for number in range((until - each.since).days):
            day = each.since + timedelta(days=number)
            light = daylight(place, day, found.share, 0.5) if found.share else None
            longest = max(found.wanted.most_h, light.length_h if light else 0.0)
            assert lit_h(found.setting, light) <= longest + 1e-9, (each.id, day)
