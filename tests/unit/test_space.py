"""Room in bins, under lamps and outside: what logged and forecast moves take, and when it will not do."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from almanac.nursery.workdays import Workdays
from almanac.plan.demand import Demand, Move, Number, Stay
from almanac.plan.ids import EntryId
from almanac.plan.model import Plan, PlanWarning
from almanac.plan.past import Past
from almanac.plan.room.shortages import shortages
from almanac.plan.spaces import Room, Space
from almanac.words.warnings import shortage_title, warning_text
from tests.faults.bench import NURSERY
from tests.nurseries import bench
from tests.unit.given import planned
from tests.unit.test_replay import NURSERY_SETTINGS as SETTINGS

WORKDAYS = Workdays(SETTINGS, SETTINGS.place())

MONDAY = date(2027, 3, 1)
LAMPS = "pots_under_light = 10\npots_outside = 10"
WINTER = """
2027-01-05 received 7a --count 12 --stage rooting --bin A
2027-01-05 received 8a --count 6 --stage rooting --bin B
2027-02-20 potted 8a --count 2
2027-02-22 received 9a --count 3 --stage pot
2027-02-24 received 9b --count 4 --stage outside
"""


def room(plan: Plan, place: str, name: str = "") -> Demand:
    [found] = [each for each in plan.space.rooms if (each.place, each.bin) == (place, name)]
    return found.demand


def kinds(plan: Plan) -> list[str]:
    return [warning.kind for warning in plan.warnings if warning.shortage]


# --- what takes room -----------------------------------------------------------------------------------------------


def test_today_every_place_holds_what_the_logbook_says(tmp_path: Path) -> None:
    plan = planned(bench(tmp_path, WINTER, MONDAY, bins=("A", "B")))

    today = [room(plan, *where) for where in (("bin", "A"), ("bin", "B"), ("lamps",), ("outside",))]

    assert [demand.expected(MONDAY) for demand in today] == [12, 4, 5, 4]
    assert [demand.up_to(MONDAY) for demand in today] == [12, 4, 5, 4]


def test_a_bag_frees_its_place_by_the_days_that_its_lot_is_forecast_to_be_potted(tmp_path: Path) -> None:
    plan = planned(bench(tmp_path, WINTER, MONDAY, bins=("A", "B")))
    days = plan.milestones["7a"]["potted"].days
    assert days is not None

    in_a = room(plan, "bin", "A")

    assert in_a.expected(days[1] - timedelta(days=1)) > 6 - 1e-9 >= in_a.expected(days[1]) - 1e-6
    assert in_a.expected(days[2]) == pytest.approx(1.2)
    assert (in_a.up_to(days[2] - timedelta(days=1)), in_a.up_to(days[2])) == (12, 0)


def test_of_bags_only_so_many_come_to_be_potted_as_strike_but_roots_that_were_seen_do(tmp_path: Path) -> None:
    lots = "2027-01-05 received 7a --count 10 --stage rooting --bin A\n"
    plan = planned(bench(tmp_path, lots, MONDAY))
    seen = planned(bench(tmp_path, lots + "2027-02-27 well_rooted 7a", MONDAY))
    late = plan.space.last

    share = bench(tmp_path, lots, MONDAY).book.crops["fig"].strike.rooted

    assert room(plan, "outside").expected(late) == pytest.approx(10 * share, rel=0.01)
    assert room(seen, "outside").expected(late) == pytest.approx(10, rel=0.01)


def test_a_plant_is_in_its_bag_or_under_the_lamps_or_out_for_good_and_while_it_hardens_both(tmp_path: Path) -> None:
    nursery = bench(
        tmp_path, "2027-02-01 received 7a --count 8 --stage pot", MONDAY, frost="[frost.dates]\nnever = true"
    )
    plan = planned(nursery)
    lamps, outside = room(plan, "lamps"), room(plan, "outside")
    leaves = plan.milestones["7a"]["outside"].days
    assert leaves is not None

    for day in plan.space.days():
        assert lamps.expected(day) + outside.expected(day) >= 8 - 0.05
    hardening = leaves[0] - timedelta(days=1)
    assert lamps.expected(hardening) > 7
    assert outside.expected(hardening) > 7
    assert (lamps.expected(plan.space.last), outside.expected(plan.space.last)) == (0, 8)


def test_a_lot_that_is_moved_frees_its_places_and_takes_others(tmp_path: Path) -> None:
    plan = planned(bench(tmp_path, WINTER + "2027-02-28 moved 7a --bin B", MONDAY, bins=("A", "B")))

    assert (room(plan, "bin", "A").expected(MONDAY), room(plan, "bin", "B").expected(MONDAY)) == (0, 16)


def test_bags_remaining_when_others_were_potted_are_expected_to_follow(tmp_path: Path) -> None:
    plan = planned(bench(tmp_path, WINTER, MONDAY, bins=("A", "B")))

    left = room(plan, "bin", "B")

    assert plan.milestones["8a"]["potted"].known == date(2027, 2, 20)
    assert (left.expected(MONDAY), left.expected(plan.space.last)) == (4, 0)


def test_a_lot_of_which_nothing_can_be_foretold_keeps_its_places(tmp_path: Path) -> None:
    plan = planned(bench(tmp_path, "2027-02-01 received 7a --count 5 --stage rooting --bin A", MONDAY, mat="5 C"))

    assert {room(plan, "bin", "A").up_to(day) for day in plan.space.days()} == {5}
    assert room(plan, "lamps").up_to(plan.space.last) == 0


def test_a_lot_to_come_takes_the_bin_that_suits_it_and_has_room_then(tmp_path: Path) -> None:
    log = """
    2027-02-01 received 7a --count 20 --stage rooting --bin A
    2027-02-20 planned 8 --count 6 --value 2027-03-10
    """
    plan = planned(bench(tmp_path, log, MONDAY, bins=("A", "B")))
    before, then = date(2027, 3, 9), date(2027, 3, 10)

    assert [(each.number, name) for each, name in plan.space.planned] == [("8", "B")]
    assert [room(plan, "bin", "B").up_to(day) for day in (before, then)] == [0, 6]


def test_rooting_cuttings_that_stand_in_no_bin_are_counted_apart(tmp_path: Path) -> None:
    plan = planned(bench(tmp_path, "2027-02-01 received 7a --count 5 --stage rooting", MONDAY))

    assert plan.space.in_no_bin == 5
    assert room(plan, "bin", "A").most(MONDAY) == 0


# --- when it will not do -------------------------------------------------------------------------------------------

CROWDED = """
2027-02-20 received 7a --count 20 --stage rooting --bin A
2027-02-21 received 8a --count 10 --stage rooting --bin A
2027-02-22 planned 9 --count 20 --value 2027-04-20
"""


def warned(plan: Plan, kind: str) -> PlanWarning:
    return next(warning for warning in plan.warnings if warning.kind == kind)


def test_an_overfull_bin_is_told_with_its_lots_its_lack_and_what_can_be_done(tmp_path: Path) -> None:
    plan = planned(bench(tmp_path, CROWDED, MONDAY, bins=("A", "B")))

    full = warned(plan, "bin_full")

    assert (full.day, full.lots, full.bins) == (MONDAY, ("7a", "8a"), ("A",))
    assert full.shortage is not None
    assert (full.shortage.up_to, full.shortage.expected, full.shortage.elsewhere) == (6, 6, (("B", 4),))
    assert shortage_title(full) == "Bin A: 6 bags too many, 1 Mar"
    text = warning_text(full, MONDAY)
    assert text.startswith("Bin A has room for 24: from Mon 1 Mar to ")
    assert text.endswith(
        "6 bags too many. Then there: 7a, 8a. Pot up what is rooted, move bags (bin B has room for 4)."
    )


def test_a_lot_to_come_is_part_of_the_lack_and_may_be_stuck_later(tmp_path: Path) -> None:
    log = "2027-02-22 received 7a --count 20 --stage rooting --bin A\n2027-02-22 planned 9 --count 6 --value 2027-03-08"
    plan = planned(bench(tmp_path, log, MONDAY))

    full = warned(plan, "bin_full")

    assert full.day == date(2027, 3, 8)
    assert full.shortage is not None
    assert (full.shortage.up_to, full.shortage.told_on) == (2, MONDAY + timedelta(days=1))
    assert "Then there: 7a, 6 of no. 9 planned for 8 Mar." in warning_text(full, MONDAY)
    assert "or stick later what is planned" in warning_text(full, MONDAY)


def test_of_lamps_and_room_outside_nothing_is_said_unless_the_nursery_says_how_much_there_is(tmp_path: Path) -> None:
    log = "2027-02-01 received 7a --count 30 --stage pot"

    silent = planned(bench(tmp_path, log, MONDAY))
    told = planned(bench(tmp_path, log, MONDAY, space=LAMPS))

    assert kinds(silent) == []
    assert kinds(told) == ["lamps_full", "outside_full"]
    lamps, outside = warned(told, "lamps_full"), warned(told, "outside_full")
    assert lamps.shortage is not None
    assert (lamps.day, lamps.shortage.up_to) == (MONDAY, 20)
    assert "frost decides when they go out" in warning_text(lamps, MONDAY)
    assert outside.day > MONDAY
    assert outside.shortage is not None
    assert outside.shortage.open_ended
    assert "to at least" in warning_text(outside, MONDAY)


def some_room(stays: list[Stay], capacity: int, days: int = 100) -> Space:
    demand = Demand(first=MONDAY.toordinal(), days=days, stays=stays)
    return Space(
        first=MONDAY,
        last=MONDAY + timedelta(days=days - 1),
        rooms=(Room(place="bin", bin="A", capacity=capacity, demand=demand),),
        in_no_bin=0,
        planned=(),
    )


def staying(lot: str, count: int, first: int, last: int) -> Stay:
    """A lot in the bin from a day to a day, counted from Monday."""
    come, go = (Move.on(MONDAY.toordinal() + day) for day in (first, last + 1))
    return Stay(lot=lot, number=Number(most=count), comes=come, goes=go)


def told(space: Space, past: Past | None = None) -> list[tuple[EntryId, date, date | None]]:
    found = shortages(space, WORKDAYS, past or Past())
    return [(each.shortage.id, each.day, each.shortage.told_on) for each in found if each.shortage]


def test_a_lack_is_told_a_fortnight_before_on_a_bench_day_and_again_as_it_begins() -> None:
    assert "bench_days" in NURSERY  # Tuesday, Friday and Sunday
    space = some_room([staying("7a", 30, 40, 60)], 24)
    begins = MONDAY + timedelta(days=40)  # Saturday, 10 April

    [(name, day, first)] = told(space)
    [(again, _, second)] = told(space, Past(entries={name: first or date.min}))
    [(_, _, third)] = told(space, Past(entries={name: first or date.min, again: second or date.min}))

    assert (name, day, first) == ("A.bin_full", begins, begins - timedelta(days=13))  # a fortnight before is a Saturday
    assert (again, second) == ("A.bin_full~2", begins)
    assert third is None


def test_a_bin_that_is_overfull_now_is_told_today_and_each_week_that_it_lasts() -> None:
    space = some_room([staying("7a", 30, -5, 60)], 24)

    full = EntryId.of_room("bin_full", "A")

    assert told(space) == [("A.bin_full", MONDAY, MONDAY)]
    assert told(space, Past(entries={full: MONDAY - timedelta(days=1)})) == [("A.bin_full~2", MONDAY, None)]
    assert told(space, Past(entries={full: MONDAY - timedelta(days=7)})) == [("A.bin_full~2", MONDAY, MONDAY)]


def test_two_stretches_less_than_a_week_apart_are_one_and_others_have_each_their_own() -> None:
    near = some_room([staying("7a", 30, 20, 24), staying("8a", 30, 30, 34)], 24)
    apart = some_room([staying("7a", 30, 20, 24), staying("8a", 30, 50, 54)], 24)

    assert [name for name, _, _ in told(near)] == ["A.bin_full"]
    assert [name for name, _, _ in told(apart)] == ["A.bin_full", "A.bin_full~2"]


@st.composite
def some_lots(draw: st.DrawFn) -> list[Stay]:
    found = []
    for number in range(draw(st.integers(0, 8))):
        start, wait, spread = (draw(st.integers(0, most)) for most in (80, 60, 30))
        day = MONDAY.toordinal() + start
        goes = Move(early=day + wait, likely=day + wait, late=day + wait + spread, not_before=day)
        found.append(
            Stay(
                lot=f"{number + 1}a",
                number=Number(most=draw(st.integers(1, 12))),
                comes=Move(early=day, likely=day, late=day, not_before=day),
                goes=goes,
            )
        )
    return found


@given(some_lots(), st.integers(1, 40))
def test_no_day_is_overfull_without_a_warning_and_no_warning_without_such_a_day(lots: list[Stay], places: int) -> None:
    space = some_room(lots, places)

    warnings = list(shortages(space, WORKDAYS, Past()))

    overfull = {day for day in space.days() if space.rooms[0].demand.up_to(day) > places}
    spans = [(each.day, each.shortage.until, each) for each in warnings if each.shortage]
    assert all(any(first <= day <= until for first, until, _ in spans) for day in overfull)
    for first, until, warning in spans:
        assert {first, until} <= overfull
        assert warning.lots
        assert warning.shortage is not None
        assert 0 <= warning.shortage.expected <= warning.shortage.up_to
        assert warning.shortage.told_on is not None
        assert MONDAY <= warning.shortage.told_on <= first
