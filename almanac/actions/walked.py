"""What a round went through, as rows: a bin or all that stands anywhere, but the lots left out. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from almanac.faults import Refusal, clipped, listed, suggestion
from almanac.nursery.logbook import Row
from almanac.nursery.lots import Lot, lot_order
from almanac.nursery.nursery import Nursery


def rows_of_round(nursery: Nursery, base: Row, *, everything: bool, but: Sequence[str]) -> list[Row]:
    """Rows like `base`, without their ids: one for a bin gone through whole, else one for each lot.

    Args:
        nursery: whose lots are meant, as they stood on the row's day
        base: the row as asked for, with its bin where one was named
        everything: every bin, and every lot that stands elsewhere
        but: lots left out
    Raises:
        Refusal: the options contradict each other, or a lot left out does not stand there
    """
    if base.event.target != "lots_or_bin":
        raise Refusal(f"{base.what} is not logged of a bin; name its lots one by one")
    if everything and base.what != "looked":
        raise Refusal(f"--all goes with looked alone; say --bin BIN, or name the lots for {base.what}")
    if everything and base.bin:
        raise Refusal("--all is every bin; leave out --bin, or --all")
    if not everything and not base.bin:
        raise Refusal(f"--except needs --bin or --all, such as: stickdate log {base.what} --bin A --except {but[0]}")
    stock, _ = replace(nursery, as_of=base.day).replayed(nursery.every_row)
    there = [lot for lot in stock.lots.values() if not lot.closed]
    if not everything:
        item = nursery.settings.bin_named(base.bin)
        there = [lot for lot in there if item and lot.bin == item.name]
    where = "anywhere" if everything else f"in bin {base.bin}"
    left_out = {_standing(name, there, where) for name in but}
    rows = []
    for bin_name in sorted({lot.bin for lot in there if lot.bin}):
        here = [lot for lot in there if lot.bin == bin_name]
        left = [lot for lot in here if lot.id not in left_out]
        rows += [replace(base, bin=bin_name)] if left == here else _one_by_one(base, left)
    rows += _one_by_one(base, [lot for lot in there if not lot.bin and lot.id not in left_out])
    if not rows:
        raise Refusal(f"no lot is left {where} on {base.day} to be logged as {base.what}")
    return rows


def _one_by_one(base: Row, lots: Sequence[Lot]) -> list[Row]:
    return [replace(base, lot=lot.id, bin="") for lot in sorted(lots, key=lambda lot: lot_order(lot.id))]


def _standing(name: str, there: Sequence[Lot], where: str) -> str:
    """The id of a lot left out. Raises Refusal where it does not stand there."""
    ids = [lot.id for lot in there]
    if name.lower() not in ids:
        known = suggestion(name.lower(), ids) or (f"; there are {listed(ids)}" if ids else "")
        raise Refusal(f"--except {clipped(name)}: there is no such lot {where}{known}")
    return name.lower()
