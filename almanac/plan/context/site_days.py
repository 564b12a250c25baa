"""The days of a site's year that rules count from: shortest and longest day, frost accepted, first frost. Pure."""

from __future__ import annotations

from datetime import date

from almanac.nursery.settings import Settings
from almanac.site.frost import FrostTable
from almanac.site.place import Place
from almanac.site.sun import longest_day, shortest_day


def site_day(
    name: str, near: date, place: Place, frost: FrostTable, settings: Settings, *, on_or_after: bool
) -> date | None:
    """One of SITE_DAYS: the nearest to a day, or the first on or after it; None where the year has no such day."""
    days = [
        day for year in (near.year - 1, near.year, near.year + 1) if (day := _in(name, year, place, frost, settings))
    ]
    if on_or_after:
        return min((day for day in days if day >= near), default=None)
    return min(days, key=lambda day: (abs(day - near), day), default=None)


def _in(name: str, year: int, place: Place, frost: FrostTable, settings: Settings) -> date | None:
    if name == "shortest_day":
        return shortest_day(place, year)
    if name == "longest_day":
        return longest_day(place, year)
    if name == "frost_accepted":
        return frost.date_for_spring(settings.frost.accept, year)
    return frost.date_for_autumn(settings.frost.accept, year)
