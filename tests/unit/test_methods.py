"""Ways of rooting: which one a lot takes by its place, and what a covered tray asks for instead of a bag."""

from __future__ import annotations

import re
import shutil
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from almanac.actions.by_method import of_lots, of_places
from almanac.actions.look import look
from almanac.actions.stick_by import accept, stick_by
from almanac.faults import InputFaults, Refusal
from almanac.feed.entries import entries_of
from almanac.forecast.outcomes import outcomes
from almanac.nursery.load import load_nursery
from almanac.nursery.nursery import Nursery
from almanac.plan.build import build_plan
from almanac.plan.model import Plan
from almanac.plan.room.placing import bags_in
from almanac.plan.room.supplies import buying_list
from almanac.plan.wood.account import account_of
from almanac.plan.wood.ahead import ahead_in
from almanac.plan.wood.forsale import offer_of
from almanac.plan.wood.ground import ground_for
from almanac.rulebook.load import shipped_rules
from almanac.terminal.stick_by import stick_by_text
from almanac.terminal.today import today_text
from almanac.words.faults import fault_line
from almanac.words.lots import place_and_count
from almanac.words.rounds import round_text
from almanac.words.tasks import title
from tests.command import stickdate
from tests.nurseries import VARIETIES, Parts, bench, frost_dates, write_nursery

TRAY = '[[place]]\nname = "T"\nkind = "tray"\nholds = 60\nmat = "16 C"\nair = "16 C"'
NO_MAT = '[[place]]\nname = "U"\nkind = "tray"\nholds = 20\nair = "10 C"'
PLACES = Parts(
    store=f'temperature = "2 C"\n{TRAY}\n{NO_MAT}',
    varieties=f"{VARIETIES}4,Invented red,red_currant,,\n5,Invented blue,blueberry,,\n",
)
TAKEN = "2027-01-05 taken 4a --variety 4 --count 40\n2027-01-05 taken 7a --variety 7 --count 9\n"
IN_TRAY = f"{TAKEN}2027-01-08 stuck 4a --count 20 --bin T --refers 4b\n"


def nursery(folder: Path, log: str, day: date) -> Nursery:
    return bench(folder, log, day, **PLACES)


def told(plan: Plan, lot: str) -> set[str]:
    """The rules of all that is asked for of a lot."""
    tasks = {own.id.rule for task in plan.tasks for own in task.own if lot in own.lots}
    return tasks | {look.rule.id for look in plan.looks if look.lot == lot}


def test_what_is_stuck_in_a_tray_is_rooted_as_trays_are_and_in_a_bin_as_bags_are(tmp_path: Path) -> None:
    lots = nursery(tmp_path, f"{IN_TRAY}2027-01-08 stuck 7a --bin A", date(2027, 1, 9)).stock.lots

    assert (lots["4b"].method, lots["7a"].method, lots["4a"].method) == ("covered_tray", "sealed_bag", "sealed_bag")


def test_a_way_of_the_grower_s_own_that_no_crop_lists_stays_the_usual_one(tmp_path: Path) -> None:
    text = (shipped_rules() / "methods" / "sealed_bag.toml").read_text(encoding="utf-8")
    own = re.sub(r"(?s)\n\[\[task\]\].*", "\n", text).replace('id = "sealed_bag"', 'id = "own_way"')
    write_nursery(tmp_path, "2026-11-02 taken 7a --count 9\n2026-11-03 stuck 7a --bin A")
    (tmp_path / "rules" / "methods").mkdir(parents=True)
    (tmp_path / "rules" / "methods" / "own_way.toml").write_text(own, encoding="utf-8")
    settings = tmp_path / "nursery.toml"
    settings.write_text(settings.read_text("utf-8").replace("[nursery]", '[nursery]\nmethod = "own_way"'), "utf-8")

    here = load_nursery(tmp_path, datetime(2026, 11, 4, 17, tzinfo=UTC))

    assert here.stock.lots["7a"].method == "own_way"
    assert here.book.method_for("fig", "own_way") == "own_way"


