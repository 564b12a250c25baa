"""What is known of a site's nights: its frost table, tables for other thresholds, and the usual low of each day.

A daily record and monthly lows tell of any threshold; published dates and station normals of their one, and colder
nights are estimated from them. Pure.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import field, replace
from functools import cached_property, lru_cache
from math import hypot

from almanac.plain import dataclass
from almanac.site.colder import colder_nights, shipped_colder, wave_of
from almanac.site.frost import FrostTable
from almanac.site.usual import UsualYear
from almanac.worked_out import WorkedOut

# How near a threshold is to that of the table to be the same: what degrees of two scales differ by in rounding [°C].
_SAME = 0.06


@dataclass(frozen=True)
class Nights:
    """A site's nights.

    Args:
        frost: its frost table
        latitude_deg: of the site, north is positive
        table_at: makes the table of another threshold [°C], raising ValueError where that cannot be; None: the source
            tells of its own alone
    """

    frost: FrostTable
    latitude_deg: float
    table_at: Callable[[float], FrostTable] | None = None
    _tables: WorkedOut[float, FrostTable | None] = field(
        init=False, default_factory=WorkedOut, compare=False, repr=False
    )

    def at(self, threshold_c: float) -> FrostTable | None:
        """The table of nights at or below a threshold [°C]; None above that of a source which tells of no other."""
        if abs(threshold_c - self.frost.threshold_c) <= _SAME:
            return self.frost
        if self.frost.autumn is None and threshold_c < self.frost.threshold_c:
            return replace(self.frost, threshold_c=threshold_c)  # nights that cold come even less
        return self._tables.of(threshold_c, lambda: self._made(threshold_c))

    @property
    def estimates_colder(self) -> bool:
        """Whether colder nights are estimated, not told by a record."""
        return self.table_at is None or self.frost.estimate

    @cached_property
    def usual(self) -> UsualYear:
        """The usual low of each day: by the source's monthly means where it has them, else estimated from its dates."""
        constants = shipped_colder()
        off_c = 0.0 if self.frost.lows_c else constants.lows_off_c
        lows_c = wave_of(self.frost, self.latitude_deg).lows_c
        return UsualYear(lows_c, self.frost.southern, hypot(constants.season_sd_c, off_c))

    def _made(self, threshold_c: float) -> FrostTable | None:
        try:
            if self.table_at:
                return self.table_at(threshold_c)
        except ValueError:  # too few nights so cold to make a table of
            pass
        if threshold_c > self.frost.threshold_c:
            return None
        return _estimated(self.frost, self.latitude_deg, threshold_c)


@lru_cache(maxsize=256)  # a site's frosts are the same at each look at its nursery
def _estimated(frost: FrostTable, latitude_deg: float, threshold_c: float) -> FrostTable:
    return colder_nights(frost, wave_of(frost, latitude_deg), threshold_c)
