"""The rules: found from a checkout, each number with a source, and a grower's own over the shipped ones."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from almanac.faults import Fault
from almanac.nursery.events import EVENTS
from almanac.rulebook.book import Rulebook
from almanac.rulebook.load import load_rules, shipped_rules
from almanac.rulebook.toml_text import line_of
from almanac.words.faults import fault_line
from almanac.words.rules import changed

FILES = sorted(shipped_rules().rglob("*.toml"))


def load(own: Path | None = None) -> Rulebook:
    book, faults = load_rules(own, EVENTS)
    assert faults == []
    assert book is not None
    return book


def faults_with(folder: Path, file: str, text: str) -> list[Fault]:
    """What is told of one own rule file."""
    path = folder / "rules" / file
    path.parent.mkdir(parents=True)
    path.write_text(text, encoding="utf-8")
    return load_rules(folder / "rules", EVENTS)[1]


def test_in_a_checkout_the_rules_lie_beside_the_package() -> None:
    root = Path(__file__).resolve().parents[2]

    assert shipped_rules() == root / "rules"
    assert (root / "rules" / "sources.toml").is_file()


def test_the_shipped_rules_have_no_fault() -> None:
    book = load()

    assert {path.stem for path in (shipped_rules() / "crops").glob("*.toml")} == set(book.crops)
    assert {path.stem for path in (shipped_rules() / "care").glob("*.toml")} == set(book.cares)


def tables_with_numbers(value: Any, where: str = "") -> Iterator[tuple[str, dict[str, Any]]]:
    """Every table that itself holds a number or a quantity, with its name."""
    if isinstance(value, dict):
        if any(isinstance(v, int | float) or (isinstance(v, str) and v[:1].isdigit()) for v in value.values()):
            yield where, value
        for key, inner in value.items():
            yield from tables_with_numbers(inner, f"{where}.{key}")
    elif isinstance(value, list):
        for number, inner in enumerate(value):
            yield from tables_with_numbers(inner, f"{where}[{number}]")


@pytest.mark.parametrize("path", FILES, ids=[path.stem for path in FILES])
def test_every_number_of_the_shipped_rules_stands_beside_a_source_that_is_known(path: Path) -> None:
    known = load().sources
    document = tomllib.loads(path.read_text(encoding="utf-8"))

    for where, table in tables_with_numbers(document):
        if path.name == "sources.toml" or where.endswith("only_if") or "milestone" in where.rpartition(".")[2]:
            continue  # a source's year; a condition or a milestone's share belong to what names the source
        assert table.get("source") in known, where


def test_every_task_and_caution_of_the_shipped_rules_names_its_source() -> None:
    book = load()

    for rule, _ in book.tasks().values():
        assert rule.source in book.sources
    for caution in book.cautions.values():
        assert caution.source in book.sources


def test_an_own_file_changes_only_the_keys_it_names(tmp_path: Path) -> None:
    own = tmp_path / "rules" / "care" / "mould.toml"
    own.parent.mkdir(parents=True)
    own.write_text('[[task]]\nid = "mould_look"\nevery_days = 2\n', encoding="utf-8")

    shipped, mine = load(), load(tmp_path / "rules")

    before, after = (book.tasks()["mould_look"][0] for book in (shipped, mine))
    assert after.every_days == 2
    assert after.source == "own"  # whose number it is now
    assert replace(after, every_days=before.every_days, source=before.source) == before
    assert {name: rule for name, (rule, _) in mine.tasks().items() if name != "mould_look"} == {
        name: rule for name, (rule, _) in shipped.tasks().items() if name != "mould_look"
    }
    assert mine.files["care/mould"] == ("rules/care/mould.toml", "rules/care/mould.toml")


def test_an_own_number_of_a_crop_leaves_its_other_numbers(tmp_path: Path) -> None:
    own = tmp_path / "rules" / "crops" / "fig.toml"
    own.parent.mkdir(parents=True)
    own.write_text('[cold]\nlowest_night = "55 F"\nsource = "memory"\n', encoding="utf-8")

    before, after = load().crops["fig"], load(tmp_path / "rules").crops["fig"]

    assert after.cold.lowest_night == pytest.approx(12.78, abs=0.01)  # 55 °F
    assert after.cold.new_growth_killed == before.cold.new_growth_killed
    assert after.durations == before.durations


def test_an_own_task_in_a_file_of_its_own_is_added(tmp_path: Path) -> None:
    text = """\
title = "Own care"