def test_a_crop_is_not_put_where_none_of_its_methods_root(tmp_path: Path) -> None:
    with pytest.raises(InputFaults) as told:
        bench(
            tmp_path,
            "2027-01-05 taken 5a --variety 5 --count 9\n2027-01-08 stuck 5a --bin L",
            date(2027, 1, 9),
            store='temperature = "2 C"\n[[place]]\nname = "L"\nkind = "bed"\nholds = 60',
            varieties=PLACES["varieties"],
        )

    assert [fault_line(each) for each in told.value.faults] == [
        "logbook.csv:3: no method of blueberry roots in a bed, which L is; name another place, or --bin none"
    ]


def test_a_tray_asks_for_its_own_looks_and_none_of_those_of_bags(tmp_path: Path) -> None:
    asked = told(build_plan(nursery(tmp_path, IN_TRAY, date(2027, 1, 9))), "4b")

    assert {"tray_look_first", "tray_look", "tray_light", "tray_pot_up"} <= asked
    assert not {name for name in asked if name.startswith(("bag_", "wean_", "wet_", "dry_"))}
    assert not asked & {"first_water", "pot_up", "light", "mould_treat"}


def test_a_cover_comes_off_by_three_steps_that_end_before_potting(tmp_path: Path) -> None:
    # Common practice: 5 to 7 days from closed to open, in steps, open before potting up.
    log = f"{IN_TRAY}2027-01-26 roots 4b --count 9\n2027-01-30 leaves 4b --count 9"
    plan = build_plan(nursery(tmp_path, log, date(2027, 1, 31)))
    days = {own.id.rule: own.due for task in plan.tasks for own in task.own if "4b" in own.lots}

    crack, half, off = (days[name] for name in ("vent_crack", "vent_half", "vent_off"))

    assert crack < half < off <= days["tray_pot_up"]
    assert timedelta(days=4) <= off - crack <= timedelta(days=8)


def test_a_tray_without_a_mat_is_as_warm_as_its_air_and_so_is_slower(tmp_path: Path) -> None:
    log = f"{IN_TRAY}2027-01-08 stuck 4a --bin U"
    found = build_plan(nursery(tmp_path, log, date(2027, 1, 9))).milestones

    warm, cool = (found[lot]["roots"].days for lot in ("4b", "4a"))

    assert warm is not None
    assert cool is not None
    assert cool[1] > warm[1] + timedelta(days=7)


def test_a_tray_has_room_of_its_own_and_its_own_supplies(tmp_path: Path) -> None:
    here = nursery(tmp_path, f"{IN_TRAY}2027-01-09 planned 4 --count 10 --value 2027-02-01 --bin T", date(2027, 1, 9))
    plan = build_plan(here)
    [room] = [room for room in plan.space.rooms if room.bin == "T"]
    needs = {each.id: each for each in buying_list(here, plan).needs}

    assert (room.kind, room.capacity, room.demand.up_to(date(2027, 1, 9))) == ("tray", 60, 20)
    assert room.demand.up_to(date(2027, 2, 1)) <= 30
    assert needs["cells"].expected == 10
    assert not {"bags", "bands"} & needs.keys()


def test_a_drench_may_go_on_cells_from_the_first_day_and_on_shut_bags_never(tmp_path: Path) -> None:
    log = f"{IN_TRAY}2027-01-08 stuck 7a --bin A\n"
    seen = nursery(
        tmp_path, f"{log}2027-01-12 gnats --bin T --count 30\n2027-01-12 gnats --bin A --count 30", date(2027, 1, 12)
    )

    asked = [task for task in build_plan(seen).tasks if task.rule.id == "gnat_drench"]

    assert asked
    assert {lot for task in asked for lot in task.lots} == {"4b"}


def test_a_nursery_of_bags_has_the_plan_it_had_though_it_has_a_tray(tmp_path: Path) -> None:
    log = "2027-01-05 received 7a --count 12 --stage rooting --bin A"
    alone = build_plan(bench(tmp_path / "alone", log, date(2027, 1, 9), store='temperature = "2 C"'))
    beside = build_plan(bench(tmp_path / "beside", log, date(2027, 1, 9), store=PLACES["store"]))

    assert replace(beside, space=alone.space) == alone


