"""Sunlight at a place: takes place and date, gives radiation and photons of a clear sky, by day and by the clock. Pure.

"Clear" is what a day without a cloud gives, an upper bound; "usual" is less, and known only from monthly means.

Clear light is two published models. The day's sum is the handbook's (FAO 56, eq. 37), which anyone can check and which
knows height; its course over the day is that of Haurwitz, as the sun's bare height makes both ends of the day, where
hardening off begins, brighter. In December at 52 degrees the sum is a third above that of Haurwitz, and more beyond: a
bound, called so. Photons are 1.96 mol per MJ, the factor of maps made for growers; others run to 2.3.
"""

from __future__ import annotations

from datetime import date, datetime, timedelta
from functools import lru_cache
from itertools import accumulate
from math import acos, cos, exp, pi, radians, sin, tan

from almanac.plain import dataclass
from almanac.site.months import on_day
from almanac.site.place import Place
from almanac.site.sun import solar_noon

# Photons of photosynthetic light in global radiation [mol per MJ, or µmol per J]. Logan, Sams & Faust 2016, "Mapping
# Daily Light Integrals for Greenhouse Production" (American Meteorological Society, 96th Annual Meeting): 7.058 mol per
# kWh. Others: 2.04 (Meek et al. 1984, Agronomy Journal 76); 2.3 from a share of 0.5 at 4.6 µmol per J.
PHOTONS_MOL_PER_MJ = 7.058 / 3.6

_SOLAR_CONSTANT = 0.0820  # MJ m-2 min-1; FAO 56, eq. 21
_DAY_S = 86_400
_STEP_S = 300
# B. Haurwitz 1945, Journal of Meteorology 2: with the sine of the height s, clear radiation runs as s exp(-0.059 / s).
# At a hand's breadth over the horizon and below (1.1 degrees) the exponent is held, or the course would vanish.
_HAURWITZ = 0.059
_LOWEST_SINE = 0.02


def extraterrestrial_mj(latitude_deg: float, day: date) -> float:
    """Radiation on a flat top of the atmosphere over a day, Ra [MJ m-2 d-1]; 0.0 in the polar night.

    Source:
        Allen et al. 1998, FAO Irrigation and Drainage Paper 56, eq. 21 to 25.
    """
    latitude, declination = radians(latitude_deg), _declination(day)
    sunset = acos(max(-1.0, min(1.0, -tan(latitude) * tan(declination))))
    flat = sunset * sin(latitude) * sin(declination) + cos(latitude) * cos(declination) * sin(sunset)
    distance = 1 + 0.033 * cos(2 * pi / 365 * _day_of_year(day))
    return max(0.0, 24 * 60 / pi * _SOLAR_CONSTANT * distance * flat)


def clear_sky_mj(place: Place, day: date) -> float:
    """Global radiation of a cloudless day on flat ground, Rso [MJ m-2 d-1].

    A bound: where the sun stays low it is more than models that see this give, by a third at 52 degrees in December.

    Source:
        Allen et al. 1998, FAO Irrigation and Drainage Paper 56, eq. 37: it rises with the height above the sea.
    """
    return (0.75 + 2e-5 * max(0.0, place.elevation_m)) * extraterrestrial_mj(place.latitude_deg, day)


def dli_mol(radiation_mj: float) -> float:
    """The daily light integral [mol m-2 d-1] in global radiation [MJ m-2 d-1], by PHOTONS_MOL_PER_MJ."""
    return radiation_mj * PHOTONS_MOL_PER_MJ


