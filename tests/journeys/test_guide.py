"""README and the guide are held against the program: commands, keys, events, files and links, as they are read."""

from __future__ import annotations

import contextlib
import json
import re
import shlex
import shutil
import tomllib
from collections.abc import Iterator, Mapping
from datetime import datetime
from importlib import import_module
from pathlib import Path
from types import NoneType
from typing import Annotated, Any, Literal, get_args, get_origin
from unittest.mock import patch

import click
import pytest
from pydantic import BaseModel, TypeAdapter, ValidationError
from pydantic.fields import FieldInfo

from almanac.actions.guide import CHAPTERS, chapters
from almanac.actions.look import Reading, look
from almanac.actions.rules import rulebook
from almanac.cli.main import cli
from almanac.faults import Miswritten
from almanac.nursery import logbook, order_rows, varieties
from almanac.nursery.events import EVENTS
from almanac.nursery.settings import WEEKDAYS, Settings
from almanac.terminal.events import events_text
from tests.command import run, stickdate

HERE = Path(__file__).parents[2]
GUIDE = HERE / "almanac" / "guide"
EXAMPLE, DAY = HERE / "examples" / "quince-lane", "2026-02-24"  # where the chapters stand, as the first one says
PAGES = (HERE / "README.md", *sorted(GUIDE.glob("*.md")))
LINKED = (*PAGES, HERE / "DEVELOPERS.md", HERE / "CHANGELOG.md", *(HERE / "examples").glob("*/*.md"))
COLUMNS = {"varieties": varieties.COLUMNS, "logbook": logbook.COLUMNS, "orders": order_rows.COLUMNS}
READINGS: dict[object, Reading] = {}


def chapter_text(name: str) -> str:
    """A chapter as it stands in the file."""
    return (GUIDE / f"{name}.md").read_text(encoding="utf-8")


def fenced(text: str) -> list[str]:
    """What a chapter has a grower do: its command lines, and what is to be written into a file, as one item."""
    blocks = re.findall(r"^```(sh|csv|toml)\n(.*?)^```$", text, re.MULTILINE | re.DOTALL)
    return [each for kind, block in blocks for each in (block.splitlines() if kind == "sh" else [block])]


def copy_to(folder: Path) -> Path:
    """The example as it is shipped."""
    left_out = shutil.ignore_patterns("calendar", "*.backup.csv", "*.lock", "phone-keys.toml", "*.md", "pictures")
    return shutil.copytree(EXAMPLE, folder / "quince-lane", ignore=left_out)


