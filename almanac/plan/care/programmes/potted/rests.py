"""When a lot in pots grows and when it rests, as logged or else by the site's year; and looks meanwhile. Pure."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

from almanac.nursery.lots import Lot
from almanac.plain import dataclass
from almanac.plan.context.day import LOOKS_GO_ON, Context
from almanac.plan.context.rest import turns, was_outside
from almanac.plan.context.tasks import lot_look
from almanac.plan.model import Look
from almanac.rulebook.models import TaskRule

_DAY = timedelta(days=1)


@dataclass(frozen=True, kw_only=True)
class Phase:
    """A stretch of growth or of rest; `counted_from` what it begins with."""

    rests: bool
    start: date
    end: date
    counted_from: str


def phases(context: Context, lot: Lot, since: date) -> tuple[Phase, ...]:
    """The phase that a lot is in and the next, from a day on.

    One logged as resting rests until it is logged as awake, or is taken to be. Another rests by the year, once it has
    stood outside.
    """
    rest = context.at_rest.get(lot.id)
    course = sorted(turns(lot, context.years, context.stock.crop_signs)) if was_outside(lot) else []
    if rest and rest.logged:
        begun = [(rest.since, True, "resting"), (rest.granted, False, rest.by)]
        course = [*begun, *(turn for turn in course if turn[0] > rest.granted)]
    else:
        before = [turn for turn in course if turn[0] <= since]
        first = (since, before[-1][1] if before else False, "")
        course = [first, *(turn for turn in course if turn[0] > since)]
    found = []
    for number, (start, rests, named) in enumerate(course):
        end = course[number + 1][0] - _DAY if number + 1 < len(course) else date.max
        if end >= context.as_of:
            found.append(Phase(rests=rests, start=start, end=end, counted_from=named))
    return tuple(found[:2])


def ahead(context: Context, lot: Lot) -> date:
    """So far ahead as looks go on from the last word of a lot; and again when half of that has gone by unsaid."""
    until = lot.known_at + LOOKS_GO_ON
    while until < context.as_of + LOOKS_GO_ON / 2:
        until += LOOKS_GO_ON
    return until


def looks_through(context: Context, lot: Lot, rule: TaskRule, phase: Phase, leaves: date = date.max) -> Iterator[Look]:
    """A rule's look through a phase of a lot, until it leaves the rule's stage."""
    end = min(ahead(context, lot), phase.end, leaves)
    if end >= max(phase.start + timedelta(days=rule.first_day or 0), context.as_of):
        milestone = None if phase.counted_from else context.milestones[lot.id].get(rule.after)
        potted = lot.count("pot") + lot.count("outside")
        yield lot_look(
            context,
            lot,
            rule,
            phase.start,
            end,
            phase.counted_from or rule.after,
            bin_name="" if potted else lot.bin,
            count=lot.count(rule.while_in) if rule.while_in else potted or lot.count("rooting"),
            milestone=milestone,
        )
