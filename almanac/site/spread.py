"""How far frost dates usually spread about their middle: gives the figures that ship with the program."""

from bisect import bisect_left
from functools import cache

from almanac.plain import dataclass
from almanac.site.given import Season
from almanac.site.shipped import shipped_figures


@dataclass(frozen=True, kw_only=True)
class FrostSpread:
    """Standard deviations from year to year of the last and of the first frost date [days]; their source.

    By the date itself, as (day of the freeze year, days): where spring comes early and autumn late winters are mild,
    and frost comes or stays away by single nights. The dates are of 0 °C; those of a colder threshold lie so many days
    nearer to winter for each degree.
    """

    spring: tuple[tuple[float, float], ...]
    autumn: tuple[tuple[float, float], ...]
    days_per_c: float
    source: str

    def sd_days(self, season: Season, day: float, threshold_c: float) -> float:
        """The spread to assume about a date, on straight lines between the figures."""
        points = self.spring if season == "last_spring" else self.autumn
        day += self.days_per_c * threshold_c * (-1 if season == "last_spring" else 1)
        place = bisect_left(points, day, key=lambda point: point[0])
        if place in (0, len(points)):
            return points[min(place, len(points) - 1)][1]
        (day_a, sd_a), (day_b, sd_b) = points[place - 1 : place + 1]
        return sd_a + (sd_b - sd_a) * (day - day_a) / (day_b - day_a)


@cache
def usual_spread() -> FrostSpread:
    """The spread to assume for a place that has published a single date; read once."""
    found = shipped_figures("frost_spread.toml")
    spring, autumn = (tuple((day, sd) for day, sd in found[season]) for season in ("spring", "autumn"))
    return FrostSpread(spring=spring, autumn=autumn, days_per_c=found["days_per_c"], source=found["source"])
