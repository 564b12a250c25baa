"""The same job for several lots on the fewest good days: which lots share an entry, on which day. Pure.

A lot's span runs from its good day as far as the job may wait: as long as its rule lets one wait whose day is known,
and never past its latest day; or as long as the rule says that lots wait for each other (`group_days`). The fewest days
that meet every span are a set of visits like any other (`visits`); a lot goes with the first of them in its span.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from almanac.nursery.workdays import Workdays
from almanac.plan.agenda.visits import Span, Wants, visit_days
from almanac.plan.ids import EntryId
from almanac.plan.model import Task

# A group published before stays where it is while forecasts move by no more than this: they do so from day to day.
CALM = timedelta(days=2)
Held = tuple[EntryId, date]
_Shared = tuple[date, str]  # the day of an entry, and the group that a programme keeps apart from others


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
    published = {day for _, day in coming.values()}
    days = visit_days(
        Wants(sorted(spans.values(), key=lambda span: (span.earliest, span.latest))),
        min(span.earliest for span in spans.values()),
        (lambda _: (False, False, False)) if last_day else workdays.rank,
        keep=published,
    )
    together: dict[_Shared, list[Task]] = {}
    for task in tasks:
        span = spans[task.id]
        day = next(day for day in days if span.earliest <= day <= span.latest)
        together.setdefault((day, task.group), []).append(task)
    entries = _entries(together, coming, own_name)
    groups = []
    for found, these in sorted(together.items()):
        entry = entries.get(found)
        if last_day:
            day = min(task.due for task in these)
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
        return Span(max(task.earliest, task.due - timedelta(days=sooner)), task.due)
    good = max(task.due, as_of) if task.latest >= as_of else task.due
    waits = timedelta(days=rule.group_days if rule.group_days is not None else closes - due)
    until = task.due + waits if rule.group_days is not None else min(task.latest, task.due + waits)
    return Span(good, max(good, until))


def _stays(task: Task, span: Span, day: date, as_of: date) -> bool:
    """Whether a task may stay on a day published before: one in its span, or near it where a forecast moved."""
    if span.earliest <= day <= span.latest:
        return True
    forecast = task.milestone is not None and task.milestone.known is None
    return forecast and max(task.earliest, span.earliest - CALM, as_of) <= day <= min(task.latest, span.latest + CALM)


def _good_day(
    tasks: Sequence[Task], spans: Sequence[Span], published: date | None, workdays: Workdays, as_of: date
) -> date:
    """The good day of the lot that comes last; the one published before while that is as good."""
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
    moved = due + CALM if any(task.guessed for task in tasks) else due
    until = max(best, workdays.good_day(moved, moved, max(moved, latest)))
    stays = all(_stays(task, span, published, as_of) for task, span in zip(tasks, spans, strict=True))
    return published if stays and published <= until else best


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
