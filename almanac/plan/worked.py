"""What programmes came to: the figures behind a date that was worked out, for those who ask why. Plain values."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from almanac.site.lamp import Daylight, Lamp, Setting, Wanted


@dataclass(frozen=True)
class Worked:
    """The figures of one task; each programme has its own. `words.worked` tells them."""


@dataclass(frozen=True)
class GnatsWorked(Worked):
    """What the days against gnats in a place come to.

    The sighting acted on with its count, the last adult, and the end (`cold`: by the bound, as the mix is too cold);
    the warmest and coldest mix [°C] with the days from egg to adult there, by the fast clock and by the slow one, and
    the degree-days these ask for above the threshold. Of a treatment also the days a larva lives in its warmest mix,
    how many days on it comes again, and at the latest, and the mix it bears where its rule says so.
    """

    seen: date
    count: int | None
    act_at: int
    last: date
    end: date
    cold: bool
    threshold_c: float
    warmest_c: float
    coldest_c: float
    fast_days: float
    slow_days: float
    fast_sum: float
    slow_sum: float
    larva_days: float | None = None
    every: int | None = None
    gap: int | None = None
    bears_c: tuple[float, float] | None = None


@dataclass(frozen=True)
class Refused(Worked):
    """Mix that a treatment does not bear: the warmest or coldest of it, and what it does bear [°C]."""

    mix_c: float
    low_c: float
    high_c: float


@dataclass(frozen=True)
class LampWorked(Worked):
    """What a lamp is set to and why: for crops in leaf, `raised` once one of them has roots; `before` in hours a day.

    `day` is the daylight of that week where the lamp adds to it, of which the `share` reaches the leaves; `place` is
    what such a place asks for.
    """

    setting: Setting
    wanted: Wanted
    lamp: Lamp
    day: Daylight | None
    share: float | None
    crops: tuple[str, ...]
    raised: bool
    before: float
    place: str
