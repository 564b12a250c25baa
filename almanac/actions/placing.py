"""Where bags go: a bin proposed where none is named, and no bin filled beyond its places unless the grower insists."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from almanac.faults import Fact, Refusal
from almanac.nursery.logbook import LOT_ID, Row
from almanac.nursery.lots import Stock
from almanac.nursery.nursery import Nursery
from almanac.plan.room.placing import Placed, Seat, bags_in, places_for, proposed, seats, stand_in_bins

NO_BIN = "none"  # said for --bin by those who root a lot where no bin is
_FILLS = ("stuck", "received", "taken", "restuck", "moved")  # not a stocktake: what was counted is there


def with_bins(nursery: Nursery, rows: Sequence[Row], *, force: bool) -> tuple[list[Row], list[Placed]]:
    """The rows with a bin for each that sets bags to root and names none.

    Raises:
        Refusal: no bin has room for them that is warm enough
    """
    taken = _taken(nursery, nursery.stock)
    out, placed = [], []
    for row in rows:
        if row.bin.lower() == NO_BIN and row.event.bin == "may" and not nursery.settings.bin_named(NO_BIN):
            row = replace(row, bin="")
        elif not row.bin and taken and _number(row) in nursery.varieties and _wants_bin(nursery, row):
            crop, count = nursery.varieties[_number(row)].crop, _count(nursery, row)
            seat = _seat(nursery, crop, _method(nursery, row), count, taken, force=force)
            row = replace(row, bin=seat.bin)
            placed.append(Placed(row=row.id, crop=crop, seat=replace(seat, free=seat.free - count)))
            taken[seat.bin] += count
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
    earlier, later = _taken(nursery, nursery.stock), _taken(nursery, after)
    for item in nursery.settings.places:
        before, now = earlier[item.name], later[item.name]
        if now > item.bags and now > before:
            lots = [lot for lot in after.lots.values() if lot.bin == item.name]
            found = _seats(nursery, nursery.varieties[_number(rows[0])].crop, lots[-1].method, later)
            others = [seat for seat in found if seat.bin not in {item.name, *came_from} and seat.free > 0]
            free = _free(nursery, others) or Fact("no_other_bin", kind=item.kind)
            raise Refusal(
                Fact(
                    "bin_full",
                    bin=item.name,
                    kind=item.kind,
                    places=item.bags,
                    taken=before,
                    more=now - before,
                    free=free,
                )
            )


def _wants_bin(nursery: Nursery, row: Row) -> bool:
    """Whether a row sets cuttings to root in bags that do not stand in a bin yet."""
    lot, method = nursery.stock.lots.get(row.lot), _method(nursery, row)
    if row.what == "restuck":
        wants = lot is not None and not lot.bin
    else:
        wants = row.what == "stuck" or (row.what in ("received", "taken") and row.stage == "rooting")
    known = method in nursery.book.methods and stand_in_bins(nursery.book, method)
    return wants and known and bool(places_for(nursery.settings, nursery.book, method))


def _method(nursery: Nursery, row: Row) -> str:
    """How what a row sets down is rooted."""
    lot = nursery.stock.lots.get(row.lot)
    if row.what == "restuck":
        return lot.method if lot else ""
    if row.what == "stuck" and row.value:
        return row.value
    if row.what == "stuck" and lot:
        return lot.method
    usual, variety = nursery.settings.nursery.method, nursery.varieties.get(_number(row))
    return nursery.book.method_for(variety.crop, usual) if variety else usual


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


def _taken(nursery: Nursery, stock: Stock) -> dict[str, int]:
    """How many bags stand in each bin."""
    return {item.name: bags_in(stock.lots.values(), item.name) for item in nursery.settings.places}


def _seats(nursery: Nursery, crop: str, method: str, taken: Mapping[str, int]) -> list[Seat]:
    warmth, places = nursery.book.crops[crop].base, places_for(nursery.settings, nursery.book, method)
    return seats(places, nursery.stock.bins, warmth, lambda name: taken[name])


def _seat(nursery: Nursery, crop: str, method: str, count: int, taken: Mapping[str, int], *, force: bool) -> Seat:
    """The bin for so many of a crop. Raises Refusal where there is none, unless the grower insists."""
    found = _seats(nursery, crop, method, taken)
    seat = proposed(found, count) or (found[0] if force else None)
    if seat is not None:
        return seat
    free = _free(nursery, [each for each in found if each.pace > 0 and each.free > 0])
    why = free or Fact("no_bin_where_they_root")
    cold = tuple(
        Fact("bin_named", bin=each.bin, kind=each.kind) for each in found if each.pace <= 0 and each.free >= count
    )
    if cold:
        why = Fact("some_bins_too_cold", why=why, bins=cold)
    kind = nursery.book.methods[method].place
    raise Refusal(Fact("no_bin_has_room", count=count, crop=crop, kind=kind, why=why))


def _free(nursery: Nursery, found: Sequence[Seat]) -> Fact | None:
    return Fact("free_bins", seats=tuple(found), units=nursery.units) if found else None
