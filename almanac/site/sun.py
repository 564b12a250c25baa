"""The sun at a place: takes place and date, gives its height, sunrise, sunset, day length and the solstices. Pure.

Sunrise is found on the sun's height: the library's own sunrise is off by up to minutes in the north and at height, and
raises near the poles. There are two day lengths: sunrise to sunset is what people look up and what rules and plans
count; with civil twilight is what plants that go by day length respond to.
"""

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from functools import lru_cache
from math import acos, asin, atan2, ceil, cos, degrees, radians, sin

from almanac.halving import first_true
from almanac.plain import dataclass
from almanac.site.place import Place

# Where the sun's centre stands at sunrise and sunset by the usual convention (US Naval Observatory, "Rise,
# Set, and Twilight Definitions"): 34' of refraction and 16' of half-diameter below a flat horizon.
HORIZON_DEG = -0.833
# The same page's civil dawn and dusk: 6 degrees below, the sun's centre, without refraction. Plants that tell
# the season by the night take the light until about then for day (common practice), so that their day is longer.
CIVIL_TWILIGHT_DEG = -6.0

_J2000 = datetime(2000, 1, 1, 12, tzinfo=UTC)
_DAY_S = 86_400
_HALF_DAY_S = 43_200


@dataclass(frozen=True, kw_only=True)
class SunDay:
    """One solar day: sunrise or sunset is None where it does not happen; `day_length_h` is 0 to 24 hours.

    Where another horizon than that of sunrise was asked for, the times are when the sun crosses that one.
    """

    sunrise: datetime | None
    sunset: datetime | None
    day_length_h: float


def sun_day(place: Place, day: date, horizon_deg: float = HORIZON_DEG) -> SunDay:
    """Sunrise and sunset of the solar day whose noon falls on a local date, by the clock of the place.

    The solar day runs from 12 hours before noon to 12 hours after it, so that sunset may carry the next date,
    and sunrise the one before. Under the midnight sun both times are None and the length is 24.0, in the
    polar night 0.0; on the days between, the sun may rise and not set again, or set without having risen.
    The observer stands at sea level; hills are not known. Within 0.2 degrees of a pole the sun is that of
    89.8 degrees.

    Args:
        place, day: where and when
        horizon_deg: what counts as the sun being up: HORIZON_DEG for sunrise and sunset, CIVIL_TWILIGHT_DEG for
            civil dawn and dusk [degrees of its centre above a flat horizon, without refraction]
    Returns:
        Times to the second, aware, in the zone of the place; length [hours].
    Source:
        The sun's height by astral (equations of the NOAA solar calculator, after Meeus); its crossings by
        halving, as astral's own sunrise strays by a minute and more near the polar circle and fails beyond.
    """
    noon = solar_noon(place, day)
    height_deg = _height_above_horizon(place, noon, horizon_deg)
    sunrise: datetime | None = None
    sunset: datetime | None = None
    above_s = 0
    for start, end in ((-_HALF_DAY_S, 0), (0, _HALF_DAY_S)):
        up_at_start, up_at_end = height_deg(start) > 0, height_deg(end) > 0
        if up_at_start == up_at_end:
            above_s += (end - start) * up_at_start
            continue
        crossing = _crossing(height_deg, start, end)
        moment = (noon + timedelta(seconds=crossing)).astimezone(place.zone)
        if up_at_end:
            sunrise = moment
            above_s += end - crossing
        else:
            sunset = moment
            above_s += crossing - start
    return SunDay(sunrise=sunrise, sunset=sunset, day_length_h=above_s / 3600)


def day_length_h(latitude_deg: float, day: date, horizon_deg: float = HORIZON_DEG) -> float:
    """Hours from sunrise to sunset, or above another horizon, quickly: from the declination at noon in Greenwich.

    By Greenwich: half the world away it errs by up to 3 minutes at 60 degrees; where the place is known,
    `day_length_at` does not.

    Args:
        latitude_deg: north is positive [degrees, -90 to 90]
        day: local calendar date
        horizon_deg: as in `sun_day`
    Returns:
        Day length [hours]: 0.0 in the polar night, 24.0 under the midnight sun.
    Source:
        Hour angle of the sun at that horizon; declination by US Naval Observatory, "Computing Approximate
        Solar Coordinates", good to 1 minute of arc from 1800 to 2200.
    """
    return _length_h(latitude_deg, datetime(day.year, day.month, day.day, 12, tzinfo=UTC), horizon_deg)


def day_length_at(place: Place, day: date, horizon_deg: float = HORIZON_DEG) -> float:
    """As `day_length_h`, but from the declination at the place's own noon."""
    return _length_h(place.latitude_deg, _mean_noon(place, day), horizon_deg)


def solar_noon(place: Place, day: date) -> datetime:
    """When the sun stands highest on a local date [UTC, to the second]."""
    mean = _mean_noon(place, day)
    _, equation_min = _sun(_days_since_2000(mean))
    return mean - timedelta(seconds=round(equation_min * 60))


