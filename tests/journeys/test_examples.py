"""The example nurseries, as their READMEs tell a newcomer to run them: each is copied, read, planned and published."""

from __future__ import annotations

import json
import re
import shlex
import shutil
import tomllib
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from icalendar import Component

from almanac.nursery.varieties import read_varieties
from tests.command import stickdate
from tests.examples import EXAMPLES
from tests.feeds import entries_in
from tests.guide import plan_once

NAMES = sorted(folder.name for folder in EXAMPLES.iterdir() if (folder / "nursery.toml").is_file())
BLOCK = re.compile(r"^```sh\n(.*?)^```$", re.MULTILINE | re.DOTALL)

# Common practice: cuttings are potted for roots and never for leaves alone; a closed bag gets its first water, and is
# opened, when it has both; light is for leaves; plants go out once they have taken hold in their pots, stay out at
# night after days outside, and are sold and planted when they have stood out at night.
RESTS_ON = {
    "light": ("leaves",),
    "first_water": ("roots", "leaves"),
    "wean_loosen": ("roots", "leaves"),
    "pot_up": ("roots",),
    "uncover": ("potted",),
    "first_feed": ("potted",),
    "harden_out": ("potted",),
    "harden": ("set_out",),
    "harden_nights": ("set_out",),
    "offer_rooted": ("outside",),
    "plant_out": ("outside",),
}
OUTSIDE_AT_NIGHT = ("harden_nights", "offer_rooted", "plant_out")


@dataclass(frozen=True)
class Example:
    """A copy of an example: its folder, the commands of its README, and the day they stand on."""

    folder: Path
    commands: tuple[str, ...]
    as_of: date

    def run(self, *arguments: str) -> str:
        """Run a command on the copy; its exit status must be 0."""
        return stickdate("--nursery", self.folder, "--as-of", self.as_of, *arguments).stdout

    def json(self, *arguments: str) -> Any:
        """What a command says as JSON."""
        return json.loads(self.run("--json", *arguments))

    def entries(self, feed: str) -> list[Component]:
        """The entries of a feed, written anew."""
        self.run("calendar")
        return entries_in(self.folder / "calendar" / feed)

    def dated(self) -> Iterator[tuple[str, str, date]]:
        """Every job and window of the coming year, lot by lot: its rule, the lot, its day."""
        said = self.json("today", "--days", "366")
        for window in (*said["windows"], *said["coming"]):
            for lot in window["lots"]:
                yield window["id"].split(".")[1], lot, date.fromisoformat(window["due"])
        for each in said["rounds"]:
            for job in each["jobs"]:
                for lot in job["lots"]:
                    yield job["id"].split(".")[1], lot, date.fromisoformat(each["date"])

    def milestones(self) -> dict[tuple[str, str], date]:
        """The first day on which a milestone of a lot may be: as logged, else the early one of its forecast."""
        found = {}
        for lot in self.json("lots")["lots"]:
            for name, dates in lot["milestones"].items():
                day = dates.get("date") or dates.get("early")
                if day:
                    found[(lot["lot"], name)] = date.fromisoformat(day)
        return found


@pytest.fixture(autouse=True)
def _planned_once(monkeypatch: pytest.MonkeyPatch) -> None:
    plan_once(monkeypatch)


@pytest.fixture(params=NAMES)
def example(request: pytest.FixtureRequest, tmp_path: Path) -> Example:
    """Each example in turn, copied to where it may be written to."""
    name = request.param
    folder = tmp_path / name
    shutil.copytree(EXAMPLES / name, folder, ignore=shutil.ignore_patterns("calendar", "*.backup.csv", "*.lock"))
    blocks = BLOCK.findall((folder / "README.md").read_text(encoding="utf-8"))
    commands = tuple(line for block in blocks for line in block.splitlines() if line.strip())
    days = {word for command in commands for word in re.findall(r"--as-of (\S+)", command)}
    assert len(days) == 1, f"{name}/README.md stands on more than one day, or on none: {days}"
    return Example(folder, commands, date.fromisoformat(days.pop()))


def test_every_command_of_an_examples_readme_runs(example: Example) -> None:
    name = example.folder.name
    assert {"today", "lots", "calendar"} <= {word for command in example.commands for word in shlex.split(command)}

    for command in example.commands:
        program, *arguments = shlex.split(command.replace(f"examples/{name}", str(example.folder)))

        assert (program, arguments[:2]) == ("stickdate", ["--nursery", str(example.folder)])
        assert stickdate(*arguments).stdout.strip()


def test_an_example_has_no_fault_and_nothing_to_tell(example: Example) -> None:
    found = example.json("check")

    assert found["open_lots"] > 0
    dates_doubted = [notice for notice in found["notices"] if "forecasts do not learn from it" in notice]
    assert found["notices"] == dates_doubted
    assert bool(dates_doubted) == (example.folder.name == "millrace")  # which has a slip of the pen on purpose


# What shows something; `why` and `lots LOT` of one lot, and what is written to a file, stand in other tests.
SHOWN = (
    "today --days 14 --all --ids", "lots --closed", "season", "wood", "space", "chart", "strike", "site", "forsale",
    "order --all", "buy", "rules", "rules show fig", "rules check", "log --list", "calendar --text --months 1",
    "calendar", "keys renew", "guide frost",
)  # fmt: skip


def test_no_line_of_an_example_is_wider_than_a_terminal(example: Example) -> None:
    wide = [
        (words, line)
        for words in SHOWN
        for line in example.run(*words.split()).splitlines()
        if len(line) > 80 and not line.strip().startswith(str(example.folder))
    ]

    assert wide == []


