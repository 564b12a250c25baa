"""From the day's context to everything that care asks for: the plain rules, then each programme in its order. Pure."""

from __future__ import annotations

from dataclasses import replace

from almanac.plan.care import plain
from almanac.plan.care.in_turn import in_turn
from almanac.plan.care.programmes import programmes
from almanac.plan.care.proposal import Proposal, combined
from almanac.plan.context.day import Context
from almanac.plan.model import Look, Task


def proposed(context: Context) -> Proposal:
    """Every task and every look of a nursery, lots in bench order, before they are settled on their days."""
    found = combined([plain.propose(context), *(each.propose(context) for each in programmes().values())])
    asked = (_waiting(context, task) for task in in_turn(found.tasks, context.as_of))
    tasks = (replace(task, part=part) if (part := _part(context, task)) else task for task in asked)
    looks = (replace(look, part=part) if (part := _part(context, look)) else look for look in found.looks)
    return replace(found, tasks=tuple(tasks), looks=tuple(looks))


def _waiting(context: Context, task: Task) -> Task:
    """A task for plants in pots of lots that all are still to be potted waits for that."""
    lots = [context.stock.lots.get(name) for name in task.lots]
    empty = all(lot is not None and "potted" not in lot.steps and lot.count("rooting") for lot in lots)
    if not lots or not empty or task.rule.while_in not in ("pot", "outside"):
        return task
    return replace(task, waits_for="potted")


def _part(context: Context, asked: Task | Look) -> str:
    """What holds the part of a lot that something is about, where others of the lot stand elsewhere."""
    lots = (asked.lot,) if isinstance(asked, Look) else asked.lots
    lot = context.stock.lots.get(lots[0]) if len(lots) == 1 and asked.rule.scope == "lot" else None
    stage = asked.rule.while_in or (asked.stage if isinstance(asked, Task) else None)
    if lot is None or stage in (None, "store") or not lot.count("rooting") or lot.count("rooting") == lot.total:
        return ""
    return context.around.book.methods[lot.method].container if stage == "rooting" else stage