# --- beds ------------------------------------------------------------------------------------------------------

VARIED = Parts(varieties=PLACES["varieties"])
BED = Parts(store='temperature = "2 C"\n[[place]]\nname = "L"\nkind = "bed"\nholds = 60', varieties=PLACES["varieties"])
IN_BED = "2026-11-20 taken 4a --variety 4 --count 20\n2027-03-25 stuck 4a --bin L\n"


def bed(folder: Path, log: str, day: date) -> Nursery:
    return bench(folder, log, day, **BED)


def test_a_bed_asks_for_no_bag_card_or_lamp_and_its_rows_are_walked(tmp_path: Path) -> None:
    plan = build_plan(bed(tmp_path, f"{IN_BED}2027-05-02 leaves 4a --count 15", date(2027, 5, 3)))
    every = {own.id.rule for task in plan.tasks for own in task.own} | {look.rule.id for look in plan.looks}

    assert {"ground_rows", "lift"} <= told(plan, "4a")
    assert not {name for name in every if name.startswith(("bag_", "tray_", "gnat_", "lamp_", "wean_", "vent_"))}
    assert not every & {"pot_up", "pots_ready", "light", "harden_out", "harden"}


def test_sticks_leaf_out_in_spring_and_are_lifted_when_their_leaves_are_down(tmp_path: Path) -> None:
    # Extension services and gardening columns alike: grown one season, lifted in the next dormant one.
    found = build_plan(bed(tmp_path, IN_BED, date(2027, 3, 26))).milestones["4a"]
    leaves, lifted = found["leaves"].days, found["lifted"].days

    assert leaves is not None
    assert lifted is not None
    assert date(2027, 4, 1) <= leaves[1] <= date(2027, 5, 31)
    assert date(2027, 10, 10) <= lifted[1] <= date(2027, 11, 30)


def test_sticks_of_autumn_do_not_leaf_out_before_buds_swell_outdoors(tmp_path: Path) -> None:
    log = "2026-11-20 taken 4a --variety 4 --count 20\n2026-11-21 stuck 4a --bin L"

    leaves = build_plan(bed(tmp_path, log, date(2026, 11, 22))).milestones["4a"]["leaves"].days

    assert leaves is not None
    assert leaves[0] >= date(2027, 3, 1)


def test_what_is_lifted_is_rooted_and_finished_and_is_sold_first(tmp_path: Path) -> None:
    lifted = "2027-11-10 lifted 4a --count 14\n2027-11-10 died 4a --count 6 --value no_roots"
    log = f"{IN_BED}{lifted}\n2027-11-12 sold 4a --count 5"
    here = bed(tmp_path, log, date(2027, 11, 13))
    [struck] = outcomes(here.stock.lots)

    assert (struck.of, struck.rooted, struck.finished, struck.dead) == (20, 14, 14, 6)
    assert here.stock.lots["4a"].lifted == 9
    assert offer_of(here, "4", "rooted").free == 9


def test_sticks_in_a_bed_may_be_promised_for_when_they_are_lifted(tmp_path: Path) -> None:
    # Lifted in the next dormant season, as above: late October to November, nine lots in ten.
    here = bed(tmp_path, IN_BED, date(2027, 6, 1))
    found = ahead_in(here, "4")

    assert found is not None
    assert found.free(date(2027, 10, 1), 0.8) == 0
    assert found.free(date(2027, 12, 1), 0.8) > 0
    assert found.chance(1, date(2027, 12, 1)) > 0.9


def test_what_is_not_lifted_yet_is_asked_for_and_what_is_waits_for_a_place(tmp_path: Path) -> None:
    plan = build_plan(bed(tmp_path, f"{IN_BED}2027-11-10 lifted 4a --count 14", date(2027, 11, 11)))
    counts = {own.id.rule: own.count for task in plan.tasks for own in task.own if "4a" in own.lots}

    assert (counts["lift"], counts["bare_root"]) == (6, 14)


