"""The bins as they will be, for lots to come: days to stick on, when a wave is potted, how many bags fit. Pure."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import field, replace
from datetime import date, timedelta
from functools import cached_property

from almanac.forecast.milestones import milestones
from almanac.forecast.model import Surroundings
from almanac.forecast.strike import MOST
from almanac.forecast.supposed import lot_stuck
from almanac.nursery.lots import Stock
from almanac.nursery.workdays import Workdays
from almanac.plain import dataclass
from almanac.plan.backwards.aim import Aim, Wave
from almanac.plan.demand import Move
from almanac.plan.room.placing import places_for, seats
from almanac.plan.spaces import Room, Space
from almanac.plan.wood.ahead import last_potting
from almanac.worked_out import WorkedOut

_YEAR = timedelta(days=365)


@dataclass(frozen=True, kw_only=True)
class BinsAhead:
    """The bins as they will be, for lots to come of one variety; `has_wood` says when there is wood of it to stick.

    With `any_room` as if each had room for all, to find out what is short.
    """

    stock: Stock
    around: Surroundings
    space: Space
    workdays: Workdays
    has_wood: Callable[[date], bool] = field(default=lambda day: True)
    any_room: bool = False
    _last_potting: WorkedOut[tuple[str, date], date | None] = field(
        init=False, default_factory=WorkedOut, compare=False, repr=False
    )
    _timed: WorkedOut[tuple[date, str, int], Wave | None] = field(
        init=False, default_factory=WorkedOut, compare=False, repr=False
    )

    @cached_property
    def _rooms(self) -> dict[str, Room]:
        return {room.bin: room for room in self.space.rooms if room.place == "bin"}

    def days(self, last: date) -> list[date]:
        """Days on which a lot may be stuck, from today on: bench days at home when there is wood; else any such day."""
        first = max(self.around.as_of, last - _YEAR)  # what was stuck before that is last year's
        every = [first + timedelta(days=number) for number in range((last - first).days + 1)]
        every = [day for day in every if self.has_wood(day)]
        return [day for day in every if self.workdays.is_bench_day(day) and not self.workdays.is_away(day)] or every

    def wave(self, aim: Aim, day: date, bin_name: str, count: int) -> Wave | None:
        """A wave with its days; None where nothing roots."""
        about = _about(count)
        found = self._timed.of((day, bin_name, about), lambda: self._wave(aim, day, bin_name, about))
        return replace(found, count=count) if found else None

    def _wave(self, aim: Aim, day: date, bin_name: str, count: int) -> Wave | None:
        lot = lot_stuck(aim.crop, count, day, bin_name, aim.method, number=aim.number)
        found = milestones(lot, self.around)
        ends = self.around.book.methods[aim.method].ends
        potted = found[ends].days if ends in found else None
        if potted is None:
            return None
        early, likely, late = (each.toordinal() for each in potted)
        likely_days = tuple((name, each.days[1]) for name, each in found.items() if each.days)
        return Wave(
            day=day,
            bin=bin_name,
            count=count,
            potted=Move(early=early, likely=likely, late=late, not_before=day.toordinal() + 1),
            leaves=potted[2],
            likely=likely_days,
        )

    def last_potting(self, aim: Aim) -> date | None:
        """The last day on which a lot may be potted and still get ready by the day wanted; None: none from today on."""
        method = self.around.book.methods[aim.method]
        if method.ends == method.ready:
            return aim.by
        return self._last_potting.of(
            (aim.crop, aim.by),
            lambda: last_potting(
                aim.crop, aim.plants, aim.by, self.around, number=aim.number, method=aim.method, ready=method.ready
            ),
        )

    def bins(self, aim: Aim) -> list[str]:
        """Bins warm enough for it, the one that suits best first; one without a name where the nursery has none."""
        places = places_for(self.around.settings, self.around.book, aim.method)
        if not places:
            return [""]
        found = seats(places, self.stock.bins, self.around.book.crops[aim.crop].base, lambda name: 0)
        return [seat.bin for seat in found if seat.pace > 0]

    def free(self, bin_name: str, wave: Wave, others: Sequence[Wave]) -> int:
        """How many more bags stand in a bin from the day of a wave until its bags are free, nine times in ten."""
        room = self._rooms.get(bin_name)
        if self.any_room or room is None or room.capacity is None:
            return MOST
        days = [day for day in self.space.days() if wave.day <= day <= wave.leaves]
        taken = [
            room.demand.up_to(day) + sum(w.count for w in others if w.bin == bin_name and w.day <= day <= w.leaves)
            for day in days
        ]
        after = sum(w.count for w in others if w.bin == bin_name and w.leaves >= wave.day and w.day <= wave.leaves)
        return max(room.capacity - max(taken, default=after), 0)


def _about(count: int) -> int:
    """A number of cuttings as far as it matters to their days: within an eighth or so."""
    step = 1 << max(count.bit_length() - 4, 0)
    return round(count / step) * step
