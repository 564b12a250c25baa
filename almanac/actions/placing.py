"""Where bags go: a bin proposed where none is named, and no bin filled beyond its places unless the grower insists."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from almanac.faults import Refusal, listed
from almanac.nursery.load import Nursery
from almanac.nursery.logbook import LOT_ID, Row
from almanac.nursery.lots import Stock
from almanac.plan.placing import Placed, Seat, bags_in, proposed, seats, stand_in_bins
from almanac.units import temperature

NO_BIN = "none"  # said for --bin by those who root a lot where no bin is
_FILLS = ("stuck", "received", "taken", "restuck", "moved")


def with_bins(nursery: Nursery, rows: Sequence[Row], *, force: bool) -> tuple[list[Row], list[Placed]]:
    """The rows with a bin for each that sets bags to root and names none.

    Raises:
        Refusal: no bin has room for them that is warm enough
    """
    taken = {item.name: bags_in(nursery.stock.lots.values(), item.name) for item in nursery.settings.bin}
    out, placed = [], []
    for row in rows:
        named = nursery.settings.bin_named(row.bin) if row.bin else None
        if row.bin.lower() == NO_BIN and named is None and row.event.bin == "may":
            row = replace(row, bin="")
        elif not row.bin and taken and _number(row) in nursery.varieties and _wants_bin(nursery, row):
            crop, count = nursery.varieties[_number(row)].crop, _count(nursery, row)
            seat = _seat(nursery, crop, count, taken, force=force)
            row = replace(row, bin=seat.bin)
            placed.append(Placed(row.id, crop, replace(seat, free=seat.free - count)))
            taken[seat.bin] += count
        elif named and row.what in _FILLS:
            taken[named.name] += _count(nursery, row)
        out.append(row)
    return out, placed


def refuse_overfilling(nursery: Nursery, rows: Sequence[Row], after: Stock) -> None:
    """Refuse rows that put more bags into a bin than it has places for.

    Raises:
        Refusal: with the bin, its places, and what else there is
    """
    if not any(row.what in _FILLS for row in rows):
        return
    came_from = {nursery.stock.lots[row.lot].bin for row in rows if row.lot in nursery.stock.lots}
    for item in nursery.settings.bin:
        before, now = (bags_in(stock.lots.values(), item.name) for stock in (nursery.stock, after))
        if now > item.bags and now > before:
            found = _seats(nursery, nursery.varieties[_number(rows[0])].crop, {})
            others = [seat for seat in found if seat.bin not in {item.name, *came_from} and seat.free > 0]
            raise Refusal(
                f"bin {item.name} has {item.bags} places, {before} of them taken: {now - before} more do not fit; "
                f"{_free(nursery, others) or 'no other bin has room'}; log fewer, or add --force if they do stand there"
            )


def _wants_bin(nursery: Nursery, row: Row) -> bool:
    """Whether a row sets cuttings to root in bags that do not stand in a bin yet."""
    lot = nursery.stock.lots.get(row.lot)
    if row.what == "restuck":
        method = lot.method if lot else ""
        wants = lot is not None and not lot.bin
    elif row.what == "stuck":
        method, wants = row.value or (lot.method if lot else nursery.settings.nursery.method), True
    else:
        method, wants = nursery.settings.nursery.method, row.what in ("received", "taken") and row.stage == "rooting"
    return wants and method in nursery.book.methods and stand_in_bins(nursery.book, method)


def _number(row: Row) -> str:
    """The variety's number of the lot or variety that a row is about."""
    match = LOT_ID.fullmatch(row.lot)
    return match[1] if match else row.variety.lstrip("0")


def _count(nursery: Nursery, row: Row) -> int:
    """How many bags a row sets down."""
    if row.count is not None:
        return row.count
    lot = nursery.stock.lots.get(row.lot)
    if lot is None:
        return 0
    stages = [row.stage] if row.stage else ["rooting"] if row.what == "moved" else list(row.event.takes_from)
    return next((lot.count(stage) for stage in stages if lot.count(stage)), 0)  # type: ignore[arg-type]  # a stage each


def _seats(nursery: Nursery, crop: str, taken: dict[str, int]) -> list[Seat]:
    lots, bins = nursery.stock.lots.values(), nursery.settings.bin
    known = taken or {item.name: bags_in(lots, item.name) for item in bins}
    return seats(bins, nursery.stock.bins, nursery.book.crops[crop].base, lambda name: known[name])


def _seat(nursery: Nursery, crop: str, count: int, taken: dict[str, int], *, force: bool) -> Seat:
    found = _seats(nursery, crop, taken)
    seat = proposed(found, count)
    if seat is None and force:
        return found[0]
    if seat is None:
        cold = [other for other in found if other.pace <= 0 and other.free >= count]
        warm = [other for other in found if other.pace > 0 and other.free > 0]
        why = [_free(nursery, warm) or "none that is warm enough has any"]
        why += [f"{listed(f'bin {other.bin}' for other in cold)} is too cold or too hot for roots"] if cold else []
        raise Refusal(
            f"no bin has room for {count} where {crop} roots: {'; '.join(why)}; log fewer, pot up what is rooted, or "
            f"name where they stand: --bin BIN, with --force where it is full, or --bin {NO_BIN}"
        )
    return seat


def _free(nursery: Nursery, found: Sequence[Seat]) -> str:
    system = nursery.settings.nursery.units
    return listed(f"bin {seat.bin} ({temperature(seat.mat_c, system)}) has room for {seat.free}" for seat in found)
