"""Lots named in a line: few by name, many by number; where cuttings are. Pure."""

from __future__ import annotations

from collections.abc import Sequence

from almanac.nursery.events import Stage
from almanac.nursery.lots import Lot

_STAGES: dict[Stage, str] = {"store": "in store", "rooting": "rooting", "pot": "in pots", "outside": "outside"}


def named(lots: Sequence[str], most: int = 6) -> str:
    """`7a, 7b and 2 more`: short enough for a phone."""
    if len(lots) <= most:
        return ", ".join(lots)
    return f"{', '.join(lots[: most - 1])} and {len(lots) - most + 1} more"


def whereabouts(lot: Lot) -> str:
    """`8 rooting in A, 4 in pots`, or that it is closed."""
    parts = []
    for stage, words in _STAGES.items():
        if lot.count(stage):
            place = f" in {lot.bin}" if stage == "rooting" and lot.bin else ""
            parts.append(f"{lot.count(stage)} {words}{place}")
    return ", ".join(parts) or "closed"


def place_and_count(lot: Lot) -> str:
    """The same as short as a column wants it: `8 in A, 4 in pots`."""
    return whereabouts(lot).replace(" rooting in ", " in ")


def bins_named(bins: Sequence[str]) -> str:
    """`bin A`, or `bins A, B`."""
    return f"bin{'s' * (len(bins) > 1)} {', '.join(bins)}"
