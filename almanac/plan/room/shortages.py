"""Where the room will not do: from the space on each day to warnings, and the day the calendar tells of each. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from itertools import count, takewhile

from almanac.nursery.lots import lot_order
from almanac.nursery.workdays import Workdays
from almanac.plan.ids import EntryId
from almanac.plan.model import PlanWarning
from almanac.plan.past import Past
from almanac.plan.spaces import Lack, Place, Room, Shortage, Space

NOTICE = timedelta(days=14)  # how long before the first lack it is told: two weekends
_WEEK = timedelta(days=7)  # so much room enough in between makes two shortages of one
_THERE = 0.1  # the chance of standing there from which a lot is named
_KINDS: dict[str, Lack] = {
    "bin": "bin_full",
    "lamps": "lamps_full",
    "outside": "outside_full",
    "shelter": "shelter_full",
}


def shortages(space: Space, workdays: Workdays, past: Past) -> Iterator[PlanWarning]:
    """A warning for every stretch of days on which a place does not suffice with nine chances in ten.

    Args:
        space: what is taken on each day; a place whose capacity the nursery does not say is never short
        workdays: bench days, for the day to tell of it
        past: what has been told already
    """
    for room in space.rooms:
        base = EntryId.of_room(_KINDS[room.place], room.bin)
        names = (base.again(number) for number in count(1))
        over = [past.entries[name] for name in takewhile(past.entries.__contains__, names)]
        for number, days in enumerate(_stretches(room, space), len(over) + 1):
            day = _as_told(base.again(number), _telling(days[0], over, workdays, space.first), days[0], past)
            yield _warning(room, space, days, base.again(number), day)


def _as_told(name: EntryId, day: date | None, first: date, past: Past) -> date | None:
    """The day that was published for a shortage, while it is before it and no week off: room is told by likely days."""
    told = max((told for _, told in past.to_come(name)), default=None)
    stays = day is not None and told is not None and told < first and abs(told - day) < _WEEK
    return told if stays else day


def _stretches(room: Room, space: Space) -> list[list[date]]:
    """The days on which a room does not suffice, those less than a week apart together."""
    found: list[list[date]] = []
    if room.capacity is None:
        return found
    for day in space.days():
        if room.demand.most(day) > room.capacity and room.demand.up_to(day) > room.capacity:
            if found and day - found[-1][-1] <= _WEEK:
                found[-1].append(day)
            else:
                found.append([day])
    return found


def _warning(room: Room, space: Space, days: list[date], name: EntryId, told_on: date | None) -> PlanWarning:
    demand, places = room.demand, room.capacity or 0
    worst = max(days, key=lambda day: (demand.up_to(day), demand.expected(day)))
    lacking = demand.up_to(worst) - places
    there = [stay for stay in demand.stays if stay.chance(worst.toordinal()) >= _THERE]
    coming = {stay.planned for stay in there}
    lots = sorted({stay.lot for stay in there if not stay.planned}, key=lot_order)
    return PlanWarning(
        kind=_KINDS[room.place],
        day=days[0],
        lots=tuple(lots),
        places=(Place(room.kind, room.bin),) if room.place == "bin" else (),
        shortage=Shortage(
            room=room,
            until=days[-1],
            open_ended=days[-1] == space.last,
            expected=min(max(round(max(demand.expected(day) for day in days)) - places, 0), lacking),
            up_to=lacking,
            planned=tuple(planned for planned, _ in space.planned if planned.row in coming),
            elsewhere=tuple(_elsewhere(room, space, days)),
            id=name,
            told_on=told_on,
        ),
    )


def _elsewhere(room: Room, space: Space, days: list[date]) -> Iterator[tuple[str, int]]:
    """Other bins of its kind with room all the while, and how much."""
    every_day = [day for day in space.days() if days[0] <= day <= days[-1]]
    for other in space.rooms if room.place == "bin" else ():
        if other.place == "bin" and other.kind == room.kind and other.bin != room.bin and other.capacity is not None:
            free = other.capacity - max(other.demand.up_to(day) for day in every_day)
            if free > 0:
                yield other.bin, free


def _telling(first: date, over: Sequence[date], workdays: Workdays, as_of: date) -> date | None:
    """The day of the entry that tells of a shortage: in good time, and once more as it begins.

    None where both are over; of one that lasts it is told again after a week.

    Args:
        first: the first day of the shortage
        over: the days on which entries told of that place before
        workdays: for the bench days
        as_of: today
    """
    if any(day > first - _WEEK for day in over):
        return None
    due = max(first if any(day >= first - NOTICE - _WEEK for day in over) else first - NOTICE, as_of)
    return workdays.good_day(due, due, max(first, due))