@dataclass(frozen=True, kw_only=True)
class ClearDay:
    """The light of one cloudless day, from 12 hours before the sun's noon to 12 hours after it.

    Args:
        noon: when the sun stands highest, aware
        radiation_mj: global radiation of the day [MJ m-2]
        latitude_deg, declination: of place and sun [degrees; radians], which shape the day

    The sum is that of FAO 56 (`clear_sky_mj`), its course over the day that of Haurwitz 1945: gentler than the bare
    sine of the sun's height at both ends and steeper at noon.
    """

    noon: datetime
    radiation_mj: float
    latitude_deg: float
    declination: float

    @property
    def dli_mol(self) -> float:
        """Photons of the whole day [mol m-2]."""
        return dli_mol(self.radiation_mj)

    def watts(self, moment: datetime) -> float:
        """Global radiation at a moment [W m-2]; 0.0 while the sun is down and beyond this day."""
        after_noon_s = (moment - self.noon).total_seconds()
        whole = _course(self.latitude_deg, self.declination)[-1]
        if not whole or abs(after_noon_s) > _DAY_S / 2:
            return 0.0
        return self.radiation_mj * 1e6 / whole * _clearness_at(self.latitude_deg, self.declination, after_noon_s)

    def ppfd(self, moment: datetime) -> float:
        """Photons at a moment [µmol m-2 s-1]."""
        return self.watts(moment) * PHOTONS_MOL_PER_MJ

    def share(self, start: datetime, end: datetime) -> float:
        """The share of the day's light, 0 to 1, that falls between two moments; what lies beyond this day is dark."""
        course = _course(self.latitude_deg, self.declination)
        return (self._until(end, course) - self._until(start, course)) / course[-1] if course[-1] else 0.0

    def dose_mol(self, start: datetime, end: datetime) -> float:
        """Photons that fall between two moments [mol m-2]."""
        return self.share(start, end) * self.dli_mol

    def peak_ppfd(self, start: datetime, end: datetime) -> float:
        """The strongest light between two moments [µmol m-2 s-1]."""
        return self.ppfd(min(max(self.noon, start), end))

    def _until(self, moment: datetime, course: tuple[float, ...]) -> float:
        at = ((moment - self.noon).total_seconds() + _DAY_S / 2) / _STEP_S
        at = min(max(at, 0.0), len(course) - 1.0)
        below = min(int(at), len(course) - 2)
        return course[below] + (at - below) * (course[below + 1] - course[below])


def clear_day(place: Place, day: date) -> ClearDay:
    """The light of the cloudless solar day whose noon falls on a local date, by the clock of the place."""
    noon = solar_noon(place, day)
    return ClearDay(
        noon=noon, radiation_mj=clear_sky_mj(place, day), latitude_deg=place.latitude_deg, declination=_declination(day)
    )


def usual_mj(place: Place, day: date) -> float | None:
    """Global radiation of a usual day [MJ m-2 d-1]; None where the place has no monthly means.

    That of a clear sky, by the share of it that the means of the months are.
    """
    return on_day(_usual_shares(place, day.year), day) * clear_sky_mj(place, day) if place.radiation_mj else None


def clear_sky_by_month_mj(place: Place, year: int) -> tuple[float, ...]:
    """The mean of the clear days of each month [MJ m-2 d-1]."""
    return _clear_by_month(place.latitude_deg, place.elevation_m, year)


@lru_cache(maxsize=64)
def _clear_by_month(latitude_deg: float, elevation_m: float, year: int) -> tuple[float, ...]:
    place = Place(latitude_deg=latitude_deg, longitude_deg=0.0, timezone="UTC", elevation_m=elevation_m)
    means = []
    for month in range(1, 13):
        first = date(year, month, 1)
        length = (date(year + month // 12, month % 12 + 1, 1) - first).days
        means.append(sum(clear_sky_mj(place, first + timedelta(days=n)) for n in range(length)) / length)
    return tuple(means)


@lru_cache(maxsize=64)
def _usual_shares(place: Place, year: int) -> tuple[float, ...]:
    clear = clear_sky_by_month_mj(place, year)
    return tuple(mean / most if most > 0 else 0.0 for mean, most in zip(place.radiation_mj, clear, strict=True))


def _day_of_year(day: date) -> int:
    return day.timetuple().tm_yday


def _declination(day: date) -> float:
    """The sun's declination as FAO 56, eq. 24, has it, up to 1 degree off: the day's sum rests on it [radians]."""
    return 0.409 * sin(2 * pi / 365 * _day_of_year(day) - 1.39)


def _clearness_at(latitude_deg: float, declination: float, after_noon_s: float) -> float:
    """How strong clear light is so long after noon, in a unit of its own."""
    latitude = radians(latitude_deg)
    hour_angle = 2 * pi * after_noon_s / _DAY_S
    sine = sin(latitude) * sin(declination) + cos(latitude) * cos(declination) * cos(hour_angle)
    return sine * exp(-_HAURWITZ / max(sine, _LOWEST_SINE)) if sine > 0 else 0.0


@lru_cache(maxsize=2048)
def _course(latitude_deg: float, declination: float) -> tuple[float, ...]:
    """Light gathered since midnight, at every step of the day."""
    moments = range(_STEP_S // 2, _DAY_S // 2, _STEP_S)
    after_noon = [_clearness_at(latitude_deg, declination, moment) * _STEP_S for moment in moments]
    return (0.0, *accumulate([*reversed(after_noon), *after_noon]))
