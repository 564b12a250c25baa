"""Which looks were kept up to a day: as logged, or, where none are logged, as planned. Pure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import pairwise

from almanac.nursery.workdays import Workdays
from almanac.plan.agenda.visits import Repeat, Span, visit_days
from almanac.plan.ids import EntryId
from almanac.plan.model import Look, Past

_DAY = timedelta(days=1)
_AHEAD = 60  # how many days ahead a day at home is looked for


@dataclass(frozen=True)
class Kept:
    """By look, the day it was last made, and the round since then that was not; and the day of the last visit."""

    last: Mapping[EntryId, date | None]
    missed: Mapping[EntryId, date]
    visited: date | None

    def after(self, day: date, looks: Sequence[Look]) -> Kept:
        """The same after a visit on a day, which serves every look open then."""
        last = {look.id: day if look.is_open(day) else self.last[look.id] for look in looks}
        return replace(self, last=last, missed={}, visited=day)


def kept_so_far(
    looks: Sequence[Look],
    workdays: Workdays,
    past: Past,
    as_of: date,
    *,
    morning: bool,
    follows: date | None = None,
) -> Kept:
    """What was looked at up to a day.

    Args:
        looks: every look
        workdays: what the days are like
        past: rounds published; before the first of them, those that would have been planned
        as_of: the day; of what is logged on it nothing is known yet in the `morning`
        follows: the next visit, where it is known by now and none was published
    """
    logged = {look.id: look.seen.before_today if morning else look.seen.last for look in looks}
    planned, coming = _planned(looks, logged, workdays, past, as_of)
    follows = min(past.coming, default=follows or coming)
    last, missed = {}, {}
    for look in looks:
        here = last[look.id] = logged[look.id]
        since = [day for day in planned if look.is_open(day) and (here is None or day > here)]
        if not look.seen.logs:
            last[look.id] = _as_planned(look, here, since, follows)
        elif since and look.bin and look.end >= as_of:
            missed[look.id] = since[0]
    done = [day for day in last.values() if day is not None]
    return Kept(last, missed, max(done, default=None))


def carry_day(due: date, workdays: Workdays, start: date) -> date:
    """The latest day for a look that was missed: the next bench day, or the next day at home, that keeps its due day.

    One that is late already comes on the next day at home.
    """
    until = max(due, start) if due >= start else start + timedelta(days=_AHEAD)
    span = [start + timedelta(days=n) for n in range((until - start).days + 1)]
    home = [day for day in span if not workdays.is_away(day)]
    bench = [day for day in home if workdays.is_bench_day(day)] if due >= start else []
    return (bench or home or [max(due, start)])[0]


def _planned(
    looks: Sequence[Look], logged: Mapping[EntryId, date | None], workdays: Workdays, past: Past, as_of: date
) -> tuple[list[date], date]:
    """The rounds planned for days gone by, and the day of the one that would have followed."""
    spans, repeats = set(), set()
    for look in looks:
        last = logged[look.id]
        first = look.opens if last is None else max(look.opens, last + _DAY)
        if look.latest(last) <= look.end:
            spans.add(Span(first, look.latest(last)))
        repeats.add(Repeat(first, look.end - timedelta(days=look.every_days), look.every_days))
    start = min((span.earliest for span in spans), default=as_of)
    ordered = sorted(spans, key=lambda span: (span.earliest, span.latest))
    alike = sorted(repeats, key=lambda repeat: (repeat.first, repeat.last, repeat.every_days))
    days = visit_days(ordered, alike, start, workdays.is_away, workdays.is_bench_day)
    since = min(past.since or as_of, as_of)
    gone = [day for day in days if day < since] + [day for day in sorted(past.rounds) if since <= day < as_of]
    return gone, min((day for day in days if day >= as_of), default=as_of)


def _as_planned(look: Look, last: date | None, planned: Sequence[date], follows: date) -> date | None:
    """When a look was last made if every round was: elsewhere than in bins, in the last round it could wait for."""
    if look.bin:
        return planned[-1] if planned else last
    for day, after in pairwise([*planned, follows]):
        if look.latest(last) < after:
            last = day
    return last
