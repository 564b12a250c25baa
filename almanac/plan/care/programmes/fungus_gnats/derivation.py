"""What the days against fungus gnats come to: the figures behind them, for those who ask why. Plain values."""

from __future__ import annotations

from datetime import date

from almanac.plain import dataclass
from almanac.plan.derivation import Derivation


@dataclass(frozen=True, kw_only=True)
class GnatDays(Derivation):
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


@dataclass(frozen=True, kw_only=True)
class UnfitMix(Derivation):
    """Mix that a treatment does not bear: the warmest or coldest of it, and what it does bear [°C]."""

    mix_c: float
    low_c: float
    high_c: float
