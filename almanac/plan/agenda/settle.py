"""Tasks on their good days: lots together, what is over as it was published, what is stale left out. Pure.

A shared entry is named once: its id is that of its only lot, or crop, rule and the lot started first (`fig.pot_up.2b`),
and stays when lots join and leave; `X-STICKDATE-HOLDS` remembers whose it was. Its date would do for a name as well,
but not if the file is lost: then the oldest lot still gives the same name. An entry that is over is never touched: if
its task comes again on a later day it gets a new id with `~2`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import date, timedelta
from functools import partial

from almanac.forecast.interval import is_act
from almanac.nursery.events import EVENTS
from almanac.nursery.lots import lot_order
from almanac.plain import replace
from almanac.plan.agenda.merge import SharedWindow, merged
from almanac.plan.context.day import Context
from almanac.plan.ids import EntryId
from almanac.plan.model import Task
from almanac.plan.past import Held

_AGAIN = timedelta(days=6)  # what hangs on a sign not seen is not asked for again before a week is over

_LET_GO = timedelta(days=60)


def worth_telling(task: Task, as_of: date) -> bool:
    """Not what is past and was never more than a guess, nor a small job that is past its time."""
    if task.latest >= as_of or task.counted_from == "ordered":
        return True  # what was promised stays to be done
    loggable = task.rule.logged_as not in ("", "noted")
    kept_waiting = task.rule.kind == "window" and task.rule.scope != "crop" and loggable and not task.rule.lapses
    let_go = let_go_on(task)
    return task.rule.overdue or (kept_waiting and not unseen(task) and not (let_go and let_go <= as_of))


def unseen(task: Task) -> bool:
    """Whether what it waits for was not seen yet, and is nothing that the grower does: it may be asked for in vain."""
    return bool(task.waits_for) or (task.guessed and not is_act(task.counted_from))


def let_go_on(task: Task) -> date | None:
    """From when on what is late is asked for no more; None of what stays until it is logged.

    A lamp not set for two months was set without being logged, or is not wanted: the next setting will say. What is in
    store, in a bag or a pot is there until somebody says what became of it, and so is a trouble.
    """
    trouble = task.rule.after in EVENTS and EVENTS[task.rule.after].kind == "trouble"
    return task.latest + _LET_GO if task.rule.scope == "bin" and not trouble else None


def settled(tasks: Iterable[Task], context: Context) -> list[Task]:
    """Each task on its good day, lots of a crop with the same job together; what was published and is over as it was.

    An entry keeps its id when lots join and leave it: it is named once, after its lot, or after crop, job and the lot
    started first where it is for several; what comes again after it is over is another entry.
    """
    found: list[Task] = []
    over: dict[Held, list[Task]] = {}
    waiting: dict[tuple[str, str, str], list[Task]] = {}
    for task in tasks:
        if task.in_round:
            found.append(_small_job(task, context.as_of))
            continue
        gone = _over(task, context)
        if gone:
            over.setdefault(gone, []).append(task)
        else:
            own = task.rule.scope not in ("lot", "crop") or not task.lots
            alone = own or task.counted_from in ("planned", "ordered")
            key = ("", task.id, "") if alone else (task.crop, task.rule.id, task.step)
            waiting.setdefault(key, []).append(task)
    found += [_as_one(these, name, day) for (name, day), these in over.items()]
    groups: list[SharedWindow] = []
    for these in waiting.values():
        groups += merged(these, _coming(these, context), partial(_own_name, context), context.workdays, context.as_of)
    return [*found, *_named(groups, context)]


def _small_job(task: Task, as_of: date) -> Task:
    # What to look for in an overdue lot is told at the next round, however long ago it should have been.
    latest = as_of + timedelta(days=task.rule.closes_day or 0) if task.rule.overdue else task.latest
    return replace(task, latest=max(latest, task.latest))


def _over(task: Task, context: Context) -> Held | None:
    """The entry for it that is over, where the task is still the one that it was for."""
    gone = [held for held in context.past.holders.get(task.id, ()) if held[0] in context.past.entries]
    if not gone:
        return None
    last = max(gone, key=lambda held: (held[1], held[0]))
    due = context.workdays.good_day(task.due, task.earliest, task.latest)
    asked_again = last[1] + _AGAIN if task.guessed else last[1]
    return last if due <= asked_again or last[1] >= task.earliest else None


def _coming(tasks: Sequence[Task], context: Context) -> dict[EntryId, Held]:
    """By a lot's own task, the entry to come that was published for it."""
    found = {}
    for task in tasks:
        ahead = context.past.to_come(task.id)
        if ahead:
            found[task.id] = max(ahead, key=lambda held: (held[1], held[0]))
    return found


def _named(groups: Sequence[SharedWindow], context: Context) -> Iterator[Task]:
    """Each group as one task, with the id of the entry that it goes on with, or with a new one."""
    taken = set(context.past.entries) | {group.entry for group in groups if group.entry}
    for group in groups:
        name = group.entry
        if name is None:
            first = name = _own_name(context, group.tasks)
            number = 1
            while name in taken:
                number += 1
                name = first.again(number)
            taken.add(name)
        yield _as_one(group.tasks, name, group.day)


def _own_name(context: Context, tasks: Sequence[Task]) -> EntryId:
    if tasks[0].rule.scope == "crop":  # of its season, whichever lots it comes to be about
        return EntryId(tasks[0].crop, tasks[0].rule.id, tasks[0].step) if tasks[0].step else tasks[0].id
    if len(tasks) == 1:
        return tasks[0].id
    lots = context.stock.lots
    oldest = min((task.lots[0] for task in tasks), key=lambda lot: (lots[lot].started, lot_order(lot)))
    return EntryId(tasks[0].crop, tasks[0].rule.id, tasks[0].step, oldest)


def _as_one(tasks: Sequence[Task], name: EntryId, day: date) -> Task:
    """Tasks of one rule as one, dated by the lot that comes last, a deadline by the one that comes first."""
    deadline = tasks[0].rule.kind == "deadline"
    choose = min if deadline else max
    dating = choose(tasks, key=lambda task: (task.due, task.earliest))
    ordered = sorted(tasks, key=lambda task: lot_order(task.lots[0])) if len(tasks) > 1 else tasks
    # One that waits for the others of its group, as its rule allows, has the group's day for its latest.
    parts = tuple(replace(task, latest=max(task.latest, day)) if len(tasks) > 1 else task for task in ordered)
    latest = min(task.latest for task in parts)
    return replace(
        dating,
        id=name,
        lots=tuple(lot for task in parts for lot in task.lots),
        earliest=min(max(task.earliest for task in tasks), latest),
        due=day,
        latest=latest,
        bin=dating.bin if len({task.bin for task in tasks}) == 1 else "",
        count=sum(task.count for task in tasks),
        protected=tuple(lot for task in parts for lot in task.protected),
        parts=parts,
        waits_for=dating.waits_for if all(task.waits_for for task in tasks) else "",
    )
