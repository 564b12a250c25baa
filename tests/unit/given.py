"""What tests are given: a nursery from the lines its grower would log, its plan, and what is picked out of it.

A line is a date and then the words of `stickdate log`: `2027-01-05 received 7a --count 12 --stage rooting --bin A`.
All names and numbers of lots are invented.
"""

from __future__ import annotations

import csv
import io
import shlex
from collections.abc import Iterable
from dataclasses import replace
from datetime import UTC, date, datetime, time
from pathlib import Path

from almanac.nursery.events import EVENTS
from almanac.nursery.load import load_nursery
from almanac.nursery.logbook import COLUMNS, LOT_ID
from almanac.nursery.nursery import Nursery
from almanac.plan.build import build_plan
from almanac.plan.ids import EntryId
from almanac.plan.model import Look, Past, Plan, Round, Task
from almanac.site.nights import Nights

FROST = """[frost.dates]
threshold = "32 F"
last_spring = { "90%" = "04-04", "50%" = "04-17", "10%" = "04-30" }
first_autumn = { "10%" = "10-05", "50%" = "10-18", "90%" = "11-02" }"""
SOUTHERN_FROST = """[frost.dates]
threshold = "32 F"
last_spring = { "90%" = "10-04", "50%" = "10-17", "10%" = "10-30" }
first_autumn = { "10%" = "04-05", "50%" = "04-18", "90%" = "05-02" }"""
NO_FROST = """[frost.dates]
never = true"""
FROST_ALL_SUMMER = """[frost.dates]
threshold = "32 F"
last_spring = { "90%" = "07-20", "50%" = "07-28" }
first_autumn = { "50%" = "08-03", "90%" = "08-12" }"""
VARIETIES = """number,name,crop,source,protected
7,Copper Kettle,fig,,
8,Blue Ladder,fig,,
9,Tin Whistle,fig,,yes
"""
WEEK = 'bench_days = ["tue", "fri", "sun"]'


def bench(
    folder: Path,
    log: str,
    today: date,
    *,
    bins: Iterable[str] = ("A",),
    bags: int = 24,
    mat: str = "25 C",
    air: str = "20 C",
    light: str = "",
    frost: str = FROST,
    week: str = WEEK,
    sale: str = "",
    space: str = "",
    latitude: float = 37.3,
    longitude: float = -79.9,
    elevation: str = "0 m",
    timezone: str = "America/New_York",
    hardening: str = "",
    country: str = "US",
    varieties: str = VARIETIES,
    name: str = "Quince Lane (invented)",
    units: str = "metric",
    as_of: date | None = None,
) -> Nursery:
    """A nursery read from files as its grower would write them, on a day."""
    lamp = f"light = {light}\n" if light else ""
    named = "".join(f'[[bin]]\nname = "{name}"\nbags = {bags}\nmat = "{mat}"\nair = "{air}"\n{lamp}' for name in bins)
    (folder / "nursery.toml").write_text(
        f"""[nursery]
id = "0f5c2a52-9d0e-4f57-8f6b-6d9b3a4f1c11"
name = "{name}"
units = "{units}"
[site]
latitude = {latitude}
longitude = {longitude}
elevation = "{elevation}"
timezone = "{timezone}"
country = "{country}"
{frost}
{named}[week]
{week}
[sale]
{sale}
[space]
{space}
[hardening]
{hardening}
""",
        encoding="utf-8",
    )
    (folder / "varieties.csv").write_text(varieties, encoding="utf-8")
    (folder / "logbook.csv").write_text(logbook(log), encoding="utf-8")
    return load_nursery(folder, datetime.combine(today, time(17), UTC), as_of)


def moved(nursery: Nursery, latitude: float, nights: Nights, as_of: date) -> Nursery:
    """The same nursery at another place, with no country and so no holidays, on a day."""
    site = nursery.settings.site.model_copy(update={"latitude": latitude, "country": "", "region": ""})
    settings = nursery.settings.model_copy(update={"site": site})
    return replace(nursery, settings=settings, place=settings.place(), nights=nights, as_of=as_of)


def logbook(log: str) -> str:
    """The text of `logbook.csv` for lines as they were logged."""
    buffer = io.StringIO()
    writer = csv.DictWriter(buffer, COLUMNS, lineterminator="\n")
    writer.writeheader()
    for number, line in enumerate(filter(str.strip, log.splitlines()), 1):
        day, what, *rest = shlex.split(line)
        cells = {"id": f"r{number}", "date": day, "what": what}
        while rest:
            word = rest.pop(0)
            if word.startswith("--"):
                cells[word.removeprefix("--")] = rest.pop(0)
            elif LOT_ID.fullmatch(word):
                cells["lot"] = word
            else:
                cells["value" if EVENTS[what].target == "crop" else "variety"] = word
        writer.writerow(cells)
    return buffer.getvalue()


def task(plan: Plan, name: str) -> Task:
    """The one task of an id, its own or that of a lot in it."""
    [found] = [task for task in plan.tasks if name in (task.id, *(own.id for own in task.own))]
    return found


def has_task(plan: Plan, name: str) -> bool:
    """Whether a plan holds a task of an id, its own or that of a lot in it."""
    return any(name in (task.id, *(own.id for own in task.own)) for task in plan.tasks)


def of_rule(plan: Plan, rule: str) -> list[Task]:
    """The tasks of a rule, in the order of their ids."""
    return sorted((task for task in plan.tasks if task.rule.id == rule), key=lambda task: task.id)


def lines_of(each: Round) -> set[EntryId]:
    """The ids of a round's lines."""
    return {line.id for line in each.lines}


def published(plan: Plan, as_of: date) -> Past:
    """What a plan, published whole, will have left behind on a later day."""
    written = [task for task in plan.tasks if not task.in_round and task.due >= plan.as_of]
    own = {task.id: task.due for task in written}
    holders: dict[EntryId, tuple[tuple[EntryId, date], ...]] = {}
    for task in written:
        for each in task.own:
            holders[each.id] = (*holders.get(each.id, ()), (task.id, task.due))
    rounds = {each.day: frozenset(lines_of(each)) for each in plan.rounds}
    return Past(
        entries={name: day for name, day in own.items() if day < as_of}
        | {each.id: each.day for each in plan.rounds if each.day < as_of},
        rounds={day: lines for day, lines in rounds.items() if day < as_of},
        since=min(rounds, default=None),
        coming=frozenset(day for day in rounds if day >= as_of),
        holders=holders,
    )


def planned(nursery: Nursery, past: Past | None = None) -> Plan:
    """The plan of a nursery."""
    return build_plan(nursery, past or Past())


def look(plan: Plan, name: str) -> Look:
    """The one look of an id."""
    [found] = [look for look in plan.looks if look.id == name]
    return found
