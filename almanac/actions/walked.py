"""What a round went through, as rows: a bin or all that stands anywhere, but the lots left out. Pure."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace

from almanac.faults import Fact, Nearest, Refusal, nearest
from almanac.nursery.events import NO_TROUBLE
from almanac.nursery.logbook import Row
from almanac.nursery.lots import Lot, lot_order
from almanac.nursery.nursery import Nursery


def rows_of_round(
    nursery: Nursery, base: Row, *, everything: bool, but: Sequence[str], signs: Collection[str] | None = None
) -> list[Row]:
    """Rows like `base`, without their ids: one for a bin gone through whole, else one for each lot.

    Args:
        nursery: whose lots are meant, as they stood on the row's day
        base: the row as asked for, with its bin where one was named
        everything: every bin, and every lot that stands elsewhere
        but: lots left out
        signs: the lots that were looked through for signs, too, where that is known; of any other that roots the look
            says no more than that there is no trouble
    Raises:
        Refusal: the options contradict each other, or a lot left out does not stand there
    """
    if base.event.target != "lots_or_bin":
        raise Refusal(Fact("not_of_bin", what=base.what))
    if everything and base.what != "looked":
        raise Refusal(Fact("only_looked_at_all", what=base.what))
    if everything and base.bin:
        raise Refusal(Fact("all_and_one_bin"))
    if not everything and not base.bin:
        raise Refusal(Fact("left_out_of_what", what=base.what, lot=but[0]))
    there = [lot for lot in nursery.on(base.day).stock.lots.values() if not lot.closed]
    if not everything:
        item = nursery.settings.bin_named(base.bin)
        there = [lot for lot in there if item and lot.bin == item.name]
    where = Fact("anywhere") if everything else Fact("in_bin", bin=base.bin)
    left_out = {_standing(name, there, where) for name in but}

    def looked(lot: Lot) -> Row:
        silent = signs is not None and lot.count("rooting") and lot.id not in signs
        return replace(base, lot=lot.id, bin="", value=NO_TROUBLE if silent else base.value)

    def one_by_one(lots: Sequence[Lot]) -> list[Row]:
        return [looked(lot) for lot in sorted(lots, key=lambda lot: lot_order(lot.id))]

    rows = []
    for bin_name in sorted({lot.bin for lot in there if lot.bin}):
        here = [lot for lot in there if lot.bin == bin_name]
        left = [lot for lot in here if lot.id not in left_out]
        alike = {looked(lot).value for lot in left}
        whole = left == here and len(alike) == 1
        rows += [replace(base, bin=bin_name, value=alike.pop())] if whole else one_by_one(left)
    rows += one_by_one([lot for lot in there if not lot.bin and lot.id not in left_out])
    if not rows:
        raise Refusal(Fact("none_left", where=where, day=base.day, what=base.what))
    return rows


def _standing(name: str, there: Sequence[Lot], where: Fact) -> str:
    """The id of a lot left out. Raises Refusal where it does not stand there."""
    ids = tuple(lot.id for lot in there)
    if name.lower() not in ids:
        near = nearest(name.lower(), ids)
        known = Fact("there_are", lots=ids) if ids and near == Nearest() else near
        raise Refusal(Fact("not_there_to_leave_out", lot=name, where=where, known=known))
    return name.lower()