def test_only_what_stands_in_a_bed_is_lifted_and_no_more_than_is_there(tmp_path: Path) -> None:
    with pytest.raises(InputFaults) as told:
        bed(tmp_path, f"{IN_BED}2027-11-10 lifted 4a --count 14\n2027-11-11 lifted 4a --count 7", date(2027, 11, 12))

    assert [each.fact.kind for each in told.value.faults] == ["too_few"]


def test_plants_are_wanted_by_a_day_from_a_bed_and_stuck_only_while_its_soil_lets_them_in(tmp_path: Path) -> None:
    bed(tmp_path, "2026-11-20 taken 4a --variety 4 --count 40", date(2026, 11, 21))
    seen = look(tmp_path, datetime(2026, 11, 21, 17, tzinfo=UTC))

    found = stick_by(seen, date(2027, 12, 1), 8, "4", None, "open_ground")

    days = [wave.day for way in found.ways for wave in way.waves]
    assert days
    assert all(date(2027, 2, 25) <= day <= date(2027, 4, 30) for day in days)
    with pytest.raises(Refusal):
        stick_by(seen, date(2027, 12, 1), 8, "5", None, "open_ground")


# --- what commands say of a way --------------------------------------------------------------------------------


def test_space_and_supplies_of_one_way_are_those_of_its_places_and_lots(tmp_path: Path) -> None:
    log = f"{IN_TRAY}2027-01-08 stuck 7a --bin A\n2027-01-09 planned 4 --count 10 --value 2027-02-01 --bin T"
    nursery(tmp_path, f"{log}\n2027-01-09 planned 8 --count 5 --value 2027-02-01 --bin A", date(2027, 1, 9))
    seen = look(tmp_path, datetime(2027, 1, 9, 17, tzinfo=UTC))

    rooms = [room.bin for room in of_places(seen, "covered_tray").plan.space.rooms if room.place == "bin"]
    some = of_lots(seen, "covered_tray")
    needs = {each.id: each.expected for each in buying_list(some.nursery, some.plan).needs}

    assert rooms == ["T", "U"]
    assert needs["cells"] == 10
    assert "bags" not in needs
    with pytest.raises(Refusal):
        of_places(seen, "covered_try")


def test_where_bags_cannot_have_plants_ready_in_time_another_way_that_can_is_named(tmp_path: Path) -> None:
    parts = BED | Parts(bags=1)
    bench(tmp_path, "2026-11-20 taken 4a --variety 4 --count 40", date(2027, 2, 1), **parts)
    seen = look(tmp_path, datetime(2027, 2, 1, 17, tzinfo=UTC))

    found = stick_by(seen, date(2027, 12, 1), 8, "4", None)

    assert found.aim.method == "sealed_bag"
    assert not found.ways[-1].waves
    assert "open_ground" in {method for method, _ in found.otherwise}


def test_where_time_is_lacking_no_way_is_told_that_no_grower_would_go(tmp_path: Path) -> None:
    # In trays 200 figs by July could be had nine times in ten only out of some 2,200 cuttings, for want of time.
    shutil.copytree(Path("examples") / "quince-lane", tmp_path / "lane", ignore=shutil.ignore_patterns("calendar"))
    seen = look(tmp_path / "lane", datetime(2026, 2, 24, 17, tzinfo=UTC))

    found = stick_by(seen, date(2026, 7, 1), 200, None, "fig")

    told = [(way.chance, way.cuttings) for method, way in found.otherwise if method == "covered_tray"]
    assert [chance for chance, _ in told] == [0.5, 0.8]
    assert max(cuttings for _, cuttings in told) < 1000
    assert "By covered tray there is a way: 50% with " in " ".join(stick_by_text(found, seen.nursery).split())


def test_a_way_is_planned_only_where_a_place_of_its_kind_is_named(tmp_path: Path) -> None:
    bench(tmp_path, "2026-11-20 taken 4a --variety 4 --count 40", date(2027, 2, 1), **VARIED)
    now = datetime(2027, 2, 1, 17, tzinfo=UTC)
    found = stick_by(look(tmp_path, now), date(2027, 12, 1), 8, "4", None, "open_ground")

    with pytest.raises(Refusal) as refused:
        accept(tmp_path, now, found, found.ways[0])

    assert refused.value.fact.kind == "no_place_to_plan"


