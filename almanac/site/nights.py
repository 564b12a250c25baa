"""What is known of a site's nights: its frost table, and tables for other thresholds where they can be made.

Published dates and station normals hold for their one threshold; a daily record and monthly lows tell of any. Pure.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace

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
    """

    frost: FrostTable
    table_at: Callable[[float], FrostTable] | None = None
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

    def _made(self, threshold_c: float) -> FrostTable | None:
        try:
            return self.table_at(threshold_c) if self.table_at else None
        except ValueError:  # too few nights so cold to make a table of
            return None
