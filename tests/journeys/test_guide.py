"""README and the guide are held against the program: chapters, commands and links, as they are read."""

from __future__ import annotations

import contextlib
import json
import re
import shlex
from pathlib import Path
from unittest.mock import patch

import click
import pytest

from almanac.actions.guide import CHAPTERS, chapters
from almanac.cli.main import cli
from tests.command import run, stickdate
from tests.guide import DAY, GUIDE, HERE, LINKED, PAGES, chapter_text, copy_to, fenced, plan_once


@pytest.fixture(autouse=True)
def _planned_once(monkeypatch: pytest.MonkeyPatch) -> None:
    plan_once(monkeypatch)


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
