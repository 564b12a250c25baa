"""Plants at rest: asked for from the site's day on, taken to be awake in the end, and counted where they stand."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path
from typing import Unpack

import pytest

from almanac.plan.model import Plan
from almanac.plan.wood.forsale import offers
from almanac.terminal.lots import lots_text
from almanac.words.overdue import overdue
from almanac.words.tasks import text, title
from tests.nurseries import NO_FROST, SOUTHERN_FROST, Parts, bench
from tests.unit.given import has_task, look, of_rule, planned, task

VARIETIES = "number,name,crop,source,protected\n7,Copper Kettle,fig,,\n8,Blue Ladder,red_currant,,\n"
OUT = "2027-06-01 received 7a --count 9 --stage outside\n2027-06-20 hardened 7a\n"
IN = OUT + "2027-11-10 brought_in 7a\n"
ASLEEP = IN + "2027-11-12 resting 7a\n"


def plan_on(folder: Path, log: str, today: date, **parts: Unpack[Parts]) -> Plan:
    return planned(bench(folder, log, today, **(Parts(varieties=VARIETIES) | parts)))


def looks_of(plan: Plan, lot: str = "7a") -> set[str]:
    return {each.rule.id for each in plan.looks if each.lot == lot and each.start <= plan.as_of <= each.end}


def asked(plan: Plan, lot: str = "7a") -> set[str]:
    return {part.rule.id for each in plan.tasks for part in each.own if lot in part.lots and part.rule.scope == "lot"}


# --- waking ---------------------------------------------------------------------------------------------------------


def test_plants_whose_waking_was_never_logged_are_not_asleep_in_july(tmp_path: Path) -> None:
    summer = plan_on(tmp_path, ASLEEP, date(2028, 7, 1))

    assert looks_of(summer) == {"pot_look"}
    assert "rest_water" not in {each.rule.id for each in summer.looks}
    # Put out they should have been in April: that is late, and does not slip on week by week.
    assert {each.id for each in overdue(summer) if each.task} == {"7a.wake.2028", "7a.harden_out"}
    assert asked(summer) & {"harden_out", "harden"}


def test_waking_is_asked_for_from_the_sites_day_on_late_after_it_and_granted_by_the_accepted_frost(
    tmp_path: Path,
) -> None:
    winter = plan_on(tmp_path, ASLEEP, date(2028, 1, 10))
    spring = plan_on(tmp_path, ASLEEP, date(2028, 3, 20))
    after = plan_on(tmp_path, ASLEEP, date(2028, 5, 1))

    question = task(winter, "7a.wake.2028")
    assert question.earliest == date(2028, 3, 1)  # sixty days before 30 April, as `wakes_before_safe` has it
    assert looks_of(winter) == looks_of(spring) == {"rest_water"}
    assert [each.id for each in overdue(spring) if each.task] == ["7a.wake.2028"]
    assert "rest_water" not in looks_of(after)


def test_what_was_looked_at_and_found_asleep_is_asked_for_again_two_weeks_later(tmp_path: Path) -> None:
    looked = plan_on(tmp_path, ASLEEP + "2028-03-18 looked 7a\n", date(2028, 3, 20))

    assert task(looked, "7a.wake.2028").earliest == date(2028, 4, 1)
    assert not [each for each in overdue(looked) if each.task]


def test_where_it_never_freezes_waking_is_taken_for_granted_by_the_day_buds_swell_there(tmp_path: Path) -> None:
    log = "2027-06-01 received 7a --count 9 --stage pot\n2027-12-01 resting 7a\n"
    place = Parts(frost=NO_FROST, latitude=21.0, varieties=VARIETIES)
    nursery = bench(tmp_path, log, date(2028, 1, 20), **place)
    plan = planned(nursery)

    rest = plan.at_rest["7a"]
    assert rest.by == "buds_swelling"
    assert date(2027, 12, 1) < rest.granted < date(2028, 6, 21)
    found = task(plan_on(tmp_path, log, rest.wakes, **place), "7a.wake.2028")
    assert "the day buds likely swell outdoors" in text(found, nursery.book, rest.wakes)
    assert looks_of(plan_on(tmp_path, log, date(2028, 7, 1), **place)) == {"pot_look"}


def test_in_the_south_waking_is_asked_for_in_august(tmp_path: Path) -> None:
    log = "2027-01-05 received 7a --count 9 --stage outside\n2027-06-01 brought_in 7a\n2027-06-02 resting 7a\n"
    south = Parts(frost=SOUTHERN_FROST, latitude=-37.0, timezone="Australia/Melbourne", country="AU")

    plan = plan_on(tmp_path, log, date(2027, 7, 1), **south)

    assert plan.at_rest["7a"].wakes == date(2027, 8, 31)
    assert plan.at_rest["7a"].granted == date(2027, 10, 30)


def test_what_is_only_taken_to_be_awake_is_watered_but_not_fed_potted_on_or_sold(tmp_path: Path) -> None:
    out = OUT + "2027-11-12 resting 7a\n"
    unsure = plan_on(tmp_path, out, date(2028, 5, 3))
    awake = plan_on(tmp_path, out + "2028-05-02 woke 7a\n", date(2028, 5, 3))

    assert looks_of(unsure) == looks_of(awake) == {"outside_look"}
    assert not asked(unsure) & {"feed", "pot_on", "offer_again"}
    assert {"feed", "pot_on", "offer_again"} <= asked(awake)


def test_a_pot_at_rest_may_have_a_bigger_one_before_it_grows(tmp_path: Path) -> None:
    assert has_task(plan_on(tmp_path, ASLEEP, date(2028, 2, 10)), "7a.pot_on.2028")


def test_what_was_logged_at_rest_in_may_is_awake_four_weeks_later(tmp_path: Path) -> None:
    plan = plan_on(tmp_path, OUT.replace("2027", "2026") + "2027-05-10 resting 7a\n", date(2027, 5, 12))

    assert plan.at_rest["7a"].granted == date(2027, 6, 7)


def test_what_is_fed_in_spring_was_seen_awake(tmp_path: Path) -> None:
    fed = plan_on(tmp_path, OUT + "2027-11-12 resting 7a\n2028-05-20 fed 7a\n", date(2028, 6, 1))

    assert "7a" not in fed.at_rest
    assert "feed" in asked(fed)


def test_a_forgotten_waking_does_not_linger_into_the_winter_after(tmp_path: Path) -> None:
    log = OUT + "2027-11-12 resting 7a\n"
    winter, spring = plan_on(tmp_path, log, date(2028, 12, 10)), plan_on(tmp_path, log, date(2029, 5, 20))

    assert "wake" not in asked(winter) | asked(spring)
    assert looks_of(winter) == {"rest_water"}
    assert "feed" in asked(spring)


def test_what_comes_out_in_midwinter_rests_like_what_stands_there(tmp_path: Path) -> None:
    plan = plan_on(tmp_path, "2027-12-10 received 7a --count 4 --stage outside\n", date(2028, 1, 20))

    assert looks_of(plan) == {"rest_water"}
    assert plan.at_rest["7a"].wakes == date(2028, 3, 1)


def test_lots_says_what_is_at_rest_where_and_until_when(tmp_path: Path) -> None:
    cellar = Parts(varieties=VARIETIES, shelters=['name = "cellar"\npots = 20'])
    log = ASLEEP.replace("brought_in 7a", "brought_in 7a --bin cellar")

    told = {}
    for today in (date(2028, 1, 10), date(2028, 3, 10), date(2028, 7, 1)):
        nursery = bench(tmp_path, log, today, **cellar)
        told[today.month] = lots_text(planned(nursery), nursery).splitlines()[1]

    assert "9 at rest in cellar" in told[1]
    assert "wakes from 1 Mar" in told[1]
    assert "awake? log woke; by 30 Apr" in told[3]
    assert "awake?" in told[7]
    assert "late" not in "".join(told.values())


def test_plants_that_are_ready_wait_for_no_leaf_that_nobody_logged(tmp_path: Path) -> None:
    log = """2027-01-05 received 7a --count 9 --stage rooting --bin A
