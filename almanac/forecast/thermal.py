"""Thermal time: how fast development goes at a temperature, and how far it has come in the bins a lot stood in. Pure.

Time is counted in days at a rule's reference temperature: one warm day in the optimum may count more than one, a cold
one less. The rate rises linearly from base to optimum, is flat across it and falls linearly to nothing at the ceiling
(the degree-day model with an upper limit; McMaster & Wilhelm 1997, Agricultural and Forest Meteorology 87:291-300,
for the rising part).
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping
from datetime import date, timedelta
from operator import itemgetter

from almanac.nursery.lots import BinLog, Lot
from almanac.plain import dataclass
from almanac.rulebook.models import Warmth

_day = itemgetter(0)


def rate(warmth: Warmth, temperature_c: float) -> float:
    """Development in effective degrees, 0 at or below the base and at or above the ceiling [K]."""
    if temperature_c <= warmth.base or temperature_c >= warmth.ceiling:
        return 0.0
    full = warmth.optimum_low - warmth.base
    if temperature_c <= warmth.optimum_high:
        return min(temperature_c - warmth.base, full)
    return full * (warmth.ceiling - temperature_c) / (warmth.ceiling - warmth.optimum_high)


@dataclass(frozen=True)
class Pace:
    """How counted days run on after a day of origin: `points` are (date, counted days so far), `rate` what follows.

    A rate of 0 means that it stands still, and nothing further is ever reached. One that is `seasonal` goes on by the
    warmth of the site's year, which its points foresee.
    """

    points: tuple[tuple[date, float], ...]
    rate: float = 1.0
    seasonal: bool = False

    @property
    def usual_rate(self) -> float:
        """How much a day counts from now on; of a year with its seasons the mean of what is foreseen."""
        if not self.seasonal or len(self.points) < 2:
            return self.rate
        (first, _), (last, counted) = self.points[0], self.points[-1]
        return counted / (last - first).days

    @property
    def origin(self) -> date:
        return self.points[0][0]

    def counted(self, day: date) -> float:
        """Counted days from the origin to a day, 0 before it."""
        number = bisect_right(self.points, day, key=lambda point: point[0]) - 1
        if number < 0:
            return 0.0
        start, so_far = self.points[number]
        return so_far + (day - start).days * self._rate_after(number)

    def day(self, counted: float) -> date | None:
        """The day on which so many counted days are full; None if it is never reached or years away."""
        number = max(bisect_right(self.points, counted, key=lambda point: point[1]) - 1, 0)
        start, so_far = self.points[number]
        pace = self._rate_after(number)
        if pace <= 0 or (counted - so_far) / pace > _YEARS_AWAY:
            return None
        return start + timedelta(days=round((counted - so_far) / pace))

    def _rate_after(self, number: int) -> float:
        if number + 1 == len(self.points):
            return self.rate
        (start, so_far), (end, then) = self.points[number : number + 2]
        return (then - so_far) / (end - start).days


_YEARS_AWAY = 1500


def plain_days(origin: date) -> Pace:
    """Days as the calendar counts them."""
    return Pace(((origin, 0.0),))


def lot_pace(
    lot: Lot, origin: date, warmth: Warmth, at_c: float, bins: Mapping[str, BinLog], *, of_air: bool = False
) -> Pace:
    """Counted days of a lot from a day on, by the bins it stood in and how warm they were.

    Args:
        lot: its `places` say which bin from which day, its `readings` what a probe in it showed
        origin: the day the count starts
        warmth: how the crop answers to temperature
        at_c: the reference temperature, at which one day counts as one [°C]
        bins: their warmth by date
        of_air: count by the air round the tops instead of the base
    """
    full = rate(warmth, at_c)
    changes: dict[date, float] = {origin: 1.0}
    seasonal = False
    stays = [(max(day, origin), name) for day, name in lot.places if name in bins]
    for number, (start, name) in enumerate(stays):
        end = stays[number + 1][0] if number + 1 < len(stays) else date.max
        series = bins[name].air_c if of_air else bins[name].base_c
        seasonal = bins[name].outdoors
        holds = max(bisect_right(series, start, key=_day) - 1, 0)  # as warm as it was last set by then
        for day, degrees in series[holds:]:
            if day < end:
                changes[max(day, start)] = rate(warmth, degrees) / full
        if not of_air:
            changes |= {day: rate(warmth, degrees) / full for day, degrees in lot.readings if start <= day < end}
    points: list[tuple[date, float]] = []
    pace = 0.0
    for day in sorted(changes):
        so_far = points[-1][1] + (day - points[-1][0]).days * pace if points else 0.0
        points.append((day, so_far))
        pace = changes[day]
    return Pace(tuple(points), pace, seasonal)
