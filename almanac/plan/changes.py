"""What moved between two plans: by task, for a person who has just logged something. Pure."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from almanac.plan.ids import EntryId
from almanac.plan.model import Plan


@dataclass(frozen=True)
class Moved:
    """A task whose day changed."""

    id: EntryId
    before: date
    after: date


@dataclass(frozen=True)
class Changes:
    """Tasks and rounds that moved, came or went."""

    moved: tuple[Moved, ...]
    added: tuple[EntryId, ...]
    removed: tuple[EntryId, ...]


def changes(before: Plan, after: Plan) -> Changes:
    """Compare two plans of one nursery."""
    old, new = _days(before), _days(after)
    moved = [Moved(name, old[name], day) for name, day in new.items() if name in old and old[name] != day]
    return Changes(
        tuple(sorted(moved, key=lambda move: (move.after, move.id))),
        tuple(sorted(new.keys() - old.keys())),
        tuple(sorted(old.keys() - new.keys())),
    )


def _days(plan: Plan) -> dict[EntryId, date]:
    """Lot by lot, whichever entry a lot's task is in; the windows of a crop as one, whichever lots they are of."""
    of_crops = {task.id: task.due for task in plan.tasks if task.rule.scope == "crop"}
    tasks = of_crops | {own.id: task.due for task in plan.tasks if task.id not in of_crops for own in task.own}
    return tasks | {each.id: each.day for each in plan.rounds}
