"""The dormant season: windows by crop, one set of entries a winter, lots to come, reminders once a season."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from typing import Unpack

import pytest

from almanac.actions.season import SeasonReading, read_season
from almanac.forecast.supposed import if_stuck
from almanac.nursery.nursery import Nursery
from almanac.plan.wood.account import account_of
from almanac.plan.wood.bare import collecting
from almanac.plan.wood.season import CropSeason
from almanac.words.dates import day
from almanac.words.derivation import rule_of
from almanac.words.season import bare, killing_nights, not_ready, not_sold
from almanac.words.tasks import title
from tests.command import run
from tests.nurseries import FROST_ALL_SUMMER, NO_FROST, SOUTHERN_FROST, Parts, bench, frost_dates
from tests.unit.given import has_task, of_rule, planned, published, task

PLENTY = """number,name,crop,source,protected
7,Copper Kettle,fig,,
3,Long Barn,grape,,
5,Mill Elder,elderberry,,
"""
ONLY_PROTECTED = "number,name,crop,source,protected\n9,Tin Whistle,fig,,yes\n"


def monthly(*lows_c: int) -> str:
    """An invented place by its twelve mean lows [C], from which nights of any threshold can be told."""
    return f"[frost]\nmonthly = {{ lows = {[f'{low} C' for low in lows_c]} }}"


LOWS = monthly(-9, -8, -3, 2, 8, 13, 16, 15, 10, 4, -1, -6)
EARLY_COLD = monthly(-18, -16, -9, 0, 6, 12, 14, 13, 8, 1, -10, -15)
MILD = monthly(5, 5, 6, 8, 10, 13, 14, 14, 12, 10, 8, 6)
HARSH = monthly(-23, -21, -14, -5, 2, 7, 10, 8, 2, -8, -20, -22)


def read(folder: Path, as_of: date, log: str = "", **parts: Unpack[Parts]) -> SeasonReading:
    bench(folder, log, as_of, **parts)
    return read_season(folder, datetime.combine(as_of, time(17), UTC))


def season(folder: Path, as_of: date, log: str = "", crop: str = "fig", **parts: Unpack[Parts]) -> CropSeason:
    return next(each for each in read(folder, as_of, log, **parts).crops if each.crop == crop)


# --- which winter, and when wood is bare -------------------------------------------------------------------------


def test_in_summer_it_is_the_coming_winter_and_in_january_the_one_that_runs(tmp_path: Path) -> None:
    summer, winter = read(tmp_path, date(2026, 7, 10)), read(tmp_path, date(2027, 1, 10))

    assert summer.middle == winter.middle == date(2026, 12, 21)


def test_in_the_south_it_turns_with_the_year(tmp_path: Path) -> None:
    found = read(tmp_path, date(2027, 1, 10), frost=SOUTHERN_FROST, latitude=-37.0)

    assert found.middle == date(2027, 6, 21)
    assert found.crops[0].collect.opens.month in (4, 5)


def test_once_every_window_is_over_it_is_the_next_winter(tmp_path: Path) -> None:
    assert read(tmp_path, date(2027, 6, 15)).middle == date(2027, 12, 21)


def test_leaf_fall_as_logged_opens_the_window(tmp_path: Path) -> None:
    forecast = season(tmp_path, date(2026, 12, 1)).collect
    logged = season(tmp_path, date(2026, 12, 1), "2026-11-14 leaf_fall fig").collect

    assert not forecast.leaf_fall_logged
    assert (logged.opens, logged.leaf_fall_logged) == (date(2026, 11, 14), True)


def test_leaf_fall_of_an_earlier_winter_is_knowledge_of_this_one_the_more_winters_the_more(tmp_path: Path) -> None:
    def opens(log: str) -> date:
        found = season(tmp_path, date(2026, 9, 1), log).collect
        assert not found.leaf_fall_logged
        return found.opens

    usual, once = opens(""), opens("2025-11-14 leaf_fall fig")
    twice = opens("2024-11-14 leaf_fall fig\n2025-11-14 leaf_fall fig")
    assert usual < once < twice < date(2026, 11, 14)


def test_swelling_of_an_earlier_winter_moves_all_of_its_days_and_no_past_winter_learns_from_a_later(
    tmp_path: Path,
) -> None:
    def swell(as_of: date, log: str) -> tuple[date, ...]:
        return season(tmp_path, as_of, log, "elderberry", varieties=PLENTY).collect.buds_swell

    usual, later = swell(date(2026, 9, 1), ""), swell(date(2026, 9, 1), "2026-04-10 buds_swelling elderberry")
    assert len({(after - before).days for before, after in zip(usual, later, strict=True)}) == 1
    assert usual[1] < later[1] < date(2027, 4, 10)
    logged = "2025-12-30 leaf_fall elderberry"
    nursery = bench(tmp_path, logged, date(2026, 9, 1), varieties=PLENTY)
    before, after = (
        collecting("elderberry", date(year, 12, 21), account_of(nursery).outdoors).leaf_fall[1] for year in (2024, 2026)
    )
    assert after.replace(year=2024) > before


def test_where_it_never_freezes_wood_is_taken_from_the_shortest_day_and_stripped(tmp_path: Path) -> None:
    found = season(tmp_path, date(2026, 9, 1), frost=NO_FROST).collect

    assert found.opens == date(2026, 12, 21)
    assert "strip" in bare(found)


def test_swelling_buds_as_logged_close_it(tmp_path: Path) -> None:
    log = "2027-02-11 buds_swelling elderberry"

    found = season(tmp_path, date(2027, 2, 12), log, "elderberry", varieties=PLENTY).collect
    assert found.closes == date(2027, 2, 11)


def test_bare_wood_is_cut_before_the_nights_that_kill_it_where_the_source_tells_of_them(tmp_path: Path) -> None:
    found = season(tmp_path, date(2026, 9, 1), frost=LOWS).collect

    assert found.killing_night is not None
    assert found.opens < found.killing_night
    assert found.closes == found.killing_night - timedelta(days=1)
    assert found.before_cold
    assert "the careful end: cut before" in killing_nights(found)


def test_where_the_source_tells_of_one_threshold_only_killing_nights_are_estimated_and_said_to_be(
    tmp_path: Path,
) -> None:
    found = season(tmp_path, date(2026, 9, 1)).collect

    cold = bench(tmp_path, "", date(2026, 9, 1)).nights.at((15 - 32) / 1.8)
    assert found.estimated
    assert cold is not None
    assert found.killing_night == cold.date_for_autumn(0.1, 2026)  # the careful end: one winter in ten
    assert found.killing_night is not None
    assert f"by {day(found.killing_night)} (estimate)" in killing_nights(found)
    assert "15 F" in killing_nights(found)  # what growers say of fig wood


def test_young_wood_is_killed_sooner_and_said_to_be_young_but_closes_nothing(tmp_path: Path) -> None:
    found = season(tmp_path, date(2026, 9, 1)).collect

    assert found.young.careful is not None
    assert found.grown.careful is not None
    assert found.young.careful < found.grown.careful
    assert found.young.careful <= found.opens  # before leaf fall: at this limit there would be no window
    assert "Young wood dies under 25 F (-4 C)" in killing_nights(found)
    assert "shelter young plants" in killing_nights(found)
    assert found.opens < found.closes


def test_nights_outdoors_do_not_close_the_window_of_a_sheltered_plant(tmp_path: Path) -> None:
    outdoors = account_of(bench(tmp_path, "", date(2026, 9, 1))).outdoors

    outside, sheltered = (
        collecting("fig", date(2026, 12, 21), outdoors, sheltered=sheltered) for sheltered in (False, True)
    )
    assert outside.closes < sheltered.closes == sheltered.buds_swell[0]
    assert sheltered.killing_night is None
    assert not sheltered.before_cold
    assert "sheltered" in killing_nights(sheltered)


def test_a_mother_plant_in_shelter_is_cut_for_longer_and_the_entry_says_which_varieties_have_one(
    tmp_path: Path,
) -> None:
    mothers = ['variety = "7"\nplace = "garage"\nsheltered = true', 'variety = "8"\nplace = "hedge"']

    autumn = task(planned(bench(tmp_path, "", date(2026, 9, 1), mothers=mothers)), "fig.take_wood.2026")
    later = task(planned(bench(tmp_path, "", autumn.latest + timedelta(days=1), mothers=mothers)), "fig.take_wood.2026")
    assert autumn.latest < later.latest
    assert f"Sheltered plants have longer: 7 till {day(later.latest)}" in rule_of(autumn).how
    assert title(later) == "Take dormant wood of 7: fig"
    assert "nights outdoors do not end it" in rule_of(later).how


def test_a_sick_mother_plant_in_shelter_keeps_no_window_open(tmp_path: Path) -> None:
    one = 'variety = "7"\nsheltered = true\nhealth = "{}"'
    sound, sick = (
        account_of(bench(tmp_path, "", date(2026, 9, 1), mothers=[one.format(health)])).sheltered(["7"])
        for health in ("sound", "sick")
    )

    assert (sound, sick) == (True, False)


def test_nothing_is_said_of_killing_cold_where_the_coldest_night_is_likely_above_what_kills_young_wood(
    tmp_path: Path,
) -> None:
    mild, harsh = (season(tmp_path, date(2026, 9, 1), frost=frost).collect for frost in (MILD, HARSH))

    assert killing_nights(mild) == ""
    assert mild.closes == mild.buds_swell[0]
    assert killing_nights(harsh)


def test_where_killing_nights_come_before_leaf_fall_wood_is_to_be_protected(tmp_path: Path) -> None:
    found = season(tmp_path, date(2026, 12, 1), "2026-11-25 leaf_fall fig").collect

    assert found.unprotected
    assert "shelter the plant till you cut" in killing_nights(found)
    assert found.opens < found.closes == found.buds_swell[0]


def test_leaves_of_hardy_shrubs_wait_for_cold_nights_and_are_down_by_their_own_day_where_winters_are_mild(
    tmp_path: Path,
) -> None:
    def falls(frost: str) -> date:
        return season(tmp_path, date(2026, 9, 1), "", "elderberry", varieties=PLENTY, frost=frost).collect.opens

    assert falls(HARSH) < falls(LOWS) < falls(MILD) == date(2026, 11, 21)  # thirty days before the shortest day


def test_wood_best_taken_late_has_its_good_day_at_the_end(tmp_path: Path) -> None:
    early = season(tmp_path, date(2026, 9, 1), crop="grape", varieties=PLENTY)
    late = season(tmp_path, date(2026, 9, 1), crop="elderberry", varieties=PLENTY)

    assert early.collect.due - early.collect.opens < early.collect.closes - early.collect.due
    assert late.collect.due - late.collect.opens > late.collect.closes - late.collect.due
    assert late.stick.best >= late.collect.due


# --- selling -----------------------------------------------------------------------------------------------------


def test_wood_that_must_be_cut_early_is_sold_no_longer_than_it_keeps(tmp_path: Path) -> None:
    found = season(tmp_path, date(2026, 9, 1), frost=EARLY_COLD)

    assert found.wood.sale_ended_by in ("buds", "keeps")
    assert found.wood.look_first < found.wood.closes <= found.wood.keeps[1]
    assert found.last_post is not None
    assert found.last_post.month in (1, 2)


def test_where_wood_cut_before_killing_nights_does_not_keep_till_the_sale_that_is_said(tmp_path: Path) -> None:
    found = season(tmp_path, date(2026, 9, 1), crop="elderberry", varieties=PLENTY, frost=HARSH)

    assert found.collect.before_cold
    assert found.hindered == "does_not_keep"
    assert "protect plants and cut later, or keep a colder store" in not_sold(found, date(2026, 9, 1))


def test_where_no_winter_puts_wood_to_rest_none_is_sold_dormant_and_it_is_said(tmp_path: Path) -> None:
    found = season(tmp_path, date(2026, 9, 1), frost=NO_FROST, latitude=10.0)

    assert found.hindered == "no_winter"
    assert "no winter" in not_sold(found, date(2026, 9, 1))


def test_while_the_grower_is_away_all_season_no_post_day_is_made_up(tmp_path: Path) -> None:
    week = 'bench_days = ["tue"]\naway = [ { from = 2027-01-01, to = 2027-03-01 } ]'

    assert season(tmp_path, date(2026, 9, 1), week=week).hindered == "no_post_day"


# --- sticking ----------------------------------------------------------------------------------------------------


def test_from_the_best_day_on_plants_need_not_wait_for_frost(tmp_path: Path) -> None:
    found = read(tmp_path, date(2026, 9, 1), varieties=PLENTY)
    grape = found.crops[2]
    first, best, last = found.lots["grape"]

    assert [lot.stuck for lot in (first, best, last)] == [grape.stick.earliest, grape.stick.best, grape.stick.latest]
    waits = [lot.milestones["set_out"].basis.waits_for_frost for lot in (first, best)]  # type: ignore[union-attr]
    assert waits[0] == date(2027, 4, 30)  # the 10 % day of the frost dates given
    assert waits[1] is None


def test_after_the_latest_day_plants_do_not_take_hold_before_autumn_frost(tmp_path: Path) -> None:
    short = frost_dates("05-10 05-20 06-01", "09-05 09-18 10-01")
    nursery = bench(tmp_path, "", date(2026, 9, 1), frost=short, varieties=PLENTY)
    found = season(tmp_path, date(2026, 9, 1), crop="grape", frost=short, varieties=PLENTY)
    outdoors = account_of(nursery).outdoors

    on_it, after = (
        if_stuck("grape", 12, day, "A", outdoors.ahead)["hardened"].days
        for day in (found.stick.latest, found.stick.latest + timedelta(days=3))
    )

    assert found.stick.by_autumn
    assert on_it is not None
    assert after is not None
    assert on_it[2] < date(2027, 9, 5)  # the 10 % day of the first frost given
    assert after[2].year == 2028


def test_a_lot_to_come_is_cut_from_wood_that_still_keeps(tmp_path: Path) -> None:
    found = read(tmp_path, date(2026, 9, 1))
    [fig] = found.crops

    for lot in found.lots["fig"]:
        assert fig.collect.opens <= lot.cut <= fig.collect.closes
        assert (lot.stuck - lot.cut).days <= (fig.wood.keeps[1] - fig.wood.cut).days


def test_days_gone_by_are_not_offered_for_sticking(tmp_path: Path) -> None:
    found = read(tmp_path, date(2027, 1, 10))

    assert found.lots["fig"][0].stuck == date(2027, 1, 10)
    assert found.crops[0].stick.earliest < date(2027, 1, 10)


def test_a_mat_that_is_off_for_the_summer_is_on_again_by_then(tmp_path: Path) -> None:
    used = "2026-02-01 received 7a --count 9 --stage rooting --bin A\n2026-04-01 potted 7a"

    on = read(tmp_path, date(2026, 9, 1), used).lots["fig"][0]
    off = read(tmp_path, date(2026, 9, 1), f"{used}\n2026-05-01 mat --bin A --value off").lots["fig"][0]

    assert off.milestones["roots"].days == on.milestones["roots"].days


def test_what_the_growers_own_lots_took_counts_for_lots_to_come(tmp_path: Path) -> None:
    slow = "".join(
        f"2026-01-05 received {number}a --count 12 --stage rooting --bin A\n2026-02-08 looked {number}a\n"
        f"2026-02-11 roots {number}a\n"
        for number in (7, 8)
    )

    usual, own = (read(tmp_path, date(2026, 9, 1), log, bags=60).lots["fig"][0] for log in ("", slow))

    assert usual.milestones["roots"].days is not None
    assert own.milestones["roots"].days is not None
    assert own.milestones["roots"].days[1] > usual.milestones["roots"].days[1] + timedelta(days=5)


def test_where_it_freezes_in_every_month_it_is_said_that_nothing_hardens(tmp_path: Path) -> None:
    found = season(tmp_path, date(2026, 9, 1), frost=FROST_ALL_SUMMER, latitude=68.0)

    assert found.stick.hindered == "never_safe"
    assert "no hardening off" in not_ready(found.stick)


# --- entries -----------------------------------------------------------------------------------------------------


def seasonal(nursery: Nursery) -> set[str]:
    wanted = ("take_wood", "offer", "last_post", "stick_wood")
    return {each.id for each in planned(nursery).tasks if each.rule.id in wanted}


def test_each_crop_has_one_set_of_windows_a_winter(tmp_path: Path) -> None:
    assert seasonal(bench(tmp_path, "", date(2026, 9, 1))) == {
        "fig.take_wood.2026",
        "fig.offer.2026",
        "fig.last_post.2026",
        "fig.stick_wood.2026",
    }


def test_wood_in_store_takes_the_entries_over_under_the_same_ids(tmp_path: Path) -> None:
    before = planned(bench(tmp_path, "", date(2026, 11, 20)))
    log = "2026-12-05 taken 7a --count 20\n2026-12-08 taken 8a --count 12"
    after = planned(bench(tmp_path, log, date(2026, 12, 8)), published(before, date(2026, 12, 8)))

    for rule in ("offer", "last_post"):
        [empty], [full] = of_rule(before, rule), of_rule(after, rule)
        assert empty.id == full.id
        assert (empty.lots, full.lots) == ((), ("7a", "8a"))


def test_lots_that_keep_unlike_long_have_a_last_post_each(tmp_path: Path) -> None:
    log = "2026-11-05 taken 7a --count 20\n2026-12-20 taken 8a --count 12"

    first, second = of_rule(planned(bench(tmp_path, log, date(2026, 12, 21))), "last_post")

    assert {first.lots, second.lots} == {("7a",), ("8a",)}
    assert (second.latest - first.latest).days > 14


def test_with_nothing_in_store_when_the_sale_opens_nothing_is_offered(tmp_path: Path) -> None:
    assert of_rule(planned(bench(tmp_path, "", date(2026, 12, 30))), "offer")
    assert not of_rule(planned(bench(tmp_path, "", date(2027, 1, 2))), "offer")


def test_a_crop_of_protected_varieties_alone_is_taken_and_never_offered(tmp_path: Path) -> None:
    nursery = bench(tmp_path, "", date(2026, 9, 1), varieties=ONLY_PROTECTED)

    assert seasonal(nursery) == {"fig.take_wood.2026", "fig.stick_wood.2026"}


def test_once_a_lot_is_planned_its_own_entry_says_when_to_stick(tmp_path: Path) -> None:
    log = "2026-11-01 planned 7 --count 12 --value 2027-01-10"

    plan = planned(bench(tmp_path, log, date(2026, 11, 2)))

    assert title(task(plan, "fig.stick_wood.2026")) == "Stick dormant wood of 8, 9: fig"
    assert has_task(plan, "r1.stick_planned")


def test_once_a_lot_of_every_variety_is_stuck_or_planned_nothing_is_left_to_stick(tmp_path: Path) -> None:
    log = "".join(f"2026-12-05 planned {number} --count 12 --value 2027-02-02\n" for number in (7, 8, 9))

    assert not of_rule(planned(bench(tmp_path, log, date(2026, 12, 6), bags=60)), "stick_wood")


def test_wood_is_taken_variety_by_variety_and_the_entry_says_what_is_left(tmp_path: Path) -> None:
    one = "2026-11-02 taken 7a --count 20"
    every = f"{one}\n2026-11-02 taken 8a --count 20\n2026-11-02 taken 9a --count 20"

    first, last = (planned(bench(tmp_path, log, date(2026, 11, 2))) for log in (one, every))

    assert title(task(first, "fig.take_wood.2026")) == "Take dormant wood of 8, 9: fig"
    assert [each.id for each in of_rule(last, "take_wood")] == ["fig.take_wood.2027"]


def test_entries_of_the_season_do_not_move_from_one_quiet_morning_to_the_next(tmp_path: Path) -> None:
    today, tomorrow = (
        {
            each.id: (each.earliest, each.due, each.latest)
            for each in planned(bench(tmp_path, "2026-12-05 taken 7a --count 20", day)).tasks
        }
        for day in (date(2026, 12, 10), date(2026, 12, 11))
    )

    assert today == tomorrow


def test_an_entry_says_whether_leaf_fall_was_seen(tmp_path: Path) -> None:
    forecast = planned(bench(tmp_path, "", date(2026, 10, 20)))
    logged = planned(bench(tmp_path, "2026-11-14 leaf_fall fig", date(2026, 11, 14)))

    assert task(forecast, "fig.take_wood.2026").counted_from == "leaf_fall_likely"
    assert task(logged, "fig.take_wood.2026").counted_from == "leaf_fall"


# --- what the nursery as a whole needs ---------------------------------------------------------------------------


def test_reminders_come_once_a_season_whatever_is_grown(tmp_path: Path) -> None:
    plan = planned(bench(tmp_path, "", date(2026, 9, 1), varieties=PLENTY))

    of_nursery = [each for each in plan.tasks if each.rule.scope == "nursery"]
    assert sorted(each.id for each in of_nursery) == ["clean_kit.2026", "labels.2026", "licence.2026"]
    first_wood = min(each.earliest for each in of_rule(plan, "take_wood"))
    assert all(task(plan, name).latest <= first_wood for name in ("clean_kit.2026", "labels.2026"))
    assert task(plan, "licence.2026").due < min(each.due for each in of_rule(plan, "offer"))


def test_reminders_name_their_cautions(tmp_path: Path) -> None:
    plan = planned(bench(tmp_path, "", date(2026, 9, 1)))

    assert "bleach" in task(plan, "clean_kit.2026").rule.cautions
    assert "licence" in task(plan, "licence.2026").rule.cautions


@pytest.mark.parametrize(("sale", "asked"), [("dormant = false", True), ("dormant = false\nrooted = false", False)])
def test_whoever_sells_anything_is_reminded_of_the_licence(tmp_path: Path, sale: str, asked: bool) -> None:
    assert has_task(planned(bench(tmp_path, "", date(2026, 9, 1), sale=sale)), "licence.2026") == asked


def test_a_nursery_that_grows_nothing_yet_is_reminded_of_nothing(tmp_path: Path) -> None:
    plan = planned(bench(tmp_path, "", date(2026, 9, 1), varieties="number,name,crop,source,protected\n"))

    assert not [each for each in plan.tasks if each.rule.scope in ("nursery", "crop")]


def test_the_season_offers_no_protected_wood_and_no_season_for_a_crop_that_is_all_protected(tmp_path: Path) -> None:
    both = "number,name,crop,source,protected\n7,Copper Kettle,fig,,\n9,Tin Whistle,grape,,yes\n"
    log = "2026-11-20 taken 7 --count 9\n2026-11-20 taken 9 --count 9"
    bench(tmp_path, log, date(2026, 12, 1), varieties=both)

    told = " ".join(run("--nursery", tmp_path, "--as-of", "2026-12-01", "season").stdout.split())

    assert re.search(r"7a \(9\), cut 20 Nov: sold ", told)
    assert re.search(r"9a \(9\), cut 20 Nov: protected, not for sale; best stuck", told)
    assert re.search(r"Grape \d+ \w+-\d+ \w+ – – ", told), told
