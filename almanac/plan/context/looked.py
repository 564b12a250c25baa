"""From what was logged: when each lot and bin was last looked at, and whether looks are logged there. Pure."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from datetime import date, timedelta

from almanac.nursery.lots import BinLog, Lot, Stock
from almanac.plan.model import Seen

LATELY = timedelta(days=14)  # looks logged within so many days: a round not logged there is one missed
Walked = Mapping[str, Counter[date]]


def walked(stock: Stock) -> Walked:
    """By bin and day, how many of the lots that are in it now were looked at there."""
    found: dict[str, Counter[date]] = {}
    for lot in stock.lots.values():
        if lot.bin:
            found.setdefault(lot.bin, Counter()).update(_days_in_bin(lot))
    return found


def lot_seen(lot: Lot, walks: Walked, as_of: date) -> Seen:
    """When a lot was looked at.

    Of a lot left out when its bin was said to be well, a sign or trouble logged that day says that it was seen.
    """
    own = set(lot.jobs.get("looked", ()))
    if not lot.bin:
        came = max((cohort.since for cohort in lot.cohorts), default=lot.started)
        return _seen(own, [day for day in own if day > came], as_of)
    there = walks.get(lot.bin, Counter())
    told = {sign.day for sign in lot.signs.values()} | set(lot.troubles.values())
    return _seen(own | {day for day in told if day in there}, there, as_of)


def bin_seen(log: BinLog, lots: int, walks: Walked, as_of: date) -> Seen:
    """When a bin as a whole, with so many lots in it, was looked at: it was logged, or half of its lots were."""
    there = walks.get(log.name, Counter())
    days = {day for day, number in there.items() if 2 * number >= lots}
    return _seen(days | ({log.looked} if log.looked else set()), there, as_of)


def _days_in_bin(lot: Lot) -> Iterable[date]:
    came = lot.places[-1][0]
    return {day for day in lot.jobs.get("looked", ()) if day >= came}


def _seen(days: set[date], anywhere: Iterable[date], as_of: date) -> Seen:
    last = max(days, default=None)
    before = max((day for day in days if day < as_of), default=None)
    return Seen(last=last, before_today=before, logs=any(as_of - LATELY <= day <= as_of for day in anywhere))
