"""What a round went through, as rows: a bin or all that stands anywhere, but the lots left out. Pure."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
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
    _refuse_contradiction(base, everything=everything, but=but)
    there = [lot for lot in nursery.on(base.day).stock.lots.values() if not lot.closed]
    item = nursery.settings.bin_named(base.bin)
    if not everything:
        there = [lot for lot in there if item and lot.bin == item.name]
    where = Fact("anywhere") if everything else Fact("in_bin", bin=base.bin, kind=item.kind if item else "bin")
    left_out = {_standing(name, there, where) for name in but}
    rows = [
        row
        for name in sorted({lot.bin for lot in there if lot.bin})
        for row in _of_bin(name, there, left_out, base, signs)
    ]
    rows += _in_order(_looked(lot, base, signs) for lot in there if not lot.bin and lot.id not in left_out)
    if not rows:
        raise Refusal(Fact("none_left", where=where, day=base.day, what=base.what))
    return rows


def _refuse_contradiction(base: Row, *, everything: bool, but: Sequence[str]) -> None:
    if base.event.target != "lots_or_bin":
        raise Refusal(Fact("not_of_bin", what=base.what))
    if everything and base.what != "looked":
        raise Refusal(Fact("only_looked_at_all", what=base.what))
    if everything and base.bin:
        raise Refusal(Fact("all_and_one_bin"))
    if not everything and not base.bin:
        raise Refusal(Fact("left_out_of_what", what=base.what, lot=but[0]))


def _of_bin(
    name: str, there: Sequence[Lot], left_out: Collection[str], base: Row, signs: Collection[str] | None
) -> list[Row]:
    """One row for a bin gone through whole and alike; else one for each lot of it."""
    here = [lot for lot in there if lot.bin == name]
    rows = [_looked(lot, base, signs) for lot in here if lot.id not in left_out]
    values = {row.value for row in rows}
    whole = len(rows) == len(here) and len(values) == 1
    return [replace(base, bin=name, value=values.pop())] if whole else _in_order(rows)


def _looked(lot: Lot, base: Row, signs: Collection[str] | None) -> Row:
    """The row of one lot, which says nothing of signs where it roots and was not looked through for them."""
    silent = signs is not None and lot.count("rooting") and lot.id not in signs
    return replace(base, lot=lot.id, bin="", value=NO_TROUBLE if silent else base.value)


def _in_order(rows: Iterable[Row]) -> list[Row]:
    return sorted(rows, key=lambda row: lot_order(row.lot))


def _standing(name: str, there: Sequence[Lot], where: Fact) -> str:
    """The id of a lot left out. Raises Refusal where it does not stand there."""
    ids = tuple(lot.id for lot in there)
    if name.lower() not in ids:
        near = nearest(name.lower(), ids)
        known = Fact("there_are", lots=ids) if ids and near == Nearest() else near
        raise Refusal(Fact("not_there_to_leave_out", lot=name, where=where, known=known))
    return name.lower()