def test_an_example_says_that_it_is_invented(example: Example) -> None:
    words = (example.folder / "README.md").read_text(encoding="utf-8")
    varieties, _ = read_varieties((example.folder / "varieties.csv").read_text(encoding="utf-8"), ["fig"])

    assert "Everything here is invented" in " ".join(words.split())
    assert all("invented" in variety.note for variety in varieties.values())


def test_every_lot_and_every_entry_of_an_example_can_be_asked_about(example: Example) -> None:
    said = example.json("today", "--days", "366")
    tasks = [task["id"] for task in (*said["windows"], *said["coming"], *said["overdue"])]
    rounds = [job["id"] for each in said["rounds"][:3] for job in (each, *each["looks"], *each["jobs"])]
    lots = [lot["lot"] for lot in example.json("lots")["lots"]]

    for name in dict.fromkeys((*tasks, *rounds)):
        assert example.run("why", name).strip()
    for name in lots:
        assert example.run("lots", name).startswith(f"{name}:")


def test_a_week_has_at_most_three_rounds_while_nothing_is_treated(example: Example) -> None:
    # Ours to keep: a person who works elsewhere can go to the bench three times a week. A treatment may ask for more.
    rounds = example.json("today", "--days", "366")["rounds"]
    rules = {each["id"]: {job["id"].split(".")[1] for job in each["jobs"]} for each in rounds}
    treated = {_week(each) for each in rounds if rules[each["id"]] & {"gnat_drench", "mould_treat"}}

    in_week = Counter(_week(each) for each in rounds)

    assert {week: number for week, number in in_week.items() if number > 3 and week not in treated} == {}


def test_thirty_lots_make_at_most_six_entries_a_week_at_the_bench(tmp_path: Path) -> None:
    # Ours to keep, on the example made for it: a calendar that a person can live with, whatever is being treated.
    folder = shutil.copytree(EXAMPLES / "osier-row", tmp_path / "osier-row", ignore=shutil.ignore_patterns("calendar"))
    thirty = Example(folder, (), date(2026, 2, 10))
    assert len(thirty.json("lots")["lots"]) == 30

    weeks = Counter(_day(entry).isocalendar()[:2] for entry in thirty.entries("bench.ics"))

    assert sum(weeks.values()) > 30
    # One week more has seven: three groups that were ready a week apart go out as they are, no longer all at once.
    assert sorted(weeks.values())[-2] <= 6
    assert max(weeks.values()) <= 7


def _day(entry: Component) -> date:
    start = entry.decoded("DTSTART")
    assert isinstance(start, date)
    return start.date() if isinstance(start, datetime) else start


def _week(each: Mapping[str, str]) -> tuple[int, int]:
    return date.fromisoformat(each["date"]).isocalendar()[:2]


def test_a_protected_variety_is_in_no_sales_entry(example: Example) -> None:
    lots = example.json("lots")["lots"]
    varieties, _ = read_varieties((example.folder / "varieties.csv").read_text(encoding="utf-8"), ["fig"])
    guarded = {number for number, variety in varieties.items() if variety.protected}
    names = [lot["lot"] for lot in lots if lot["number"] in guarded]

    for entry in example.entries("sales.ics"):
        text = f"{entry['SUMMARY']}\n{entry['DESCRIPTION']}"
        for name in (*names, *(varieties[number].name for number in guarded)):
            assert not re.search(rf"\b{re.escape(name)}\b", text), text


def test_no_entry_comes_before_what_it_rests_on(example: Example) -> None:
    milestones, known = example.milestones(), {rule["id"] for rule in example.json("rules")["tasks"]}
    assert set(RESTS_ON) <= known, "the table names a rule that is no more"

    early = [
        f"{lot} {rule} on {day}, {name} not before {milestones[(lot, name)]}"
        for rule, lot, day in example.dated()
        for name in RESTS_ON.get(rule, ())
        if (lot, name) in milestones and day < milestones[(lot, name)]
    ]

    assert early == []


def test_no_plant_stays_out_at_night_before_the_accepted_frost(example: Example) -> None:
    # The dates a grower has from a weather service stand in nursery.toml: after the 10 % one, a frost is accepted.
    settings = tomllib.loads((example.folder / "nursery.toml").read_text(encoding="utf-8"))
    spring = settings["frost"]["dates"].get("last_spring", {}).get("10%")
    assert settings["frost"]["accept"] == 0.10
    safe = date.fromisoformat(f"{example.as_of.year}-{spring}") if spring else example.as_of

    nights = [(rule, lot, day) for rule, lot, day in example.dated() if rule in OUTSIDE_AT_NIGHT]

    assert nights
    assert [night for night in nights if night[2] < safe] == []


def test_what_is_away_is_said_and_no_round_is_silently_put_there(example: Example) -> None:
    settings = tomllib.loads((example.folder / "nursery.toml").read_text(encoding="utf-8"))
    away = {
        stretch["from"] + timedelta(days=number)
        for stretch in settings["week"].get("away", [])
        for number in range((stretch["to"] - stretch["from"]).days + 1)
    }
    said = example.json("today", "--days", "366")

    there = {each["date"] for each in said["rounds"] if date.fromisoformat(each["date"]) in away}

    assert there == {warning["date"] for warning in said["warnings"] if warning["kind"] == "away"}


def test_the_example_of_the_readme_holds_what_it_tells_of() -> None:
    rows = (EXAMPLES / "quince-lane" / "logbook.csv").read_text(encoding="utf-8").splitlines()[1:]

    logged = Counter(row.split(",")[2] for row in rows)

    told = (
        "taken received stuck restuck potted moved mat lamp counted void rebagged mould gnats all_clear treated planned"
    )
    assert {what for what in told.split() if not logged[what]} == set()
    assert len({row.split(",")[0] for row in rows}) == len(rows)
