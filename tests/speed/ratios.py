"""How quick the commands are, as ratios to a floor on the same machine: `python tests/speed/ratios.py [TURNS]`.

The floor of a command is a fresh interpreter that imports what any such program must and writes as many entries as
`calendar` of the example; beside it stands one without pydantic, which no command needs that checks nothing. `--help`
is held against an import of click, `today` after five winters against `today` after one. Measured is CPU, of processes
that find their byte-code written, turn by turn, so that what else the machine does falls on floor and command alike:
told are the least of all turns and their ratio, and the ratios of single turns. What a command keeps from run to run it
keeps in a folder of this measurement; where "nothing kept" is said, it may not. For information: nothing fails here.
"""

from __future__ import annotations

import csv
import json
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from resource import RUSAGE_CHILDREN, getrusage
from statistics import quantiles

EXAMPLE = Path(__file__).parents[2] / "examples" / "quince-lane"
FLOOR = """\
import sys
from datetime import UTC, date, datetime, timedelta
import astral, click, holidays
from icalendar import Calendar, Event
from pydantic import BaseModel
class Line(BaseModel):
    name: str
calendar = Calendar()
calendar.add("prodid", "-//floor//EN")
calendar.add("version", "2.0")
for number in range(int(sys.argv[1])):
    event = Event()
    event.add("uid", str(number))
    event.add("dtstamp", datetime(2026, 1, 1, tzinfo=UTC))
    event.add("dtstart", date(2026, 1, 1) + timedelta(days=number))
    event.add("dtend", date(2026, 1, 2) + timedelta(days=number))
    event.add("summary", Line(name=f"Look through the bags {number}").name)
    event.add("description", "Words enough for an entry. " * 20)
    calendar.add_component(event)
calendar.to_ical()
"""
BARE = FLOOR.replace("from pydantic import BaseModel", "from typing import NamedTuple").replace(
    "BaseModel", "NamedTuple"
)
WINTERS, LAST_WINTER, WINTERS_AS_OF = EXAMPLE.parent / "millrace", "2025-08-01", "2026-02-19"
STICKDATE = [sys.executable, "-m", "almanac.cli.main"]
# What is measured finds its byte-code written, as an installed program does: the first turn, not counted, writes it.
ENVIRONMENT = {
    name: value for name, value in os.environ.items() if name not in ("PYTHONDONTWRITEBYTECODE", "STICKDATE_NO_CACHE")
}
MADE = ("calendar", "*.backup.csv")
NOTHING_KEPT = {"STICKDATE_NO_CACHE": "1"}  # as where the user has no folder for what is kept from run to run


@dataclass(kw_only=True)
class Measured:
    """A command, what it is held against, and the CPU seconds of its runs so far."""

    name: str
    command: list[str]
    floor: Measured | None = None
    wanted: float | None = None
    before: Callable[[], None] = lambda: None  # what must be put right before each run, unmeasured
    besides: Mapping[str, str] = field(default_factory=dict)  # in its environment
    taken: list[float] = field(default_factory=list)

    def run(self) -> None:
        self.before()
        start = getrusage(RUSAGE_CHILDREN)
        subprocess.run(self.command, check=True, capture_output=True, env={**ENVIRONMENT, **self.besides})
        end = getrusage(RUSAGE_CHILDREN)
        self.taken.append(end.ru_utime + end.ru_stime - start.ru_utime - start.ru_stime)

    def told(self) -> str:
        least = min(self.taken)
        if self.floor is None:
            low, _, high = quantiles(self.taken, n=4, method="inclusive")
            return f"{self.name}: {least * 1000:.0f} ms (half of the turns {low * 1000:.0f} to {high * 1000:.0f})"
        ratios = [ours / theirs for ours, theirs in zip(self.taken, self.floor.taken, strict=True)]
        low, middle, high = quantiles(ratios, n=4, method="inclusive")
        line = f"{self.name}: {least * 1000:.0f} ms, ratio {least / min(self.floor.taken):.2f}"
        line += f" (turn by turn {middle:.2f}, half of them {low:.2f} to {high:.2f})"
        return line + (f"; wanted: {self.wanted:g}" if self.wanted else "")


