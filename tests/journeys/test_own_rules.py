"""A grower writes rules of their own: a file to start from, which loads and changes nothing until it is changed."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path

import pytest
from jsonschema import Draft7Validator

from almanac.nursery.events import EVENTS
from almanac.rulebook.load import load_rules, shipped_rules
from almanac.words.rules import changed
from tests.faults.bench import TODAY, kept, make_nursery, run

SHIPPED = {
    kind: sorted(path.stem for path in (shipped_rules() / folder).glob("*.toml"))
    for kind, folder in (("crop", "crops"), ("method", "methods"), ("care", "care"))
}
BUT_ONCE = "has milestones or days worked out that there can be but once"


@pytest.fixture
def lane(tmp_path: Path) -> Path:
    return make_nursery(tmp_path / "lane")


def new(lane: Path, *words: str) -> Path:
    ran = run("--nursery", lane, "--json", "rules", "new", *words)
    assert (ran.status, ran.stderr) == (0, "")
    return Path(json.loads(ran.stdout)["written"][0])


def changes(lane: Path) -> list[str]:
    book, faults = load_rules(lane / "rules", EVENTS)
    assert faults == []
    assert book is not None
    return [words for _, words in changed(book.changes)]


def passes(path: Path) -> bool:
    """Whether a file passes the schema that its first line names, as an editor reads it."""
    text = path.read_text(encoding="utf-8")
    schema = json.loads((path.parent / text.splitlines()[0].removeprefix("#:schema ")).read_text(encoding="utf-8"))
    return bool(Draft7Validator(schema).is_valid(json.loads(json.dumps(tomllib.loads(text), default=str))))


def test_a_file_to_change_what_ships_shows_all_of_it_and_changes_nothing_yet(lane: Path) -> None:
    for kind, stems in SHIPPED.items():
        for stem in stems:
            path = new(lane, kind, stem)
            assert passes(path)
            ships = (shipped_rules() / path.parent.name / path.name).read_text(encoding="utf-8")
            assert all(line.strip() in path.read_text(encoding="utf-8") for line in ships.splitlines())

    assert changes(lane) == []


def test_a_value_whose_sign_is_taken_away_and_changed_is_all_that_changes(lane: Path) -> None:
    fig, mould = new(lane, "crop", "fig"), new(lane, "care", "mould")
    for path, old, mine in (
        (fig, '# median = "22 d"', 'median = "30 d"'),
        (mould, "# every_days = 3", "every_days = 2"),
    ):
        text = path.read_text(encoding="utf-8")
        assert old in text
        path.write_text(text.replace(old, mine, 1), encoding="utf-8")

    assert changes(lane) == ["changes 1 task of mould", "changes 1 duration of fig"]
    told = run("--nursery", lane, "rules", "check", fig).stdout
    assert told.endswith(f"{fig} changes 1 duration of fig.\n")
    assert 'durations, roots, median  "22 d"      "30 d"' in run("--nursery", lane, "rules", "diff").stdout
    assert 'own median = "30 d"; shipped: "22 d"' in run("--nursery", lane, "rules", "show", "fig").stdout


def test_a_new_file_like_another_loads_and_passes_off_none_of_its_sources_or_notes(lane: Path) -> None:
    made = {}
    for kind, stems in SHIPPED.items():
        for stem in stems:
            ran = run("--nursery", lane, "rules", "new", kind, f"my_{stem}", "--like", stem)
            assert ran.status == 0 or (kind == "care" and BUT_ONCE in ran.stderr), ran.stderr
            if ran.status == 0:
                made[f"my_{stem}"] = next((lane / "rules").rglob(f"my_{stem}.toml"))

    assert {"my_fig", "my_sealed_bag", "my_mould"} <= made.keys()
    assert sorted(changes(lane)) == sorted(f"adds {stem}" for stem in made)
    for stem, path in made.items():
        assert passes(path)
        document = path.read_text(encoding="utf-8")
        values = [line for line in document.splitlines() if not line.startswith("#")]
        sources = {line.partition("source = ")[2].split('"')[1] for line in values if "source = " in line}
        assert sources <= {"own"}, stem
    assert 'title = "My fig"' in made["my_fig"].read_text(encoding="utf-8")


def test_a_care_file_of_ones_own_begins_with_a_task_to_take_the_sign_from(lane: Path) -> None:
    path = new(lane, "care", "mine")
    assert changes(lane) == ["adds mine"]

    lines = path.read_text(encoding="utf-8").splitlines()
    start = lines.index("# [[task]]")
    path.write_text("\n".join([*lines[:start], *(line.removeprefix("# ") for line in lines[start:])]), encoding="utf-8")

    assert passes(path)
    assert "mine_look" in run("--nursery", lane, "rules").stdout
    assert "; what to look for\n" in run("--nursery", lane, "--as-of", TODAY, "today", "--days", "9").stdout


def test_a_crop_begun_like_another_is_planned_like_it(lane: Path) -> None:
    new(lane, "crop", "moonberry", "--like", "fig")
    varieties = lane / "varieties.csv"
    varieties.write_text(varieties.read_text(encoding="utf-8") + "9,Invented Moon,moonberry,,,,,\n", encoding="utf-8")
    for words in (("taken", "9", "--count", "12"), ("stuck", "9", "--count", "12")):
        assert run("--nursery", lane, "log", *words).status == 0

    [lot] = [
        each for each in json.loads(run("--nursery", lane, "--json", "lots").stdout)["lots"] if each["lot"] == "9a"
    ]
    assert lot["milestones"]["roots"]["likely"] > TODAY


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("crop", "Fig"), '"Fig" is not a short name; write lower-case letters, digits and _ alone, a letter first'),
        (("crop", "fig", "--like", "grape"), "fig ships with the program; leave --like out"),
        (("crop", "quince", "--like", "figg"), "there is no crop 'figg' to start from; did you mean 'fig'?"),
        (("care", "mine", "--like", "weaning"), f"weaning {BUT_ONCE}"),
    ],
)
def test_what_cannot_be_begun_is_said_and_nothing_is_written(words: tuple[str, ...], told: str, lane: Path) -> None:
    before = kept(lane)

    ran = run("--nursery", lane, "rules", "new", *words)

    assert ran.status == 1
    assert ran.stderr.startswith(f"stickdate: {told}")
    assert kept(lane) == before


def test_a_file_that_is_there_is_never_written_over(lane: Path) -> None:
    path = new(lane, "crop", "fig")
    path.write_text('title = "Mine"\n', encoding="utf-8")

    ran = run("--nursery", lane, "rules", "new", "crop", "fig")

    assert (ran.status, ran.stderr) == (
        1,
        f"stickdate: {path} is there already; edit it, or give the new one another id\n",
    )
    assert path.read_text(encoding="utf-8") == 'title = "Mine"\n'