def test_the_round_calls_a_place_by_its_kind(tmp_path: Path) -> None:
    there = nursery(tmp_path, IN_TRAY, date(2027, 1, 9))
    plan = build_plan(there)
    first = next(each for each in plan.rounds if any(line.bin == "T" for line in each.lines))

    screen = today_text(plan, there, (first.day - plan.as_of).days + 1)
    letter = round_text(first, there.book, ())

    assert "\n  Tray T\n" in screen
    assert "\nTray T\n" in letter
    assert "Bin T" not in screen + letter


def test_a_task_of_a_whole_tray_names_it_as_a_tray_in_every_title(tmp_path: Path) -> None:
    log = f"{IN_TRAY}2027-02-20 leaves 4b --count 3\n2027-02-20 gnats --bin T\n2027-02-20 mould 4b"
    titles: set[str] = set()
    for day in (date(2027, 2, 20), date(2027, 3, 1)):
        there = nursery(tmp_path / f"{day}", log, day)
        plan = build_plan(there)
        titles |= {entry.summary for entry in entries_of(plan, there)} | {title(task) for task in plan.tasks}

    assert any("tray T" in each for each in titles)
    assert not any("bin T" in each for each in titles)


def test_a_tray_too_cold_to_root_in_is_named_a_tray(tmp_path: Path) -> None:
    cold = PLACES | Parts(store=f'temperature = "2 C"\n{TRAY.replace("16 C", "1 C")}')
    write_nursery(tmp_path, **cold)

    told = stickdate("--nursery", tmp_path, "--as-of", "2026-11-21", "season", "--method", "covered_tray").stdout

    assert "no rooting: tray T is too cold or too hot for it" in " ".join(told.split())


@pytest.mark.parametrize(("units", "told"), [("us", "4 in deep, 6 in apart"), ("metric", "10 cm deep, 15 cm apart")])
def test_depth_and_spacing_are_told_as_a_spade_measures_and_a_question_ends_once(
    units: str, told: str, tmp_path: Path
) -> None:
    beds = BED | Parts(units=units, varieties=f"{VARIETIES}6,Invented thorn,gooseberry,,\n")
    write_nursery(tmp_path, **beds)
    words = ("--nursery", tmp_path, "--as-of", "2026-11-21", "season", "--method", "open_ground")

    ground = " ".join(stickdate(*words).stdout.split())

    assert told in ground
    assert "?." not in ground


# Lows of an invented inland place, whose soil freezes hard: sticks are heeled in till spring, or lifted by frost.
INLAND = BED | Parts(
    latitude=42.0,
    frost="[frost.monthly]\nlows = ["
    + ", ".join(f'"{low} C"' for low in (-14, -11, -4, 3, 9, 15, 17, 16, 11, 4, -3, -11))
    + "]",
    varieties=f"{PLACES['varieties']}6,Invented thorn,gooseberry,,\n",
)


def inland(folder: Path, log: str, day: date) -> Plan:
    return build_plan(bench(folder, log, day, **INLAND))


def test_wood_that_waits_for_a_bed_is_heeled_in_within_a_week_of_its_cut(tmp_path: Path) -> None:
    plan = inland(tmp_path, "2026-11-20 taken 6a --variety 6 --count 20", date(2026, 11, 21))

    [heel] = [each for each in plan.tasks if each.id.rule == "heel_in"]
    assert (heel.earliest, heel.latest) == (date(2026, 11, 20), date(2026, 11, 27))


def test_sticks_that_frost_lifted_are_firmed_within_a_fortnight_and_asked_for_no_longer_than_another(
    tmp_path: Path,
) -> None:
    log = "2026-11-20 taken 4a --variety 4 --count 20\n2026-11-25 stuck 4a --bin L"
    [firm] = [each for each in inland(tmp_path / "a", log, date(2027, 3, 1)).tasks if each.id.rule == "ground_firm"]
    assert firm.latest - firm.earliest == timedelta(days=14)
    proposed = [
        "ground_firm" in {each.id.rule for each in inland(tmp_path / name, log, firm.latest + late).tasks}
        for name, late in (("b", timedelta(days=13)), ("c", timedelta(days=15)))
    ]

    assert proposed == [True, False]


