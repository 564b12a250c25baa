"""From a nursery's folder to the season that a chart shows. Writes nothing."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from pathlib import Path

from almanac.actions.look import look
from almanac.faults import Fact, Refusal, nearest
from almanac.nursery.nursery import Nursery
from almanac.pictures.chart_rows import Season, season_of


def season_asked(
    folder: Path,
    now: datetime,
    as_of: date | None = None,
    first: date | None = None,
    last: date | None = None,
    lots: Sequence[str] = (),
) -> tuple[Nursery, Season]:
    """The nursery, and its season between two days; of these lots only, where any are named.

    Raises:
        InputFaults, Refusal: as `look`; there is no such lot
    """
    seen = look(folder, now, as_of)
    every = seen.nursery.stock.lots
    for lot in lots:
        if lot.lower() not in every:
            raise Refusal(Fact("lot_unknown", name=lot, near=nearest(lot, every)))
    return seen.nursery, season_of(seen.plan, seen.nursery, first, last, [lot.lower() for lot in lots])
