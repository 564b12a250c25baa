"""From plants wanted by a day back to what to stick when: how many, in which bins, in how many waves. Pure.

A wave is a lot to come: it is potted up, or lifted from its bed, on a day known by chance, and of its cuttings a share
finishes that is itself drawn from a Beta. What follows potting are waits that hardly differ, but for frost: a lot that
is potted too late for this year is ready in the next. So a wave is in time if it is potted by the last day from which a
lot still gets ready. Waves of one bench are early or late together, as what they have in common (the grower, the
variety) weighs most in the spread of their days; each has its own luck in striking.

The chance is split evenly between days and luck: the stick day is the last with the root of the wanted chance of being
in time, the cuttings the fewest that then reach the whole of it; instead of searching both at once, which gains a few
cuttings and explains nothing. `tests/outside/test_backwards.py` replays it with drawn cuttings: within five points.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import field, replace
from datetime import date, timedelta
from functools import cached_property
from itertools import pairwise
from math import sqrt
from typing import Literal

from almanac.forecast.milestones import milestones
from almanac.forecast.model import Surroundings
from almanac.forecast.shares import chance_of
from almanac.forecast.strike import MOST, Rate, in_doubt
from almanac.forecast.supposed import lot_stuck
from almanac.halving import first_true, last_true
from almanac.nursery.lots import Stock
from almanac.nursery.workdays import Workdays
from almanac.plain import dataclass
from almanac.plan.demand import Move, Number, added
from almanac.plan.model import PlanWarning, Room, Space
from almanac.plan.room.placing import places_for, seats
from almanac.plan.wood.ahead import last_potting

_WEEK, _YEAR = timedelta(days=7), timedelta(days=365)
_SMALLEST = 0.1  # of the cuttings lacking: a smaller wave is not worth the trouble
_LATEST = timedelta(days=800)  # how far ahead a day is looked for


@dataclass(frozen=True, kw_only=True)
class Wave:
    """Cuttings to stick on a day in a bin (empty: in none); `potted` is when they will be, by chance.

    `leaves` is the day by which they have left their places nine times in ten, `likely` each milestone's likely day.
    """

    day: date
    bin: str
    count: int
    potted: Move
    leaves: date
    likely: tuple[tuple[str, date], ...] = ()


@dataclass(frozen=True, kw_only=True)
class Aim:
    """What is wanted, and what the nursery's own lots say of the share that finishes.

    `doubt` is the variance of its mean, which all waves share; `method` is how they are rooted.
    """

    number: str
    crop: str
    plants: int
    by: date
    share: float
    concentration: float
    doubt: float = 0.0
    method: str = "sealed_bag"


Short = Literal["time", "wood", "bags", "warmth"]


@dataclass(frozen=True, kw_only=True)
class Way:
    """How to reach an aim with a chance: the waves, the earliest first, and the chance that they give.

    Where none does, `waves` is empty; `instead` is the day by which it can be reached from today on, and `at_most` how
    many plants by the day wanted, and `short` is what it lacks.
    """

    chance: float
    waves: tuple[Wave, ...] = ()
    reached: float = 0.0
    instead: date | None = None
    at_most: int = 0
    short: tuple[Short, ...] = ()

    @property
    def cuttings(self) -> int:
        return sum(wave.count for wave in self.waves)


@dataclass(frozen=True, kw_only=True)
class Backwards:
    """An aim, a way for each chance asked for, and for each the places that it alone would leave too full.

    `rate` is what is known of the share that finishes, `keeps` how long its wood may wait in store. Where no way gives
    a chance, `otherwise` are other methods of the crop that do, with theirs.
    """

    aim: Aim
    rate: Rate
    keeps: timedelta
    ways: tuple[Way, ...]
    crowded: tuple[tuple[PlanWarning, ...], ...]
    otherwise: tuple[tuple[str, Way], ...] = ()


def chance_of_plants(waves: Sequence[Wave], plants: int, last: date, share: float, concentration: float) -> float:
    """The chance that waves potted by the last day for it give so many plants.

    With waves early or late together, those are in time whose own chance is above a common draw: so the chance is that
    of the first being enough, times the chance that only the first is in time, and so on.
    """
    day = last.toordinal()
    timely = sorted(((wave.potted.chance_by(day), wave.count) for wave in waves), reverse=True)
    if len(timely) == 1:
        return timely[0][0] * chance_of(plants, timely[0][1], share, concentration)
    steps = pairwise([*(chance for chance, _ in timely), 0.0])
    enough = _enough([count for _, count in timely], plants, share, concentration)
    return sum((more - less) * part for (more, less), part in zip(steps, enough, strict=True))


def _enough(counts: Sequence[int], plants: int, share: float, concentration: float) -> Iterator[float]:
    """The chance that the first one, two … of these lots give so many plants."""
    sums = [1.0]
    for count in counts:
        sums = added(sums, Number(most=count, share=share, concentration=concentration).chances())
        yield sum(sums[plants:])


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
    _last_potting: dict[tuple[str, date], date | None] = field(init=False, default_factory=dict, compare=False)
    _timed: dict[tuple[date, str, int], Wave | None] = field(init=False, default_factory=dict, compare=False)

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
        key = day, bin_name, _about(count)
        if key not in self._timed:
            self._timed[key] = self._wave(aim, day, bin_name, _about(count))
        found = self._timed[key]
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
        if (aim.crop, aim.by) not in self._last_potting:
            self._last_potting[aim.crop, aim.by] = last_potting(
                aim.crop, aim.plants, aim.by, self.around, number=aim.number, method=aim.method, ready=method.ready
            )
        return self._last_potting[aim.crop, aim.by]

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


def ways(aim: Aim, chances: Sequence[float], bench: BinsAhead) -> list[Way]:
    """For each chance the latest and fewest sticking that reaches an aim, or the nearest that can be.

    Half of the doubt is left to the days and half to the striking: the stick day is the last one that is in time with
    the root of the chance, and the cuttings are the fewest that then reach the whole of it.
    """
    return [_way(aim, chance, bench) or _nearest(aim, chance, bench) for chance in chances]


def reached(aim: Aim, chances: Sequence[float], bench: BinsAhead) -> list[Way]:
    """Of the same those that reach it alone: the nearest to what cannot be is not looked for."""
    return [found for chance in chances if (found := _way(aim, chance, bench))]


def _way(aim: Aim, chance: float, bench: BinsAhead) -> Way | None:
    """One wave if there is a day on which it fits, the last such day; else as few as it takes."""
    last = _last_day(aim, chance, bench)
    if last is None:
        return None
    days = [day for day in bench.days(last) if day <= last]
    found = next((waves for day in reversed(days) if (waves := _enough_of(aim, chance, [day], bench))), None)
    waves = found or _enough_of(aim, chance, _weekly(days), bench)
    return (
        Way(
            chance=chance,
            waves=tuple(sorted(waves, key=lambda wave: (wave.day, wave.bin))),
            reached=_chance(waves, aim, bench),
        )
        if waves
        else None
    )


def _enough_of(aim: Aim, chance: float, days: Sequence[date], bench: BinsAhead) -> list[Wave]:
    """Waves on these days, the last day filled first, until they have the chance; none where all have not."""
    waves: list[Wave] = []
    for wave in _slots(aim, days, bench):
        waves.append(wave)
        if _chance(waves, aim, bench) >= chance:
            return _fewest(waves, aim, chance, bench)
    return []


def _weekly(days: Sequence[date]) -> list[date]:
    """The last of some days, and before it one a week."""
    found: list[date] = []
    for day in reversed(days):
        if not found or found[-1] - day >= _WEEK:
            found.append(day)
    return found


def _last_day(aim: Aim, chance: float, bench: BinsAhead) -> date | None:
    """The last day to stick a lot that is in time with the root of a chance, or today if only that has the chance."""
    days, bins, last = bench.days(aim.by), bench.bins(aim), bench.last_potting(aim)
    if not bins or not days or last is None:
        return None

    def timely(day: date) -> float:
        wave = bench.wave(aim, day, bins[0], aim.plants)
        return wave.potted.chance_by(last.toordinal()) if wave else 0.0

    last_in_time = last_true(lambda number: timely(days[number]) >= sqrt(chance), -1, len(days))
    if last_in_time >= 0:
        return days[last_in_time]
    return days[0] if timely(days[0]) > chance else None


def _slots(aim: Aim, days: Sequence[date], bench: BinsAhead) -> Iterator[Wave]:
    """Room for waves, each as large as it may be, day by day in every bin."""
    taken: list[Wave] = []
    for day in days:
        for name in bench.bins(aim):
            likely = bench.wave(aim, day, name, aim.plants)
            free = bench.free(name, likely, taken) if likely else 0
            wave = bench.wave(aim, day, name, min(free, MOST)) if free >= max(_SMALLEST * aim.plants, 1) else None
            if wave:
                taken.append(wave)
                yield wave


def _fewest(waves: Sequence[Wave], aim: Aim, chance: float, bench: BinsAhead) -> list[Wave]:
    """The waves with the last of them as small as it may be."""
    *sure, last = waves

    def with_last(count: int) -> list[Wave]:
        smaller = bench.wave(aim, last.day, last.bin, count)
        return [*sure, smaller] if smaller else list(waves)

    return with_last(first_true(lambda count: _chance(with_last(count), aim, bench) >= chance, 0, last.count))


def _chance(waves: Sequence[Wave], aim: Aim, bench: BinsAhead) -> float:
    last = bench.last_potting(aim)
    if not last:
        return 0.0
    alike = sum(wave.count for wave in waves) ** 2 / max(sum(wave.count**2 for wave in waves), 1)
    concentration = in_doubt(aim.share, aim.concentration, aim.doubt, alike)
    return chance_of_plants(waves, aim.plants, last, aim.share, concentration)


def _nearest(aim: Aim, chance: float, bench: BinsAhead) -> Way:
    """The day by which it can be reached, and how many plants can be had by the day wanted."""

    def can_be(plants: int) -> bool:
        return _way(replace(aim, plants=plants), chance, bench) is not None

    fewer = last_true(can_be, 0, aim.plants)
    return Way(
        chance=chance, instead=_first_day(aim, chance, bench), at_most=fewer, short=tuple(_short_of(aim, chance, bench))
    )


def _short_of(aim: Aim, chance: float, bench: BinsAhead) -> Sequence[Short]:
    """What an aim lacks that cannot be reached: the least that would have to be there for it to be."""
    if not bench.bins(aim):
        return ["warmth"]
    tried: tuple[tuple[Sequence[Short], BinsAhead], ...] = (
        (["bags"], replace(bench, any_room=True)),
        (["wood"], replace(bench, has_wood=lambda day: True)),
        (["bags", "wood"], replace(bench, any_room=True, has_wood=lambda day: True)),
    )
    return next((short for short, other in tried if _way(aim, chance, other)), ["time"])


def _first_day(aim: Aim, chance: float, bench: BinsAhead) -> date | None:
    """The first day by which an aim can be reached; None where it cannot be within two years."""
    low, high = aim.by.toordinal(), aim.by.toordinal() + _LATEST.days

    def can_be(day: int) -> bool:
        return _way(replace(aim, by=date.fromordinal(day)), chance, bench) is not None

    step = 7
    while low + step <= high:
        if can_be(low + step):
            return date.fromordinal(first_true(can_be, low, low + step))
        low, step = low + step, min(step * 2, 56)
    return None
