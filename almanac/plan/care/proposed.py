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
    asked = in_turn(found.tasks, context.as_of)
    tasks = (replace(task, part=part) if (part := _part(context, task)) else task for task in asked)
    looks = (replace(look, part=part) if (part := _part(context, look)) else look for look in found.looks)
    return replace(found, tasks=tuple(tasks), looks=tuple(looks))


def _part(context: Context, asked: Task | Look) -> str:
    """What holds the part of a lot that something is about, where others of the lot stand elsewhere."""
    lots = (asked.lot,) if isinstance(asked, Look) else asked.lots
    lot = context.stock.lots.get(lots[0]) if len(lots) == 1 and asked.rule.scope == "lot" else None
    stage = asked.rule.while_in or (asked.stage if isinstance(asked, Task) else None)
    if lot is None or stage in (None, "store") or not lot.count("rooting") or lot.count("rooting") == lot.total:
        return ""
    return context.around.book.methods[lot.method].container if stage == "rooting" else stage
