"""When a lot's bags are first opened: reckoned back from the day they are likely potted, never before roots. Pure.

Open bags dry fast and let gnats in, so they stand open no longer than the steps take. Counted from the first root and
leaf instead, a bag would be open for weeks before its roots are through.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from math import ceil

from almanac.forecast.model import Milestone
from almanac.nursery.lots import Lot
from almanac.plain import dataclass
from almanac.plan.context.day import Context
from almanac.plan.context.looked import lot_seen
from almanac.rulebook.programmes.weaning import Weaning

WEEK = 7


@dataclass(frozen=True, kw_only=True)
class Step:
    """The next step to room air of some of a lot: its `day`, counted from `since`, the day of `after`.

    `milestone` is what it hangs on, where that was not seen yet; it is asked for `weeks` later than planned.
    """

    day: date
    after: str
    since: date
    milestone: Milestone | None = None
    weeks: int = 0


@dataclass(frozen=True, kw_only=True)
class Opening(Step):
    """The first step of some bags; `potting` is the likely day that it is reckoned from."""

    potting: date


def first_opening(context: Context, lot: Lot) -> Opening | None:
    """When the first step of what is left in the bags comes.

    None where they are weaned in their pots: as the grower wishes, or since roots are through already, or will be
    before there are leaves.
    """
    found, book = context.found(lot, "rooting"), context.book
    roots, leaves, ready = (found.get(name) for name in ("roots", "leaves", "well_rooted"))
    in_pots = context.around.settings.weaning.when == "pot" and book.methods[lot.method].bag is not None
    if in_pots or roots is None or leaves is None or ready is None or roots.overdue(context.as_of):
        return None
    if roots.window is None or leaves.window is None or ready.days is None:
        return None
    potting = ready.days[1] + timedelta(days=book.task("pot_up").due_day or 0)
    begins, both = potting - timedelta(days=book.programme(Weaning).lead), max(roots.window[1], leaves.window[1])
    last = roots if roots.window[1] >= leaves.window[1] else leaves
    waits = next((each for each in (last, roots, leaves) if not each.known), None)
    if both > begins:
        comes = Opening(day=both, after=last.name, since=both, potting=potting, milestone=waits)
    elif waits:
        comes = Opening(day=begins, after=waits.name, since=both, potting=potting, milestone=waits)
    else:
        comes = Opening(day=begins, after="potting_likely", since=potting, potting=potting)
    if not waits:
        comes = replace(comes, weeks=weeks_late(comes.day, context, lot))
    comes = replace(comes, day=comes.day + timedelta(days=WEEK * comes.weeks))
    return comes if comes.day < potting else None


def weeks_late(day: date, context: Context, lot: Lot) -> int:
    """By how many weeks a step is asked for again where looks are logged and it is not: not done, as far as known."""
    late = (context.as_of - day).days - context.book.programme(Weaning).late
    return ceil(late / WEEK) if late > 0 and lot_seen(lot, context.walked, context.as_of).logs else 0