def noon_height_deg(place: Place, day: date) -> float:
    """How high the sun's centre stands when it is highest, without refraction [degrees]; source: `day_length_h`."""
    declination, _ = _sun(_days_since_2000(_mean_noon(place, day)))
    return 90 - abs(place.latitude_deg - degrees(declination))


def shortest_day(place: Place, year: int) -> date:
    """The local date of the winter solstice: December in the north and on the equator, June in the south."""
    return _solstice(place, year, december=not place.southern)


def longest_day(place: Place, year: int) -> date:
    """The local date of the summer solstice: June in the north and on the equator, December in the south."""
    return _solstice(place, year, december=place.southern)


def first_day_length_at_least(
    place: Place, hours: float, start: date, within_days: int = 366, horizon_deg: float = HORIZON_DEG
) -> date | None:
    """The first date from `start` on with a day of at least so many hours; None within so many days."""
    return _first(start, within_days, lambda day: day_length_at(place, day, horizon_deg) >= hours)


def first_day_length_below(
    place: Place, hours: float, start: date, within_days: int = 366, horizon_deg: float = HORIZON_DEG
) -> date | None:
    """The first date from `start` on with a day shorter than so many hours; None within so many days."""
    return _first(start, within_days, lambda day: day_length_at(place, day, horizon_deg) < hours)


def _first(start: date, within_days: int, holds: Callable[[date], bool]) -> date | None:
    days = (start + timedelta(days=n) for n in range(within_days))
    return next((day for day in days if holds(day)), None)


def _height_above_horizon(place: Place, noon: datetime, horizon_deg: float) -> Callable[[int], float]:
    """The sun's height over the line it crosses [degrees], as a function of seconds after noon."""
    from astral import Observer
    from astral.sun import elevation

    observer = Observer(place.latitude_deg, place.longitude_deg, 0.0)

    def height_deg(after_noon_s: int) -> float:
        moment = noon + timedelta(seconds=after_noon_s)
        return elevation(observer, moment, with_refraction=False) - horizon_deg

    return height_deg


def _crossing(height_deg: Callable[[int], float], start: int, end: int) -> int:
    """When the sun crosses the rising line, once between a midnight and a noon [seconds after noon]."""
    up_at_start = height_deg(start) > 0
    return first_true(lambda moment: (height_deg(moment) > 0) != up_at_start, start, end)


def _mean_noon(place: Place, day: date) -> datetime:
    """Noon of the mean sun that falls on a local date [UTC].

    Mean noons are 24 hours apart whatever the clock does, so that no date goes without and none has two, even
    where the clock runs half a day off the sun.
    """
    civil = datetime(day.year, day.month, day.day, 12, tzinfo=place.zone).astimezone(UTC)
    greenwich = datetime(day.year, day.month, day.day, 12, tzinfo=UTC)
    mean = greenwich - timedelta(seconds=round(place.longitude_deg * 240))
    days = ceil((civil - mean).total_seconds() / _DAY_S - 0.5)
    return mean + timedelta(days=days)


def _days_since_2000(moment: datetime) -> float:
    return (moment - _J2000) / timedelta(days=1)


def _ecliptic_longitude_deg(days: float) -> tuple[float, float]:
    """The apparent and the mean longitude of the sun [degrees]; source as in `day_length_h`."""
    anomaly = radians(357.529 + 0.98560028 * days)
    mean = 280.459 + 0.98564736 * days
    return mean + 1.915 * sin(anomaly) + 0.020 * sin(2 * anomaly), mean


def _sun(days: float) -> tuple[float, float]:
    """Declination [radians], and apparent less mean time [minutes]; source as in `day_length_h`."""
    longitude_deg, mean_deg = _ecliptic_longitude_deg(days)
    longitude = radians(longitude_deg)
    obliquity = radians(23.439 - 0.00000036 * days)
    right_ascension_deg = degrees(atan2(cos(obliquity) * sin(longitude), cos(longitude)))
    equation_deg = (mean_deg - right_ascension_deg + 180) % 360 - 180
    return asin(sin(obliquity) * sin(longitude)), equation_deg * 4


def _length_h(latitude_deg: float, noon: datetime, horizon_deg: float) -> float:
    declination, _ = _sun(_days_since_2000(noon))
    latitude = radians(latitude_deg)
    above = sin(radians(horizon_deg)) - sin(latitude) * sin(declination)
    cosine = above / (cos(latitude) * cos(declination))  # the cosine of 90 degrees is not quite 0 in floats
    return degrees(acos(max(-1.0, min(1.0, cosine)))) / 7.5


@lru_cache(maxsize=1024)
def _solstice(place: Place, year: int, *, december: bool) -> date:
    """The local date on which the sun's longitude is 90 or 270 degrees, found by Newton's method."""
    wanted_deg = 270 if december else 90
    days = _days_since_2000(datetime(year, 12 if december else 6, 21, tzinfo=UTC))
    for _ in range(6):
        longitude_deg, _mean = _ecliptic_longitude_deg(days)
        days -= ((longitude_deg - wanted_deg + 180) % 360 - 180) / 0.98564736
    return (_J2000 + timedelta(days=days)).astimezone(place.zone).date()
