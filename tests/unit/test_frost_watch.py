"""Frost on what stands out: from a logbook and a frost table to the evenings on which to look at the forecast."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path
from typing import Unpack

import pytest

from almanac.nursery.nursery import Nursery
from almanac.plan.model import Plan, Task
from almanac.words.tasks import text, title
from tests.command import run
from tests.nurseries import FROST_ALL_SUMMER, NO_FROST, SOUTHERN_FROST, Parts, bench, write_nursery
from tests.unit.given import has_task, of_rule, planned, published, task

POTS = "2027-03-10 received 7a --count 6 --stage pot"
EARLY = f"{POTS}\n2027-04-05 outside 7a"  # half of all years still freeze after the 17th, one in ten after the 30th
OUT = f"{POTS}\n2027-05-05 outside 7a"
CROPS = (
    "number,name,crop,source,protected\n7,Copper Kettle (invented),fig,,\n8,Slate Roof (invented),grape,,\n"
    "9,Ink Pot (invented),black_currant,,\n"
)


def nursery(folder: Path, log: str, today: date, **parts: Unpack[Parts]) -> Nursery:
    return bench(folder, log, today, **(Parts(varieties=CROPS) | parts))


def evenings(plan: Plan) -> list[Task]:
    return sorted(of_rule(plan, "frost_evening"), key=lambda task: task.due)


def test_plants_put_out_for_good_before_the_safe_day_are_watched_from_that_evening_on(tmp_path: Path) -> None:
    at = nursery(tmp_path, EARLY, date(2027, 4, 5))
    plan = planned(at)

    watch = task(plan, "7a.frost_watch.2027")
    assert evenings(plan)[0].due == date(2027, 4, 5)  # a Monday, no bench day
    assert "Frost after 17 Apr in 1 year of 2, after 30 Apr in 1 year of 10" in text(watch, at.book, at.as_of)
    assert watch.latest >= date(2027, 5, 1)


def test_the_evenings_are_those_of_bench_days_a_week_ahead(tmp_path: Path) -> None:
    plan = planned(nursery(tmp_path, EARLY, date(2027, 4, 6)))

    days = [each.due.strftime("%a %d") for each in evenings(plan)]
    assert days == ["Tue 06", "Fri 09", "Sun 11", "Tue 13"]


def test_it_ends_when_a_later_frost_comes_in_one_year_of_fifty(tmp_path: Path) -> None:
    log = OUT.replace("05-05", "04-30")
    at = nursery(tmp_path, log, date(2027, 5, 2))
    plan = planned(at)

    last = evenings(plan)[-1].due
    assert at.frost.chance_after(last) > 0.02
    assert at.frost.chance_after(last + timedelta(days=4)) <= 0.02
    assert not evenings(planned(nursery(tmp_path, log, date(2027, 5, 20))))


def test_plants_that_are_to_live_out_soon_are_watched_from_the_day_planned(tmp_path: Path) -> None:
    at = nursery(tmp_path, f"{POTS}\n2027-04-16 set_out 7a", date(2027, 4, 28), hardening="cloths = [0.7, 0.4]")
    plan = planned(at)

    [night] = of_rule(plan, "harden_nights")
    assert task(plan, "7a.frost_watch.2027").earliest >= date(2027, 4, 30)
    assert all(each.due >= date(2027, 4, 30) for each in evenings(plan))
    assert evenings(plan)[0].due <= night.due


@pytest.mark.parametrize(
    ("number", "cover", "bring_in"),
    [
        (7, "under 36 F (2 C) cover", "under 34 F (1 C) bring in"),
        (8, "under 34 F (1 C) cover", "under 32 F (0 C) bring"),
    ],
)
def test_the_entry_says_under_what_forecast_to_cover_and_to_bring_in(
    number: int, cover: str, bring_in: str, tmp_path: Path
) -> None:
    at = nursery(tmp_path, EARLY.replace("7a", f"{number}a"), date(2027, 4, 6))

    words = text(evenings(planned(at))[0], at.book, at.as_of)

    assert cover in words
    assert bring_in in words


def test_all_that_stands_out_is_one_walk_that_tells_each_crop_apart(tmp_path: Path) -> None:
    log = f"{POTS}\n{POTS.replace('7a', '8a')}\n2027-04-05 outside 7a\n2027-04-05 outside 8a"
    at = nursery(tmp_path, log, date(2027, 4, 6))
    first = evenings(planned(at))[0]

    words = text(first, at.book, at.as_of)

    assert first.lots == ("7a", "8a")
    assert title(first) == "Below 36 F (2 C): cover 7a, 8a?"
    assert "7a: new growth dies at about 32 F (0 C)" in words
    assert "8a: new growth dies at about 30 F (-1 C)" in words


def test_in_autumn_leaves_are_watched_and_once_they_are_down_the_roots_of_tender_pots(tmp_path: Path) -> None:
    leaves, roots = nursery(tmp_path, OUT, date(2027, 10, 5)), nursery(tmp_path, OUT, date(2027, 11, 9))

    in_leaf, bare = evenings(planned(leaves))[0], evenings(planned(roots))[0]

    assert "New growth dies at about 32 F (0 C)" in text(in_leaf, leaves.book, leaves.as_of)
    assert title(bare) == "Below 30 F (-1 C): shelter 7a?"
    assert "Roots in bare pots die at about 26 F" in text(bare, roots.book, roots.as_of)
    assert not evenings(planned(nursery(tmp_path, OUT, date(2027, 8, 10))))
    assert not evenings(planned(nursery(tmp_path, OUT, date(2027, 12, 10))))


def test_pots_brought_into_shelter_are_watched_no_more(tmp_path: Path) -> None:
    at = nursery(tmp_path, f"{OUT}\n2027-10-25 brought_in 7a", date(2027, 10, 26))

    assert not evenings(planned(at))


def test_in_the_second_spring_new_growth_is_watched_from_waking_on(tmp_path: Path) -> None:
    plan = planned(nursery(tmp_path, OUT, date(2028, 3, 24)))

    assert evenings(plan)
    assert has_task(plan, "7a.spring_frost.2028")
    assert not of_rule(plan, "frost_watch")  # one window a spring
    assert not evenings(planned(nursery(tmp_path, OUT, date(2028, 1, 20))))


def test_where_it_never_freezes_nobody_is_sent_out(tmp_path: Path) -> None:
    plan = planned(nursery(tmp_path, EARLY, date(2027, 4, 5), frost=NO_FROST))

    assert not evenings(plan)
    assert not of_rule(plan, "frost_watch")


def test_where_it_freezes_in_every_month_it_goes_on_all_summer(tmp_path: Path) -> None:
    for day in (date(2027, 6, 10), date(2027, 7, 20), date(2027, 8, 20)):
        assert evenings(planned(nursery(tmp_path, OUT, day, frost=FROST_ALL_SUMMER))), day


def test_in_the_south_it_is_the_southern_spring(tmp_path: Path) -> None:
    log = "2027-09-01 received 7a --count 6 --stage pot\n2027-10-05 outside 7a"
    south = Parts(latitude=-37.0, longitude=145.0, timezone="Australia/Melbourne", country="AU", frost=SOUTHERN_FROST)

    assert evenings(planned(nursery(tmp_path, log, date(2027, 10, 6), **south)))
    assert not evenings(planned(nursery(tmp_path, log, date(2027, 12, 6), **south)))


def test_an_evening_gone_by_is_not_asked_for_again_nor_is_a_round_made_for_one(tmp_path: Path) -> None:
    first = planned(nursery(tmp_path, EARLY, date(2027, 4, 6)))
    morning = date(2027, 4, 12)

    plan = planned(nursery(tmp_path, EARLY, morning), published(first, morning))

    assert all(each.due >= morning for each in evenings(plan))
    assert not any("frost" in line.id for each in plan.rounds for line in each.lines)


def test_on_a_bench_day_away_someone_is_to_be_asked(tmp_path: Path) -> None:
    away = 'bench_days = ["tue", "fri", "sun"]\naway = [{ from = 2027-04-08, to = 2027-04-10 }]'
    found = evenings(planned(nursery(tmp_path, EARLY, date(2027, 4, 6), week=away)))

    assert [title(each).startswith("Ask someone tonight") for each in found[:3]] == [False, True, False]


def test_whoever_logs_plants_out_before_the_safe_day_is_told_of_frost_at_once(tmp_path: Path) -> None:
    folder = write_nursery(tmp_path / "lane", POTS, varieties=CROPS)

    early = run("--nursery", folder, "--as-of", "2027-04-05", "log", "outside", "7a", noon_of="2027-04-05")
    run("--nursery", folder, "--as-of", "2027-04-05", "undo", noon_of="2027-04-05")
    late = run("--nursery", folder, "--as-of", "2027-07-05", "log", "outside", "7a", noon_of="2027-07-05")

    assert "7a: out for good, and a frost soon has a chance of 8" in early.stderr
    assert "no likelier than you accept from 30 Apr. Look at the forecast every evening" in early.stderr
    assert "frost" not in late.stderr
