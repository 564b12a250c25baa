"""Lots planned that nobody stuck: asked for as long as their season lasts, and then over."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import pytest

from almanac.nursery.nursery import Nursery
from almanac.plan.build import build_plan
from almanac.plan.model import Plan
from almanac.plan.wood.account import account_of
from almanac.plan.wood.to_come import in_season, last_day, planned_of, standing
from almanac.terminal.lots import all_lots_json, lots_text
from almanac.words.derivation import rule_of
from almanac.words.overdue import overdue
from almanac.words.warnings import warning_text
from tests.nurseries import SOUTHERN_FROST, WEEK, Parts, bench
from tests.unit.given import has_task, planned, task

WOOD = "2027-01-02 taken 7a --count 20"
PLANNED = f"{WOOD}\n2027-01-05 planned 7 --count 12 --value 2027-02-10 --bin A"
NO_WOOD = "2027-01-05 planned 7 --count 12 --value 2027-02-10 --bin A"
BED = f'{WEEK}\n[[place]]\nname = "Row"\nkind = "bed"\nholds = 40'
TRAY = f'{WEEK}\n[[place]]\nname = "T"\nkind = "tray"\nholds = 40\nair = "20 C"'
SHRUB = "number,name,crop,source,protected\n7,Copper Kettle,forsythia,,\n"


def season_ends(nursery: Nursery, row: str = "r2") -> date:
    """The last day on which a lot planned can be stuck."""
    [found] = [each for each in nursery.stock.planned if each.row == row]
    return last_day(found, nursery.stock.lots.values(), account_of(nursery))


def told(plan: Plan) -> list[str]:
    return [warning_text(each, plan.as_of) for each in plan.warnings if each.kind == "never_stuck"]


def test_it_is_asked_for_as_long_as_its_wood_keeps_and_not_a_day_longer(tmp_path: Path) -> None:
    last = season_ends(bench(tmp_path, PLANNED, date(2027, 3, 1)))
    on_it, after = (planned(bench(tmp_path, PLANNED, last + timedelta(days=n))) for n in (0, 1))

    # Fig wood in the cold keeps at most sixteen weeks (the crop's own rule), and is past its range after that.
    assert last == date(2027, 1, 2) + timedelta(weeks=16)
    assert has_task(on_it, "r2.stick_planned")
    assert not has_task(after, "r2.stick_planned")
    assert any(each.to_come for each in on_it.tasks)
    assert not any(each.to_come for each in after.tasks)


def test_where_no_wood_lies_in_store_it_is_over_when_none_can_be_had_any_more(tmp_path: Path) -> None:
    last = season_ends(bench(tmp_path, NO_WOOD, date(2027, 2, 20)), "r1")

    assert last == date(2027, 3, 2)  # what was cut before the killing nights of November keeps no longer
    assert not has_task(planned(bench(tmp_path, NO_WOOD, last + timedelta(days=1))), "r1.stick_planned")


def test_in_the_last_fortnight_it_says_until_when_it_is_asked_for(tmp_path: Path) -> None:
    last = season_ends(bench(tmp_path, PLANNED, date(2027, 3, 1)))
    sooner, near = (planned(bench(tmp_path, PLANNED, last - timedelta(days=n))) for n in (15, 14))

    assert [each.since for each in overdue(sooner) if each.id == "r2.stick_planned"] == ["since 13 Feb"]
    assert [each.since for each in overdue(near) if each.id == "r2.stick_planned"] == [
        f"since 13 Feb, asked till {last.day} Apr"
    ]


def test_once_it_is_over_that_is_said_until_the_next_bench_day_and_never_again(tmp_path: Path) -> None:
    log = f"{PLANNED}\n2027-01-05 planned 8 --count 6 --value 2027-04-20"
    days = [date(2027, 4, 20) + timedelta(days=n) for n in range(30)]

    said = {day: told(planned(bench(tmp_path, log, day))) for day in days}

    assert {day: lines for day, lines in said.items() if lines} == {
        date(2027, 4, 25): [  # a Sunday, and a bench day
            "1 lot planned was never stuck: 12 of no. 7 for 10 Feb (r2). Log it as stuck if it was, or plan it anew."
        ]
    }


def test_those_that_are_over_together_are_one_line(tmp_path: Path) -> None:
    log = f"{PLANNED}\n2027-01-05 planned 7 --count 6 --value 2027-03-01"

    [line] = told(planned(bench(tmp_path, log, date(2027, 4, 25))))

    assert line == (
        "2 lots planned were never stuck: 12 of no. 7 for 10 Feb (r2), 6 of no. 7 for 1 Mar (r3). "
        "Log them as stuck if they were, or plan them anew."
    )


def test_it_holds_no_places_no_wood_and_no_demand_any_more(tmp_path: Path) -> None:
    days = date(2027, 4, 24), date(2027, 4, 25)
    (before, plan), (after, then) = ((n, build_plan(n)) for n in (bench(tmp_path, PLANNED, day) for day in days))

    assert [stay for room in plan.space.rooms for stay in room.demand.stays] != []
    assert [stay for room in then.space.rooms for stay in room.demand.stays] == []
    assert len(plan.space.planned) == 1
    assert then.space.planned == ()
    assert [each.row for each in in_season(before).stock.to_come] == ["r2"]
    assert in_season(after).stock.to_come == ()


def test_it_takes_no_wood_from_what_is_for_sale_and_shares_no_doubt_with_what_roots(tmp_path: Path) -> None:
    log = f"{NO_WOOD}\n2027-01-20 received 8a --count 12 --stage rooting --bin A"
    last = season_ends(bench(tmp_path, log, date(2027, 2, 20)), "r1")

    on_it, after = (bench(tmp_path, log, last + timedelta(days=n)) for n in (0, 1))

    assert [planned_of(each, "7") for each in (on_it, after)] == [12, 0]
    assert [standing(each)[1].striking.ahead["fig"] for each in (on_it, after)] == [2.0, 1.0]


def test_it_is_listed_among_the_ended_by_the_row_that_planned_it(tmp_path: Path) -> None:
    nursery = bench(tmp_path, PLANNED, date(2027, 5, 2))
    plan = planned(nursery)

    assert "r2" not in lots_text(plan, nursery)
    assert "12 planned   not stuck      planned for 10 Feb" in lots_text(plan, nursery, closed=True)
    assert all_lots_json(plan, nursery)["never_stuck"] == []
    assert all_lots_json(plan, nursery, closed=True)["never_stuck"] == [
        {"row": "r2", "number": "7", "count": 12, "date": date(2027, 2, 10), "bin": "A"}
    ]


def test_an_order_that_waits_for_it_says_so(tmp_path: Path) -> None:
    order = ["12,2027-01-20,7,rooted,6,2027-09-01,US,VA,,"]
    before, after = (planned(bench(tmp_path, NO_WOOD, date(2027, 3, day), orders=order)) for day in (2, 3))

    how = [rule_of(task(plan, "12.promise_at_risk")).how for plan in (before, after)]
    assert "never stuck" not in how[0]
    assert "under 5% by now. Of that number 12 planned were never stuck. Tell the buyer" in how[1]


def test_an_order_taken_after_its_season_never_waited_for_it(tmp_path: Path) -> None:
    order = ["12,2027-03-20,7,rooted,6,2027-09-01,US,VA,,"]

    said = task(planned(bench(tmp_path, NO_WOOD, date(2027, 3, 21), orders=order)), "12.promise_at_risk")

    assert "never stuck" not in rule_of(said).how


def test_next_winter_no_wood_is_asked_for_on_its_account(tmp_path: Path) -> None:
    late = "2027-01-05 planned 7 --count 12 --value 2027-02-10"
    alone, with_it = (planned(bench(tmp_path, log, date(2027, 11, 3))) for log in ("", late))

    assert [(each.id, each.due) for each in with_it.tasks] == [(each.id, each.due) for each in alone.tasks]


@pytest.mark.parametrize("stuck", ["2027-02-20", "2027-05-02"], ids=["in arrears", "when it is over"])
def test_logged_as_stuck_after_that_it_is_there(tmp_path: Path, stuck: str) -> None:
    over = in_season(bench(tmp_path, PLANNED, date(2027, 5, 2)))
    log = f"{PLANNED}\n{stuck} stuck 7a --count 12 --bin A --refers r2"

    nursery = bench(tmp_path, log, date(2027, 5, 2))
    [row] = nursery.rows[2:]
    gone_on, faults = over.with_more([row])

    assert over.stock.to_come == ()
    assert faults == []
    assert gone_on.stock.planned == nursery.stock.planned == ()
    assert gone_on.stock.lots.keys() == nursery.stock.lots.keys() == {"7a", "7b"}
    assert told(planned(nursery)) == []


def test_what_is_over_can_still_be_undone_and_stays_in_the_logbook(tmp_path: Path) -> None:
    nursery = in_season(bench(tmp_path, PLANNED, date(2028, 6, 2)))

    assert [each.row for each in nursery.stock.planned] == ["r2"]
    assert nursery.stock.to_come == ()


def test_in_the_south_a_season_is_that_of_its_own_winter_and_does_not_last_over_new_year(tmp_path: Path) -> None:
    log = "2026-06-01 taken 7a --count 20\n2026-06-05 planned 7 --count 12 --value 2026-07-20 --bin A"
    south = Parts(latitude=-37.8, longitude=145.0, timezone="Australia/Melbourne", country="AU", frost=SOUTHERN_FROST)

    def at(day: date) -> Nursery:
        return bench(tmp_path, log, date(2027, 7, 1), as_of=day, **south)

    last = season_ends(at(date(2026, 8, 1)))

    assert last == date(2026, 6, 1) + timedelta(weeks=16)
    assert has_task(planned(at(last)), "r2.stick_planned")
    assert not has_task(planned(at(last + timedelta(days=1))), "r2.stick_planned")
    assert not has_task(planned(at(date(2027, 1, 5))), "r2.stick_planned")
    assert not has_task(planned(at(date(2027, 6, 21))), "r2.stick_planned")


@pytest.mark.parametrize("crop", ["forsythia", "elderberry"])
def test_what_was_planned_for_a_bed_in_autumn_may_still_be_stuck_in_spring_and_then_no_more(
    tmp_path: Path, crop: str
) -> None:
    # Iowa State: as soon as the ground is workable in spring; a British garden paper: November. Not in leaf.
    log = "2026-10-20 taken 7a --count 20\n2026-10-21 planned 7 --count 12 --value 2026-11-05 --bin Row"

    def at(day: date) -> Nursery:
        return bench(tmp_path, log, day, varieties=SHRUB.replace("forsythia", crop), week=BED, bins="A")

    last = season_ends(at(date(2026, 12, 1)))

    assert date(2027, 2, 15) < last < date(2027, 4, 30)
    assert has_task(planned(at(last)), "r2.ground_planned")
    assert not has_task(planned(at(last + timedelta(days=1))), "r2.ground_planned")


def test_a_tray_lot_is_over_with_the_season_of_trays(tmp_path: Path) -> None:
    log = "2027-01-02 taken 7a --count 20\n2027-01-05 planned 7 --count 12 --value 2027-02-10 --bin T"

    def at(day: date) -> Nursery:
        return bench(tmp_path, log, day, week=TRAY)

    last = season_ends(at(date(2027, 3, 1)))

    assert has_task(planned(at(last)), "r2.tray_planned")
    assert not has_task(planned(at(last + timedelta(days=1))), "r2.tray_planned")


def test_one_planned_for_a_day_outside_the_season_is_asked_for_as_long_as_wood_from_elsewhere_would_do(
    tmp_path: Path,
) -> None:
    log = "2027-03-20 planned 7 --count 12 --value 2027-04-10 --bin A"

    last = season_ends(bench(tmp_path, log, date(2027, 4, 1)), "r1")

    assert last > date(2027, 4, 13)
    assert has_task(planned(bench(tmp_path, log, last)), "r1.stick_planned")
    assert not has_task(planned(bench(tmp_path, log, last + timedelta(days=1))), "r1.stick_planned")
