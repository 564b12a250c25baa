"""Wood in hand: what comes from elsewhere, what is shrivelled, how a cutting is made, and the label on it."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path

import pytest

from almanac.actions.rules import rulebook
from almanac.plan.ids import EntryId
from tests.command import stickdate
from tests.nurseries import bench, write_nursery
from tests.unit.given import planned, task

BOOK = rulebook(None)
NODE_IN = 2.54


def asked(folder: Path, log: str, day: date) -> set[str]:
    """The rules that ask something, of jobs in rounds and of entries."""
    plan = planned(bench(folder, log, day))
    return {each.rule.id for each in plan.tasks} | {line.rule.id for each in plan.rounds for line in each.lines}


# --- wood that arrives ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("origin", "apart"), [("--value post", True), ("--value trade", True), ("", True)])
def test_wood_that_came_is_looked_at_washed_and_kept_apart(origin: str, apart: bool, tmp_path: Path) -> None:
    found = asked(tmp_path, f"2027-01-10 received 7a --count 6 {origin}", date(2027, 1, 10))

    assert ("arrival" in found) is apart


def test_own_wood_and_an_air_layer_of_ones_own_are_not_kept_apart(tmp_path: Path) -> None:
    log = "2027-01-10 taken 7a --count 6\n2027-01-10 received 8a --count 1 --value air_layer\n"

    assert "arrival" not in asked(tmp_path, log, date(2027, 1, 10))


def test_once_it_was_looked_through_it_is_not_asked_for_again(tmp_path: Path) -> None:
    log = "2027-01-10 received 7a --count 6 --value post\n2027-01-10 looked 7a\n"

    assert "arrival" not in asked(tmp_path, log, date(2027, 1, 11))


def test_its_first_leaves_are_looked_at_before_it_stands_with_ones_own(tmp_path: Path) -> None:
    log = """2027-01-10 received 7a --count 6 --value post
