"""The year of plants in pots: looks, feed, heat, rest, shelter from frost, and the season after."""

from __future__ import annotations

import itertools
from datetime import date, timedelta
from pathlib import Path
from typing import Unpack

import pytest

from almanac.plan.model import Plan
from almanac.words.tasks import text
from tests.nurseries import NO_FROST, Parts, bench
from tests.unit.given import has_task, look, of_rule, planned, task

VARIETIES = """number,name,crop,source,protected
7,Copper Kettle,fig,,
8,Blue Ladder,red_currant,,
9,Tin Whistle,fig,,yes
"""
OUTSIDE = """2027-01-05 received 7a --count 12 --stage rooting --bin A
2027-01-05 received 8a --count 9 --stage rooting --bin A
2027-03-18 potted 7a
2027-03-18 potted 8a
2027-05-05 set_out 7a
2027-05-05 set_out 8a
2027-05-20 outside 7a
2027-05-20 outside 8a
"""


def plan_on(folder: Path, log: str, today: date, **parts: Unpack[Parts]) -> Plan:
    return planned(bench(folder, log, today, **(Parts(varieties=VARIETIES) | parts)))


def looks_of(plan: Plan, lot: str) -> set[str]:
    return {each.rule.id for each in plan.looks if each.lot == lot and each.end >= plan.as_of}


def test_pots_outside_are_looked_at_each_week_once_they_have_settled(tmp_path: Path) -> None:
    plan = plan_on(tmp_path, OUTSIDE, date(2027, 7, 1))

    assert looks_of(plan, "7a") == {"outside_look"}
    assert look(plan, "7a.outside_look").every_days == 7


def test_pots_are_given_four_weeks_to_settle_before_their_weekly_look_begins(tmp_path: Path) -> None:
    # As `settles` of rules/care/potted.toml says.
    log = "2027-01-05 received 7a --count 12 --stage rooting --bin A\n2027-02-10 potted 7a\n"

    found = look(plan_on(tmp_path, log, date(2027, 3, 1)), "7a.pot_look")

    assert found.start == date(2027, 3, 10)


def test_every_pot_of_a_lot_is_fed_and_looked_at_in_its_rest_though_some_are_in_and_some_out(tmp_path: Path) -> None:
    log = "2027-01-05 received 7a --count 12 --stage pot\n2027-05-05 set_out 7a\n2027-05-20 outside 7a --count 5\n"

    fed = of_rule(plan_on(tmp_path, log, date(2027, 6, 1)), "feed")
    rests = look(plan_on(tmp_path, log + "2027-10-10 resting 7a\n", date(2027, 10, 12)), "7a.rest_water")

    assert {each.count for each in fed if each.lots == ("7a",)} == {12}
    assert rests.count == 12


def test_a_settled_pot_under_cover_is_looked_at_each_week_and_fed_until_hardening_nears(tmp_path: Path) -> None:
    log = "2027-01-05 received 7a --count 12 --stage rooting --bin A\n2027-02-10 potted 7a\n"

    plan = plan_on(tmp_path, log, date(2027, 3, 14))

    assert "pot_look" in looks_of(plan, "7a")
    assert "pot_water" not in looks_of(plan, "7a")
    feeds = of_rule(plan, "feed")
    assert feeds
    assert feeds[0].earliest == date(2027, 3, 17)
    set_out = plan.milestones["7a"]["set_out"].days
    assert set_out
    assert all(each.earliest <= set_out[0] - timedelta(days=7) for each in feeds)


def test_feed_counts_from_the_last_one_logged(tmp_path: Path) -> None:
    plan = plan_on(tmp_path, OUTSIDE + "2027-06-20 fed 7a\n", date(2027, 6, 24))

    assert min(each.earliest for each in of_rule(plan, "feed") if each.lots == ("7a",)) == date(2027, 7, 4)


def test_the_last_feed_comes_six_weeks_before_the_first_frost(tmp_path: Path) -> None:
    plan = plan_on(tmp_path, OUTSIDE, date(2027, 7, 1))

    last = task(plan, "7a.last_feed.2027")
    assert last.latest == date(2027, 10, 5) - timedelta(weeks=6)
    assert all(each.latest < last.latest for each in of_rule(plan, "feed"))


def test_tender_pots_go_in_and_hardy_ones_are_huddled_after_the_first_frosts(tmp_path: Path) -> None:
    plan = plan_on(tmp_path, OUTSIDE, date(2027, 9, 1))

    assert has_task(plan, "7a.pots_in.2027")
    assert has_task(plan, "8a.pots_wrap.2027")
    assert not has_task(plan, "8a.pots_in.2027")
    assert not has_task(plan, "7a.pots_wrap.2027")
    assert task(plan, "7a.frost_ready.2027").latest < date(2027, 10, 5)
    assert task(plan, "7a.pots_in.2027").earliest > date(2027, 10, 18)


def test_shelter_says_which_cold_kills_roots_and_that_the_frost_dates_are_of_another(tmp_path: Path) -> None:
    nursery = bench(tmp_path, OUTSIDE, date(2027, 9, 1), varieties=VARIETIES)
    plan = planned(nursery)

    told = text(task(plan, "7a.pots_in.2027"), nursery.book, plan.as_of)

    assert "Roots in a pot may die at 26 F (-3.5 C)" in told
    assert "Your frost dates are of 32 F (0 C) nights" in told


