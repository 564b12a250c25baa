"""On which days this person works: bench days, public holidays, days away; and the good day for a job. Pure."""

from __future__ import annotations

from datetime import date, timedelta
from functools import cached_property

from almanac.nursery.settings import WEEKDAYS, Settings
from almanac.site.place import Place

_AHEAD = timedelta(days=21)  # a good day is looked for so far ahead
Rank = tuple[bool, bool, bool]  # how ill a day suits: away, a public holiday that is off, off the bench days


class Workdays:
    """The days of a nursery's week, its public holidays and its grower's days away."""

    def __init__(self, settings: Settings, place: Place) -> None:
        self._week, self._place = settings.week, place
        self._holidays: dict[int, frozenset[date]] = {}
        self._ranks: dict[date, Rank] = {}  # asked for by the thousand

    @cached_property
    def _bench(self) -> frozenset[int]:
        return frozenset(WEEKDAYS.index(day) for day in self._week.bench_days)

    @cached_property
    def _away(self) -> frozenset[date]:
        return frozenset(
            stretch.first + timedelta(days=number)
            for stretch in self._week.away
            for number in range((stretch.last - stretch.first).days + 1)
        )

    @property
    def bench_days(self) -> frozenset[int]:
        """The days of the week at the bench, Monday as 0."""
        return self._bench

    @property
    def longest_minutes(self) -> float:
        """How long a person works at the bench on a day."""
        return 60 * self._week.longest

    def is_away(self, day: date) -> bool:
        """Whether the grower is away that day."""
        return day in self._away

    def is_bench_day(self, day: date) -> bool:
        """Whether it is a usual day at the bench; a public holiday is one unless the nursery says otherwise."""
        return day.weekday() in self._bench and not self.is_holiday(day)

    def is_holiday(self, day: date) -> bool:
        """Whether it is a public holiday in a nursery that takes them off."""
        return self._week.holidays_off and day in self._holidays_of(day.year)

    def rank(self, day: date) -> Rank:
        """How ill a day suits: one away worse than a holiday that is off, that worse than any other off bench days."""
        if day not in self._ranks:
            self._ranks[day] = self.is_away(day), self.is_holiday(day), not self.is_bench_day(day)
        return self._ranks[day]

    def good_day(self, due: date, earliest: date, latest: date) -> date:
        """The bench day for a job: the first from its due day on, else the last before; not while away if it can be."""
        span = [earliest + timedelta(days=n) for n in range((latest - earliest).days + 1)]
        if not span:
            return due
        best = min(map(self.rank, span))
        days = [day for day in span if self.rank(day) == best]
        return min((day for day in days if day >= due), default=days[-1])

    def next(self, day: date) -> date:
        """The first good day for a job from one on."""
        return self.good_day(day, day, day + _AHEAD)

    def _holidays_of(self, year: int) -> frozenset[date]:
        if year not in self._holidays:
            from almanac.site.holidays import public_holidays  # it costs start-up time, and few nurseries want it

            found = public_holidays(self._place.country, self._place.region, date(year, 1, 1), date(year, 12, 31))
            self._holidays[year] = frozenset(found)
        return self._holidays[year]
