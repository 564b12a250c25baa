"""What matters most on a day, in a few words: for the first line of a screen. Pure."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from datetime import date, timedelta
from itertools import islice

from almanac.plan.model import Line, Plan, Task
from almanac.words.dates import weekday
from almanac.words.lots import named
from almanac.words.overdue import Overdue, overdue
from almanac.words.tasks import about, pressing, title

_MOST = 3  # things that one line can hold


def next_visit(plan: Plan) -> date:
    """The day of the next round after today; a week on where none is planned."""
    return next((each.day for each in plan.rounds if each.day > plan.as_of), plan.as_of + timedelta(days=7))


def foremost(plan: Plan) -> str:
    """`Treat mould, no leaf yet: 5a; Last post: 1c by Wed 25 Feb`: troubles, then what is late, then what closes."""
    every = dict.fromkeys(_one_by_one(plan))
    more = len(every) - _MOST
    said = "; ".join(islice(every, _MOST))
    return said and f"{said}{f'; {more} more' if more > 0 else ''}."


def _one_by_one(plan: Plan) -> Iterator[str]:
    today = [each for each in plan.rounds if each.day == plan.as_of]
    jobs = [line for each in today for line in each.lines if line.task is not None]
    open_now = plan.windows_open()
    yield from _troubles(jobs)
    yield from (title(task) for task in open_now if pressing(task.rule))
    yield from _late(plan, {str(line.id) for line in jobs})
    if today:  # else what closes is the next thing on the screen
        closing = (task for task in open_now if task.latest < next_visit(plan) and not pressing(task.rule))
        yield from (_closing(task, plan.as_of) for task in closing)


def _troubles(jobs: Iterable[Line]) -> Iterator[str]:
    """What today's round has to treat, each trouble once with all it is on."""
    found: dict[str, list[str]] = {}
    for line in jobs:
        if pressing(line.rule):
            found.setdefault(_what(line), []).append(about(line) or f"bin {line.bin}")
    return (f"{what}: {', '.join(dict.fromkeys(whom))}" for what, whom in found.items())


def _late(plan: Plan, in_round: Collection[str]) -> Iterator[str]:
    """What is overdue and in no round, of a kind together, since the earliest of them."""
    found: dict[str, list[Overdue]] = {}
    for each in overdue(plan):
        if str(each.id) not in in_round:
            found.setdefault(each.kind, []).append(each)
    for kind, same in found.items():
        what = kind if len({each.what for each in same}) > 1 else same[0].what
        names = named([each.whom for each in same if each.whom], _MOST * 2)
        since = min(same, key=lambda each: each.latest).since
        yield f"{': '.join(filter(None, (what, names)))} overdue {since}"


def _what(line: Line) -> str:
    return line.task.rule.title.rstrip("?.") if line.task else line.rule.title


def _closing(task: Task, as_of: date) -> str:
    return f"{title(task)} {'today' if task.latest == as_of else f'by {weekday(task.latest, as_of)}'}"