def test_lots_of_a_crop_share_the_windows_of_the_year(tmp_path: Path) -> None:
    log = OUTSIDE + "2027-05-20 received 7b --count 3 --stage outside\n"

    plan = plan_on(tmp_path, log, date(2027, 8, 1))

    assert task(plan, "7a.last_feed.2027").lots == ("7a", "7b")


def test_a_lot_at_rest_has_sparing_water_and_shelter_from_frost_and_nothing_else(tmp_path: Path) -> None:
    plan = plan_on(tmp_path, OUTSIDE + "2027-10-10 resting 7a\n", date(2027, 10, 12))

    assert looks_of(plan, "7a") == {"rest_water"}
    asked = {each.rule.id for each in plan.tasks if each.rule.scope == "lot" and "7a" in each.lots}
    assert asked == {"pots_in", "spring_frost", "pot_on", "wake"}  # before growth a bigger pot; then whether it woke
    visits = [each.day for each in plan.rounds if any(line.lot == "7a" for line in each.lines)]
    assert all(later - day >= timedelta(days=14) for day, later in itertools.pairwise(visits))


def test_a_bag_at_rest_is_no_longer_weaned_watered_or_lit(tmp_path: Path) -> None:
    log = "2027-01-05 received 7a --count 12 --stage rooting --bin A\n2027-03-01 resting 7a\n"

    plan = plan_on(tmp_path, log, date(2027, 3, 2))

    assert looks_of(plan, "7a") == {"rest_water"}
    assert {each.rule.id for each in plan.tasks if "7a" in each.lots} == {"wake"}


def test_wood_put_back_into_store_is_looked_at_though_it_was_at_rest(tmp_path: Path) -> None:
    log = "2027-01-05 received 7a --count 12 --stage pot\n2027-02-01 resting 7a\n2027-02-02 stored 7a\n"

    plan = plan_on(tmp_path, log, date(2027, 2, 3))

    assert "store_look" in looks_of(plan, "7a")


def test_woke_takes_a_lot_on_and_the_next_winter_it_may_rest_again(tmp_path: Path) -> None:
    log = OUTSIDE + "2027-11-01 resting 7a\n2028-03-10 woke 7a\n"

    awake = plan_on(tmp_path, log, date(2028, 3, 12))
    again = plan_on(tmp_path, log + "2028-11-01 resting 7a\n", date(2028, 11, 2))

    assert looks_of(awake, "7a") == {"outside_look"}
    assert looks_of(again, "7a") == {"rest_water"}


def test_an_unsold_plant_is_carried_into_the_next_season(tmp_path: Path) -> None:
    plan = plan_on(tmp_path, OUTSIDE, date(2028, 3, 10))  # 430 days after it was stuck

    assert looks_of(plan, "8a") == {"outside_look"}
    asked = {each.rule.id for each in plan.tasks if each.rule.scope == "lot" and "8a" in each.lots}
    assert {"pot_on", "spring_frost", "offer_again", "last_feed"} <= asked
    assert not asked & {"pot_up", "harden_out", "plant_out", "offer_rooted", "first_feed"}
    safe = date(2028, 4, 30)
    assert all(each.earliest >= safe for each in of_rule(plan, "feed"))
    assert task(plan, "8a.spring_frost.2028").latest == safe


def test_looks_logged_do_not_put_off_planting_out_and_offering_for_ever(tmp_path: Path) -> None:
    looks = "".join(f"{date(2027, 5, 25) + timedelta(weeks=week)} looked 7a\n" for week in range(20))

    plan = plan_on(tmp_path, OUTSIDE + looks, date(2027, 10, 10))

    assert not has_task(plan, "7a.plant_out")
    assert not has_task(plan, "7a.offer_rooted")


@pytest.mark.parametrize("today", [date(2027, 7, 1), date(2027, 11, 10), date(2028, 3, 10)])
def test_where_it_never_freezes_no_entry_speaks_of_frost_and_looks_go_on_all_year(tmp_path: Path, today: date) -> None:
    plan = plan_on(tmp_path, OUTSIDE, today, frost=NO_FROST, latitude=21.0)

    asked = {each.rule.id for each in plan.tasks}
    assert not asked & {"frost_ready", "go_dormant", "pots_in", "pots_wrap", "spring_frost", "last_feed"}
    assert looks_of(plan, "7a") == {"outside_look"}


def test_hot_pots_are_shaded_where_the_sun_is_high_and_summers_long(tmp_path: Path) -> None:
    late = OUTSIDE.replace("2027-05-20", "2027-06-10")

    south = plan_on(tmp_path, late, date(2027, 6, 12))
    north = plan_on(tmp_path, late, date(2027, 6, 12), latitude=58.0)

    assert has_task(south, "7a.pot_heat.2027")
    assert not has_task(north, "7a.pot_heat.2027")


def test_wood_may_be_taken_from_the_day_that_leaves_were_seen_down(tmp_path: Path) -> None:
    nothing = plan_on(tmp_path, OUTSIDE, date(2027, 11, 3))
    fallen = plan_on(tmp_path, OUTSIDE + "2027-11-03 leaf_fall fig\n", date(2027, 11, 3))

    assert task(nothing, "fig.take_wood.2027").earliest == date(2027, 10, 28)  # likely, by the first frosts
    assert task(fallen, "fig.take_wood.2027").earliest == date(2027, 11, 3)
