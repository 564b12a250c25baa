"""The places that cuttings take, how much is taken of each, and where it may not suffice. Plain values."""

from __future__ import annotations

from dataclasses import field
from datetime import date, timedelta
from typing import Literal, NamedTuple

from almanac.nursery.lots import Planned
from almanac.plain import dataclass
from almanac.plan.demand import Demand
from almanac.plan.ids import EntryId
from almanac.rulebook.models import Where as Kind

Where = Literal["bin", "lamps", "outside", "shelter"]
Lack = Literal["bin_full", "lamps_full", "outside_full", "shelter_full"]


class Place(NamedTuple):
    """A bin, a tray or a bed by its name."""

    kind: Kind
    name: str


@dataclass(frozen=True, kw_only=True)
class Room:
    """One place that cuttings take: a bin, a shelter (`bin` its name), under the lamps, outside.

    `capacity` None: the nursery does not say. `kind` is that of a bin: one of bags, a tray of cells or a bed. `demand`
    is what is taken of it on each day.
    """

    place: Where
    bin: str
    capacity: int | None
    demand: Demand = field(compare=False)  # it follows from the lots
    kind: Kind = "bin"


@dataclass(frozen=True, kw_only=True)
class Space:
    """Every place from a day on until the last move foreseen.

    `in_no_bin` are cuttings that root elsewhere; `planned` are lots to come, each with the bin it is taken to go to.
    """

    first: date
    last: date
    rooms: tuple[Room, ...]
    in_no_bin: int
    planned: tuple[tuple[Planned, str], ...]

    def days(self) -> list[date]:
        """Every day that is counted."""
        return [self.first + timedelta(days=n) for n in range((self.last - self.first).days + 1)]


@dataclass(frozen=True, kw_only=True)
class Shortage:
    """A stretch of days on which a place may not suffice; the warning's day is the first.

    `expected` places are lacking in the mean, and `up_to` with nine chances in ten, on the worst day. `planned` are
    lots to come that take part in it, `elsewhere` is what other bins have free all the while. `told_on` is the day of
    the calendar's entry `id`, None once it has been told.
    """

    room: Room
    until: date
    open_ended: bool
    expected: int
    up_to: int
    planned: tuple[Planned, ...]
    elsewhere: tuple[tuple[str, int], ...]
    id: EntryId
    told_on: date | None
