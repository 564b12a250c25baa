"""The frost table: takes chances of frost through the year, gives the chance for a date and back. Pure.

Risk is a curve through the dates given, linear in the normal quantile, so that 10, 50 and 90 % dates fix it and careful
people can ask for 5 %. With a single date the spread is that of stations whose frost ends or begins at that time (wide
where winters are mild), and the table asks for a second.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Mapping
from dataclasses import replace
from datetime import date, timedelta
from functools import cached_property
from math import hypot
from statistics import NormalDist

from almanac.faults import Fact
from almanac.plain import dataclass
from almanac.site.freeze_year import DAYS_IN_FREEZE_YEAR, Curve, FreezeYear
from almanac.site.given import MonthDay, PublishedDatesError, Season, faults_in
from almanac.site.months import on_day
from almanac.site.spread import usual_spread

_DAYS = range(DAYS_IN_FREEZE_YEAR)
_NORMAL = NormalDist()
_TEN_PERCENT = -_NORMAL.inv_cdf(0.1)


@dataclass(frozen=True, kw_only=True)
class FrostTable:
    """How likely frost is at a place, for one threshold.

    Args:
        threshold_c: a night at or below it counts as frost [°C]
        southern: whether the freeze year is that of the south
        source: where the dates come from, in words
        estimate: whether they are worked out from less than frost dates of many years
        spring: by day, the chance that a frost comes after it in the freeze year; None where it never freezes
        autumn: by day, the chance that a frost has come on or before it in the freeze year; None likewise
        frost_free_share: of years without any frost, 0 to 1; None where the source cannot tell
        notes: what else to know of the table
        seasons_days: length of each season without frost on record [days], sorted; empty where there is no record
        lows_c: the mean low of each month, January first [°C]; empty where the source does not tell
        doubt_days: how much wider dates were made for what is not known of the place: s.d. [days]
    """

    threshold_c: float
    southern: bool
    source: str
    estimate: bool
    spring: Curve | None
    autumn: Curve | None
    frost_free_share: float | None
    notes: tuple[Fact, ...] = ()
    seasons_days: tuple[int, ...] = ()
    lows_c: tuple[float, ...] = ()
    doubt_days: float = 0.0

    def chance_after(self, day: date) -> float:
        """The chance, 0 to 1, that at least one frost is still to come after a date and before midsummer."""
        return self._after[self._year.index(day.month, day.day)]

    def chance_before(self, day: date) -> float:
        """The chance, 0 to 1, that at least one frost has come since midsummer, on or before a date."""
        return self._before[self._year.index(day.month, day.day)]

    def date_for_spring(self, chance: float, year: int) -> date | None:
        """The first date on which the chance of a later frost is at most this.

        Always a date of the calendar year asked for, also where the last frost of a warm place falls before
        New Year. None where the chance is never higher, or never so low before midsummer.
        """
        index = bisect_left(_DAYS, -chance, key=lambda i: -self._after[i])
        return self._year.date_in(year, index) if 0 < index < len(_DAYS) else None

    def date_for_autumn(self, chance: float, year: int) -> date | None:
        """The last date on which the chance that frost has already come is at most this.

        Always a date of the calendar year asked for, also where the first frost of a warm place falls after
        New Year. None where the chance is never higher, or higher from midsummer on.
        """
        after = bisect_right(_DAYS, chance, key=self._before.__getitem__)
        return self._year.date_in(year, after - 1) if 0 < after < len(_DAYS) else None

    def in_doubt(self, sd_days: float) -> FrostTable:
        """The same where the place's own dates lie off these by an error that nobody knows: wider by so much [days]."""
        spring, autumn = (self._in_doubt(curve, sd_days) for curve in (self.spring, self.autumn))
        return replace(self, spring=spring, autumn=autumn, doubt_days=hypot(self.doubt_days, sd_days))

    def _in_doubt(self, curve: Curve | None, sd_days: float) -> Curve | None:
        if curve is None:
            return None
        most = 1 - (self.frost_free_share or 0.0)
        own = abs(curve.day(0.1 * most) - curve.day(0.5 * most)) / _TEN_PERCENT
        return curve.stretched(hypot(own, sd_days) / own, most) if own > 0 else curve

    def season_days(self, chance: float) -> int | None:
        """The days that a season without frost lasts at least, with this chance; None where no record tells.

        Between two seasons in proportion, at Hazen's positions as the dates of a record are.
        """
        if not self.seasons_days:
            return None
        count = len(self.seasons_days)
        place = min(max((1 - chance) * count - 0.5, 0.0), count - 1.0)
        below, part = int(place), place % 1
        above = min(below + 1, count - 1)
        return round(self.seasons_days[below] * (1 - part) + self.seasons_days[above] * part)

    def usual_low_c(self, day: date) -> float | None:
        """The usual low of a night [°C]; None where not known."""
        return on_day(self.lows_c, day) if self.lows_c else None

    def first_safe_day(self, day: date, accept: float, keep_days: int) -> date | None:
        """The first date from `day` on when tender plants may go out and stay out for so many days.

        Within one freeze year it is enough that a later frost, or else a frost by then, is no likelier than
        accepted (in August the coming autumn counts, not the spring after it). Where the days run over
        midsummer, neither the rest of the spring nor the autumn may be likelier, each by itself. None where
        two years bring no such date.

        Args:
            day: where to start looking
            accept: the chance of a frost that the grower accepts, 0 to 1
            keep_days: how long the plants stay out [days, 0 or more]
        """
        dates = (day + timedelta(days=n) for n in range(2 * DAYS_IN_FREEZE_YEAR + 1))
        return next((start for start in dates if self._risk(start, keep_days) <= accept), None)

    def _risk(self, first: date, keep_days: int) -> float:
        """The chance to weigh of a frost in the days kept. Such a frost comes after the first of them and by
        the last: within one freeze year it can be no likelier than the rarer of the two."""
        start = self._year.start(first)
        last = first + timedelta(days=keep_days)
        if keep_days >= DAYS_IN_FREEZE_YEAR:
            last = min(last, start.replace(year=start.year + 2) - timedelta(days=1))
        chances = self.chance_after(first), self.chance_before(last)
        return min(chances) if self._year.start(last) == start else max(chances)

    def _chance(self, curve: Curve | None, index: int) -> float:
        """No date can make frost likelier than it is in the whole year."""
        return min(curve.chance(index), 1 - (self.frost_free_share or 0.0)) if curve else 0.0

    @cached_property
    def _after(self) -> tuple[float, ...]:
        """The chance after each day of the freeze year: asked for by the thousand, so worked out once."""
        return tuple(self._chance(self.spring, index) for index in _DAYS)

    @cached_property
    def _before(self) -> tuple[float, ...]:
        """The same, of a frost on or before each day."""
        return tuple(self._chance(self.autumn, index) for index in _DAYS)

    @cached_property
    def _year(self) -> FreezeYear:
        return FreezeYear(self.southern)


