"""On which days a parcel goes: the nursery's post days, mail holidays on the way, days away, cold and heat. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date, timedelta

from almanac.nursery.settings import WEEKDAYS, Settings
from almanac.plain import dataclass
from almanac.rulebook.programmes.dormant_sale import DormantSale
from almanac.site.nights import Nights
from almanac.site.place import Place
from almanac.worked_out import WorkedOut

_FAR = 365  # days ahead that a next post day is looked for
_NEAR = 14  # days back that a last one is
Destination = tuple[str, str]  # country and region, as written; a blank country is that of the sender


@dataclass(frozen=True, kw_only=True)
class PostDay:
    """A day on which post goes; `low_c` is the usual low at the sender, None where nobody knows it [°C].

    `unknown`: only the weather forecast can tell of cold nights.
    """

    day: date
    low_c: float | None
    hold: bool
    unknown: bool


class PostDays:
    """The post days of a nursery.

    Args:
        settings: its post days, days away and own days of transit
        place: whose public holidays count
        nights: how cold it usually is at the sender
        rule: the usual days of transit, and when a parcel is held
    """

    def __init__(self, *, settings: Settings, place: Place, nights: Nights, rule: DormantSale) -> None:
        self._settings, self._place, self._nights, self._rule = settings, place, nights, rule
        self._weekdays = {WEEKDAYS.index(day) for day in settings.week.post_days}
        own = settings.sale.transit_days
        self.transit_days = rule.transit_days if own is None else own
        self._holidays: WorkedOut[tuple[str, str, int], Mapping[date, str]] = WorkedOut()

    @property
    def weekdays(self) -> tuple[int, ...]:
        """The days of the week on which post goes, Monday as 0."""
        return tuple(sorted(self._weekdays))

    def goes(self, day: date, to: Destination = ("", "")) -> bool:
        """Whether post goes on a day: a post day, nobody away, no mail holiday then or while it travels."""
        return day.weekday() in self._weekdays and not self._settings.is_away(day) and not self.holiday_from(day, to)

    @property
    def hold_below_c(self) -> float:
        """The usual night that holds a parcel back [°C]."""
        return self._rule.hold_below

    @property
    def hold_above_c(self) -> float:
        """The usual day that holds it back [°C]."""
        return self._rule.hold_above

    def left_out(self, first: date, last: date) -> Iterator[tuple[date, str]]:
        """Post days on which none goes after all, with the holiday that keeps it; nothing where one is away."""
        for number in range((last - first).days + 1):
            day = first + timedelta(days=number)
            if day.weekday() in self._weekdays and not self.goes(day):
                found = self.holiday_from(day)
                yield day, found[1] if found else ""

    def holiday_from(self, day: date, to: Destination = ("", "")) -> tuple[date, str] | None:
        """The first holiday without mail on a day or in the usual days of transit after it, and its name.

        Here, and where the parcel goes to if that is said.
        """
        places = [(self._place.country, self._place.region)]
        places += [(to[0] or self._place.country, to[1])] if any(to) else []
        for number in range(self.transit_days + 1):
            on_the_way = day + timedelta(days=number)
            for place in places:
                found = self._holidays_of(*place, on_the_way.year).get(on_the_way)
                if found:
                    return on_the_way, found
        return None

    def told(self, day: date) -> PostDay:
        """A day with how cold it usually is, and whether that is a reason to hold parcels back."""
        low_c = self._nights.frost.usual_low_c(day)
        hold = low_c is not None and not self._rule.hold_below < low_c < self._rule.hold_above
        return PostDay(day=day, low_c=low_c, hold=hold, unknown=low_c is None and not self._never_so_cold)

    @property
    def _never_so_cold(self) -> bool:
        table = self._nights.at(self._rule.hold_below)
        return table is not None and table.autumn is None and not table.estimate

    def upcoming(self, first: date, last: date | None = None) -> Iterator[PostDay]:
        """Post days from one day on, till another or for a year, held ones among them."""
        until = last or first + timedelta(days=_FAR)
        for number in range((until - first).days + 1):
            day = first + timedelta(days=number)
            if self.goes(day):
                yield self.told(day)

    def next(self, day: date) -> date | None:
        """The first day from one on when post goes and is not held, as for an order to ship by."""
        return next((found.day for found in self.upcoming(day) if not found.hold), None)

    def last(self, latest: date, earliest: date | None = None, to: Destination = ("", "")) -> date | None:
        """The last day on which post goes, on or before one; None: not since `earliest`, or in the fortnight before."""
        near = _NEAR if earliest is None else (latest - earliest).days
        days = (latest - timedelta(days=back) for back in range(near + 1))
        return next((day for day in days if self.goes(day, to)), None)

    def _holidays_of(self, country: str, region: str, year: int) -> Mapping[date, str]:
        def found() -> Mapping[date, str]:
            from almanac.site.holidays import mail_holidays  # it costs start-up time, and few plans need it

            return mail_holidays(country, region, date(year, 1, 1), date(year, 12, 31))

        return self._holidays.of((country, region, year), found)
