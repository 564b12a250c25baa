"""The freeze year: takes days of the calendar and chances on some of them, gives a chance for each. Pure."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from functools import cache, cached_property
from itertools import pairwise
from statistics import NormalDist

from almanac.faults import Fact, Miswritten
from almanac.halving import between
from almanac.plain import dataclass

DAYS_IN_FREEZE_YEAR = 365
_NORMAL = NormalDist()
_HARDLY = 1e-9  # stands in for a chance of 0 (and for 1, the other way round), which has no normal quantile


@dataclass(frozen=True)
class FreezeYear:
    """The year from midsummer to midsummer, so that one winter lies in one year.

    It starts on 1 August in the north and 1 February in the south. Its days are counted 0 to 364; 29 February
    is counted with the 28th.
    """

    southern: bool

    def index(self, month: int, day: int) -> int:
        """The day of the freeze year, 0 to 364, on which a day of the calendar falls."""
        return _indices(self._first_month)[month, day]

    def start(self, day: date) -> date:
        """The first day of the freeze year in which a date lies."""
        return date(day.year - (day.month < self._first_month), self._first_month, 1)

    def date_in(self, year: int, index: int) -> date:
        """The date, within a calendar year, of a day of the freeze year (0 to 364)."""
        return date.fromordinal(self._first_ordinal + index).replace(year=year)

    def from_january(self, values: Sequence[float]) -> tuple[float, ...]:
        """A value for each of 365 days from 1 January, as one for each day of the freeze year."""
        first = DAYS_IN_FREEZE_YEAR - self.index(1, 1)
        return (*values[first:], *values[:first])

    @property
    def _first_month(self) -> int:
        return 2 if self.southern else 8

    @cached_property
    def _first_ordinal(self) -> int:
        return _ordinal(self._first_month, 1)


@cache
def _indices(first_month: int) -> Mapping[tuple[int, int], int]:
    """By month and day, the day of the freeze year."""
    first, leap = _ordinal(first_month, 1), date(2000, 1, 1)
    days = (leap + timedelta(days=number) for number in range(366))
    return {(day.month, day.day): (_ordinal(day.month, day.day) - first) % DAYS_IN_FREEZE_YEAR for day in days}


def _ordinal(month: int, day: int) -> int:
    """The number of a day in some year without 29 February."""
    return date(2001, month, 28 if (month, day) == (2, 29) else day).toordinal()


@dataclass(frozen=True)
class Curve:
    """A chance for each day of the freeze year, exact at its points.

    Between and beyond the points it is a straight line in the normal quantile: as near to a normal
    distribution as the points allow. From a record, points at plotting positions such as (rank - 0.5) / years
    serve best.

    Args:
        points: two or more of (day of the freeze year, chance 0 to 1), by rising day, the chances only
            falling (spring) or only rising (autumn). A day may be a fraction, or lie outside 0 to 364.
    Raises:
        Miswritten: the points are none of that.
    """

    points: tuple[tuple[float, float], ...]

    def __post_init__(self) -> None:
        chances = [chance for _, chance in self.points]
        if len(self.points) < 2 or any(a >= b for (a, _), (b, _) in pairwise(self.points)):
            raise Miswritten(Fact("curve_without_days"))
        if not all(0 <= chance <= 1 for chance in chances):
            raise Miswritten(Fact("curve_out_of_range"))
        if chances not in (sorted(chances), sorted(chances, reverse=True)):
            raise Miswritten(Fact("curve_turning"))

    def chance(self, day: float) -> float:
        """The chance, 0 to 1, on a day of the freeze year."""
        place = bisect_left(self.points, day, key=lambda point: point[0])
        if place < len(self.points) and self.points[place][0] == day:
            return self.points[place][1]  # not by way of the quantile, which loses the last decimal
        right = min(max(place, 1), len(self.points) - 1)
        (day_a, chance_a), (day_b, chance_b) = self.points[right - 1], self.points[right]
        a, b = _quantile(chance_a), _quantile(chance_b)
        return _NORMAL.cdf(a + (b - a) * (day - day_a) / (day_b - day_a))

    def day(self, chance: float) -> float:
        """The day, in parts and maybe outside the year, on which a chance is passed, along the same lines."""
        falls = self.points[0][1] > self.points[-1][1]
        low, high = -3.0 * DAYS_IN_FREEZE_YEAR, 4.0 * DAYS_IN_FREEZE_YEAR
        return sum(between(lambda day: (self.chance(day) > chance) == falls, low, high, times=40)) / 2

    def stretched(self, factor: float, most: float = 1.0) -> Curve:
        """The same, spread so many times as wide about its middle, which is half of the most it comes to."""
        known = (day for day, chance in self.points if chance == most / 2)  # to the last decimal, so that it stays
        middle = next(known, None) or self.day(most / 2)
        return Curve(tuple((middle + factor * (day - middle), chance) for day, chance in self.points))


def _quantile(chance: float) -> float:
    return _NORMAL.inv_cdf(min(max(chance, _HARDLY), 1 - _HARDLY))