@pytest.fixture(autouse=True)
def _planned_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Commands that show what the same files say share one plan, as a hundred are asked here."""
    import_module("almanac.actions.refresh")  # which shares nothing: it took the true one with it
    monkeypatch.setattr("almanac.actions.look.look", _look)


def _look(folder: Path, now: datetime, as_of: Any = None, calendar: Path | None = None) -> Reading:
    shown = ("nursery.toml", "varieties.csv", "logbook.csv", "orders.csv", "calendar/everything.ics")
    texts = [path.read_bytes() if (path := folder / name).is_file() else b"" for name in shown]
    key = (now.date(), as_of, calendar, *texts)
    if key not in READINGS:
        READINGS[key] = look(folder, now, as_of, calendar)
    return READINGS[key]


# --- The chapters ------------------------------------------------------------------------------------------------


def test_every_chapter_begins_with_the_question_it_answers_and_fits_a_terminal() -> None:
    assert sorted(CHAPTERS) == sorted(path.stem for path in GUIDE.iterdir())

    for each in chapters():
        assert each.text.startswith("# "), each.name
        assert each.question.endswith("?"), each.name
        assert [line for line in each.text.splitlines() if len(line) > 80] == [], each.name


def test_the_guide_lists_its_chapters_and_prints_one() -> None:
    listed, frost = stickdate("guide").stdout, stickdate("guide", "frost").stdout

    assert [name for name in CHAPTERS if f"\n{name} " not in f"\n{listed}"] == []
    assert frost.startswith("# Frost, and the site\n\nHow late is frost here, really")
    assert ".md)" not in "".join(each.text for each in chapters())
    assert json.loads(stickdate("guide", "frost", "--json").stdout)["text"] == frost


def test_on_a_terminal_a_chapter_is_shown_page_by_page() -> None:
    with patch("almanac.cli.guide.sys") as terminal, patch("click.echo_via_pager") as pager:
        terminal.stdout.isatty.return_value = True
        printed = stickdate("guide", "gnats").stdout

    assert printed == ""
    assert pager.call_args.args[0].startswith("# Fungus gnats\n")


def test_a_chapter_that_is_not_there_names_the_one_meant() -> None:
    told = stickdate("guide", "frots", code=1).stderr

    assert told.startswith("stickdate: the guide has no chapter 'frots'; did you mean 'frost'?")


@pytest.mark.parametrize("name", [name for name in CHAPTERS if fenced(chapter_text(name))])
def test_every_command_of_a_chapter_runs_on_the_example(name: str, tmp_path: Path) -> None:
    folder = here = copy_to(tmp_path)
    text = chapter_text(name)

    for line in fenced(text):
        if "\n" in line:
            file, how = ("varieties.csv", "w") if line.startswith("number,") else ("nursery.toml", "a")
            with (here / file).open(how, encoding="utf-8") as written:
                written.write(line)
            continue
        program, *words = shlex.split(line)
        if program == "cd":
            here = here / words[0]
            continue
        ended = run(*words, cwd=here, noon_of=DAY)
        assert (program, ended.status) == ("stickdate", 0), f"{line}\n{ended.stderr}"
        assert ended.stdout, line

    assert "```toml" not in text or run("check", cwd=here, noon_of=DAY).status == 0
    told = set(re.findall(r"^\| `([^`/]+)/?` \|", chapter_text("files"), re.MULTILINE))
    made = {path.name for path in folder.iterdir() if not path.name.startswith(".")}
    assert {each for each in made if each not in text} <= told


def test_every_command_named_in_a_text_is_one_with_the_options_it_has() -> None:
    wrong = []
    for page in PAGES:
        text = re.sub(r"^```.*?^```$", "", page.read_text(encoding="utf-8"), flags=re.MULTILINE | re.DOTALL)
        for line in re.findall(r"`stickdate ([^`]+)`", text):
            try:
                _read_as_typed(shlex.split(line))
            except click.ClickException as error:
                wrong.append(f"{page.name}: stickdate {line}: {error.format_message()}")

    assert wrong == []


def _read_as_typed(words: list[str]) -> None:
    """Read words as the command does; DATE, N and FILE stand for any, and a text may leave out what must be named."""
    command: click.Command = cli
    typed = [{"DATE": DAY, "N": "1", "FILE": str(HERE / "LICENSE")}.get(word, word) for word in words]
    while isinstance(command, click.Group) and typed and typed[0] != "COMMAND":
        found = command.get_command(click.Context(command), typed[0])
        if found is None:
            break
        command, typed = found, typed[1:]
    with contextlib.suppress(click.MissingParameter, click.exceptions.NoArgsIsHelpError):
        if typed[:1] != ["COMMAND"]:
            command.make_context(
                "stickdate", typed, help_option_names=["-h", "--help"]
            )  # as the whole command has them


def _spoken_of(text: str) -> list[list[str]]:
    """The commands that stand in a text, as words."""
    return [shlex.split(line)[1:] for line in re.findall(r"`(stickdate [^`]+)`", text)]


def test_the_steps_of_readme_lead_from_nothing_to_a_calendar(tmp_path: Path) -> None:
    steps = (HERE / "README.md").read_text(encoding="utf-8").split("\n## Five steps")[1].split("\n## ")[0]
    made, *others = _spoken_of(steps)
    asked = ("--town", "Roanoke, Virginia", "--last-frost", "nearest", "--bins", "A", "--variety")
    variety = re.search(r"`(1,[^`]+)`", steps)
    assert variety is not None
    assert run(*made, *asked, variety[1], cwd=tmp_path, noon_of="2027-01-05").status == 0  # in place of its answers

    for words in others:
        if "--example" in words or words[0] in ("serve", "import"):  # another nursery; never ends; needs a file
            continue
        day = "2027-02-02" if {"looked", "leaves"} & set(words) else "2027-01-05"
        ended = run(*words, cwd=tmp_path / made[1], noon_of=day)
        assert ended.status == 0, f"{words}\n{ended.stderr}"

    assert (tmp_path / made[1] / "calendar" / "everything.ics").is_file()


def test_every_question_of_readme_is_answered_on_the_example(tmp_path: Path) -> None:
    folder = copy_to(tmp_path)
    table = (HERE / "README.md").read_text(encoding="utf-8").split("| question | command |")[1].split("\n\n")[0]
    ran = [shlex.split(line)[1:] for name in CHAPTERS for line in fenced(chapter_text(name))]
    assert len(_spoken_of(table)) >= 18

    for words in [each for each in _spoken_of(table) if each not in ran]:
        ended = run(*words, cwd=folder, noon_of=DAY)
        assert (ended.status, bool(ended.stdout)) == (0, True), f"{words}\n{ended.stderr}"


# --- Links -------------------------------------------------------------------------------------------------------


def test_every_link_leads_somewhere() -> None:
    lost = [
        f"{page.name}: {target}"
        for page in LINKED
        for target in re.findall(r"\]\(([^)\s]+)\)", page.read_text(encoding="utf-8"))
        if not target.startswith(("http://", "https://", "#")) and not (page.parent / target.split("#")[0]).exists()
    ]

    assert lost == []


def test_readme_leads_to_every_chapter_and_is_read_in_five_minutes() -> None:
    text = (HERE / "README.md").read_text(encoding="utf-8")

    assert [name for name in CHAPTERS if f"(almanac/guide/{name}.md)" not in text] == []
    assert len(text.split()) <= 1050  # some 200 words a minute
    assert text.count("```") == 4  # two blocks, which `.ci/run` takes by their order


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

    assert list(told) == [field.alias or name for name, field in Settings.model_fields.items()]
    for key, field in Settings.model_fields.items():
        name, model = field.alias or key, _table(field.annotation)
        if model is None:
            continue
        heads = re.findall(r"^- ((?:`\w+`(?:, )?)+):", told[name], re.MULTILINE)
        items = re.split(r"^- ", told[name], flags=re.MULTILINE)[1:]
        keys = [key for head in heads for key in re.findall(r"`(\w+)`", head)]
        assert sorted(keys) == sorted(each.alias or key for key, each in model.model_fields.items()), name
        for key, each in model.model_fields.items():
            item = next(text for text in items if f"`{key}`" in text.split(":")[0])
            missing = [word for word in _must_say(each) if word not in " ".join(item.split())]
            assert missing == [] or "as of a bin" in item, f"[{name}] {key}"


def _must_say(field: FieldInfo) -> Iterator[str]:
    """The default that a key has, if it is plain, its choices, and the keys below it."""
    if isinstance(field.default, bool | int | str | list) and field.default not in ("", []):
        yield json.dumps(field.default)
    below = _table(field.annotation)
    if below is not None:
        yield from (f"`{each.alias or key}`" for key, each in below.model_fields.items())
    yield from (f'"{choice}"' for choice in _choices(field.annotation) if choice not in WEEKDAYS)


def _choices(annotation: Any) -> list[str]:
    """The words of which a value is one."""
    inner = get_args(annotation)
    if get_origin(annotation) is Literal:
        return [str(each) for each in inner]
    return [choice for each in inner for choice in _choices(each)]


def test_every_setting_that_a_chapter_shows_may_stand_in_a_file() -> None:
    models = [each for field in Settings.model_fields.values() if (each := _table(field.annotation))]
    models += [each for model in models for field in model.model_fields.values() if (each := _table(field.annotation))]
    wrong, names = [], {"width", *rulebook(None).supplies.supply}  # of a bag, in a rule file; what [supplies] may hold
    for name in CHAPTERS:
        text = re.sub(r"^```.*?^```$", "", chapter_text(name), flags=re.MULTILINE | re.DOTALL)
        for shown in re.findall(r"`(\w+\s=\s[^`…]+)`", text):
            ((key, value),) = tomllib.loads(" ".join(shown.split())).items()
            fields = [
                each for model in models for other, each in model.model_fields.items() if (each.alias or other) == key
            ]
            if key not in names and not any(_takes(field, value) for field in fields):
                wrong.append(f"{name}: {shown}")

    assert wrong == []


def _takes(field: FieldInfo, value: object) -> bool:
    annotated: Any = Annotated[(field.annotation, None, *field.metadata)]
    with contextlib.suppress(ValidationError, Miswritten):
        TypeAdapter[Any](annotated).validate_python(value)
        return True
    return False


def _table(annotation: Any) -> type[BaseModel] | None:
    """The table inside a list, an annotation or a choice."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    inner = [_table(each) for each in get_args(annotation) if each is not NoneType]
    return next((each for each in inner if each), None)
