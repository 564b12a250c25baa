"""How many cuttings each lot had in each stage, from day to day: from the rows of a logbook. Pure.

A cohort carries the furthest it has come (`reached`: stuck, rooted, finished), and what leaves a lot is counted by it.
So every cutting ever stuck is in one place, and a restuck or joined one is counted once, without a ledger of moves.
What a stocktake misses leaves the sum, whatever its stage: a slip of counting is no dead cutting.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from itertools import groupby

from almanac.nursery.events import STAGES, Stage
from almanac.nursery.lots import Lot
from almanac.nursery.nursery import Nursery
from almanac.nursery.replay import go_on, replay

Counts = Mapping[Stage, int]


def counts_by_day(nursery: Nursery) -> dict[str, list[tuple[date, Counts]]]:
    """By lot, each day on which a count changed with the counts at its end."""
    book, settings, varieties = nursery.book, nursery.settings, nursery.varieties
    known = book.method_places, book.crop_methods
    stock, _ = replay((), settings, varieties, *known, nursery.every_row)
    found: dict[str, list[tuple[date, Counts]]] = {}
    before: Mapping[str, Lot] = {}
    for day, rows in groupby((row for row in nursery.rows if row.event.kind == "step"), key=lambda row: row.day):
        stock = go_on(stock, list(rows), settings, varieties, *known, nursery.every_row) or stock
        for name, lot in stock.lots.items():
            if before.get(name) is not lot:
                counts = {stage: lot.count(stage) for stage in STAGES}
                days = found.setdefault(name, [])
                if not days or days[-1][1] != counts:
                    days.append((day, counts))
        before = stock.lots
    return found
