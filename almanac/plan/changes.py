"""What moved between two plans: by task, for a person who has just logged something. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from datetime import date

from almanac.plain import dataclass
from almanac.plan.ids import EntryId
from almanac.plan.model import Plan, Round, Task


@dataclass(frozen=True, kw_only=True)
class Moved:
    """A task whose day changed."""

    id: EntryId
    before: date
    after: date


@dataclass(frozen=True, kw_only=True)
class Changes:
    """Tasks and rounds that moved, came or went; `things` are they by id, those that went as they were."""

    moved: tuple[Moved, ...]
    added: tuple[EntryId, ...]
    removed: tuple[EntryId, ...]
    things: Mapping[EntryId, Task | Round] = field(default_factory=dict, compare=False)


def changes(before: Plan, after: Plan) -> Changes:
    """Compare two plans of one nursery."""
    old, new = _days(before), _days(after)
    moved = [
        Moved(id=name, before=old[name], after=day) for name, day in new.items() if name in old and old[name] != day
    ]
    added, removed = new.keys() - old.keys(), old.keys() - new.keys()
    there, gone = _things(after), _things(before)
    return Changes(
        moved=tuple(sorted(moved, key=lambda move: (move.after, move.id))),
        added=tuple(sorted(added)),
        removed=tuple(sorted(removed)),
        things={name: there[name] for name in (*(move.id for move in moved), *added)}
        | {name: gone[name] for name in removed},
    )


def _things(plan: Plan) -> dict[EntryId, Task | Round]:
    """By id each lot's own task, each task and each round."""
    own = {own.id: own for task in plan.tasks for own in task.own}
    return own | {task.id: task for task in plan.tasks} | {each.id: each for each in plan.rounds}


def _days(plan: Plan) -> dict[EntryId, date]:
    """Lot by lot, whichever entry a lot's task is in; the windows of a crop as one, whichever lots they are of."""
    of_crops = {task.id: task.due for task in plan.tasks if task.rule.scope == "crop"}
    tasks = of_crops | {own.id: task.due for task in plan.tasks if task.id not in of_crops for own in task.own}
    return tasks | {each.id: each.day for each in plan.rounds}
