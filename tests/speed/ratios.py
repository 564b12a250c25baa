"""How quick the commands are, as ratios to a floor on the same machine: `python tests/speed/ratios.py [RUNS]`.

The floor of `calendar` is a fresh interpreter that imports what any such program must and writes as many entries; that
of `--help` one that imports click; `today` after five winters is held against `today` after one. Both are run in turn,
and medians compared. For information: nothing fails here.
"""

from __future__ import annotations

import csv
import json
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path
from statistics import median
from time import perf_counter

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
WINTERS, LAST_WINTER = EXAMPLE.parent / "millrace", "2025-08-01"
STICKDATE = [sys.executable, "-m", "almanac.cli.main"]


def seconds(command: list[str]) -> float:
    """How long a command runs, from outside [s]."""
    start = perf_counter()
    subprocess.run(command, check=True, capture_output=True)
    return perf_counter() - start


def compare(name: str, floor: list[str], ours: list[str], target: float, runs: int, fresh: Path | None = None) -> None:
    """Run both in turn and print the medians [ms], their ratio and the ratio wanted; `fresh` is deleted before ours."""
    floors, found = [], []
    for _ in range(runs):
        floors.append(seconds(floor))
        if fresh:
            shutil.rmtree(fresh, ignore_errors=True)
        found.append(seconds(ours))
    low, high = median(floors), median(found)
    print(f"{name}: {high * 1000:.0f} ms, floor {low * 1000:.0f} ms, ratio {high / low:.2f} (wanted: {target:g})")


def last_winter(folder: Path) -> Path:
    """A copy of the nursery of many winters with only the lots of the last in its logbook."""
    nursery = folder / "nursery"
    shutil.copytree(WINTERS, nursery, ignore=shutil.ignore_patterns("calendar", "*.backup.csv"))
    with (nursery / "logbook.csv").open(encoding="utf-8", newline="") as stream:
        rows = list(csv.DictReader(stream))
    begun = {row["lot"] for row in rows if row["what"] == "taken" and row["date"] >= LAST_WINTER}
    kept = [row for row in rows if row["lot"] in begun or (row["bin"] and row["date"] >= LAST_WINTER)]
    with (nursery / "logbook.csv").open("w", encoding="utf-8", newline="") as stream:
        writer = csv.DictWriter(stream, rows[0].keys())
        writer.writeheader()
        writer.writerows(kept)
    return nursery


def main(runs: int) -> None:
    """Measure `calendar` with no feeds yet, again on the same day, `today` after many winters, and `--help`."""
    with tempfile.TemporaryDirectory() as folder:
        nursery = Path(folder) / "nursery"
        shutil.copytree(EXAMPLE, nursery, ignore=shutil.ignore_patterns("calendar", "*.backup.csv"))
        last = max(line.split(",")[1] for line in (nursery / "logbook.csv").read_text("utf-8").splitlines()[1:])
        calendar = [*STICKDATE, "--nursery", str(nursery), "--as-of", last, "calendar", "--json"]
        entries = json.loads(subprocess.run(calendar, check=True, capture_output=True).stdout)["entries"]
        floor = [sys.executable, "-c", FLOOR, str(entries)]
        print(f"{EXAMPLE.name}, {entries} entries, {runs} runs each")
        compare("calendar, first time", floor, calendar, 2.5, runs, nursery / "calendar")
        compare("calendar, unchanged", floor, calendar, 2.5, runs)
    with tempfile.TemporaryDirectory() as folder:
        one = last_winter(Path(folder))
        today = ["--as-of", "2026-02-19", "today"]
        floor = [*STICKDATE, "--nursery", str(one), *today]
        compare("today, five winters", floor, [*STICKDATE, "--nursery", str(WINTERS), *today], 1.5, runs)
    compare("--help", [sys.executable, "-c", "import click"], [*STICKDATE, "--help"], 2.0, runs)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 9)
