"""Plants kept as stock plants are mother plants: with a winter and a pruning, and wood that a lot comes from."""

from __future__ import annotations

from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from almanac.actions.record import record
from almanac.actions.request import Request
from almanac.actions.undo import undo
from almanac.faults import Refusal
from almanac.plan.wood.account import account_of
from almanac.words.tasks import text, title
from tests.nurseries import NO_FROST, bench
from tests.unit.given import of_rule, planned

KEPT = """2027-01-05 received 7a --count 9 --stage outside
2027-07-01 kept 7a --count 2 --value "south wall"
2027-07-01 kept 7a --count 1
"""
NUMBER_7 = 'variety = "7"\nplace = "barn"'


def test_a_plant_kept_is_a_mother_plant_of_its_variety_where_it_stands(tmp_path: Path) -> None:
    nursery = bench(tmp_path, KEPT, date(2027, 8, 1), mothers=[NUMBER_7])

    found = [(each.variety, each.place, each.since, each.note) for each in nursery.mothers]

    assert found == [("7", "barn", None, ""), ("7", "south wall", 2027, "2 plants"), ("7", "plant of 7a", 2027, "")]


def test_wood_kept_in_store_and_a_plant_that_the_settings_name_are_not_counted_as_more(tmp_path: Path) -> None:
    log = "2026-12-15 taken 8a --count 9\n2027-01-10 kept 8a --count 2\n" + KEPT
    nursery = bench(tmp_path, log, date(2027, 8, 1), mothers=['variety = "7"\nplace = "South Wall"'])

    assert [(each.variety, each.place) for each in nursery.mothers] == [("7", "South Wall"), ("7", "plant of 7a")]


def test_a_young_mother_plant_gives_wood_from_its_second_winter_on(tmp_path: Path) -> None:
    def gives(today: date) -> list[str]:
        return [each.place for each in account_of(bench(tmp_path, KEPT, today)).mothers("7")]

    assert gives(date(2027, 12, 20)) == []
    assert gives(date(2028, 12, 20)) == ["south wall", "plant of 7a"]


def test_a_lot_says_which_kept_plant_its_wood_came_from(tmp_path: Path) -> None:
    bench(tmp_path, KEPT, date(2028, 12, 20))
    noon = datetime(2028, 12, 20, 17, tzinfo=UTC)

    done = record(tmp_path, noon, Request(what="taken", about=("7",), count=4, value="plant of 7a"))
    with pytest.raises(Refusal):
        record(tmp_path, noon, Request(what="taken", about=("7",), count=4, value="the moon"))

    assert done.made == ("7b",)


def test_what_was_kept_by_mistake_is_no_mother_plant(tmp_path: Path) -> None:
    from almanac.nursery.load import load_nursery

    bench(tmp_path, KEPT, date(2027, 8, 1))
    undo(tmp_path, datetime(2027, 8, 1, 17, tzinfo=UTC), "r2")

    assert [each.place for each in load_nursery(tmp_path, datetime(2027, 8, 1, 18, tzinfo=UTC)).mothers] == [
        "plant of 7a"
    ]


def test_mother_plants_have_a_winter_and_a_pruning_of_their_own(tmp_path: Path) -> None:
    nursery = bench(tmp_path, KEPT, date(2027, 10, 15))
    plan = planned(nursery)

    [winter], [prune] = of_rule(plan, "mother_winter"), of_rule(plan, "mother_prune")

    assert title(prune) == "Prune mother plants: fig"
    assert "7 south wall, 7 plant of 7a: in the ground" in text(winter, nursery.book, plan.as_of)
    assert winter.since == date(2027, 10, 18)  # by which half of all years have had frost
    assert prune.earliest > winter.earliest


def test_sheltered_plants_and_places_without_frost_need_no_winter_cover(tmp_path: Path) -> None:
    sheltered = bench(tmp_path / "a", "", date(2027, 10, 15), mothers=[NUMBER_7 + "\nsheltered = true"])
    mild = bench(tmp_path / "b", KEPT, date(2027, 10, 15), frost=NO_FROST, latitude=21.0)

    assert not of_rule(planned(sheltered), "mother_winter")
    assert not of_rule(planned(mild), "mother_winter")
    assert of_rule(planned(sheltered), "mother_prune")


def test_a_sick_mother_plant_is_no_longer_cared_for_as_one(tmp_path: Path) -> None:
    sick = bench(tmp_path, "", date(2027, 10, 15), mothers=[NUMBER_7 + '\nhealth = "sick"'])

    assert not [*of_rule(planned(sick), "mother_prune"), *of_rule(planned(sick), "mother_winter")]