def noted(folder: Path, *words: object) -> str:
    """What a command tells, as one line."""
    ran = stickdate("--nursery", folder, *words)
    return " ".join((ran.stdout + ran.stderr).split())


def test_sticks_logged_into_a_bed_that_freezes_hard_are_warned_of_then_and_by_check_until_the_soil_opens(
    tmp_path: Path,
) -> None:
    # Iowa State, Minnesota: stuck once the ground is workable in spring, as frost lifts what has no roots.
    write_nursery(tmp_path, "2025-11-20 taken 6a --variety 6 --count 20", **INLAND)

    logged = noted(tmp_path, "--as-of", "2025-11-25", "log", "stuck", "6a", "--bin", "L")
    checked, after = (noted(tmp_path, "--as-of", day, "check") for day in ("2026-01-10", "2026-04-20"))

    assert "6a in bed L: soil here usually freezes hard" in logged
    assert "Firm them after every thaw until about" in logged
    assert "6a in bed L: soil here usually freezes hard" in checked
    assert "freezes hard" not in after


def test_nothing_is_said_of_sticks_stuck_when_the_soil_is_open_nor_where_it_freezes_lightly(tmp_path: Path) -> None:
    spring, mild = tmp_path / "spring", tmp_path / "mild"
    write_nursery(spring, "2025-11-20 taken 6a --variety 6 --count 20", **INLAND)
    coast = BED | Parts(frost=frost_dates("01-20 02-10 03-01", "11-25 12-10 12-28"))
    write_nursery(mild, "2025-11-20 taken 4a --variety 4 --count 20", **coast)

    assert "freezes hard" not in noted(spring, "--as-of", "2026-04-10", "log", "stuck", "6a", "--bin", "L")
    assert "freezes hard" not in noted(mild, "--as-of", "2025-11-25", "log", "stuck", "4a", "--bin", "L")


def test_wood_that_the_winter_kills_is_warned_of_in_a_bed(tmp_path: Path) -> None:
    write_nursery(tmp_path, "2025-11-02 taken 7a --variety 7 --count 20", **INLAND)

    logged = noted(tmp_path, "--as-of", "2025-11-05", "log", "stuck", "7a", "--bin", "L", "--method", "open_ground")

    assert "7a in bed L: the winter here likely kills wood of fig out of doors; root it under cover" in logged


def test_what_is_lifted_has_left_its_place_in_the_bed_free(tmp_path: Path) -> None:
    before, after = (
        build_plan(bed(tmp_path, IN_BED + lifted, date(2027, 11, 11)))
        for lifted in ("", "2027-11-10 lifted 4a --count 14")
    )

    def taken(plan: Plan) -> int:
        [room] = [room for room in plan.space.rooms if room.bin == "L"]
        return room.demand.up_to(plan.as_of)

    assert (taken(before), taken(after)) == (20, 6)
    here = bed(tmp_path, f"{IN_BED}2027-11-10 lifted 4a --count 14", date(2027, 11, 11))
    assert bags_in(here.stock.lots.values(), "L") == 6
    assert place_and_count(here.stock.lots["4a"]) == "6 in L, 14 lifted"


def test_wood_heeled_in_for_a_bed_is_held_by_the_season_and_not_by_the_weeks_of_a_cold_store(tmp_path: Path) -> None:
    # Garden services: bundles buried till spring. Iowa State: stuck as soon as the ground is workable.
    log = "2026-11-02 taken 6a --variety 6 --count 20\n2026-11-02 taken 4a --variety 4 --count 20"
    here = bench(tmp_path, log, date(2027, 2, 1), **INLAND)
    account = account_of(here)
    heeled, cold = (account.of_lot(here.stock.lots[name]) for name in ("6a", "4a"))
    opens = ground_for(account.collecting("gooseberry", heeled.middle), "open_ground", account.outdoors).opens

    assert heeled.until_by == "heeled"
    assert heeled.until >= opens + timedelta(days=21)
    assert cold.until_by == "keeps"
    assert (cold.until - cold.cut).days <= 7 * 26
    assert not heeled.past(opens)
