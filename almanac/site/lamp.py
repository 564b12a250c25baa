"""A lamp over plants, alone or beside the day: from the light they want to the hours of its timer. Pure.

Hours of the clock run from the midnight before a day; they may lie before 0 or after 24.

A lamp adds to one lit stretch: from the first light of sun or lamp to the last counts as lit, gaps and all, so that
what is left is one dark night, whatever the timer's clock. Hours are those the dose lacks or those the day lacks of the
shortest that suits, whichever is more; they begin at the wished time where that costs no more than an hour, else they
lengthen the evening. Days are reckoned by calendar weeks, so that a forecast that moves by a day leaves entries alone.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from functools import lru_cache
from math import ceil, floor
from typing import Literal

from almanac.plain import dataclass
from almanac.site.light import clear_sky_mj, dli_mol, usual_mj
from almanac.site.place import Place
from almanac.site.sun import day_length_at, solar_noon

# Photons that one µmol m⁻² s⁻¹ makes in an hour [mol m⁻²]: 3600 s of it, a million µmol to the mol.
MOL_PER_PPFD_HOUR = 3600 / 1e6
_PIN_H = 0.5  # what a timer is set by: its pins stand for 15 or 30 minutes
_LEAST_H = 1.0  # a lamp that is to burn for less than this beside the day may as well stay off

# Why a lamp burns as long as it does: the dose asks for it; the shortest day that plants want; the longest, or their
# dark; the lamp's own most; the most light they bear. And why not at all: the day is as long as they want or longer;
# it gives enough, and long enough; less than an hour is lacking.
Limit = Literal["dose", "least_h", "most_h", "lamp", "most_mol", "long_day", "enough", "little"]


@dataclass(frozen=True, kw_only=True)
class LightAim:
    """The light plants want: the dose aimed at, the least and the most they bear [mol m⁻² d⁻¹]; hours lit a day."""

    aim_mol: float
    least_mol: float
    most_mol: float
    least_h: float
    most_h: float


@dataclass(frozen=True, kw_only=True)
class Lamp:
    """A lamp on a timer: photons at the leaves [µmol m⁻² s⁻¹; None: not known], its most hours, when it would go on."""

    ppfd: float | None
    most_h: float
    on_h: float

    def dose_mol(self, hours: float) -> float:
        """What it gives in so many hours [mol m⁻²]; 0.0 where its photons are not known."""
        return (self.ppfd or 0.0) * hours * MOL_PER_PPFD_HOUR

    def hours_for(self, dose_mol: float) -> float:
        """How long it takes to give a dose."""
        return dose_mol / ((self.ppfd or 0.0) * MOL_PER_PPFD_HOUR)


@dataclass(frozen=True, kw_only=True)
class Daylight:
    """The light of one usual day that reaches the leaves; `measured` says whether by the place's own monthly means."""

    day: date
    rise_h: float
    set_h: float
    dose_mol: float
    measured: bool

    @property
    def length_h(self) -> float:
        return self.set_h - self.rise_h


@dataclass(frozen=True, kw_only=True)
class Setting:
    """What a timer is set to: on at an hour of the clock, for so many hours (0: off), and what bounds it."""

    on_h: float
    hours: float
    limit: Limit

    @property
    def off_h(self) -> float:
        """The hour of the clock at which it goes off."""
        return (self.on_h + self.hours) % 24


@lru_cache(maxsize=4096)
def daylight(place: Place, day: date, share: float, usual_share: float) -> Daylight:
    """The usual light of a day where so large a share of that outdoors reaches the leaves, by the clock of the place.

    Args:
        place, day: where and when
        share: of the outdoor light, that reaches the leaves
        usual_share: of a clear sky, that a usual day has, where the place has no monthly means
    """
    noon = solar_noon(place, day).astimezone(place.zone)
    noon_h = noon.hour + noon.minute / 60 + noon.second / 3600
    half = day_length_at(place, day) / 2
    usual = usual_mj(place, day)
    radiation = usual if usual is not None else usual_share * clear_sky_mj(place, day)
    return Daylight(
        day=day,
        rise_h=noon_h - half,
        set_h=noon_h + half,
        dose_mol=dli_mol(radiation) * share,
        measured=usual is not None,
    )


def lit_h(setting: Setting, day: Daylight | None) -> float:
    """Hours from the first light of lamp or day to the last: what is left of 24 is one dark night."""
    if day is None or not day.length_h:
        return setting.hours
    if not setting.hours:
        return day.length_h
    on = _near_noon(setting.on_h, day)
    return min(24.0, max(day.set_h, on + setting.hours) - min(day.rise_h, on))


