"""A reading of a nursery with what is of one way of rooting alone: its places, or its lots to come and in hand."""

from __future__ import annotations

from dataclasses import replace

from almanac.actions.look import Reading
from almanac.faults import Fact, Refusal, nearest
from almanac.nursery.nursery import Nursery
from almanac.nursery.ways import method_for


def known_method(nursery: Nursery, method: str) -> None:
    """Refuse what is no method. Raises Refusal."""
    methods = nursery.book.methods
    if method not in methods:
        raise Refusal(Fact("not_in_rules", name=method, what="method", near=nearest(method, list(methods))))


def of_places(seen: Reading, method: str) -> Reading:
    """Of the places where cuttings root those of the method's kind. Raises Refusal."""
    known_method(seen.nursery, method)
    kind, space = seen.nursery.book.methods[method].place, seen.plan.space
    rooms = tuple(room for room in space.rooms if room.place != "bin" or room.kind == kind)
    return replace(seen, plan=replace(seen.plan, space=replace(space, rooms=rooms)))


def of_lots(seen: Reading, method: str) -> Reading:
    """Of lots to come and of those on their way to pots those rooted by the method. Raises Refusal."""
    known_method(seen.nursery, method)
    nursery, space = seen.nursery, seen.plan.space
    ways = {each.row: method_for(nursery.book, nursery.settings, each.crop, each.bin) for each in nursery.stock.to_come}
    planned = tuple(each for each in nursery.stock.to_come if ways[each.row] == method)
    lots = {name: lot for name, lot in nursery.stock.lots.items() if lot.method == method}
    kept = {each.row for each in planned} | lots.keys()
    rooms = tuple(
        replace(room, demand=room.demand.only(lambda stay: (stay.planned or stay.lot) in kept)) for room in space.rooms
    )
    stock = replace(nursery.stock, planned=planned, lots=lots, over=frozenset())
    return replace(
        seen, nursery=replace(nursery, stock=stock), plan=replace(seen.plan, space=replace(space, rooms=rooms))
    )
