"""One verdict a lot and day: what goes first where several things are asked of the same cuttings, and what waits. Pure.

A rule names in `waits_for` those that go before it. Its task waits while one of them is open for the same bags or pots
of a lot, seen and not only guessed; of two on one round only what goes first is told (`agenda.rounds`). A question is
put at the next bench day and holds up nothing after it: by then it is answered, or asked again weeks later.

Instead of an order of all rules: most never meet, and each pair is a judgement of the trade that can be read where it
stands.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta

from almanac.nursery.workdays import Workdays
from almanac.plan.model import Task

_DAY = timedelta(days=1)


def in_turn(tasks: Iterable[Task], workdays: Workdays, as_of: date) -> tuple[Task, ...]:
    """The same tasks, each after what it waits for."""
    asked = tuple(tasks)
    first: dict[str, list[Task]] = {}
    for task in asked:
        feared = task.rule.overdue and task.earliest > as_of  # it may still show in time
        if task.rule.scope == "lot" and not task.guessed and not feared and task.latest >= as_of:
            for lot in task.lots:
                first.setdefault(lot, []).append(_till_asked(task, workdays, as_of))
    return tuple(_after(task, first, as_of) if task.rule.waits_for else task for task in asked)


def _after(task: Task, first: Mapping[str, Sequence[Task]], as_of: date) -> Task:
    """A task put off past every other that goes first, as far as these overlap; it lasts as long as it would have."""
    ahead = [
        other
        for lot in task.lots
        for other in first.get(lot, ())
        if other.rule.id in task.rule.waits_for and same_cuttings(task, other)
    ]
    now = max(task.earliest, as_of)
    free = _free(now, ahead)
    earliest = free if free > now else task.earliest
    due = max(earliest, _free(task.due, ahead))
    if (earliest, due) == (task.earliest, task.due):
        return task
    return replace(task, earliest=earliest, due=due, latest=max(task.latest, due + (task.latest - task.due)))


def _till_asked(task: Task, workdays: Workdays, as_of: date) -> Task:
    """A question for no longer than until it is put, though it may be put for weeks."""
    if not task.rule.again_days:
        return task
    return replace(task, latest=min(task.latest, workdays.next(max(task.earliest, as_of))))


def _free(day: date, ahead: Sequence[Task]) -> date:
    """The first day from one on which nothing that goes first is open."""
    while here := [other.latest for other in ahead if other.earliest <= day <= other.latest]:
        day = max(here) + _DAY
    return day


def same_cuttings(one: Task, other: Task) -> bool:
    """Whether two tasks of a lot are about the same bags or pots."""
    stages = {task.stage or task.rule.while_in for task in (one, other)}
    return None in stages or len(stages) == 1
