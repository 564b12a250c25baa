"""What the plain rules ask for, whose days are counted: lot by lot, then of bins, crops, the nursery, lots to come."""

from __future__ import annotations

from collections.abc import Iterator
from typing import assert_never

from almanac.nursery.lots import Planned
from almanac.plan.care.plain.lots import for_lot
from almanac.plan.care.plain.others import for_bin, for_crops, for_nursery, for_planned
from almanac.plan.care.proposal import Proposal, combined
from almanac.plan.context.day import Context


def propose(context: Context) -> Proposal:
    """The tasks and looks of every rule that is not `worked`, lots in bench order."""
    return combined([*_of_lots(context), *_of_others(context)])


def _of_lots(context: Context) -> Iterator[Proposal]:
    for lot in context.stock.lots.values():
        for rule in context.book.tasks_for(lot.method, lot.crop) if not lot.closed else ():
            if context.asleep(lot) and rule.while_in != "store":
                continue  # what rests wants nothing until it wakes, but for wood of it that lies in the store
            if rule.scope == "lot" and rule.after != "planned" and not rule.worked:
                yield for_lot(context, lot, rule)


def _of_others(context: Context) -> Iterator[Proposal]:
    book, settings = context.book, context.around.settings
    of_method = {rule.id: method.id for method in book.methods.values() for rule in method.task}
    for rule, _ in book.tasks().values():
        if rule.worked:
            continue
        method = of_method.get(rule.id, "")
        match rule.scope:
            case "bin":
                kinds = {book.methods[method].place} if method else {"bin", "tray"}  # what is cared for under cover
                yield from (for_bin(context, item.name, rule) for item in settings.places if item.kind in kinds)
            case "crop":
                yield Proposal(tasks=tuple(for_crops(context, rule)))
            case "nursery":
                yield Proposal(tasks=tuple(for_nursery(context, rule)))
            case "lot" if rule.after == "planned":
                coming = (each for each in context.stock.to_come if method in ("", _way_of(context, each)))
                yield Proposal(tasks=tuple(for_planned(context, planned, rule) for planned in coming))
            case "lot":  # of lots that are there, by `_of_lots`
                pass
            case _:
                assert_never(rule.scope)


def _way_of(context: Context, planned: Planned) -> str:
    """How a lot to come is rooted: as the place it is planned for asks, else by its crop's usual method here."""
    return context.around.method_for(planned.crop, planned.bin)
