"""The command as it explains itself: help, where its options may stand, and the keys of what it prints as JSON."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import click
import pytest

from almanac.cli.main import COMMANDS, cli, command_of
from tests.command import in_python, stickdate
from tests.conftest import Writes

WINTER = """
2026-01-05 taken 1a --count 30
2026-01-10 stuck 1a --count 12 --bin A --refers 1b
2026-01-12 received 7a --count 4 --stage pot --value trade
"""
HEAVY = ("icalendar", "pydantic", "holidays", "astral", "almanac.plan", "almanac.nursery")


def commands() -> Iterator[tuple[str, click.Command]]:
    """Every command by the words that call it, those inside a group too."""
    context = click.Context(cli)
    for name in COMMANDS:
        command = cli.get_command(context, name)
        assert command is not None
        yield name, command
        if isinstance(command, click.Group):
            yield from ((f"{name} {inner}", below) for inner, below in command.commands.items())


@pytest.mark.parametrize(
    ("name", "command"), list(commands()), ids=lambda value: value if isinstance(value, str) else ""
)
def test_each_command_says_what_it_does_and_shows_one_example_that_calls_it(name: str, command: click.Command) -> None:
    first, _, rest = (command.help or "").partition("\n")

    assert first.endswith("."), f"{name}: its help starts with a sentence"
    assert rest.count("Example") == 1
    example = " ".join(rest.split("Example", 1)[1].split())
    assert f"stickdate {name}" in example or (name == "rules" and "stickdate rules" in example)
    for option in command.params:
        if isinstance(option, click.Option):
            assert option.help, f"{name} {option.opts[0]} says nothing"


@pytest.mark.parametrize("name", COMMANDS)
def test_the_list_of_commands_says_what_each_command_says_of_itself(name: str) -> None:
    first = (command_of(name).help or "").partition("\n")[0]
    _, short = COMMANDS[name]

    assert first.lower().startswith(short.lower().rstrip("."))


@pytest.mark.start
def test_help_lists_every_command_and_imports_nothing_it_does_not_need() -> None:
    told = stickdate("--help").stdout
    loaded = in_python(
        "import sys; from almanac.cli.main import cli\n"
        "try: cli(['--help'])\n"
        f"finally: print([name for name in {HEAVY!r} if name in sys.modules], file=sys.stderr)"
    )

    for name, (_, short) in COMMANDS.items():
        assert name in told
        assert short in told
    assert loaded.stderr.strip() == "[]"


@pytest.mark.start
def test_help_of_one_command_imports_nothing_it_does_not_need() -> None:
    for name in COMMANDS:
        loaded = in_python(
            "import sys; from almanac.cli.main import cli\n"
            f"try: cli([{name!r}, '--help'], prog_name='stickdate')\n"
            "finally: print([n for n in ('icalendar', 'pydantic', 'holidays') if n in sys.modules], file=sys.stderr)"
        )
        assert loaded.stderr.strip() == "[]", name
        assert loaded.stdout == stickdate(name, "--help").stdout  # started by itself, as here


@pytest.mark.start
def test_looking_at_the_day_reads_no_library_that_only_writing_or_other_countries_need(nursery: Writes) -> None:
    unwanted = ("filelock", "icalendar", "holidays.countries")
    words = ["--nursery", str(nursery(WINTER)), "--as-of", "2026-01-20", "today"]
    loaded = in_python(
        "import sys; from almanac.cli.main import cli\n"
        f"try: cli({words!r})\n"
        f"finally: print([name for name in {unwanted!r} if name in sys.modules], file=sys.stderr)"
    )

    assert loaded.stderr.strip() == "[]"


def test_the_shared_options_may_stand_before_or_after_the_command(nursery: Writes) -> None:
    folder = nursery(WINTER)
    before = stickdate("--nursery", folder, "--as-of", "2026-01-20", "--json", "today", "--days", "7")
    after = stickdate("today", "--days", "7", "--json", "--as-of", "2026-01-20", "--nursery", folder)
    inside = stickdate("--as-of", "2026-01-20", "--json", "today", "--days", "7", cwd=folder)

    assert json.loads(before.stdout)["as_of"] == "2026-01-20"
    assert before.stdout == after.stdout == inside.stdout


def test_what_stands_after_the_command_counts_over_what_stands_before(nursery: Writes) -> None:
    told = stickdate("--as-of", "2026-01-20", "today", "--as-of", "2026-01-25", "--json", "--nursery", nursery(WINTER))

    assert json.loads(told.stdout)["as_of"] == "2026-01-25"


def test_a_nursery_is_found_from_a_folder_below_it(nursery: Writes) -> None:
    folder = nursery(WINTER)
    below = folder / "photos" / "2026"
    below.mkdir(parents=True)

    told = stickdate("today", "--as-of", "2026-01-20", "--json", cwd=below)

    assert json.loads(told.stdout)["as_of"] == "2026-01-20"


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (["tody"], "'tody' is not a command; did you mean 'today'?"),
        (["today", "--as-of", "24.2.2026"], "--as-of '24.2.2026' is not a date; write it like 2026-02-24"),
        (["log"], "say what to log"),
    ],
)
def test_wrong_usage_says_what_would_be_right(arguments: list[str], message: str, nursery: Writes) -> None:
    told = stickdate("--nursery", nursery(WINTER), *arguments, code=2)

    assert message in told.stderr


def test_a_folder_that_is_no_nursery_is_said_in_one_line(tmp_path: Path) -> None:
    told = stickdate("today", cwd=tmp_path, code=1)

    assert told.stderr == (
        "stickdate: no nursery.toml here or above; go to the nursery's folder, say --nursery FOLDER, "
        "or make one: stickdate new FOLDER\n"
    )


# --- JSON: the keys others rely on -------------------------------------------------------------------------------


def answer(folder: Path, *arguments: str) -> dict[str, Any]:
    """The one object a command prints."""
    told = stickdate("--nursery", folder, "--as-of", "2026-01-20", "--json", *arguments).stdout
    found: dict[str, Any] = json.loads(told)
    return found


def test_today_as_json(nursery: Writes) -> None:
    found = answer(nursery(WINTER), "today", "--days", "30")

    assert found.keys() >= {"as_of", "rounds", "windows", "overdue", "warnings"}
    assert found["rounds"][0].keys() >= {"date", "minutes", "lots", "looks"}
    assert found["rounds"][0]["looks"][0].keys() >= {"id", "lot", "bin", "title"}
    assert found["windows"][0].keys() >= {"id", "title", "lots", "earliest", "due", "latest"}


def test_lots_as_json(nursery: Writes) -> None:
    found = answer(nursery(WINTER), "lots")["lots"]

    assert {lot["lot"] for lot in found} == {"1a", "1b", "7a"}
    for lot in found:
        assert lot.keys() >= {"lot", "number", "crop", "method", "counts", "milestones", "next", "status"}
        assert lot["counts"].keys() == {"store", "rooting", "pot", "outside"}
        for milestone in lot["milestones"].values():
            assert milestone is None or milestone.keys() >= {"date"} or milestone.keys() >= {"early", "likely", "late"}


def test_why_as_json(nursery: Writes) -> None:
    folder = nursery(WINTER)

    found = answer(folder, "why", "1b.light")

    assert found.keys() >= {"id", "rule", "lots", "from", "arithmetic", "conditions", "source"}
    assert found["from"].keys() >= {"milestone", "logged", "early", "likely", "late"}


def test_strike_as_json(nursery: Writes) -> None:
    folder = nursery(WINTER)

    shares = answer(folder, "strike")
    wanted = answer(folder, "strike", "--plants", "5", "--variety", "1")

    assert shares.keys() >= {"as_of", "rates", "outcomes"}
    assert shares["rates"][0].keys() >= {"crop", "method", "variety", "season", "rooted", "finished"}
    assert shares["rates"][0]["rooted"].keys() >= {"prior", "lots", "of", "struck", "mean", "low", "high"}
    assert shares["outcomes"][0].keys() >= {"lots", "stuck", "rooted", "finished", "taken", "missing", "settled"}
    assert wanted.keys() >= {"plants", "chance", "cuttings", "variety", "crop", "method", "arithmetic"}


def test_calendar_log_and_undo_as_json(nursery: Writes) -> None:
    folder = nursery(WINTER)

    calendar = answer(folder, "calendar")
    logged = answer(folder, "log", "leaves", "1b")
    undone = answer(folder, "undo")

    assert calendar.keys() >= {"written", "entries", "added", "moved", "removed"}
    assert [Path(path).name for path in calendar["written"]] == [
        "bench.ics", "seasons.ics", "sales.ics", "everything.ics",
    ]  # fmt: skip
    assert logged.keys() >= {"row", "moved", "added", "removed"}
    assert logged["moved"][0].keys() == {"id", "from", "to"}
    assert undone["row"]["refers"] == logged["row"]["id"]


@pytest.mark.parametrize(
    "arguments",
    [
        ("rules",),
        ("rules", "show", "pot_up"),
        ("rules", "check"),
        ("check",),
        ("log", "--list"),
        ("forsale",),
        ("order",),
    ],
)
def test_every_other_command_that_shows_something_prints_one_object(
    arguments: tuple[str, ...], nursery: Writes
) -> None:
    assert answer(nursery(WINTER), *arguments)
