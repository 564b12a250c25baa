"""What is overdue: tasks past their latest day, and lots whose next sign is. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date, timedelta

from almanac.alike import together
from almanac.plain import dataclass
from almanac.plan.agenda.settle import let_go_on
from almanac.plan.ids import EntryId
from almanac.plan.model import Plan, Task
from almanac.words.dates import day
from almanac.words.tasks import kind_of, what_and_whom

_FORTNIGHT = timedelta(days=14)


@dataclass(frozen=True, kw_only=True)
class Overdue:
    """One thing that is late: what, of whom, since when in words; `task` is None where it is a sign that has not shown.

    `latest` is the day by which it was to be done, or nearly every lot would have shown it.
    """

    id: EntryId
    what: str
    whom: str
    since: str
    latest: date
    task: Task | None = None

    @property
    def kind(self) -> str:
        """What it is called together with others like it."""
        return kind_of(self.task) if self.task else self.what

    @property
    def title(self) -> str:
        return ": ".join(filter(None, (self.what, self.whom)))


def overdue(plan: Plan) -> Iterator[Overdue]:
    """Tasks first, the longest late in front; then lot by lot."""
    for task in plan.overdue():
        what, whom = what_and_whom(task)
        yield Overdue(
            id=task.id,
            what=what,
            whom=whom,
            since=_since(task.latest, plan) + _last_word(task, plan),
            latest=task.latest,
            task=task,
        )
    for lot, found in plan.milestones.items():
        for name, milestone in found.items():
            by = milestone.overdue_on
            if by and milestone.overdue(plan.as_of):
                yield Overdue(id=EntryId(lot, name), what=milestone.title, whom=lot, since=_since(by, plan), latest=by)


def alike(every: Iterable[Overdue]) -> Iterator[tuple[str, list[Overdue]]]:
    """The same of several lots together, and what it is called."""
    for kind, same in together(every, lambda each: each.kind).items():
        yield kind if len({each.what for each in same}) > 1 else same[0].what, same


def _last_word(task: Task, plan: Plan) -> str:
    """In the last fortnight that it is asked for, until when it is."""
    let_go = task.till or let_go_on(task)
    return f", asked till {day(let_go, plan.as_of)}" if let_go and let_go - plan.as_of <= _FORTNIGHT else ""


def _since(latest: date, plan: Plan) -> str:
    return f"since {day(latest, plan.as_of)}"