2027-03-20 potted 7a
2027-05-30 outside 7a
2027-06-20 hardened 7a"""
    nursery = bench(tmp_path, log, date(2027, 8, 1), varieties=VARIETIES)

    line = lots_text(planned(nursery), nursery).splitlines()[1]

    assert "growing" in line
    assert "late" not in line
    assert "leaf" not in line


# --- in shelter -----------------------------------------------------------------------------------------------------


def taken(plan: Plan, place: str, day: date, name: str = "") -> float:
    [found] = [each for each in plan.space.rooms if (each.place, each.bin) == (place, name)]
    return found.demand.expected(day)


def test_pots_in_the_dark_take_no_lamp_until_they_wake(tmp_path: Path) -> None:
    plan = plan_on(tmp_path, ASLEEP, date(2027, 12, 1), space="pots_under_light = 5")

    assert taken(plan, "lamps", date(2028, 2, 1)) == 0
    assert taken(plan, "shelter", date(2028, 2, 1)) == 9
    assert not [each for each in plan.warnings if each.kind == "lamps_full" and each.day < date(2028, 4, 30)]


@pytest.mark.parametrize(("dark", "under_lamps"), [("true", 9), ("false", 0)])
def test_what_wakes_in_the_dark_needs_light_and_in_a_frame_it_has_it(
    dark: str, under_lamps: int, tmp_path: Path
) -> None:
    shelters = [f'name = "frame"\npots = 4\ndark = {dark}']
    plan = plan_on(tmp_path, IN, date(2027, 12, 1), shelters=shelters, space="pots_under_light = 50")

    assert taken(plan, "shelter", date(2028, 2, 1), "frame") == 9
    assert taken(plan, "lamps", date(2028, 4, 1)) == under_lamps
    [full] = [each for each in plan.warnings if each.kind == "shelter_full"]
    assert full.day == date(2027, 12, 1)


def test_what_stood_in_a_shelter_is_not_counted_as_pots_to_buy(tmp_path: Path) -> None:
    from almanac.plan.room.pots import pots_needed

    assert pots_needed(plan_on(tmp_path, ASLEEP, date(2027, 12, 1)).space) == []


def test_what_wakes_in_shelter_comes_into_the_light_and_is_fed_there_once_leaf_was_seen(tmp_path: Path) -> None:
    woke = plan_on(tmp_path, ASLEEP + "2028-03-05 woke 7a\n", date(2028, 3, 6))
    asleep = plan_on(tmp_path, ASLEEP, date(2028, 3, 6))
    unlogged = plan_on(tmp_path, IN, date(2028, 3, 3))

    assert task(woke, "7a.into_light.2028").earliest == date(2028, 3, 5)
    assert min(each.earliest for each in of_rule(woke, "feed")) == date(2028, 3, 19)
    assert not asked(asleep) & {"into_light", "feed"}
    assert task(unlogged, "7a.into_light.2028").earliest == date(2028, 3, 1)


def test_a_look_at_what_rests_names_water_mice_mould_and_frost_at_the_root(tmp_path: Path) -> None:
    rule = look(plan_on(tmp_path, ASLEEP, date(2028, 1, 10)), "7a.rest_water").rule

    told = " ".join([rule.how, *rule.checklist])
    assert all(word in told for word in ("water", "mice", "mould", "Roots may die at 26 F"))


# --- offers last ----------------------------------------------------------------------------------------------------


def test_last_years_plants_are_offered_while_any_are_left_wherever_they_stand(tmp_path: Path) -> None:
    awake = ASLEEP + "2028-03-20 woke 7a\n"

    for log in (awake, awake + "2028-04-08 sold 7a --count 1\n"):
        assert has_task(plan_on(tmp_path, log, date(2028, 4, 9)), "7a.offer_again.2028")


def test_what_should_be_awake_and_was_not_seen_is_not_sent(tmp_path: Path) -> None:
    def hold(log: str, today: date) -> str:
        [offer] = offers(bench(tmp_path, log, today, varieties=VARIETIES))
        return offer.batches[0].hold.reason if offer.batches[0].hold else ""

    assert hold(ASLEEP, date(2028, 1, 10)) == ""
    assert hold(ASLEEP, date(2028, 3, 2)) == "asleep"
    assert hold(ASLEEP + "2028-03-20 woke 7a\n", date(2028, 3, 21)) == ""


# --- the end of the year --------------------------------------------------------------------------------------------


def test_what_is_unsold_gets_a_decision_while_there_is_time_to_plant(tmp_path: Path) -> None:
    # Six weeks before the first frost planting ends (`plant_out`); the accepted first frost here is 5 October.
    summer = plan_on(tmp_path, OUT, date(2027, 8, 1))
    decided = plan_on(tmp_path, OUT + "2027-08-05 noted 7a --note carry\n", date(2027, 8, 6))
    next_year = plan_on(tmp_path, OUT + "2027-08-05 noted 7a --note carry\n", date(2028, 8, 1))

    found = task(summer, "7a.unsold.2027")
    assert found.earliest <= date(2027, 10, 5) - timedelta(weeks=8)
    assert not has_task(decided, "7a.unsold.2027")
    assert has_task(next_year, "7a.unsold.2028")
    assert not has_task(plan_on(tmp_path, OUT + "2027-07-01 sold 7a --count 9\n", date(2027, 8, 1)), "7a.unsold.2027")


@pytest.mark.parametrize("latitude", [0.0, 21.0, -20.0])
def test_where_it_never_freezes_the_unsold_get_their_decision_too(latitude: float, tmp_path: Path) -> None:
    days = [date(2027, 7, 1) + timedelta(weeks=number) for number in range(0, 56, 8)]

    assert any(of_rule(plan_on(tmp_path, OUT, day, frost=NO_FROST, latitude=latitude), "unsold") for day in days)


def test_the_days_of_frost_are_told_once_for_all_that_stands_and_not_for_wood_in_store(tmp_path: Path) -> None:
    stands = plan_on(tmp_path, OUT + "2027-06-01 received 8a --count 5 --stage outside\n", date(2027, 8, 1))
    wood = plan_on(tmp_path, "2027-01-10 taken 8a --count 5\n", date(2027, 1, 12))

    assert [each.id for each in of_rule(stands, "first_frost")] == ["fig.first_frost.2027"]
    assert [each.id for each in of_rule(stands, "frost_accepted")] == ["fig.frost_accepted.2028"]
    assert not of_rule(wood, "frost_accepted")


def test_no_title_has_the_name_of_a_rule_in_it(tmp_path: Path) -> None:
    plan = plan_on(tmp_path, OUT + "2027-10-01 received 8a --count 5 --stage outside\n", date(2027, 11, 1))

    assert not [title(each) for each in plan.tasks if "_" in title(each)]
    assert any("red currant" in title(each) for each in plan.tasks)