[[task]]
id = "own_task"
title = "Invented task"
kind = "do"
after = "stuck"
opens_day = 0
due_day = 1
closes_day = 2
source = "practice"
"""
    assert faults_with(tmp_path, "care/own.toml", text) == []

    assert set(load(tmp_path / "rules").tasks()) == {*load().tasks(), "own_task"}


def test_a_fault_in_an_own_task_is_found_on_its_own_line_though_the_shipped_ones_come_before(tmp_path: Path) -> None:
    text = '# ours\n\n[[task]]\nid = "mould_clear"\ndue_day = "soon"\n\n[[task]]\nid = "rot"\nminutes = -1\n'

    faults = faults_with(tmp_path, "care/mould.toml", text)

    assert sorted((fault.line, fault.key) for fault in faults) == [
        (5, "task 'mould_clear', due_day"),
        (9, "task 'rot', minutes"),
    ]


def test_an_own_file_saved_with_a_byte_order_mark_is_read(tmp_path: Path) -> None:
    assert faults_with(tmp_path, "care/mould.toml", '\ufeff[[task]]\nid = "mould_look"\nevery_days = 2\n') == []


def test_a_rule_file_in_no_known_folder_is_told_where_to_stand(tmp_path: Path) -> None:
    faults = faults_with(tmp_path, "plants/fig.toml", 'title = "Fig"\n')

    assert [fault_line(fault) for fault in faults] == [
        "rules/plants/fig.toml: is not a rule file by its place; it must stand in crops/, methods/ or care/, "
        "or be named sources.toml or cautions.toml or supplies.toml or law.toml"
    ]


def test_the_line_of_a_key_is_found_under_its_own_header_of_several_alike() -> None:
    text = '[[bin]]\nname = "A"\nmat = "78 F"\n\n[[bin]]\nname = "B"\nlight = { ppfd = 1, hours = 2 }\nmat = "70 F"\n'

    assert line_of(text, ("bin", 0, "mat")) == 3
    assert line_of(text, ("bin", 1, "mat")) == 8
    assert line_of(text, ("bin", 1, "light", "hours")) == 7
    assert line_of(text, ("bin", 1, "air")) == 5
    assert line_of(text, ("site",)) is None


OWN = """\
title = "Fig (mine)"

[durations.roots]
median = "30 d"

[durations.leaves]
median = "9 d"
source = "memory"

[strike]
rooted = 0.62

[cold]
lowest_night = "55 F"
"""


def own_fig(folder: Path, text: str = OWN) -> Path:
    path = folder / "rules" / "crops" / "fig.toml"
    path.parent.mkdir(parents=True)
    path.write_text(text, encoding="utf-8")
    return path.parents[1]


def test_a_changed_number_is_the_growers_own_unless_the_file_names_where_it_comes_from(tmp_path: Path) -> None:
    before, after = load().crops["fig"], load(own_fig(tmp_path)).crops["fig"]

    assert (after.durations["roots"].source, after.durations["leaves"].source) == ("own", "memory")
    assert after.durations["roots"].note == ""  # what is said of the shipped number is not said of this one
    assert after.cold.source == "own"
    assert after.strike == before.strike  # the number it already had
    assert after.cold.young_wood == before.cold.young_wood
    assert str(load().sources["own"]) == "your own rules"


def test_what_an_own_file_changes_is_known_value_by_value(tmp_path: Path) -> None:
    found = [each for each in load(own_fig(tmp_path)).changes if not each.cites]

    assert [(each.file, each.document, each.key, each.before, each.after) for each in found] == [
        ("rules/crops/fig.toml", "crops/fig", key, before, after)
        for key, before, after in (
            (("title",), "Fig", "Fig (mine)"),
            (("durations", "roots", "median"), "22 d", "30 d"),
            (("durations", "leaves", "median"), "8 d", "9 d"),
            (("cold", "lowest_night"), "50 F", "55 F"),
        )
    ]
    assert [words for _, words in changed(found)] == ["changes title, 2 durations and 1 value in cold of fig"]
    assert load().changes == ()


def test_a_file_is_checked_against_the_nursery_without_its_own_copy_there(tmp_path: Path) -> None:
    own = own_fig(tmp_path)
    mine = own / "crops" / "fig.toml"
    (tmp_path / "crops").mkdir()
    other = tmp_path / "crops" / "fig.toml"
    other.write_text('[cold]\nlowest_night = "55 F"\n', encoding="utf-8")

    def said(path: Path) -> list[str]:
        book, faults = load_rules(own, EVENTS, path)
        assert book is not None
        assert faults == []
        return [words for _, words in changed(each for each in book.changes if each.file == str(path))]

    assert said(mine) == ["changes title, 2 durations and 1 value in cold of fig"]
    assert said(other) == []  # the nursery's own says the same


def test_own_tasks_and_files_are_counted_apart(tmp_path: Path) -> None:
    own = own_fig(tmp_path)
    (own / "crops" / "fig.toml").unlink()
    (own / "care").mkdir()
    task = '[[task]]\nid = "mine"\ntitle = "T"\nkind = "do"\nafter = "stuck"\nsource = "own"\n'
    days = "opens_day = 0\ndue_day = 1\ncloses_day = 2\n"
    text = f'[[task]]\nid = "mould_look"\nevery_days = 2\nminutes = 1\n{task}{days}'
    (own / "care" / "mould.toml").write_text(text, encoding="utf-8")
    (own / "care" / "mine.toml").write_text('title = "Mine"\n', encoding="utf-8")

    assert [words for _, words in changed(load(own).changes)] == ["changes 2 tasks of mould", "adds mine"]