def alone(wanted: LightAim, lamp: Lamp) -> Setting:
    """The hours of a lamp that is all the light there is; where its photons are not known, the longest day."""
    most = min(wanted.most_h, lamp.most_h)
    bounded: Limit = "most_h" if wanted.most_h <= lamp.most_h else "lamp"
    if lamp.ppfd is None:
        return Setting(on_h=lamp.on_h, hours=_down(most), limit=bounded)
    needed = lamp.hours_for(wanted.aim_mol)
    if needed >= most:
        return Setting(on_h=lamp.on_h, hours=_down(most), limit=bounded)
    if needed >= wanted.least_h:
        return Setting(on_h=lamp.on_h, hours=min(_nearest(needed), _down(most)), limit="dose")
    short = wanted.least_h <= most
    return Setting(on_h=lamp.on_h, hours=min(_up(wanted.least_h), _down(most)), limit="least_h" if short else bounded)


def beside(wanted: LightAim, lamp: Lamp, day: Daylight, coming: Sequence[Daylight]) -> Setting:
    """The hours of a lamp that adds to the day: what the day lacks of the dose, or of the hours, whichever is more.

    Args:
        wanted, lamp: what plants want; the lamp, its photons known
        day: the day whose light is counted on
        coming: the days for which the setting must leave plants their dark
    """
    if not day.length_h:
        dark = alone(wanted, lamp)
        returns = next((each for each in coming if each.length_h), None)  # the sun, after weeks without
        return dark if returns is None or fits(dark, wanted, coming) else beside(wanted, lamp, returns, coming)
    if day.length_h >= wanted.most_h:
        return Setting(on_h=lamp.on_h, hours=0.0, limit="long_day")
    by_dose = max(0.0, lamp.hours_for(wanted.aim_mol - day.dose_mol))
    by_length = max(0.0, wanted.least_h - day.length_h)
    bounds: list[tuple[float, Limit]] = [
        (max(by_dose, by_length), "dose" if by_dose >= by_length else "least_h"),
        (lamp.hours_for(max(0.0, wanted.most_mol - day.dose_mol)), "most_mol"),
        (lamp.most_h, "lamp"),
    ]
    hours, limit = min(bounds, key=lambda bound: bound[0])
    hours, cap = (_nearest if limit == bounds[0][1] else _down)(hours), min(bounds[1][0], bounds[2][0])
    hours = min(hours, _down(cap))
    while hours >= _LEAST_H:
        for setting in _places(hours, limit, wanted, lamp, day):
            if setting.hours <= cap and fits(setting, wanted, coming):
                return setting
        hours, limit = hours - _PIN_H, "most_h"
    suffices = not by_dose and not by_length
    return Setting(
        on_h=lamp.on_h,
        hours=0.0,
        limit="enough" if suffices else limit if limit in ("most_mol", "most_h") else "little",
    )


def fits(setting: Setting, wanted: LightAim, coming: Sequence[Daylight]) -> bool:
    """Whether a setting leaves plants their dark on each of some days, as far as the day itself does."""
    return all(lit_h(setting, each) <= max(wanted.most_h, each.length_h) for each in coming)


def _places(hours: float, limit: Limit, wanted: LightAim, lamp: Lamp, day: Daylight) -> Iterator[Setting]:
    """Where so many hours may lie to make the day long enough, the best first.

    From the wished start on, where at most an hour more does it; else so that they end with the lengthened day.
    """
    wished = _wished(lamp.on_h, wanted, day)
    enough_h = min(wanted.least_h, day.length_h + hours) - _PIN_H / 2
    for more in (0.0, _PIN_H, 2 * _PIN_H):
        setting = Setting(on_h=wished % 24, hours=hours + more, limit="least_h" if more else limit)
        if wished + setting.hours >= day.rise_h and lit_h(setting, day) >= enough_h:
            yield setting
    end = max(day.set_h, min(day.rise_h + wanted.least_h, day.set_h + hours))
    yield Setting(on_h=_nearest(end - hours) % 24, hours=hours, limit=limit)


def _wished(on_h: float, wanted: LightAim, day: Daylight) -> float:
    """The start nearest to the wished one from which the lamp may join the day: no later than sunset, nor too early."""
    earliest, latest = _up(day.set_h - wanted.most_h), _down(day.set_h)
    return max(earliest, min(_near_noon(on_h, day), latest))


def _near_noon(hour: float, day: Daylight) -> float:
    """An hour of the clock as that of the solar day, which runs from 12 hours before noon to 12 after it."""
    start = (day.rise_h + day.set_h) / 2 - 12
    return hour + 24 * ceil((start - hour) / 24)  # whole days: a wished half hour stays one to the last bit


def _nearest(hours: float) -> float:
    return round(hours / _PIN_H) * _PIN_H


def _down(hours: float) -> float:
    return floor(hours / _PIN_H + 1e-9) * _PIN_H


def _up(hours: float) -> float:
    return ceil(hours / _PIN_H - 1e-9) * _PIN_H
