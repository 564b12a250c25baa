"""When a crop's leaves are down outdoors and when its buds swell, by the frosts and usual lows of a site. Pure.

A winter is named by its shortest day; its frosts are those of the freeze year round it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date, timedelta
from statistics import NormalDist

from almanac.forecast.model import Days, Surroundings
from almanac.rulebook.programmes.store import Dormancy, Store
from almanac.site.freeze_year import DAYS_IN_FREEZE_YEAR, FreezeYear
from almanac.site.frost import FrostTable
from almanac.site.nights import Nights
from almanac.site.sun import shortest_day

_TENTH = NormalDist().inv_cdf(0.9)


def leaf_fall(dormancy: Dormancy, middle: date, nights: Nights) -> Days:
    """After the first frost and nights as cold as it takes, early to late; by its latest day where those come later."""
    start, latest = start_of(nights, middle), middle + timedelta(days=dormancy.leaves_by)

    def falls(frost: date | None, warmer_c: float) -> date:
        days = [frost + whole(dormancy.leaves_fall)] if frost else []
        if dormancy.leaves_low is not None:
            cool = nights.usual.falls_to(dormancy.leaves_low, warmer_c)
            days = [*days, start + timedelta(days=cool)] if cool is not None else []
        return min([max(days), latest]) if days else latest

    early, likely, late = map(falls, first_frosts(nights.frost, middle), _seasons(nights))
    return early, likely, late


def buds_swell(dormancy: Dormancy, middle: date, nights: Nights) -> Days:
    """Once warmth has added up since rest was over; at the end of the freeze year where it does not."""
    start, since = start_of(nights, middle), middle + timedelta(days=dormancy.buds_from)

    def swell(warmer_c: float) -> date:
        by = nights.usual.warmth_by((since - start).days, dormancy.buds_base, dormancy.buds_warmth, warmer_c)
        return start + timedelta(days=DAYS_IN_FREEZE_YEAR - 1 if by is None else by)

    late, likely, early = map(swell, _seasons(nights))
    return early, likely, late


def bare_from(crop: str, days: Days, around: Surroundings) -> Days:
    """From early, likely and late days, each where the crop is bare then, else when its leaves are next down."""
    return _moved(crop, days, around, lambda day, fell, swells: max(day, fell) if day < swells else None)


def growing_from(crop: str, days: Days, around: Surroundings) -> Days:
    """From early, likely and late days, each outside the time when the crop is bare; buds swell at its end."""
    return _moved(
        crop, days, around, lambda day, fell, swells: (swells if day >= fell else day) if day < swells else None
    )


def _moved(crop: str, days: Days, around: Surroundings, to: Callable[[date, date, date], date | None]) -> Days:
    """Each day as the first winter has it that is not over by then. A leaf fall that was logged is the day of it.

    Where no nights are known nothing is waited for.
    """
    nights = around.nights
    if nights is None:
        return days
    book = around.book
    dormancy = book.crops[crop].dormancy or book.programme(Store).dormancy
    found: list[date] = []
    for number, day in enumerate(days):
        for year in range(day.year - 1, day.year + 3):
            middle = shortest_day(around.place, year)
            falls, swells = leaf_fall(dormancy, middle, nights), buds_swell(dormancy, middle, nights)
            seen = [each for each in around.signs.get((crop, "leaf_fall"), ()) if abs(each - middle).days < _HALF_YEAR]
            moved = to(day, seen[-1] if seen else falls[number], swells[number])
            if moved:
                found.append(moved)
                break
    early, likely, late = sorted(found)
    return early, likely, late


_HALF_YEAR = 183


def whole(number: float) -> timedelta:
    """So many days, rounded."""
    return timedelta(days=round(number))


def start_of(nights: Nights, middle: date) -> date:
    """The first day of the freeze year of a winter."""
    return FreezeYear(nights.frost.southern).start(middle)


def first_frosts(frost: FrostTable, middle: date) -> Sequence[date | None]:
    """Early, likely and late first frost of the autumn before a shortest day.

    None where so many years have none; the start of the freeze year where there is no summer without.
    """
    start = FreezeYear(frost.southern).start(middle)
    end = start + timedelta(days=DAYS_IN_FREEZE_YEAR - 1)

    def found(chance: float) -> date | None:
        dates = (frost.date_for_autumn(chance, year) for year in (start.year, start.year + 1))
        inside = next((day for day in dates if day and start <= day <= end), None)
        return start if inside is None and frost.chance_before(start) > chance else inside

    return [found(chance) for chance in (0.1, 0.5, 0.9)]


def _seasons(nights: Nights) -> tuple[float, float, float]:
    """How much warmer a season is than is known here, cold to warm: one in ten is colder, one warmer [°C]."""
    differs = _TENTH * nights.usual.differs_c
    return -differs, 0.0, differs
