"""Leaves are not roots: roots follow the warmth of the base, buds the air, the date the wood was cut and its cold."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path
from typing import Any, Unpack

import pytest

from almanac.forecast.milestones import milestones
from almanac.forecast.model import Milestone, Surroundings
from almanac.nursery.nursery import Nursery
from tests.nurseries import NO_FROST, SOUTHERN_FROST, Parts, bench
from tests.unit.given import has_task, planned, task

VARIETIES = "number,name,crop\n5,Lantern Hill,grape\n7,Copper Kettle,fig\n"
EARLY, LATE = date(2026, 12, 1), date(2027, 3, 15)


def forecast(nursery: Nursery, lot: str) -> dict[str, Milestone]:
    around = Surroundings(
        book=nursery.book, settings=nursery.settings, frost=nursery.frost, bins=nursery.stock.bins, as_of=nursery.as_of
    )
    return milestones(nursery.stock.lots[lot], around)


def of(folder: Path, log: str, today: date, lot: str = "5a", **parts: Unpack[Parts]) -> dict[str, Milestone]:
    """The milestones of a lot, from the lines logged by a day."""
    return forecast(bench(folder, log, today, **(Parts(varieties=VARIETIES, mat="29.5 C", air="23.5 C") | parts)), lot)


def cut_and_stuck(
    folder: Path, day: date, number: int = 5, count: int = 12, **parts: Unpack[Parts]
) -> dict[str, Milestone]:
    """The milestones of a lot stuck on the day its wood was cut."""
    log = f"{day} taken {number}a --count {count}\n{day} stuck {number}a --bin A"
    return of(folder, log, day, f"{number}a", **parts)


def days(milestone: Milestone, start: date) -> int:
    assert milestone.days is not None
    return (milestone.days[1] - start).days


# --- the day the wood was cut ------------------------------------------------------------------------------------


def test_wood_cut_late_leafs_out_weeks_sooner_and_roots_no_sooner(tmp_path: Path) -> None:
    early, late = cut_and_stuck(tmp_path, EARLY), cut_and_stuck(tmp_path, LATE)

    assert days(early["leaves"], EARLY) - days(late["leaves"], LATE) >= 14
    assert days(early["roots"], EARLY) == days(late["roots"], LATE)
    assert days(early["potted"], EARLY) == days(late["potted"], LATE)


def test_wood_cut_early_roots_before_it_leafs_and_wood_cut_late_after(tmp_path: Path) -> None:
    early, late = cut_and_stuck(tmp_path, EARLY, count=1), cut_and_stuck(tmp_path, LATE, count=1)

    assert days(early["roots"], EARLY) < days(early["leaves"], EARLY)
    assert days(late["leaves"], LATE) < days(late["roots"], LATE)


def test_the_later_in_winter_the_wood_is_cut_the_sooner_it_pushes(tmp_path: Path) -> None:
    cut = [date(2027, 1, 31) + timedelta(weeks=week) for week in range(0, 9, 2)]

    pushed = [days(cut_and_stuck(tmp_path, day)["budbreak"], day) for day in cut]

    assert pushed == sorted(pushed, reverse=True)
    assert len(set(pushed)) == len(pushed)


def test_fig_rests_lightly_so_the_date_changes_little(tmp_path: Path) -> None:
    warm: dict[str, Any] = {"mat": "25 C", "air": "20 C"}
    fig = [days(cut_and_stuck(tmp_path, day, 7, **warm)["budbreak"], day) for day in (EARLY, LATE)]
    grape = [days(cut_and_stuck(tmp_path, day, 5, **warm)["budbreak"], day) for day in (EARLY, LATE)]

    assert 0.7 < fig[1] / fig[0] < 1
    assert grape[1] / grape[0] < 0.3


def test_in_the_south_the_winter_is_half_a_year_on(tmp_path: Path) -> None:
    south: dict[str, Any] = {"latitude": -37.3, "frost": SOUTHERN_FROST}
    june, september = date(2026, 6, 1), date(2026, 9, 15)

    early, late = (cut_and_stuck(tmp_path, day, **south) for day in (june, september))

    assert days(early["budbreak"], june) == days(cut_and_stuck(tmp_path, EARLY)["budbreak"], EARLY)
    assert days(late["budbreak"], september) == pytest.approx(days(cut_and_stuck(tmp_path, LATE)["budbreak"], LATE))


@pytest.mark.parametrize("latitude", [0.0, 3.0, -3.0, 20.0])
def test_in_the_tropics_no_date_ends_a_rest(tmp_path: Path, latitude: float) -> None:
    lots = {day: cut_and_stuck(tmp_path, day, latitude=latitude, frost=NO_FROST) for day in (EARLY, LATE)}
    pushed = {days(found["budbreak"], day) for day, found in lots.items()}

    assert len(pushed) == 1


# --- the cold store ----------------------------------------------------------------------------------------------


def kept_cold(folder: Path, cut: date, stuck: date) -> int:
    log = f"{cut} taken 5a --count 12\n{stuck} stuck 5a --bin A"
    return days(of(folder, log, stuck)["budbreak"], stuck)


def test_weeks_in_the_cold_store_count_but_not_as_much_as_on_the_plant(tmp_path: Path) -> None:
    fresh_in_winter, fresh_in_march = kept_cold(tmp_path, EARLY, EARLY), kept_cold(tmp_path, LATE, LATE)

    stored = kept_cold(tmp_path, EARLY, LATE)

    assert fresh_in_march < stored < fresh_in_winter


def test_the_longer_in_store_the_sooner_it_pushes_but_never_in_no_time(tmp_path: Path) -> None:
    pushed = [kept_cold(tmp_path, EARLY, LATE + timedelta(weeks=week)) for week in (0, 4, 8, 30)]

    assert pushed == sorted(pushed, reverse=True)
    assert pushed[-1] >= 1


def test_weeks_in_store_before_midwinter_end_no_rest(tmp_path: Path) -> None:
    assert kept_cold(tmp_path, date(2026, 11, 1), date(2027, 1, 10)) == kept_cold(tmp_path, EARLY, EARLY)


def test_part_of_a_lot_stuck_later_has_had_more_cold(tmp_path: Path) -> None:
    february = date(2027, 2, 10)
    log = f"{EARLY} taken 5a --count 24\n{february} stuck 5a --count 12 --bin A\n{LATE} stuck 5a --bin A"

    nursery = bench(tmp_path, log, LATE, mat="29.5 C", air="23.5 C", varieties=VARIETIES)
    first, rest = forecast(nursery, "5b")["budbreak"].basis, forecast(nursery, "5a")["budbreak"].basis

    assert first is not None
    assert rest is not None
    assert rest.rest < first.rest < 1


def test_wood_that_came_by_post_counts_as_cut_the_day_it_came(tmp_path: Path) -> None:
    came = of(tmp_path, f"{LATE} received 5a --count 12 --value post\n{LATE} stuck 5a --bin A", LATE)

    assert came["budbreak"].days == cut_and_stuck(tmp_path, LATE)["budbreak"].days


def test_a_stick_recut_and_stuck_again_has_had_no_cold_in_its_bag(tmp_path: Path) -> None:
    log = f"{EARLY} taken 5a --count 12\n{EARLY} stuck 5a --bin A\n{LATE} restuck 5a --count 4"

    anew = of(tmp_path, log, LATE, "5b")["budbreak"]

    assert days(anew, LATE) > days(cut_and_stuck(tmp_path, LATE, count=4)["budbreak"], LATE)
    assert anew.basis is not None
    assert anew.basis.rest == 1.0


# --- what drives each --------------------------------------------------------------------------------------------


def test_the_air_drives_the_buds_and_the_mat_does_not(tmp_path: Path) -> None:
    warm, cool_mat, cool_air = (
        cut_and_stuck(tmp_path, LATE, mat=mat, air=air)
        for mat, air in (("29.5 C", "23.5 C"), ("20 C", "23.5 C"), ("29.5 C", "14 C"))
    )

    assert days(cool_mat["budbreak"], LATE) == days(warm["budbreak"], LATE)
    assert days(cool_mat["roots"], LATE) > days(warm["roots"], LATE)
    assert days(cool_air["budbreak"], LATE) > days(warm["budbreak"], LATE)
    assert days(cool_air["roots"], LATE) == days(warm["roots"], LATE)


# --- leaf without roots ------------------------------------------------------------------------------------------

IN_LEAF = f"{LATE} taken 5a --count 12\n{LATE} stuck 5a --bin A\n2027-03-25 leaves 5a --count 9"


def test_a_lot_in_leaf_without_roots_is_told_so_and_its_potting_waits(tmp_path: Path) -> None:
    today = date(2027, 3, 25)
    without = of(tmp_path, f"{LATE} taken 5a --count 12\n{LATE} stuck 5a --bin A\n{today} looked 5a", today)

    plan = planned(bench(tmp_path, IN_LEAF, today, mat="29.5 C", air="23.5 C", varieties=VARIETIES))

    told = task(plan, "5a.leaf_no_root")
    assert today <= told.due <= today + timedelta(days=6)
    assert "not pot" in told.rule.how
    assert plan.milestones["5a"]["roots"].known is None
    assert plan.milestones["5a"]["potted"].days == without["potted"].days
    assert task(plan, "5a.pot_up").due > today + timedelta(days=14)


def test_once_roots_are_seen_nobody_is_told_to_wait_for_them(tmp_path: Path) -> None:
    log = f"{IN_LEAF}\n2027-03-28 roots 5a --count 4"

    plan = planned(bench(tmp_path, log, date(2027, 3, 28), mat="29.5 C", air="23.5 C", varieties=VARIETIES))

    assert not has_task(plan, "5a.leaf_no_root")
    assert plan.milestones["5a"]["roots"].logged == date(2027, 3, 28)
