"""What the plain rules ask for, whose days are counted: lot by lot, then of bins, crops, the nursery, lots to come."""

from __future__ import annotations

from collections.abc import Iterator

from almanac.plan.care.plain.lots import for_lot
from almanac.plan.care.plain.others import for_bin, for_crops, for_nursery, for_planned
from almanac.plan.care.proposal import Proposal, combined
from almanac.plan.context.day import Context


def propose(context: Context) -> Proposal:
    """The tasks and looks of every rule that is not `worked`, lots in bench order."""
    return combined([*_of_lots(context), *_of_others(context)])


def _of_lots(context: Context) -> Iterator[Proposal]:
    for lot in context.stock.lots.values():
        for rule in context.around.book.tasks_for(lot.method, lot.crop) if not lot.closed else ():
            if context.asleep(lot) and rule.while_in != "store":
                continue  # what rests wants nothing until it wakes, but for wood of it that lies in the store
            if rule.scope == "lot" and rule.after != "planned" and not rule.worked:
                yield for_lot(context, lot, rule)


def _of_others(context: Context) -> Iterator[Proposal]:
    for rule, _ in context.around.book.tasks().values():
        if rule.worked:
            continue
        if rule.scope == "bin":
            yield from (for_bin(context, name, rule) for name in context.stock.bins)
        elif rule.scope == "crop":
            yield Proposal(tuple(for_crops(context, rule)))
        elif rule.scope == "nursery":
            yield Proposal(tuple(for_nursery(context, rule)))
        elif rule.after == "planned":
            yield Proposal(tuple(for_planned(context, planned, rule) for planned in context.stock.planned))
