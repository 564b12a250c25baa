"""What tests keep from one another is what they would have worked out: nothing that it depends on is left out."""

from __future__ import annotations

from dataclasses import fields, replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any
from unittest.mock import patch

import pytest

from almanac.forecast.model import Surroundings
from almanac.nursery.load import load_nursery
from almanac.nursery.nursery import Nursery
from almanac.plan.build import build_plan
from almanac.plan.wood.account import account_of
from almanac.plan.wood.sticking import sticking
from tests.examples import EXAMPLES, STATES
from tests.kept_plans import READ, kept_plan, kept_sticking, of_outdoors
from tests.nurseries import Parts, bench
from tests.told import told

TODAY = date(2026, 2, 24)
LOG = "2026-01-05 taken 7a --count 20\n2026-01-10 stuck 7a --count 8 --bin A"


def of_a_plan(nursery: Nursery) -> bytes:
    return told(*(getattr(nursery, name) for name in READ))


def test_a_plan_reads_nothing_of_a_nursery_but_what_tells_it_apart(tmp_path: Path) -> None:
    nursery = bench(tmp_path, LOG, TODAY)
    unread = {field.name for field in fields(Nursery)} - {*READ, "book"}

    nothing: Any = dict.fromkeys(unread, object())
    blind = replace(nursery, **nothing)

    assert build_plan(blind) == build_plan(nursery)


@pytest.mark.parametrize("method", ["", "open_ground"])
def test_weeks_to_stick_in_do_not_hang_on_the_day_they_are_asked_for(method: str, tmp_path: Path) -> None:
    outdoors = account_of(bench(tmp_path, LOG, TODAY)).outdoors
    collect = account_of(bench(tmp_path, LOG, TODAY)).collecting("fig", date(2025, 12, 21))

    no_day: Any = object()
    blind = replace(outdoors, around=replace(outdoors.around, as_of=no_day))

    assert sticking(collect, blind, method) == kept_sticking(collect, outdoors, method)


@pytest.mark.parametrize(("example", "day"), STATES.items())
def test_a_plan_of_what_was_kept_is_the_plan_made_from_nothing(example: str, day: date) -> None:
    for later in (0, 1, 30):
        as_of = day + timedelta(days=later)
        nursery = load_nursery(EXAMPLES / example, datetime(2027, 1, 1, tzinfo=UTC), as_of)
        found = kept_plan(nursery)

        with (
            patch("almanac.plan.wood.sticking.sticking", sticking),
            patch("almanac.forecast.history.Surroundings", Surroundings),
        ):
            assert found == build_plan(nursery), as_of


def test_a_nursery_read_twice_is_told_by_the_same_bytes_whatever_was_asked_of_it(tmp_path: Path) -> None:
    nursery, again = bench(tmp_path, LOG, TODAY), bench(tmp_path, LOG, TODAY)

    build_plan(nursery)

    assert of_a_plan(nursery) == of_a_plan(again)


@pytest.mark.parametrize(
    "other",
    [
        Parts(mat="24 C"),
        Parts(latitude=37.4),
        Parts(frost="[frost.dates]\nnever = true"),
        Parts(week='bench_days = ["tue", "sun"]'),
        Parts(sale="dormant = false"),
        Parts(hardening='way = "hours"'),
        Parts(frost=f"[frost]\nmonthly = {{ lows = {['4 C'] * 12} }}"),
    ],
)
def test_nurseries_that_differ_in_one_thing_are_told_apart(other: Parts, tmp_path: Path) -> None:
    one, two = bench(tmp_path / "one", LOG, TODAY), bench(tmp_path / "two", LOG, TODAY, **other)

    assert of_a_plan(one) != of_a_plan(two)
    assert of_outdoors(account_of(one).outdoors) != of_outdoors(account_of(two).outdoors)


@pytest.mark.parametrize(
    "more", ["2026-02-01 mat --bin A --value '21 C'", "2026-02-01 potted 7b --count 3", "2026-02-01 buds_swelling fig"]
)
def test_what_is_logged_tells_the_weeks_to_stick_in_apart(more: str, tmp_path: Path) -> None:
    one, two = bench(tmp_path / "one", LOG, TODAY), bench(tmp_path / "two", f"{LOG}\n{more}", TODAY)

    assert of_outdoors(account_of(one).outdoors) != of_outdoors(account_of(two).outdoors)


def test_monthly_lows_of_two_places_are_told_apart_by_what_makes_their_tables(tmp_path: Path) -> None:
    found = {
        of_a_plan(bench(tmp_path / low, LOG, TODAY, frost=f"[frost]\nmonthly = {{ lows = {[f'{low} C'] * 12} }}"))
        for low in ("4", "5")
    }

    assert len(found) == 2
