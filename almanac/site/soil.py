"""How warm the air and the soil of a bed usually are through the year, from the usual lows of a site. Pure.

An estimate: the day's mean is taken as half a day's range over its low, and the soil follows it, damped and late, as
heat goes down into a uniform ground: by exp(-z/D) and z/D radians of the year at a depth z, D the depth at which the
yearly wave is damped to a third (Carslaw & Jaeger 1959, Conduction of Heat in Solids, section 2.6). How deep a stick's
foot is, and D, are rules.
"""

from __future__ import annotations

from datetime import date, timedelta
from functools import lru_cache
from math import exp, pi

from almanac.plain import dataclass
from almanac.site.usual import UsualYear

_YEAR = 365.25
_STEP = 10  # days for which one value stands


@dataclass(frozen=True, kw_only=True)
class BedYear:
    """A bed through the years: air and soil as (first day, mean of the days until the next) [°C]."""

    air_c: tuple[tuple[date, float], ...]
    soil_c: tuple[tuple[date, float], ...]


def damping(depth: float) -> tuple[float, timedelta]:
    """What share of the yearly swing of the air is left in the soil, and how much later it comes.

    Args:
        depth: how deep, as a share of the depth at which the yearly wave is damped to a third
    """
    return exp(-depth), timedelta(days=round(depth / (2 * pi) * _YEAR))


@lru_cache(maxsize=64)
def bed_years(usual: UsualYear, first: int, years: int, depth: float) -> BedYear:
    """The warmth of a bed from the first day of a calendar year on, over so many years; `depth` as for `damping`."""
    share, late = damping(depth)
    start, end = date(first, 1, 1), date(first + years, 1, 1)
    middle = timedelta(days=_STEP // 2)
    mean = sum(usual.lows_c) / len(usual.lows_c) + usual.half_range_c
    days = [start + timedelta(days=step) for step in range(0, (end - start).days, _STEP)]
    air = tuple((day, usual.mean_c(day + middle)) for day in days)
    soil = tuple((day, mean + share * (usual.mean_c(day + middle - late) - mean)) for day in days)
    return BedYear(air_c=air, soil_c=soil)
