"""What follows from lots to come: each as the lot it will be once it is stuck on its day, and its windows. Pure.

A lot to come has the id that it would get if it were stuck now, so that its entries go on when it is. Only windows with
an entry of their own are told of it: looks and small jobs wait until it is there.

One whose day went by is taken to come four weeks later, and again; what is done outdoors moves days before the rest.

They are worked out in a context of such lots alone, as they must move nothing for those that are there.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta

from almanac.forecast.late import late_by, turn
from almanac.forecast.milestones import milestones
from almanac.forecast.model import Surroundings
from almanac.forecast.supposed import lot_stuck
from almanac.nursery.lots import Lot, Planned, lot_order, next_letter
from almanac.plan.agenda.dated import dated
from almanac.plan.care.proposed import proposed
from almanac.plan.context.day import Context
from almanac.plan.model import Task
from almanac.plan.wood.account import Account, account_in, stored

_FAR_FIRST = timedelta(days=4)
_OUTDOORS = ("set_out", "outside", "hardened")


def tasks_to_come(context: Context, planned: Sequence[tuple[Planned, str]]) -> list[Task]:
    """The windows of lots to come.

    Args:
        context: with the lots there are
        planned: each lot to come with the bin it is taken to go to
    """
    account, around = account_in(context), context.around
    lots = _lots(context.stock.lots, planned, around, account, turn("stuck", context.as_of))
    if not lots:
        return []
    found = {name: milestones(lot, around) for name, lot in lots.items()}
    sooner = turn("outdoors", context.as_of + _FAR_FIRST)
    for name, lot in _lots(context.stock.lots, planned, around, account, sooner).items():
        # Stuck later, the lot in store may not be sound any more, and the one to come has another name.
        if name in lots and lot.started != lots[name].started:
            found[name] |= {key: each for key, each in milestones(lot, around).items() if key in _OUTDOORS}
    stock = replace(context.stock, lots=lots, planned=())
    # Windows of crops are those of the lots there are, and costly: none are asked for.
    then = replace(context, stock=stock, milestones=found, shipments=(), at_rest={}, crops=())
    tasks, _ = dated(proposed(then), then)
    taken = {lot.bin for lot in context.stock.lots.values() if lot.bin}
    return [
        replace(task, to_come=True)
        for task in tasks
        if not task.in_round
        and task.latest >= context.as_of
        and (task.rule.scope == "lot" or (task.rule.scope == "bin" and task.bin not in taken))
    ]


def _lots(
    there: Mapping[str, Lot],
    planned: Sequence[tuple[Planned, str]],
    around: Surroundings,
    account: Account,
    as_of: date,
) -> dict[str, Lot]:
    """Lots to come by the ids that they would get, in the order in which they come."""
    letters: dict[str, str] = {}
    for lot in sorted(there.values(), key=lambda lot: lot_order(lot.id)):
        letters[lot.number] = lot_order(lot.id)[2]
    found: dict[str, Lot] = {}
    for each, bin_name in sorted(planned, key=lambda item: (item[0].day, item[0].row)):
        day, method = each.day + late_by(each.day, as_of), around.method_for(each.crop, bin_name)
        name = _stuck_whole(each, day, there, found, account)
        if name is None:
            letters[each.number] = next_letter(letters.get(each.number, ""))
            name = f"{each.number}{letters[each.number]}"
        lot = lot_stuck(each.crop, each.count, day, bin_name, method, number=each.number, protected=each.protected)
        found[name] = replace(lot, id=name)
    return found


def _stuck_whole(
    planned: Planned, day: date, there: Mapping[str, Lot], taken: Collection[str], account: Account
) -> str | None:
    """The stored lot that would be stuck, where that is the whole of it: it keeps its id."""
    here = [account.of_lot(lot) for lot in there.values() if lot.number == planned.number and stored(lot)]
    soundest = next(iter(account.soundest(here, day)), None)
    if soundest is None or soundest.lot in taken or there[soundest.lot].total != planned.count:
        return None
    return soundest.lot
