"""What is overdue: tasks past their latest day, and lots whose next sign is. Pure."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from almanac.plan.ids import EntryId
from almanac.plan.model import Plan, Task
from almanac.words.dates import day
from almanac.words.milestones import forecast
from almanac.words.tasks import title


@dataclass(frozen=True)
class Overdue:
    """One thing that is late, and since when in words; `task` is None where it is a sign that has not shown.

    `latest` is the day by which it was to be done, or nearly every lot would have shown it.
    """

    id: EntryId
    title: str
    since: str
    latest: date
    task: Task | None = None


def overdue(plan: Plan) -> Iterator[Overdue]:
    """Tasks first, the longest late in front; then lot by lot."""
    for task in plan.overdue():
        yield Overdue(task.id, title(task), f"since {day(task.latest, plan.as_of)}", task.latest, task)
    for lot, found in plan.milestones.items():
        for name, milestone in found.items():
            if milestone.overdue_on and milestone.overdue(plan.as_of):
                said = forecast(milestone, plan.as_of)
                yield Overdue(EntryId(lot, name), f"{milestone.title}: {lot}", said, milestone.overdue_on)
