"""What a lot's milestones are: logged, settled by a later event, or forecast; and what moves them."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Unpack

import pytest

from almanac.forecast.hardening import taking
from almanac.forecast.milestones import milestones
from almanac.forecast.model import Milestone, Surroundings
from tests.nurseries import FROST_ALL_SUMMER, NO_FROST, SOUTHERN_FROST, Parts, bench
from tests.unit.given import planned

STUCK = "2027-01-05 received 7a --count 12 --stage rooting --bin A"


def of(folder: Path, log: str, today: date, lot: str = "7a", **parts: Unpack[Parts]) -> dict[str, Milestone]:
    """The milestones of a lot, from the lines logged by a day."""
    nursery = bench(folder, log, today, **parts)
    around = Surroundings(
        book=nursery.book, settings=nursery.settings, frost=nursery.frost, bins=nursery.stock.bins, as_of=nursery.as_of
    )
    return milestones(nursery.stock.lots[lot], around)


def likely(milestone: Milestone) -> date:
    assert milestone.known is None
    assert milestone.days is not None
    return milestone.days[1]


# --- the warmth of the bin ---------------------------------------------------------------------------------------


def test_with_the_mat_off_roots_come_later(tmp_path: Path) -> None:
    warm = of(tmp_path, STUCK, date(2027, 1, 12))
    off = of(tmp_path, f"{STUCK}\n2027-01-06 mat --bin A --value off", date(2027, 1, 12))

    assert likely(off["roots"]) > likely(warm["roots"])
    assert likely(off["potted"]) > likely(warm["potted"])


def test_the_mat_does_not_touch_buds_that_follow_the_air(tmp_path: Path) -> None:
    warm = of(tmp_path, STUCK, date(2027, 1, 12))
    off = of(tmp_path, f"{STUCK}\n2027-01-06 mat --bin A --value off", date(2027, 1, 12))

    assert off["budbreak"].days == warm["budbreak"].days
    assert off["leaves"].days == warm["leaves"].days


def test_a_day_without_power_in_a_cold_shed_moves_roots_by_a_day(tmp_path: Path) -> None:
    cut = "2027-01-10 mat --bin A --value off\n2027-01-11 mat --bin A --value '25 C'"

    without = of(tmp_path, STUCK, date(2027, 1, 12), air="10 C")
    after = of(tmp_path, f"{STUCK}\n{cut}", date(2027, 1, 12), air="10 C")

    assert likely(after["roots"]) == likely(without["roots"]) + timedelta(days=1)


def test_a_mat_turned_down_today_leaves_the_warm_days_before_it_counted(tmp_path: Path) -> None:
    early, late = ("2027-01-06 mat --bin A --value '20 C'", "2027-01-14 mat --bin A --value '20 C'")

    whole = of(tmp_path, STUCK, date(2027, 1, 14))
    soon = of(tmp_path, f"{STUCK}\n{early}", date(2027, 1, 14))
    later = of(tmp_path, f"{STUCK}\n{late}", date(2027, 1, 14))

    assert likely(whole["roots"]) < likely(later["roots"]) < likely(soon["roots"])


def test_a_lot_moved_to_a_bin_as_warm_keeps_its_days(tmp_path: Path) -> None:
    stays = of(tmp_path, f"{STUCK}\n2027-01-12 looked 7a", date(2027, 1, 12), bins="AB")
    moves = of(tmp_path, f"{STUCK}\n2027-01-12 moved 7a --bin B", date(2027, 1, 12), bins="AB")

    assert {name: found.days for name, found in moves.items()} == {name: found.days for name, found in stays.items()}


def test_in_a_bin_where_nothing_goes_on_no_date_is_named_and_a_warning_says_so(tmp_path: Path) -> None:
    nursery = bench(tmp_path, f"{STUCK}\n2027-01-06 mat --bin A --value off", date(2027, 1, 12), air="9 C")

    plan = planned(nursery)

    assert plan.milestones["7a"]["roots"].days is None
    assert plan.milestones["7a"]["potted"].days is None
    assert [(warning.kind, warning.lots) for warning in plan.warnings if warning.kind == "standstill"] == [
        ("standstill", ("7a",))
    ]


# --- two clocks --------------------------------------------------------------------------------------------------


def test_leaves_do_not_move_potting_up(tmp_path: Path) -> None:
    only_looked = of(tmp_path, f"{STUCK}\n2027-01-17 looked 7a", date(2027, 1, 18))
    in_leaf = of(tmp_path, f"{STUCK}\n2027-01-17 leaves 7a --count 9", date(2027, 1, 18))

    assert in_leaf["leaves"].logged == date(2027, 1, 17)
    for name in ("callus", "roots", "well_rooted", "potted"):
        assert in_leaf[name].days == only_looked[name].days


def test_roots_seen_earlier_than_expected_bring_potting_up_forward(tmp_path: Path) -> None:
    waiting = of(tmp_path, STUCK, date(2027, 1, 18))
    rooted = of(tmp_path, f"{STUCK}\n2027-01-17 roots 7a --count 3", date(2027, 1, 18))

    assert likely(waiting["roots"]) > date(2027, 1, 17)
    assert likely(rooted["potted"]) < likely(waiting["potted"])


def test_the_earlier_roots_were_seen_the_earlier_the_lot_is_potted(tmp_path: Path) -> None:
    days = [
        likely(of(tmp_path, f"{STUCK}\n2027-01-{day} roots 7a --count 3", date(2027, 1, 30))["potted"])
        for day in (15, 20, 25, 30)
    ]

    assert days == sorted(days)
    assert len(set(days)) == 4


def test_roots_on_more_of_the_lot_bring_potting_up_nearer(tmp_path: Path) -> None:
    on_one, on_three, on_eight = (
        likely(of(tmp_path, f"{STUCK}\n2027-01-20 roots 7a --count {count}", date(2027, 1, 20))["potted"])
        for count in (1, 3, 8)
    )

    assert on_one > on_three > on_eight


def test_drawing_water_waits_for_roots_and_leaves_both(tmp_path: Path) -> None:
    roots = of(tmp_path, f"{STUCK}\n2027-01-17 roots 7a --count 12", date(2027, 1, 18))
    both = of(tmp_path, f"{STUCK}\n2027-01-17 roots 7a\n2027-01-17 leaves 7a", date(2027, 1, 18))

    assert likely(roots["drawing"]) > likely(roots["leaves"])
    assert likely(both["drawing"]) < likely(roots["drawing"])


# --- what a later event settles ----------------------------------------------------------------------------------


def test_potting_up_settles_roots_that_were_never_logged(tmp_path: Path) -> None:
    found = of(tmp_path, f"{STUCK}\n2027-02-20 potted 7a", date(2027, 2, 21))

    for name in ("callus", "roots", "well_rooted"):
        assert (found[name].settled, found[name].settled_by) == (date(2027, 2, 20), "potted")


def test_leaves_settle_bud_break_but_never_roots(tmp_path: Path) -> None:
    found = of(tmp_path, f"{STUCK}\n2027-01-25 leaves 7a", date(2027, 1, 26))

    assert found["budbreak"].settled == date(2027, 1, 25)
    assert found["roots"].known is None
    assert likely(found["roots"]) >= date(2027, 1, 25)


def test_a_sign_logged_of_a_bin_counts_for_each_lot_in_it(tmp_path: Path) -> None:
    log = f"{STUCK}\n2027-01-05 received 8a --count 6 --stage rooting --bin A\n2027-01-20 roots --bin A"

    assert of(tmp_path, log, date(2027, 1, 21), "7a")["roots"].logged == date(2027, 1, 20)
    assert of(tmp_path, log, date(2027, 1, 21), "8a")["roots"].logged == date(2027, 1, 20)


def test_a_salvaged_stick_begins_its_days_anew(tmp_path: Path) -> None:
    log = f"{STUCK}\n2027-01-15 restuck 7a --count 4"

    first, anew = of(tmp_path, log, date(2027, 1, 15), "7a"), of(tmp_path, log, date(2027, 1, 15), "7b")

    assert anew["stuck"].logged == date(2027, 1, 15)
    assert likely(anew["roots"]) > likely(first["roots"])


def test_of_a_lot_that_is_all_gone_nothing_is_forecast(tmp_path: Path) -> None:
    found = of(tmp_path, f"{STUCK}\n2027-01-20 died 7a --count 12 --value rot", date(2027, 1, 21))

    assert all(milestone.known for milestone in found.values())


def test_when_all_plants_are_brought_back_in_hardening_begins_anew(tmp_path: Path) -> None:
    out = f"{STUCK}\n2027-02-20 potted 7a\n2027-06-10 set_out 7a"  # when no night puts off anything any more

    hardening = of(tmp_path, out, date(2027, 6, 12))
    back = of(tmp_path, f"{out}\n2027-06-12 brought_in 7a", date(2027, 6, 12))

    assert hardening["set_out"].logged == date(2027, 6, 10)
    assert back["set_out"].known is None
    assert likely(back["outside"]) > likely(hardening["outside"])


# --- seen, not happened ------------------------------------------------------------------------------------------


@pytest.mark.parametrize("looked", [date(2027, 1, 20), date(2027, 2, 1), date(2027, 2, 20)])
def test_what_the_last_look_did_not_see_is_not_forecast_before_it(tmp_path: Path, looked: date) -> None:
    found = of(tmp_path, f"{STUCK}\n{looked} looked 7a", looked + timedelta(days=3))

    forecast = [milestone.days for milestone in found.values() if milestone.days]
    assert forecast
    for days in forecast:
        assert days[0] >= looked
        assert days == tuple(sorted(days))


def test_bud_break_is_never_shown_after_the_leaves_that_follow_it(tmp_path: Path) -> None:
    for looked in (date(2027, 1, 20), date(2027, 2, 1), date(2027, 2, 20)):
        found = of(tmp_path, f"{STUCK}\n{looked} looked 7a", looked)
        assert likely(found["budbreak"]) <= likely(found["leaves"])


def test_of_what_hangs_on_an_overdue_sign_nothing_is_said_until_it_is_seen(tmp_path: Path) -> None:
    log = f"{STUCK}\n2027-02-20 looked 7a"

    overdue = of(tmp_path, log, date(2027, 2, 20))
    seen = of(tmp_path, f"{log}\n2027-02-20 roots 7a", date(2027, 2, 20))

    assert overdue["roots"].overdue(date(2027, 2, 20))
    assert "well_rooted" not in overdue
    assert likely(seen["well_rooted"]) > date(2027, 2, 20)


def test_days_that_pass_without_a_look_teach_nothing(tmp_path: Path) -> None:
    one = of(tmp_path, STUCK, date(2027, 1, 12))
    other = of(tmp_path, STUCK, date(2027, 2, 20))

    assert other["roots"].days == one["roots"].days
    assert other["leaves"].days == one["leaves"].days


def test_no_forecast_is_told_in_the_past(tmp_path: Path) -> None:
    today = date(2027, 6, 20)

    for milestone in of(tmp_path, STUCK, today).values():
        shown = milestone.shown(today)
        if milestone.known is None:
            assert shown is not None
            assert min(shown) >= today


def test_a_lot_is_overdue_only_when_95_in_100_would_have_rooted(tmp_path: Path) -> None:
    roots = of(tmp_path, f"{STUCK}\n2027-02-06 looked 7a", date(2027, 2, 6))["roots"]

    assert roots.overdue_on is not None
    assert not roots.overdue(roots.overdue_on)
    assert roots.overdue(roots.overdue_on + timedelta(days=1))


def test_potting_up_that_was_due_and_not_logged_is_still_to_come(tmp_path: Path) -> None:
    found = of(tmp_path, f"{STUCK}\n2027-02-10 well_rooted 7a", date(2027, 3, 20))

    assert likely(found["potted"]) >= date(2027, 3, 20)


# --- frost -------------------------------------------------------------------------------------------------------


def test_plants_never_live_out_before_the_frost_the_grower_accepts_and_go_out_by_day_two_weeks_before(
    tmp_path: Path,
) -> None:
    found = of(tmp_path, f"{STUCK}\n2027-02-20 potted 7a", date(2027, 2, 21))

    accepted = date(2027, 4, 30)  # the nursery's own 10 % date
    by_day, for_good = found["set_out"].days, found["outside"].days
    assert by_day is not None
    assert for_good is not None
    assert for_good[0] >= accepted
    assert likely(found["set_out"]) == accepted - timedelta(days=14)


def test_where_it_never_freezes_potted_plants_do_not_wait(tmp_path: Path) -> None:
    frosty = of(tmp_path, f"{STUCK}\n2027-02-20 potted 7a", date(2027, 2, 21))
    mild = of(tmp_path, f"{STUCK}\n2027-02-20 potted 7a", date(2027, 2, 21), frost=NO_FROST)

    assert likely(mild["set_out"]) < likely(frosty["set_out"])
    assert mild["set_out"].basis is not None
    assert mild["set_out"].basis.waits_for_frost is None


def test_where_frost_is_always_likely_no_day_is_named_and_a_warning_says_so(tmp_path: Path) -> None:
    nursery = bench(tmp_path, f"{STUCK}\n2027-02-20 potted 7a", date(2027, 2, 21), frost=FROST_ALL_SUMMER)

    plan = planned(nursery)

    assert plan.milestones["7a"]["set_out"].days is None
    assert [(warning.kind, warning.lots) for warning in plan.warnings if warning.kind == "never_safe"] == [
        ("never_safe", ("7a",))
    ]
    assert not [task for task in plan.tasks if task.rule.id.startswith("harden")]


def test_in_the_south_plants_go_out_two_weeks_before_the_end_of_october(tmp_path: Path) -> None:
    log = "2027-07-05 received 7a --count 12 --stage rooting --bin A\n2027-08-25 potted 7a"

    found = of(tmp_path, log, date(2027, 8, 26), frost=SOUTHERN_FROST, latitude=-37.0)

    assert likely(found["set_out"]) == date(2027, 10, 16)  # the nursery's own 10 % date is the 30th


def test_plants_potted_in_late_summer_wait_for_the_next_spring(tmp_path: Path) -> None:
    found = of(tmp_path, "2027-08-20 received 7a --count 3 --stage pot", date(2027, 8, 21))

    assert likely(found["set_out"]) == date(2028, 4, 16)


def test_how_long_a_ramp_takes_is_that_of_the_likely_day_to_go_out(tmp_path: Path) -> None:
    # The stronger the sun on the days they are out, the longer the way up to it: the late day has another way.
    nursery = bench(tmp_path, "2027-03-05 received 7a --count 12 --stage rooting --bin A", date(2027, 3, 5))
    around = Surroundings(
        book=nursery.book, settings=nursery.settings, frost=nursery.frost, bins=nursery.stock.bins, as_of=nursery.as_of
    )
    lot = nursery.stock.lots["7a"]
    found = milestones(lot, around)
    days, basis = found["set_out"].days, found["outside"].basis
    assert days is not None
    assert basis is not None

    likely, late = (taking(basis.duration, lot, day, around).median for day in days[1:])

    assert likely != late
    assert basis.duration.median == likely


def test_plants_not_set_out_while_there_was_time_are_let_go_with_a_word(tmp_path: Path) -> None:
    # One autumn in ten has a frost by the nursery's own date: 42 days before that is the last to live out, and plants
    # go out by day 14 days sooner.
    nursery = bench(tmp_path, "2027-03-20 received 7a --count 6 --stage pot", date(2027, 4, 1))
    autumn = nursery.frost.date_for_autumn(0.1, 2027)
    assert autumn is not None
    last, said, asked = autumn - timedelta(days=56), [], []

    for days in range(-21, 42, 3):
        plan = planned(replace(nursery, as_of=last + timedelta(days=days)))
        said += [days] if any(each.kind == "too_late" and each.lots == ("7a",) for each in plan.warnings) else []
        asked += [days] if any(t.rule.id == "harden_out" and t.due.year == 2027 for t in plan.tasks) else []

    assert asked == list(range(-21, min(said), 3))
    assert 0 < min(said) <= 8
    assert said == list(range(min(said), 22, 3))


def test_a_lot_stuck_on_a_leap_day_is_counted_like_any_other(tmp_path: Path) -> None:
    leap = of(tmp_path, STUCK.replace("2027-01-05", "2028-02-29"), date(2028, 3, 1))
    other = of(tmp_path, STUCK, date(2027, 1, 6))

    assert likely(leap["roots"]) - date(2028, 2, 29) == likely(other["roots"]) - date(2027, 1, 5)


def test_of_a_lot_that_is_over_the_plan_still_says_what_it_came_to(tmp_path: Path) -> None:
    log = f"{STUCK}\n2027-01-05 received 8a --count 3 --stage rooting --bin A\n2027-01-30 roots 7a"

    plan = planned(bench(tmp_path, f"{log}\n2027-02-09 died 7a --count 12 --value rot", date(2027, 2, 10)))

    assert [*plan.milestones] == ["7a", "8a"]
    assert plan.milestones["7a"]["roots"].logged == date(2027, 1, 30)
    assert "potted" not in plan.milestones["7a"]
    assert likely(plan.milestones["8a"]["potted"]) > date(2027, 2, 10)
