"""For each chance the latest and fewest sticking that reaches an aim, or the nearest that can be. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise
from math import sqrt

from almanac.forecast.shares import chance_of
from almanac.forecast.strike import MOST, in_doubt
from almanac.halving import first_true, last_true
from almanac.plan.backwards.aim import Aim, Short, Wave, Way
from almanac.plan.backwards.bench import BinsAhead
from almanac.plan.demand import Number, added

_WEEK = timedelta(days=7)
_SMALLEST = 0.1  # of the cuttings lacking: a smaller wave is not worth the trouble
_LATEST = timedelta(days=800)  # how far ahead a day is looked for


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
