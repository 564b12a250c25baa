"""The winters of a site, each named by its shortest day, and what was logged of crops outdoors in them. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from functools import cached_property

from almanac.forecast.model import Surroundings
from almanac.forecast.supposed import before_all
from almanac.plain import dataclass
from almanac.site.freeze_year import FreezeYear
from almanac.site.nights import Nights
from almanac.site.place import Place
from almanac.site.sun import shortest_day


@dataclass(frozen=True, kw_only=True)
class Outdoors:
    """What seasons are worked out from: place, nights, signs of crops as logged, and what forecasts depend on."""

    place: Place
    nights: Nights
    signs: Mapping[tuple[str, str], tuple[date, ...]]
    around: Surroundings

    @cached_property
    def ahead(self) -> Surroundings:
        """What forecasts of lots to come depend on."""
        return before_all(self.around)

    def winter_of(self, day: date) -> date:
        """The shortest day of the freeze year in which a day lies."""
        start = FreezeYear(self.place.southern).start(day)
        return next(
            middle
            for middle in (shortest_day(self.place, start.year), shortest_day(self.place, start.year + 1))
            if start <= middle < start.replace(year=start.year + 1)
        )

    def winter_near(self, day: date) -> date:
        """The shortest day nearest to a day: from midsummer on that of the coming winter."""
        years = range(day.year - 1, day.year + 2)
        return min((shortest_day(self.place, year) for year in years), key=lambda middle: (abs(middle - day), middle))

    def winters(self, day: date) -> tuple[date, date, date]:
        """The shortest days of the winter before, of that nearest to a day, and of the next."""
        middle = self.winter_near(day)
        return shortest_day(self.place, middle.year - 1), middle, shortest_day(self.place, middle.year + 1)

    def logged(self, crop: str, sign: str, middle: date) -> date | None:
        """The day a sign of a crop outdoors was last logged in a winter."""
        return self._logged(crop, sign).get(middle)

    def logged_before(self, crop: str, sign: str, middle: date) -> dict[date, date]:
        """The days it was logged in earlier winters, by their shortest days."""
        return {winter: day for winter, day in self._logged(crop, sign).items() if winter < middle}

    def _logged(self, crop: str, sign: str) -> dict[date, date]:
        return {self.winter_of(day): day for day in self.signs.get((crop, sign), ())}