def last_winter(folder: Path) -> Path:
    """A copy of the nursery of many winters with only the lots of the last in its logbook."""
    nursery = folder / "one-winter"
    shutil.copytree(WINTERS, nursery, ignore=shutil.ignore_patterns(*MADE))
    with (nursery / "logbook.csv").open(encoding="utf-8", newline="") as stream:
        rows = list(csv.DictReader(stream))
    begun = {row["lot"] for row in rows if row["what"] == "taken" and row["date"] >= LAST_WINTER}
    kept = [row for row in rows if row["lot"] in begun or (row["bin"] and row["date"] >= LAST_WINTER)]
    with (nursery / "logbook.csv").open("w", encoding="utf-8", newline="") as stream:
        writer = csv.DictWriter(stream, rows[0].keys())
        writer.writeheader()
        writer.writerows(kept)
    return nursery


def all_measured(folder: Path) -> list[Measured]:
    """The floors and the commands, in the order of a turn, on copies of the examples."""
    kept, logged = folder / "kept", folder / "logged"
    shutil.copytree(EXAMPLE, kept, ignore=shutil.ignore_patterns(*MADE))
    as_of = max(line.split(",")[1] for line in (kept / "logbook.csv").read_text("utf-8").splitlines()[1:])

    def command(nursery: Path, *words: str, on: str = as_of) -> list[str]:
        return [*STICKDATE, "--nursery", str(nursery), "--as-of", on, *words]

    def forget() -> None:
        shutil.rmtree(kept / "calendar", ignore_errors=True)

    def put_back() -> None:
        shutil.rmtree(logged, ignore_errors=True)
        shutil.copytree(kept, logged)

    calendar = command(kept, "calendar", "--json")
    entries = json.loads(subprocess.run(calendar, check=True, capture_output=True, env=ENVIRONMENT).stdout)["entries"]
    floor = Measured(name=f"floor of {entries} entries", command=[sys.executable, "-c", FLOOR, str(entries)])
    bare = Measured(name="the same without pydantic", command=[sys.executable, "-c", BARE, str(entries)])
    click = Measured(name="import of click", command=[sys.executable, "-c", "import click"])
    one_winter = command(last_winter(folder), "today", on=WINTERS_AS_OF)

    def against(
        floor: Measured,
        name: str,
        command: list[str],
        wanted: float | None = None,
        before: Callable[[], None] | None = None,
    ) -> Measured:
        return Measured(name=name, command=command, floor=floor, wanted=wanted, before=before or (lambda: None))

    def cold(name: str, *words: str) -> Measured:
        return Measured(name=f"{name}, nothing kept", command=command(kept, *words), floor=floor, besides=NOTHING_KEPT)

    winter = against(floor, "today, one winter", one_winter)
    return [
        floor,
        bare,
        click,
        against(click, "--help", [*STICKDATE, "--help"], 2.0),
        against(floor, "today", command(kept, "today"), 1.5),
        against(floor, "lots", command(kept, "lots"), 1.5),
        against(floor, "why", command(kept, "why", "7a.pot_up"), 1.5),
        against(floor, "calendar, first time", calendar, before=forget),
        against(floor, "calendar, unchanged", calendar, 1.5),
        against(floor, "log looked", command(logged, "log", "looked", "--bin", "A"), 2.0, put_back),
        cold("today", "today"),
        cold("calendar, unchanged", "calendar", "--json"),
        against(floor, "check", command(kept, "check")),
        against(floor, "season", command(kept, "season")),
        winter,
        against(winter, "today, five winters, to one", command(WINTERS, "today", on=WINTERS_AS_OF), 1.5),
    ]


def main(turns: int) -> None:
    """Run all in turn, so many times and once before, and tell."""
    with tempfile.TemporaryDirectory() as folder:
        ENVIRONMENT["XDG_CACHE_HOME"] = str(Path(folder) / "cache")
        every = all_measured(Path(folder))
        for turn in range(turns + 1):
            for each in every:
                each.run()
                if turn == 0:
                    each.taken.clear()
    print(f"{EXAMPLE.name}, CPU, least of {turns} turns")
    for each in every:
        print(each.told())


if __name__ == "__main__":
    main(max(int(sys.argv[1]), 2) if len(sys.argv) > 1 else 9)
