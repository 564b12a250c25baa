"""The same job for several lots on the fewest good days: which lots share an entry, on which day. Pure.

A lot's span runs from its good day as far as the job may wait: as long as its rule lets one wait whose day is known,
and never past its latest day; or as long as the rule says that lots wait for each other (`group_days`). What may stay
on the day it was published for (`inertia`) has that day alone. The fewest days that meet every span are a set of
visits like any other (`visits`); a lot goes with the day published for it, else with the first of them in its span.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from datetime import date, timedelta

from almanac.nursery.workdays import Workdays
from almanac.plain import dataclass
from almanac.plan.agenda.visits import Span, Wants, visit_days
from almanac.plan.ids import EntryId
from almanac.plan.inertia import may_be_off
from almanac.plan.model import Task
from almanac.plan.past import Held

# The day of an entry, the group that a programme keeps apart from others, and the entry that goes on where it is.
_Shared = tuple[date, str, str]


@dataclass(frozen=True)
class SharedWindow:
    """Tasks of one rule on one day, and the entry to come that held most of them, if any did."""

    tasks: tuple[Task, ...]
    day: date
    entry: EntryId | None = None


def merged(
    tasks: Sequence[Task],
    coming: Mapping[EntryId, Held],
    own_name: Callable[[Sequence[Task]], EntryId],
    workdays: Workdays,
    as_of: date,
) -> list[SharedWindow]:
    """Put tasks of one rule together.

    Args:
        tasks: each lot's own, with its own window
        coming: by a lot's own task, the entry to come that was published for it, and its day
        own_name: what a group that goes on with no entry is called
        workdays: what the days are like
        as_of: no day before it is chosen where a window is still open
    """
    last_day = tasks[0].rule.kind == "deadline"
    spans = {task.id: _span(task, as_of) for task in tasks}
    together = _staying(tasks, spans, coming, workdays, as_of)
    held = {task.id for these in together.values() for task in these}
    rest = [task for task in tasks if task.id not in held]
    days = visit_days(
        Wants(sorted((spans[task.id] for task in rest), key=lambda span: (span.earliest, span.latest))),
        min((spans[task.id].earliest for task in rest), default=as_of),
        (lambda _: (False, False, False)) if last_day else workdays.rank,
        keep={day for _, day in coming.values()},
    )
    for task in rest:
        span = spans[task.id]
        day = next(day for day in days if span.earliest <= day <= span.latest)
        together.setdefault((day, task.group, ""), []).append(task)
    entries = _entries(together, coming, own_name)
    groups = []
    for found, these in sorted(together.items()):
        entry = entries.get(found)
        if last_day:
            day = min(task.due for task in these)
        elif found[2]:
            day = found[0]
        else:
            day = _good_day(these, [spans[task.id] for task in these], entry[1] if entry else None, workdays, as_of)
        groups.append(SharedWindow(tuple(these), day, entry[0] if entry else None))
    return groups


def _span(task: Task, as_of: date) -> Span:
    """The days on which a task may share an entry."""
    rule = task.rule
    opens, due, closes = rule.opens_day or 0, rule.due_day or 0, rule.closes_day or 0
    if rule.worked:
        opens, closes = due - (task.due - task.earliest).days, due + (task.latest - task.due).days
    if rule.kind == "deadline":
        sooner = rule.group_days if rule.group_days is not None else due - opens
        return Span(earliest=max(task.earliest, task.due - timedelta(days=sooner)), latest=task.due)
    good = max(task.due, as_of) if task.latest >= as_of else task.due
    waits = timedelta(days=rule.group_days if rule.group_days is not None else closes - due)
    until = task.due + waits if rule.group_days is not None else min(task.latest, task.due + waits)
    return Span(earliest=good, latest=max(good, until))


def _staying(
    tasks: Sequence[Task],
    spans: Mapping[EntryId, Span],
    coming: Mapping[EntryId, Held],
    workdays: Workdays,
    as_of: date,
) -> dict[_Shared, list[Task]]:
    """The entries that stay where they are: what may stay in them, and what may as well be done then.

    That is what was in them, and of the rest what is in no entry or cannot stay in its own.
    """
    told: dict[_Shared, list[Task]] = {}
    for task in tasks if tasks[0].rule.kind != "deadline" else ():
        if task.id in coming and _open_on(task, spans[task.id], coming[task.id][1], as_of):
            name, day = coming[task.id]
            told.setdefault((day, task.group, name), []).append(task)
    found: dict[_Shared, list[Task]] = {}
    for key, these in told.items():
        staying = _near(these, spans, key[0], workdays, as_of)
        if any(task.guessed for task in staying):
            found[key] = staying
    held = {task.id for these in found.values() for task in these}
    joining: list[tuple[_Shared, Task]] = []
    for task in tasks:
        span, own = spans[task.id], coming.get(task.id)
        if task.id in held or (own and span.earliest <= own[1] <= span.latest):
            continue
        inside = sorted(key for key in found if key[1] == task.group and span.earliest <= key[0] <= span.latest)
        joining += [(key, task) for key in inside[:1]]
    for key, task in joining:
        found[key].append(task)
    return found


def _open_on(task: Task, span: Span, day: date, as_of: date) -> bool:
    """Whether a task may be done on a day: in its span, or in its window where that hangs on a forecast."""
    in_window = task.guessed and max(task.earliest, as_of) <= day <= task.latest
    return in_window or span.earliest <= day <= span.latest


def _near(
    tasks: Sequence[Task], spans: Mapping[EntryId, Span], day: date, workdays: Workdays, as_of: date
) -> list[Task]:
    """Those of an entry that may stay on its day: near the one they would get together, or waiting for an act."""
    waiting = [task.id for task in tasks if _waits(task, day, workdays)]
    left = sorted((task for task in tasks if task.id not in waiting), key=lambda task: abs(task.due - day))
    while left:
        best = _good_day(left, [spans[task.id] for task in left], None, workdays, as_of)
        off = max(_off(task, day, as_of) for task in left)
        if best - off <= day <= best + off and workdays.rank(day) <= workdays.rank(best):
            break
        left.pop()
    stay = {*waiting, *(task.id for task in left)}
    return [task for task in tasks if task.id in stay]


def _waits(task: Task, day: date, workdays: Workdays) -> bool:
    """Whether a task that waits for an act that is late may do so on a day as good as any near it."""
    kept = task.guessed and task.milestone is not None and task.milestone.keeps(day, task.due)
    return kept and workdays.rank(day) <= workdays.rank(workdays.next(day))


def _off(task: Task, day: date, as_of: date) -> timedelta:
    return may_be_off(day, task.milestone.window if task.milestone else None, as_of) if task.guessed else timedelta(0)


def _good_day(
    tasks: Sequence[Task], spans: Sequence[Span], published: date | None, workdays: Workdays, as_of: date
) -> date:
    """The good day of the lot that comes last; the one published before while that is good enough for all."""
    due = max(span.earliest for span in spans)
    # One that waits for the others of its group, as its rule allows, does so no longer than it must.
    latest = min((task.latest for task in tasks if task.latest >= due), default=due)
    latest = max(
        due, min([latest, *(span.latest for span, task in zip(spans, tasks, strict=True) if task.latest < due)])
    )
    earliest = max([*(task.earliest for task in tasks), *([as_of] if latest >= as_of else [])])
    best = workdays.good_day(due, min(earliest, due), latest)
    if published is None or workdays.rank(published) > workdays.rank(best):
        return best
    open_then = all(span.earliest <= published <= span.latest for span in spans)
    return published if open_then and published <= best + max(_off(task, published, as_of) for task in tasks) else best


def _entries(
    together: Mapping[_Shared, Sequence[Task]],
    coming: Mapping[EntryId, Held],
    own_name: Callable[[Sequence[Task]], EntryId],
) -> dict[_Shared, Held]:
    """Which entry each group goes on with: the one that held most of its lots, or has its own name; each entry once."""
    shared = Counter((key, coming[task.id]) for key, tasks in together.items() for task in tasks if task.id in coming)

    def order(pair: tuple[_Shared, Held]) -> tuple[int, bool, int, Held]:
        key, (name, published) = pair
        return -shared[pair], name != own_name(together[key]), abs((key[0] - published).days), (name, published)

    chosen: dict[_Shared, Held] = {}
    for key, entry in sorted(shared, key=order):
        if key not in chosen and entry not in chosen.values():
            chosen[key] = entry
    return chosen
