"""What a number alone means where wood is stuck: its soundest of this winter, several lots where one is too few."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from almanac.faults import Fact, Refusal
from almanac.nursery.logbook import Row
from almanac.nursery.nursery import Nursery
from almanac.plan.wood.account import Wood, account_of, stored


def rows_of_number(nursery: Nursery, row: Row, number: str) -> list[Row]:
    """A row for each lot that cuttings are taken from; without a count the whole of the soundest one.

    Raises:
        Refusal: nothing of it is of this winter and still keeps, or not so many; past its time wood is stuck by its lot
    """
    row = replace(row, variety=number)
    account = account_of(nursery)
    here = [
        account.of_lot(lot)
        for lot in nursery.stock.lots.values()
        if lot.number == number.lstrip("0") and stored(lot) and lot.started <= row.day
    ]
    if not here:
        return [row]  # replaying it says why not
    sound = account.soundest(here, row.day)
    past = tuple(each.lot for each in here if each not in sound)
    if not sound:
        raise Refusal(Fact("only_old_wood", number=number, lots=past))
    if row.count is None or row.count <= sound[0].count or len(here) == 1:
        return [replace(row, lot=sound[0].lot)]
    there = sum(each.count for each in sound)
    if row.count > there:
        lots = tuple((each.lot, each.count) for each in sound)
        raise Refusal(Fact("too_few_of_number", number=number, there=there, lots=lots, past=past, count=row.count))
    return _shared_out(row, sound, row.count)


def _shared_out(row: Row, sound: Sequence[Wood], count: int) -> list[Row]:
    """So many from the soundest lot, the rest from the next; a lot planned is settled by the first."""
    rows: list[Row] = []
    for wood in sound:
        part = min(wood.count, count)
        if part:
            rows.append(replace(row, lot=wood.lot, count=part, refers="" if rows else row.refers))
        count -= part
    return rows
