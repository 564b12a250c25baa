"""The one line of whoever has cuttings in hand: to label them before they are put down. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from almanac.nursery.logbook import Row
from almanac.words.lots import named


def label_first(rows: Iterable[Row], made: Sequence[str] = ()) -> str:
    """What was in hand, and to label it; empty where nothing was.

    Args:
        rows: as they were logged
        made: the lots they make
    """
    held = [row.lot for row in rows if row.event.handles and not (row.event.makes_lot and made)]
    lots = named(list(dict.fromkeys(filter(None, [*made, *held]))), 8)
    return f"Label {lots} before you put it down: a mixed-up variety cannot be told apart again." if lots else ""
