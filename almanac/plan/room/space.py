"""How much of each bin, of the lamps and of the room outside is taken on each day to come. Pure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import timedelta

from almanac.forecast.model import Milestone, Surroundings
from almanac.nursery.lots import Planned, Stock
from almanac.plan.demand import Demand, Stay
from almanac.plan.rest import Rest
from almanac.plan.room.placing import places_for, proposed, seats, stand_in_bins
from almanac.plan.room.stays import LAMPS, OUTSIDE, SHELTER, Place, stays_of, stays_of_planned
from almanac.plan.spaces import Room, Space, Where
from almanac.rulebook.models import Where as Kind

_LONGEST, _SHORTEST = 366, 28  # days ahead that are counted
_Stays = dict[Place, list[Stay]]


def space_of(
    stock: Stock,
    found: Mapping[str, Mapping[str, Milestone]],
    around: Surroundings,
    crops: Mapping[str, str],
    at_rest: Mapping[str, Rest],
) -> Space:
    """Every place from a day on. Linear in lots and days.

    Args:
        stock: the lots there are, and those to come
        found: each lot's milestones
        around: what milestones depend on
        crops: the crop of each variety, by number
        at_rest: by lot, the rest that it is in
    """
    stays: _Stays = {("bin", item.name): [] for item in around.settings.places}
    stays |= {(SHELTER, item.name): [] for item in around.settings.shelter} | {(LAMPS, ""): [], (OUTSIDE, ""): []}
    elsewhere: list[Stay] = []
    for lot in stock.lots.values():
        if lot.closed:
            continue
        for place, stay in stays_of(lot, found[lot.id], around, at_rest.get(lot.id)):
            if place == (SHELTER, ""):
                stays.setdefault(place, [])
            stays.get(place, elsewhere).append(stay)
    seated = []
    for planned in sorted(stock.to_come, key=lambda planned: (planned.day, planned.row)):
        crop = crops[planned.number]
        name = _bin_of_planned(planned, crop, stays, stock, around)
        seated.append((planned, name))
        for place, stay in stays_of_planned(planned, crop, name, around):
            stays.get(place, []).append(stay)
    first = around.as_of
    days = min(max(_reach(stays) - first.toordinal() + 1, _SHORTEST), _LONGEST)
    rooms = tuple(_rooms(stays, around, days))
    in_no_bin = sum(stay.number.most for stay in elsewhere)
    return Space(
        first=first, last=first + timedelta(days=days - 1), rooms=rooms, in_no_bin=in_no_bin, planned=tuple(seated)
    )


def _reach(stays: _Stays) -> int:
    """The day by which every move foreseen has come."""
    every = (move for here in stays.values() for stay in here for move in (stay.comes, stay.goes) if move)
    return max((move.full for move in every), default=0)


def _rooms(stays: _Stays, around: Surroundings, days: int) -> Sequence[Room]:
    first, settings = around.as_of.toordinal(), around.settings
    pots = {item.name: item.pots for item in settings.shelter}

    def room(place: Where, name: str, capacity: int | None, kind: Kind = "bin") -> Room:
        demand = Demand(first=first, days=days, stays=stays[place, name])
        return Room(place=place, bin=name, capacity=capacity, demand=demand, kind=kind)

    return [
        *(room("bin", item.name, item.bags, item.kind) for item in settings.places),
        room("lamps", "", settings.space.pots_under_light),
        room("outside", "", settings.space.pots_outside),
        *(room("shelter", name, pots.get(name)) for place, name in stays if place == SHELTER),
    ]


def _bin_of_planned(planned: Planned, crop: str, stays: _Stays, stock: Stock, around: Surroundings) -> str:
    """The bin a lot to come is taken to go to: as planned, or the one proposed on its day, else the best suited."""
    settings = around.settings
    method = around.method_for(crop)
    places = places_for(settings, around.book, method)
    if planned.bin or not places or not stand_in_bins(around.book, method):
        return planned.bin
    day = max(planned.day, around.as_of)

    def taken(name: str) -> int:
        return Demand(first=day.toordinal(), days=1, stays=stays["bin", name]).up_to(day)

    found = seats(places, stock.bins, around.book.crops[crop].base, taken)
    return (proposed(found, planned.count) or found[0]).bin
