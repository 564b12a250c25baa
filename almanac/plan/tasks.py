"""From lots, their milestones and the rules to all tasks and looks, before they are gathered into rounds. Pure."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import date, timedelta

from almanac.forecast.model import Milestone
from almanac.plan.agenda.settle import settled, worth_telling
from almanac.plan.care.lot_tasks import add_for_lot
from almanac.plan.care.other_tasks import add_for_bin, for_crops, for_nursery, for_planned
from almanac.plan.care.programmes import (
    autumn,
    dormant_sale,
    for_sale,
    fungus_gnats,
    hardening,
    light,
    potted,
    potting,
    store,
    watering,
    weaning,
)
from almanac.plan.context.day import Context, is_act
from almanac.plan.model import Look, Task

# What each programme asks for, of the rules that are `worked`.
_PROGRAMMES: tuple[Callable[[Context, list[Task], list[Look]], None], ...] = (
    store.ask,
    dormant_sale.ask,
    for_sale.ask,
    fungus_gnats.ask,
    light.ask,
    weaning.ask,
    potting.ask,
    potted.ask,
    autumn.ask,
    watering.ask,
    hardening.ask,
)


def tasks_and_looks(context: Context) -> tuple[list[Task], list[Look]]:
    """Every task and every look of a nursery, lots in bench order."""
    tasks: list[Task] = []
    looks: list[Look] = []
    for lot in context.stock.lots.values():
        for rule in context.around.book.tasks_for(lot.method, lot.crop) if not lot.closed else ():
            if lot.resting and rule.while_in != "store":
                continue  # what rests wants nothing until it wakes, but for wood of it that lies in the store
            if rule.scope == "lot" and rule.after != "planned" and not rule.worked:
                add_for_lot(context, lot, rule, tasks, looks)
    rules = [rule for rule, _ in context.around.book.tasks().values() if not rule.worked]
    for rule in rules:
        if rule.scope == "bin":
            for name in context.stock.bins:
                add_for_bin(context, name, rule, tasks, looks)
        elif rule.scope == "crop":
            tasks += for_crops(context, rule)
        elif rule.scope == "nursery":
            tasks += for_nursery(context, rule)
        elif rule.after == "planned":
            tasks += [for_planned(context, planned, rule) for planned in context.stock.planned]
    for ask in _PROGRAMMES:
        ask(context, tasks, looks)
    told = [task for task in tasks if worth_telling(task, context.as_of)]
    windows = settled([task for task in told if not task.in_round], context)
    acts = {(lot, task.rule.logged_as): task.due for task in windows for lot in task.lots}
    jobs = settled([_not_before(task, acts) for task in told if task.in_round], context)
    return [*jobs, *windows], [_look_not_before(look, acts) for look in looks]


def _not_before(job: Task, acts: Mapping[tuple[str, str], date]) -> Task:
    """A small job that counts from an act to come, counted from the day on which that act is now planned."""
    late = _late(job.lots[0] if job.lots else "", job.counted_from, job.milestone, job.since, acts)
    if not late:
        return job
    return replace(
        job, earliest=job.earliest + late, due=job.due + late, latest=job.latest + late, since=job.since + late
    )


def _look_not_before(look: Look, acts: Mapping[tuple[str, str], date]) -> Look:
    late = _late(look.lot, look.counted_from, look.milestone, look.start, acts)
    return replace(look, start=look.start + late, end=look.end + late) if late else look


def _late(
    lot: str, act: str, milestone: Milestone | None, likely: date, acts: Mapping[tuple[str, str], date]
) -> timedelta:
    """How much later than likely an act is planned, as where lots wait for one another."""
    planned = acts.get((lot, act)) if milestone is not None and milestone.known is None and is_act(act) else None
    return max(planned - likely, timedelta(0)) if planned else timedelta(0)
