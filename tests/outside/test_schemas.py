"""The schemas that editors are given, held against an independent validator (jsonschema, draft 7): what ships passes,
and of the broken files of the catalogue those are refused that a schema can refuse."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft7Validator

from almanac import units
from almanac.actions.schemas import schemas
from almanac.faults import Miswritten
from almanac.nursery.settings import Settings
from almanac.rulebook.fields import quantity_schema
from almanac.rulebook.load import shipped_rules
from almanac.rulebook.schema import NURSERY, named_in, rule_schema, schema_of
from tests.command import stickdate

ROOT = Path(__file__).resolve().parents[2]
FAULTS = ROOT / "tests" / "faults"
SHIPPED = sorted(shipped_rules().rglob("*.toml"))
BROKEN = sorted([*(FAULTS / "nursery").glob("*.toml"), *(FAULTS / "rules").rglob("*.toml")])
# What no schema of one file can tell: each of these is told by `check` alone.
CANNOT = {
    "a name that another file gives": """
        care/own/answered_by_nothing_known care/own/caution_unknown care/own/counted_from_nothing_known
        care/own/ended_by_nothing_known care/own/event_to_log_misspelt care/own/method_unknown
        care/own/several_names_unknown care/own/source_unknown care/own/waits_for_no_task care/own/without_nothing_known
        cautions/source_unknown crops/fig/chill_source_unknown crops/fig/method_unknown crops/fig/source_unknown
        law/law_of_a_crop_unknown supplies/names_unknown nursery/method_unknown nursery/supply_misspelt
        nursery/mother_of_a_number_not_grown nursery/frost_station_unknown nursery/frost_record_not_there
        nursery/frost_record_of_another_kind nursery/time_zone_misspelt""",
    "what the file's name or a task's place in all files says": """
        care/own/id_not_the_file_name care/own/id_of_a_shipped_task care/own/milestone_of_a_method_too
        care/own/task_twice crops/fig/method_named_nowhere
        care/mould/worked_by_no_programme care/weaning/task_of_the_programme_lost
        crops/berry/duration_missing methods/sealed_bag/milestone_in_a_circle
        methods/sealed_bag/milestone_without_duration crops/fig/chill_of_roots""",
    "a value that a text names": """
        care/light/crop_value_of_a_bin care/light/value_of_no_lamp care/mould/crop_value_unknown
        care/weaning/value_of_the_programme_unknown""",
    "one number against another": """
        care/own/days_out_of_order care/own/longest_below_every care/mould/shipped_task_turned_round
        care/fungus_gnats/nematodes_warmer_than_they_bear care/fungus_gnats/threshold_above_the_slow_clock
        care/hardening/carried_past_midnight care/hardening/shade_the_wrong_way_round
        care/watering/driest_above_the_latest care/watering/more_weighings_wanted_than_taken
        care/watering/watered_after_the_latest care/weaning/two_steps_on_one_day crops/fig/cutting_all_under_the_mix
        crops/fig/cutting_upside_down crops/fig/light_day_too_long crops/fig/light_wanted_upside_down
        crops/fig/more_finished_than_rooted crops/fig/store_upside_down crops/fig/optimum_above_ceiling
        methods/sealed_bag/bag_filled_to_the_top
        supplies/mix_of_more_than_all nursery/autumn_dates_wrong_way_round nursery/away_backwards
        nursery/frost_monthly_known_of_another_place nursery/frost_monthly_known_of_the_wrong_season
        nursery/frost_monthly_known_wrong_way_round nursery/frost_monthly_of_the_other_half_of_the_earth
        nursery/frost_years_backwards nursery/latitude_of_the_other_half_of_the_earth
        nursery/radiation_brighter_than_a_clear_sky""",
    "how much a quantity with its unit is": """
        care/fungus_gnats/eggs_that_take_no_time care/fungus_gnats/nematodes_more_often_than_a_day
        care/weaning/steps_all_at_once crops/fig/duration_of_nothing methods/sealed_bag/bag_of_no_width
        supplies/card_that_lasts_no_day nursery/frost_monthly_low_nowhere_on_earth
        nursery/frost_monthly_several_at_once nursery/frost_monthly_spread_out_of_range
        nursery/frost_station_at_another_threshold nursery/mat_hotter_than_any nursery/mat_too_hot_to_be_meant
        nursery/store_as_warm_as_a_room nursery/week_longest_too_long""",
    "that two of a list are alike, or one of two tables": """
        nursery/bin_name_twice nursery/mother_twice_in_one_place nursery/shelter_named_as_a_bin
        nursery/holidays_off_without_country nursery/place_named_like_a_bin nursery/place_without_air
        nursery/bed_with_warmth""",
    "a number beyond all, or none": "care/own/day_too_far nursery/number_without_end nursery/number_not_finite",
    "a day that no calendar has": "nursery/day_that_does_not_exist nursery/away_in_quotes",
    "what is missing from a new part of a shipped file, which may leave out all": """
        cautions/text_missing crops/fig/chill_incomplete crops/fig/duration_without_spread
        sources/source_without_title""",
}
UNSAID = {case for cases in CANNOT.values() for case in cases.split()}


def case_of(path: Path) -> str:
    return path.relative_to(FAULTS).with_suffix("").as_posix().removeprefix("rules/")


def document(path: Path) -> Any:
    """A TOML file as an editor holds it against a schema: dates are texts there; None where it is no TOML."""
    try:
        return json.loads(json.dumps(tomllib.loads(path.read_bytes().decode("utf-8-sig")), default=str))
    except (ValueError, RecursionError):
        return None


def refused(schema: dict[str, Any], found: Any) -> list[str]:
    return [error.message for error in Draft7Validator(schema).iter_errors(found)]


def test_each_schema_is_one() -> None:
    for schema in schemas().values():
        Draft7Validator.check_schema(schema)


@pytest.mark.parametrize("path", SHIPPED, ids=[path.stem for path in SHIPPED])
def test_a_shipped_rule_file_passes_as_a_whole_and_as_a_change_of_itself(path: Path) -> None:
    folder = path.relative_to(shipped_rules()).parent.name

    for shipped in (False, True):
        assert refused(rule_schema(folder, path.stem, shipped=shipped)[1], document(path)) == []


def test_every_example_nursery_passes() -> None:
    schema = schema_of(Settings)

    for path in sorted((ROOT / "examples").glob("*/nursery.toml")):
        assert refused(schema, document(path)) == [], path


@pytest.mark.parametrize("path", BROKEN, ids=map(case_of, BROKEN))
def test_a_broken_file_is_refused_where_a_schema_can_say_it(path: Path) -> None:
    found, name = document(path), Path(case_of(path)).parent
    if found is None:
        return  # the editor says itself that it is no TOML

    schema = schema_of(Settings)
    if name.name != "nursery":
        shipped = (shipped_rules() / f"{name}.toml").is_file()
        schema = rule_schema(name.parent.name, name.name, shipped=shipped)[1]
        if name.parent.name:
            found.setdefault("id", name.name)

    assert bool(refused(schema, found)) != (case_of(path) in UNSAID)


def test_what_a_schema_cannot_say_is_of_the_catalogue() -> None:
    assert set(map(case_of, BROKEN)) >= UNSAID


@pytest.mark.parametrize("kind", units.KINDS)
def test_a_quantity_passes_in_the_editor_as_it_does_in_the_program(kind: str) -> None:
    def taken(text: str) -> bool:
        try:
            return units.parse(text, kind) is not None
        except Miswritten as error:
            return error.fact.kind == "quantity_out_of_range"

    written = [
        f"{number}{gap}{unit}"
        for number in ("4", "-1,5", "+0.25", ".5", "4.", "four")
        for gap in ("", " ", " °")
        for unit in (
            "",
            "F",
            "c",
            "ft",
            "In",
            "cm",
            "M",
            "l",
            "GAL",
            "Fl Oz",
            "g",
            "d",
            "W",
            "h",
            "MJ",
            "kwh",
            "d or so",
        )
    ]

    validator = Draft7Validator(quantity_schema(kind))
    assert [text for text in written if validator.is_valid(text) != taken(text)] == []
    assert any(map(taken, written))
    assert not validator.is_valid(4)


def test_names_that_are_known_are_offered_and_another_is_no_fault_as_it_may_have_come_since(tmp_path: Path) -> None:
    (tmp_path / "rules").mkdir()
    own = '[source.notebook]\ntitle = "Invented notebook"\nkind = "own"\n'
    (tmp_path / "rules" / "sources.toml").write_text(own, encoding="utf-8")

    schema = schemas(tmp_path)["care.json"]

    offered = {key: set(schema["definitions"][f"of_{key}"]["anyOf"][0]["enum"]) for key in ("source", "after", "until")}
    assert {"practice", "own", "notebook"} <= offered["source"]
    assert {"stuck", "well_rooted", "shortest_day"} <= offered["after"]
    assert {"potted", "roots"} <= offered["until"]
    task = {"id": "a", "title": "T", "kind": "do", "opens_day": 0, "due_day": 0, "closes_day": 0}
    care = {"id": "x", "title": "X", "task": [task | {"after": "stuck", "source": "written_tomorrow"}]}
    assert refused(schema, care) == []
    assert refused(schema, care | {"task": [task | {"after": "stuck", "source": 7}]}) != []


def test_the_command_writes_the_schemas_that_new_files_name(tmp_path: Path) -> None:
    folder = tmp_path / "lane"
    stickdate(
        *("new", folder, "--latitude", "41.5", "--longitude", "-93.6", "--timezone", "America/Chicago"),
        *("--last-frost", "04-25", "--first-frost", "10-10", "--country", "US", "--region", "IA"),
        *("--elevation", "300 m", "--bins", "A"),
    )
    first = (folder / "nursery.toml").read_text(encoding="utf-8").splitlines()[0]
    named = folder / first.removeprefix("#:schema ")

    assert refused(json.loads(named.read_text(encoding="utf-8")), document(folder / "nursery.toml")) == []

    told = json.loads(stickdate("--nursery", folder, "--json", "rules", "schema").stdout)["written"]
    assert {Path(path).name for path in told} == {path.name for path in named.parent.iterdir()} == set(schemas())
    for folder_of, stem, shipped in (("crops", "fig", True), ("crops", "berry", False), ("", "sources", True)):
        schema = named_in(folder_of, stem, shipped=shipped).removeprefix("#:schema ")
        assert (folder / "rules" / folder_of / schema).resolve().is_file()
    assert named.name == NURSERY
