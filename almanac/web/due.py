"""What a day asks, as the bench page shows it: lines of its round, windows open, by lot. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from almanac.nursery.events import EVENTS
from almanac.plain import dataclass
from almanac.plan.model import Line, Plan, Round, Task
from almanac.rulebook.models import TaskRule
from almanac.words.dates import day
from almanac.words.derivation import rule_of, rule_of_line
from almanac.words.tasks import about, event_of, lots_of_line, minutes, title


@dataclass(frozen=True, kw_only=True)
class Due:
    """One thing to look for or do; `late` says that its day has passed."""

    id: str
    title: str
    how: str = ""
    checklist: tuple[str, ...] = ()
    when: str = ""
    late: bool = False
    event: str = ""
    lots: str = ""


class Asked:
    """What a day asks, found by lot once: for each lot the lines of the day's round and the windows open.

    `signs` are the lots that its round looks through for roots and leaves, and not for trouble alone.
    """

    def __init__(self, plan: Plan, lines: Sequence[Line] = ()) -> None:
        self.due: dict[str, list[Due]] = {}
        self.signs: set[str] = set()
        for line in lines:
            for name in lots_of_line(line):
                self.due.setdefault(name, []).append(of_line(line, plan))
                self.signs |= {name} if line.look and _looks_for_signs(line.rule) else set()
        self.windows = plan.windows_open()
        for task in self.windows:
            for name in task.lots if task.rule.scope == "lot" else ():
                self.due.setdefault(name, []).append(of_task(task, plan, of_lot=True))


def round_today(plan: Plan) -> Round | None:
    """The round of the day planned from."""
    return next((each for each in plan.rounds if each.day == plan.as_of), None)


def round_lines(plan: Plan) -> Sequence[Line]:
    """The lines of today's round; none where there is none."""
    today = round_today(plan)
    return today.lines if today else ()


def _looks_for_signs(rule: TaskRule) -> bool:
    """Whether a look at what roots waits for a sign, or follows one; one that ends on a day of its own does not."""
    signs = [name for name in (rule.after, *rule.until) if name in EVENTS and EVENTS[name].kind == "sign"]
    return rule.while_in == "rooting" and rule.last_day is None and bool(signs)


def of_line(line: Line, plan: Plan) -> Due:
    """A line of a round, as the page shows it."""
    rule = rule_of_line(line)
    return _due(line.id, rule, rule.title, line.late_since, plan, about(line))


def of_task(task: Task, plan: Plan, *, of_lot: bool = False) -> Due:
    """A window as the page shows it; `of_lot` on the card of one of its lots."""
    rule = rule_of(task)
    return _due(task.id, rule, rule.title if of_lot else title(task), task.latest, plan, ", ".join(task.lots))


def _due(name: str, rule: TaskRule, said: str, latest: date | None, plan: Plan, lots: str) -> Due:
    return Due(
        id=name,
        title=said,
        how=rule.how,
        checklist=tuple(rule.checklist),
        when=f"by {day(latest, plan.as_of)}" if latest else "",
        late=latest is not None and latest < plan.as_of,
        event=event_of(rule),
        lots=lots,
    )


def of_round(each: Round) -> Due:
    """A round to come, as one thing of its day."""
    return Due(id=each.id, title=f"Bench round, {minutes(each)} min", lots=", ".join(each.lots))
