"""How fast an insect goes from egg to adult along the warmth of the mix: degree-days above a threshold. Pure.

The linear thermal model (Campbell and others 1974, Journal of Applied Ecology 11:431-438): what a stage needs is a sum
of degrees above a threshold. Above the warmth at which the rate levels off, it is taken to stay as it is there.

There are two clocks. Published days of fungus gnats differ by species and food by half, and no degree-day total of the
one in question was found. So one line over one threshold with two sums: the fast one, the shortest cycle published,
spaces the treatments; the slow one, the longest at room warmth, says when all is clear. Every published row that names
a temperature lies between them (`tests/outside/test_gnats.py`). Above 30 °C the fast clock stays as it is there, the
slow one from 25 °C on: some gnats fail in such heat, but a treatment must not rely on it.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta

from almanac.forecast.thermal import Pace
from almanac.plain import dataclass

Series = tuple[tuple[date, float], ...]
_DAY = timedelta(days=1)
_SAME = 1e-9  # a sum that is full but for rounding is full [K d]


@dataclass(frozen=True, kw_only=True)
class Clock:
    """Degree-days that the stages of a species need [K d], above `threshold_c`; no faster above `level_c` [°C]."""

    threshold_c: float
    level_c: float
    egg: float
    larva: float
    pupa: float

    @classmethod
    def timed(cls, threshold_c: float, level_c: float, at_c: float, egg: float, larva: float, pupa: float) -> Clock:
        """From the days of each stage at a temperature [°C, d]."""
        full = min(at_c, level_c) - threshold_c
        return cls(threshold_c=threshold_c, level_c=level_c, egg=egg * full, larva=larva * full, pupa=pupa * full)

    @property
    def generation(self) -> float:
        """Egg to adult [K d]."""
        return self.egg + self.larva + self.pupa

    def rate(self, temperature_c: float) -> float:
        """Degree-days gained in a day [K d]."""
        return max(min(temperature_c, self.level_c) - self.threshold_c, 0.0)

    def pace(self, warmth: Series, origin: date) -> Pace:
        """Degree-days as they run on from a day, by the warmth from each day on [°C]."""
        changes = {max(day, origin): self.rate(degrees) for day, degrees in sorted(warmth)}
        points = [(origin, 0.0)]
        rate = changes.pop(origin, 0.0)
        for day, following in changes.items():
            start, so_far = points[-1]
            points.append((day, so_far + (day - start).days * rate))
            rate = following
        return Pace(tuple(points), rate)


def last_day_under(pace: Pace, wanted: float) -> date | None:
    """The last day on which fewer than so many degree-days are full; None where they never are, or not for years."""
    day = pace.day(wanted)
    if day is None:
        return None
    while pace.counted(day) >= wanted - _SAME:
        day -= _DAY
    return day


def first_day_with(pace: Pace, wanted: float) -> date | None:
    """The first day on which so many degree-days are full; None where they never are, or not for years."""
    last = last_day_under(pace, wanted)
    return last + _DAY if last else None


def latest(days: Iterable[date | None], bound: date) -> date:
    """The latest of some days, and no later than a bound, which stands for a day that never comes."""
    return min(max((day or bound for day in days), default=bound), bound)