def never(threshold_c: float, southern: bool, source: str) -> FrostTable:
    """The table of a place where it never freezes: every chance is 0."""
    return FrostTable(
        threshold_c=threshold_c,
        southern=southern,
        source=source,
        estimate=False,
        spring=None,
        autumn=None,
        frost_free_share=1.0,
    )


def from_published(
    threshold_c: float,
    last_spring: Mapping[float, MonthDay],
    first_autumn: Mapping[float, MonthDay],
    southern: bool,
    source: str,
) -> FrostTable:
    """The table through published dates; a season with a single date takes the spread of its climate: an estimate.

    Args:
        threshold_c: the threshold the dates are for [°C]
        last_spring: (month, day) by chance: 0.1 is the date after which one year in ten still has a frost
        first_autumn: likewise: 0.1 is the date before which one year in ten has already had one
        southern: whether the place lies south of the equator
        source: where the dates come from, in words
    Raises:
        PublishedDatesError (a ValueError): all that is wrong with the dates, each with its remedy.
    """
    faults = [
        *faults_in("last_spring", last_spring, southern=southern),
        *faults_in("first_autumn", first_autumn, southern=southern),
    ]
    if faults:
        raise PublishedDatesError(*faults)
    year = FreezeYear(southern)
    spring = sorted((year.index(*month_day), chance) for chance, month_day in last_spring.items())
    autumn = sorted((year.index(*month_day), chance) for chance, month_day in first_autumn.items())
    seasons: dict[Season, list[tuple[int, float]]] = {"last_spring": spring, "first_autumn": autumn}
    return FrostTable(
        threshold_c=threshold_c,
        southern=southern,
        source=source,
        estimate=len(spring) == 1 or len(autumn) == 1,
        notes=tuple(
            Fact("single_date", season=season, sd_days=usual_spread().sd_days(season, points[0][0], threshold_c))
            for season, points in seasons.items()
            if len(points) == 1
        ),
        spring=_curve(spring, "last_spring", threshold_c),
        autumn=_curve(autumn, "first_autumn", threshold_c),
        frost_free_share=None,
    )


def _curve(points: list[tuple[int, float]], season: Season, threshold_c: float) -> Curve:
    if len(points) > 1:
        return Curve(tuple(points))
    [(index, chance)] = points
    sd_days = usual_spread().sd_days(season, index, threshold_c)
    step = -1 if season == "last_spring" else 1
    later = _NORMAL.cdf(_NORMAL.inv_cdf(chance) + step)
    return Curve(((index, chance), (index + sd_days, later)))