2027-01-11 looked 7a
2027-01-12 stuck 7a --bin A
2027-01-10 taken 8a --count 6
2027-01-12 stuck 8a --bin A
2027-02-14 leaves --bin A
"""
    plan = planned(bench(tmp_path, log, date(2027, 2, 14)))

    [found] = [each for each in plan.tasks if each.rule.id == "arrival_leaves"]
    assert found.lots == ("7a",)


def test_arrivals_keep_their_papers_and_doubt_goes_to_the_plant_health_office() -> None:
    # Isolation, and two months of it for suspected material: University of California Nursery and Floriculture
    # Alliance, Best Management Practices, "Make sure all stock you receive is clean".
    rule = BOOK.task("arrival")

    assert "plant health office" in rule.how
    assert "papers" in rule.how
    assert any("two months" in item for item in rule.checklist)
    assert {"bleach", "borders"} <= set(rule.cautions)
    assert "label first" in rule.how


def test_shrivelled_wood_is_soaked_for_as_long_as_is_published_and_no_longer(tmp_path: Path) -> None:
    # University of California Cooperative Extension, Tulare County, GV9-99: immersed for 24 to 48 hours before storage;
    # longer immersion may be detrimental.
    log = "2027-01-10 taken 7a --count 6\n2027-01-16 dry 7a\n"

    assert "store_dry" in asked(tmp_path, log, date(2027, 1, 16))
    assert "store_dry" not in asked(tmp_path, log + "2027-01-18 all_clear 7a\n", date(2027, 1, 19))
    assert "24 to 48 hours, no longer" in BOOK.task("store_dry").how


# --- the cutting ---------------------------------------------------------------------------------------------------


# Length [in], thickness [in], nodes and how many of them below the surface, by what is published.
@pytest.mark.parametrize(
    ("crop", "length", "thick", "nodes", "under"),
    [
        ("fig", (8, 10), (0.375, 1), 4, 2),  # LSU AgCenter 2022: two nodes below the surface, two above
        ("black_currant", (5, 8), None, 3, None),  # University of Alaska Fairbanks: three buds at least
        ("red_currant", (5, 8), None, None, None),  # the same
        ("elderberry", (4, 12), (0.25, 1), 2, None),  # Iowa State University Extension 2017
        ("forsythia", (4, 12), (0.25, 1), 2, None),  # the same
    ],
)
def test_cuttings_are_as_long_and_thick_as_published(
    crop: str, length: tuple[float, float], thick: tuple[float, float] | None, nodes: int | None, under: int | None
) -> None:
    cut = BOOK.crops[crop].cutting

    assert cut is not None
    assert (cut.length_low / NODE_IN, cut.length_high / NODE_IN) == pytest.approx(length, abs=0.05)
    if thick:
        assert (cut.thick_low / NODE_IN, cut.thick_high / NODE_IN) == pytest.approx(thick, abs=0.01)
    assert nodes in (None, cut.nodes)
    assert under in (None, cut.under)


@pytest.mark.parametrize("crop", BOOK.crops)
def test_every_crop_says_how_its_cutting_is_made_what_travels_in_its_wood_and_fits_the_bag(crop: str) -> None:
    cut, bag = BOOK.crops[crop].cutting, BOOK.methods["sealed_bag"].bag

    assert cut is not None
    assert bag is not None
    assert cut.disease.endswith(".")
    assert cut.longest_in(bag) >= cut.length_low
    taken, stuck = (BOOK.told_for(BOOK.task(name), crop).how for name in ("take_wood", "stick_planned"))
    assert re.search(r"Cuttings \d+-\d+ in \(\d+-\d+ cm\) long", taken)
    assert "which end is up" in taken
    assert f"{cut.under} node" in stuck
    assert "foot down" in stuck


def test_the_neck_closes_over_the_longest_cutting_that_is_told() -> None:
    # Twelve inches of elder with one of two nodes in the mix: six would stand over a fill of 10 in in a bag of 16, and
    # the band takes one of the six: ten inches close.
    elder, bag = BOOK.crops["elderberry"], BOOK.methods["sealed_bag"].bag

    assert elder.cutting is not None
    assert bag is not None
    assert elder.cutting.longest_in(bag) / NODE_IN == pytest.approx(10)
    assert "Cuttings 4-10 in (10-25 cm) long" in BOOK.told_for(BOOK.task("take_wood"), "elderberry").how


def test_red_currant_stands_on_a_clean_leg_and_black_currant_keeps_its_buds() -> None:
    red, black = (BOOK.told_for(BOOK.task("stick_planned"), f"{each}_currant").how for each in ("red", "black"))

    assert "Rub off the buds that come into the mix" in red
    assert "All buds stay on" in black


def test_the_wash_names_how_much_bleach_and_how_long_and_the_label_first() -> None:
    rule = BOOK.task("stick_planned")

    assert "a minute or two in one part household bleach to nine of water" in rule.how
    assert "label first" in rule.how
    assert "bleach" in rule.cautions


# --- the label -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("words", "lot"),
    [
        (("taken", "8", "--count", "5"), "8a"),
        (("stuck", "7a", "--count", "2", "--bin", "A"), "7c"),
        (("moved", "7b", "--bin", "B"), "7b"),
        (("potted", "7b", "--count", "3"), "7b"),
        (("cut_up", "7a", "--count", "12"), "7a"),
    ],
)
def test_whoever_cuts_splits_moves_or_pots_a_lot_is_told_to_label_it_before_it_is_put_down(
    words: tuple[str, ...], lot: str, tmp_path: Path
) -> None:
    log = "2026-01-05 taken 7a --count 12\n2026-01-10 stuck 7a --count 6 --bin A --refers 7b\n2026-03-20 roots 7b\n"
    folder = write_nursery(tmp_path, log, bins="AB")

    told = " ".join(stickdate("--nursery", folder, "--as-of", "2026-03-25", "log", *words).stdout.split())

    assert f"Label {lot} before you put it down: a mixed-up variety cannot be told apart again." in told


def test_a_look_asks_for_no_label(tmp_path: Path) -> None:
    folder = write_nursery(tmp_path, "2026-01-05 taken 7a --count 12")

    assert "Label" not in stickdate("--nursery", folder, "--as-of", "2026-01-09", "log", "looked", "7a").stdout


@pytest.mark.parametrize("name", ["take_wood", "stick_wood", "stick_planned"])
def test_entries_that_have_cuttings_in_hand_say_so_too(name: str) -> None:
    assert any("before you put it down" in item for item in BOOK.task(name).checklist)


def test_the_entry_of_an_arrival_is_a_job_of_the_day_it_came(tmp_path: Path) -> None:
    plan = planned(bench(tmp_path, "2027-01-10 received 7a --count 6 --value post", date(2027, 1, 10)))

    assert task(plan, str(EntryId("7a", "arrival"))).earliest == date(2027, 1, 10)


def test_check_names_a_crop_whose_cuttings_are_too_long_for_the_bag(tmp_path: Path) -> None:
    folder = write_nursery(tmp_path, "", units="us")
    own = tmp_path / "rules" / "methods" / "sealed_bag.toml"
    own.parent.mkdir(parents=True)
    own.write_text('[bag]\nlength = "14 in"\n', encoding="utf-8")

    ran = stickdate("--nursery", folder, "check")
    told = " ".join(f"{ran.stdout} {ran.stderr}".split())

    assert (
        "the bag is too short for fig: its neck closes over cuttings of 6 in at most, and the shortest is 8 in" in told
    )
