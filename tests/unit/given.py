"""What is picked out of a plan, and the plan that comes after it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

from almanac.nursery.nursery import Nursery
from almanac.plan.ids import EntryId
from almanac.plan.model import Look, Plan, Round, Task
from almanac.plan.past import Past
from almanac.site.nights import Nights
from tests.kept_plans import kept_plan


def moved(nursery: Nursery, latitude: float, nights: Nights, as_of: date) -> Nursery:
    """The same nursery at another place, with no country and so no holidays, on a day."""
    site = replace(nursery.settings.site, latitude=latitude, country="", region="")
    settings = replace(nursery.settings, site=site)
    return replace(nursery, settings=settings, place=settings.place(), nights=nights, as_of=as_of)


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
    rounds = {
        each.day: frozenset(line.id for line in each.lines if line.task is not None or each.is_part or not line.bin)
        for each in plan.rounds
    }
    return Past(
        entries={name: day for name, day in own.items() if day < as_of}
        | {each.id: each.day for each in plan.rounds if each.day < as_of},
        rounds={day: lines for day, lines in rounds.items() if day < as_of},
        since=min(rounds, default=None),
        coming={day: lines for day, lines in rounds.items() if day >= as_of},
        holders=holders,
    )


def planned(nursery: Nursery, past: Past | None = None) -> Plan:
    """The plan of a nursery."""
    return kept_plan(nursery, past or Past())


def look(plan: Plan, name: str) -> Look:
    """The one look of an id."""
    [found] = [look for look in plan.looks if look.id == name]
    return found


def longest_and_first(look: Look) -> tuple[timedelta, date]:
    """How long a look may wait after the last, and the latest day for the first, by its rule alone."""
    every, first = look.rule.every_days or 0, look.rule.first_day or 0
    longest = look.rule.longest_days or every
    latest = max(first + longest - every, longest) if longest > every else first
    return timedelta(days=longest), look.start + timedelta(days=latest)
