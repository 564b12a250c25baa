"""What is known of a site's nights: its frost table, tables for other thresholds where they can be made, usual lows.

Published dates and station normals hold for their one threshold; a daily record and monthly lows tell of any. Pure.
"""

from __future__ import annotations

from calendar import monthrange
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from statistics import fmean

from almanac.site.frost import FrostTable

# How near a threshold is to that of the table to be the same: what degrees of two scales differ by in rounding [°C].
_SAME = 0.06


@dataclass(frozen=True)
class Nights:
    """A site's nights.

    Args:
        frost: its frost table
        table_at: makes the table of another threshold [°C], raising ValueError where that cannot be; None: no source
            for it
        monthly_lows: gives the twelve mean lows, January first [°C]; None where nobody knows them
    """

    frost: FrostTable
    table_at: Callable[[float], FrostTable] | None = None
    monthly_lows: Callable[[], Sequence[float]] | None = None
    _tables: dict[float, FrostTable | None] = field(init=False, default_factory=dict, compare=False, repr=False)

    def at(self, threshold_c: float) -> FrostTable | None:
        """The table of nights at or below a threshold [°C]; None where the source cannot tell."""
        if abs(threshold_c - self.frost.threshold_c) <= _SAME:
            return self.frost
        if self.frost.autumn is None and threshold_c < self.frost.threshold_c:
            return replace(self.frost, threshold_c=threshold_c)  # nights that cold come even less
        if threshold_c not in self._tables:
            self._tables[threshold_c] = self._made(threshold_c)
        return self._tables[threshold_c]

    def usual_low_c(self, day: date) -> float | None:
        """The usual low of a night [°C], between the means of two months in proportion; None where nobody knows."""
        if self.monthly_lows is None:
            return None
        lows = self.monthly_lows()
        before = (day.month - 2) % 12 if day.day < 16 else day.month - 1
        share = ((day.day - 15.5) / monthrange(day.year, day.month)[1]) % 1.0
        return lows[before] * (1 - share) + lows[(before + 1) % 12] * share

    def _made(self, threshold_c: float) -> FrostTable | None:
        try:
            return self.table_at(threshold_c) if self.table_at else None
        except ValueError:  # too few nights so cold to make a table of
            return None


def mean_lows(lows: Mapping[date, float]) -> Sequence[float]:
    """The mean low of each month of a daily record, January first [°C]; a month without a night has its neighbour's."""
    by_month: list[list[float]] = [[] for _ in range(12)]
    for day, low in lows.items():
        by_month[day.month - 1].append(low)
    known = [fmean(month) if month else None for month in by_month]
    anything = next(mean for mean in [*known, 0.0] if mean is not None)
    filled: list[float] = []
    for mean in known:
        filled.append(mean if mean is not None else (filled[-1] if filled else anything))
    return filled
