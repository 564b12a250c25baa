"""From the day's context to everything that care asks for: the plain rules, then each programme in its order. Pure."""

from __future__ import annotations

from collections.abc import Sequence

from almanac.plain import replace
from almanac.plan.care import plain
from almanac.plan.care.in_turn import in_turn
from almanac.plan.care.programmes import programmes
from almanac.plan.care.proposal import Proposal, combined
from almanac.plan.context.day import Context
from almanac.plan.model import Look, Task

_AFTER_POTTING = ("pot", "outside")


def proposed(context: Context) -> Proposal:
    """Every task and every look of a nursery, lots in bench order, before they are settled on their days."""
    found = combined([plain.propose(context), *(each.propose(context) for each in programmes().values())])
    asked = (_waiting(context, task) for task in in_turn(found.tasks, context.workdays, context.as_of))
    tasks = (
        replace(task, part=part) if (part := _part(context, task)) else task
        for task in asked
        if not (task.in_round and task.waits_for and _late(context, task.lots))
    )
    looks = (replace(look, part=part) if (part := _part(context, look)) else look for look in found.looks)
    kinds = {item.name: item.kind for item in context.around.settings.places if item.kind != "bin"}
    return replace(
        found,
        tasks=tuple(replace(task, of_kind=kinds[task.bin]) if task.bin in kinds else task for task in tasks),
        looks=tuple(replace(look, of_kind=kinds[look.bin]) if look.bin in kinds else look for look in looks),
    )


def _waiting(context: Context, task: Task) -> Task:
    """A task for plants in pots of lots that all are still to be potted waits for that."""
    if task.rule.while_in not in _AFTER_POTTING or not _to_be_potted(context, task.lots):
        return task
    return replace(task, waits_for="potted")


def _to_be_potted(context: Context, names: Sequence[str]) -> bool:
    """Whether lots all are still in their bags or cells."""
    lots = [context.stock.lots.get(name) for name in names]
    return bool(lots) and all(lot and "potted" not in lot.steps and lot.count("rooting") for lot in lots)


def _late(context: Context, names: Sequence[str]) -> bool:
    """Whether lots should all be in pots by now and are not, so that no round asks for what is done to pots."""
    if not _to_be_potted(context, names):
        return False
    potted = (context.milestones[name].get("potted") for name in names)
    return all(each is not None and each.planned is not None for each in potted)


def _part(context: Context, asked: Task | Look) -> str:
    """What holds the part of a lot that something is about, where others of the lot stand elsewhere."""
    lots = (asked.lot,) if isinstance(asked, Look) else asked.lots
    lot = context.stock.lots.get(lots[0]) if len(lots) == 1 and asked.rule.scope == "lot" else None
    stage = asked.rule.while_in or (asked.stage if isinstance(asked, Task) else None)
    if lot is None or stage in (None, "store") or not lot.count("rooting") or lot.count("rooting") == lot.total:
        return ""
    return context.book.methods[lot.method].container if stage == "rooting" else stage
