"""What the guide lists is held against the program: keys of JSON, events, columns, keys of `nursery.toml`."""

from __future__ import annotations

import json
import re
import shlex
import tomllib
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any, Literal, get_args, get_origin

import pytest

from almanac.actions.guide import CHAPTERS
from almanac.actions.rules import rulebook
from almanac.nursery import logbook, order_rows, varieties
from almanac.nursery.events import EVENTS
from almanac.nursery.settings import WEEKDAYS, Settings
from almanac.rulebook.checked import checked
from almanac.rulebook.fields import Declared, Table, declared, table_within
from almanac.terminal.events import events_text
from tests.command import run
from tests.guide import DAY, chapter_text, copy_to, plan_once

COLUMNS = {"varieties": varieties.COLUMNS, "logbook": logbook.COLUMNS, "orders": order_rows.COLUMNS}


@pytest.fixture(autouse=True)
def _planned_once(monkeypatch: pytest.MonkeyPatch) -> None:
    plan_once(monkeypatch)


# --- JSON --------------------------------------------------------------------------------------------------------

SECTION = re.compile(r"^## stickdate (.+)$", re.MULTILINE)
ITEM = re.compile(r"^- (?:all|in `([^`]+)`): ((?:.|\n  )+)", re.MULTILINE)


def test_every_key_of_json_is_told_and_every_key_told_is_there(tmp_path: Path) -> None:
    folder = copy_to(tmp_path)
    _, *parts = SECTION.split(chapter_text("json"))

    for command, told in zip(parts[::2], parts[1::2], strict=True):
        keys = {path: tuple(re.findall(r"`([^`]+)`", text)) for path, text in ITEM.findall(told)}
        ended = run("--json", *shlex.split(command), cwd=folder, noon_of=DAY)
        assert ended.status == 0, f"{command}: {ended.stderr}"
        found: dict[str, set[str]] = {}
        for path, key in _keys(json.loads(ended.stdout), "", keys):
            found.setdefault(path, set()).add(key)
        assert found == {path: set(names) for path, names in keys.items() if names}, command


def _keys(value: object, path: str, told: Mapping[str, tuple[str, ...]]) -> Iterator[tuple[str, str]]:
    """Every key with where it stands, as the chapter writes it; what is told without keys is not looked into."""
    if isinstance(value, list):
        for each in value:
            yield from _keys(each, path, told)
    elif isinstance(value, dict) and told.get(path) != ():
        starred = any(each == f"{path}.*" or each.startswith(f"{path}.*.") for each in told)
        for key, below in value.items():
            if not starred:
                yield path, key
            yield from _keys(below, f"{path}.{'*' if starred else key}".removeprefix("."), told)


# --- Tables ------------------------------------------------------------------------------------------------------


def test_every_event_is_told_with_what_it_takes() -> None:
    told = " ".join(re.sub(r"\.?\n- ", "\n", chapter_text("events")).replace("`", "").split())
    listed = " ".join(events_text().split())

    for event in EVENTS.values():
        assert f"{event.meaning}" in told, event.name
        assert re.search(rf"^- `{event.name}\b", chapter_text("events"), re.MULTILINE), event.name
    for each in re.findall(r"^- `([^`]+)`", chapter_text("events"), re.MULTILINE):
        assert each in listed, each


def test_every_column_of_the_tables_is_told() -> None:
    told = chapter_text("files")

    for name, columns in COLUMNS.items():
        part = told.split(f"## {name}.csv")[1].split("\n## ")[0]
        assert [column for column in columns if not re.search(rf"[`,]{column}[`,\n]", part)] == [], name


def test_every_key_of_nursery_toml_is_told_with_what_holds_without_it() -> None:
    sections = re.split(r"^## \[+(\w+)\]+$", chapter_text("settings"), flags=re.MULTILINE)
    told = dict(zip(sections[1::2], sections[2::2], strict=True))

    assert list(told) == [field.key for field in declared(Settings).values()]
    for field in declared(Settings).values():
        name, model = field.key, table_within(field.type)
        if model is None:
            continue
        heads = re.findall(r"^- ((?:`\w+`(?:, )?)+):", told[name], re.MULTILINE)
        items = re.split(r"^- ", told[name], flags=re.MULTILINE)[1:]
        keys = [key for head in heads for key in re.findall(r"`(\w+)`", head)]
        assert sorted(keys) == sorted(each.key for each in declared(model).values()), name
        for key, each in declared(model).items():
            item = next(text for text in items if f"`{key}`" in text.split(":")[0])
            missing = [word for word in _must_say(each) if word not in " ".join(item.split())]
            assert missing == [] or "as of a bin" in item, f"[{name}] {key}"


def _must_say(field: Declared) -> Iterator[str]:
    """The default that a key has, if it is plain, its choices, and the keys below it."""
    if isinstance(field.default, bool | int | str | tuple) and field.default not in ("", ()):
        yield json.dumps(field.default)
    below = table_within(field.type)
    if below is not None:
        yield from (f"`{each.key}`" for each in declared(below).values())
    yield from (f'"{choice}"' for choice in _choices(field.type) if choice not in WEEKDAYS)


def _choices(annotation: Any) -> list[str]:
    """The words of which a value is one."""
    inner = get_args(annotation)
    if get_origin(annotation) is Literal:
        return [str(each) for each in inner]
    return [choice for each in inner for choice in _choices(each)]


def test_every_setting_that_a_chapter_shows_may_stand_in_a_file() -> None:
    models = [each for field in declared(Settings).values() if (each := table_within(field.type))]
    models += [each for model in models for field in declared(model).values() if (each := table_within(field.type))]
    wrong, names = [], {"width", *rulebook(None).supplies.supply}  # of a bag, in a rule file; what [supplies] may hold
    for name in CHAPTERS:
        text = re.sub(r"^```.*?^```$", "", chapter_text(name), flags=re.MULTILINE | re.DOTALL)
        for shown in re.findall(r"`(\w+\s=\s[^`…]+)`", text):
            ((key, value),) = tomllib.loads(" ".join(shown.split())).items()
            holders = [model for model in models if key in [each.key for each in declared(model).values()]]
            if key not in names and not any(_takes(model, key, value) for model in holders):
                wrong.append(f"{name}: {shown}")

    assert wrong == []


def _takes(table: type[Table], key: str, value: object) -> bool:
    slips = checked(table, {key: value})[1]
    return not any(loc and loc[0] == key for loc, _ in slips)
