"""Tasks on their good days: lots together, what is over as it was published, what is stale left out. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta

from almanac.nursery.lots import Lot, lot_order
from almanac.nursery.settings import WEEKDAYS
from almanac.plan.model import Task
from almanac.plan.scene import Scene, is_act
from almanac.plan.season_days import good_day


def grouped(tasks: Iterable[Task], lots: Mapping[str, Lot]) -> Iterator[Task]:
    """Lots of a crop whose tasks of one rule lie within its `group_days` share one task.

    It is dated by the last of them, a deadline by the first, and named after the lot started first, so that a lot that
    comes to it later renames nothing.
    """
    waiting: dict[tuple[str, str], list[Task]] = {}
    for task in tasks:
        if task.rule.group_days is None:
            yield task
        else:
            waiting.setdefault((task.crop, task.rule.id), []).append(task)
    for together in waiting.values():
        groups: list[list[Task]] = []
        for task in sorted(together, key=lambda task: (task.due, lot_order(task.lots[0]))):
            if groups and (task.due - groups[-1][0].due).days <= (task.rule.group_days or 0):
                groups[-1].append(task)
            else:
                groups.append([task])
        for group in groups:
            oldest = min((task.lots[0] for task in group), key=lambda name: (lots[name].started, lot_order(name)))
            yield _as_one(group, f"{oldest}.{group[0].rule.id}")


def _as_one(group: Sequence[Task], name: str) -> Task:
    choose = min if group[0].rule.kind == "deadline" else max
    last = choose(group, key=lambda task: (task.due, task.earliest))
    ordered = sorted(group, key=lambda task: lot_order(task.lots[0]))
    return replace(
        last,
        id=name,
        lots=tuple(lot for task in ordered for lot in task.lots),
        earliest=choose(task.earliest for task in group),
        latest=choose(task.latest for task in group),
        count=sum(task.count for task in group),
        protected=tuple(lot for task in ordered for lot in task.protected),
    )


def worth_telling(task: Task, as_of: date) -> bool:
    """Not what is past and was never more than a guess, nor a small job that is past its time."""
    if task.latest >= as_of:
        return True
    guessed = task.milestone is not None and task.milestone.known is None and not task.rule.overdue
    guessed = guessed and not is_act(task.counted_from)
    loggable = task.rule.logged_as not in ("", "noted")
    kept_waiting = task.rule.kind == "window" and task.rule.scope != "crop" and loggable and not task.rule.lapses
    return task.rule.overdue or (kept_waiting and not guessed)


def settled(task: Task, scene: Scene) -> Task:
    """The task on its good day; what was published and is over keeps its day, and what comes again is another entry."""
    settings, as_of = scene.around.settings, scene.as_of
    if task.in_round or task.rule.kind == "deadline":
        due = _post_day(task, scene) if task.rule.kind == "deadline" and task.feed == "sales" else task.due
        # What to look for in an overdue lot is told at the next round, however long ago it should have been.
        latest = as_of + timedelta(days=task.rule.closes_day or 0) if task.rule.overdue else task.latest
        return replace(task, due=due, latest=max(latest, task.latest))
    due = good_day(task.due, task.earliest, task.latest, settings)
    number, name = 1, task.id
    while name in scene.past.entries:
        over = scene.past.entries[name]
        if due <= over or over >= task.earliest:
            return replace(task, id=name, due=over)
        number += 1
        name = f"{task.id}~{number}"
    if due < as_of <= task.latest:
        due = good_day(as_of, as_of, task.latest, settings)
    return replace(task, id=name, due=due)


def _post_day(task: Task, scene: Scene) -> date:
    """The last day on which post goes, on or before a deadline."""
    from almanac.site.holidays import public_holidays  # it costs start-up time, and few plans need it

    settings = scene.around.settings
    post = {WEEKDAYS.index(day) for day in settings.week.post_days}
    first = task.due - timedelta(days=14)
    closed = public_holidays(scene.place.country, scene.place.region, first, task.due)
    for back in range(15):
        day = task.due - timedelta(days=back)
        if day.weekday() in post and day not in closed and not settings.is_away(day):
            return day
    return task.due
