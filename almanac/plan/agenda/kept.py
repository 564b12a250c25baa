"""Which looks were kept up to a day: as logged, or, where none are logged, as planned. Pure.

A bin is either one whose looks are logged (any in the last fortnight), and then a round without one was missed; or one
whose looks never are, and then rounds count as done. What is logged today leaves the plan as it was this morning if
today's round was planned; a look out of turn is counted from.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise

from almanac.nursery.workdays import Workdays
from almanac.plain import dataclass
from almanac.plan.agenda.visits import visit_days
from almanac.plan.agenda.wanted import next_from, wants
from almanac.plan.ids import EntryId
from almanac.plan.model import Look
from almanac.plan.past import Past

_DAY = timedelta(days=1)
_AHEAD = 60  # how many days ahead a day at home is looked for


Planned = tuple[list[date], date]


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
    gone: Planned,
    past: Past,
    as_of: date,
    *,
    morning: bool,
    follows: date | None = None,
) -> Kept:
    """What was looked at up to a day.

    Args:
        looks: every look
        gone: the rounds up to the day
        past: those published
        as_of: the day; of what is logged on it nothing is known yet in the `morning`
        follows: the next visit, where it is known by now and none was published
    """
    logged, (planned, coming) = _logged(looks, morning=morning), gone
    follows = min(past.coming, default=follows or coming)
    held = _places(past, looks)
    last, missed = {}, {}
    for look in looks:
        here = last[look.id] = logged[look.id]
        after = [day for day in planned if look.is_open(day) and (here is None or day > here)]
        since = [day for day in after if day not in held or look.place in held[day]]
        if not look.seen.logs:
            last[look.id] = _as_planned(look, here, since, follows, past)
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


def _logged(looks: Sequence[Look], *, morning: bool) -> dict[EntryId, date | None]:
    return {look.id: look.seen.before_today if morning else look.seen.last for look in looks}


def planned_so_far(looks: Sequence[Look], workdays: Workdays, past: Past, as_of: date, *, morning: bool) -> Planned:
    """The rounds for days gone by, and the day of the one that would have followed.

    Args:
        looks, as_of, morning: as for `kept_so_far`
        workdays: what the days are like
        past: rounds published; before the first of them, those that would have been planned
    """
    logged = _logged(looks, morning=morning)
    firsts = [next_from(look, logged[look.id]) for look in looks if look.wished(logged[look.id]) <= look.end]
    start = min(firsts, default=as_of)
    latest = {look.id: due for look in looks if (due := look.latest(logged[look.id])) <= look.end}
    days = visit_days(wants(looks, logged, latest, start), start, workdays.rank)
    since = min(past.since or as_of, as_of)
    gone = [day for day in days if day < since] + [day for day in sorted(past.rounds) if since <= day < as_of]
    return gone, min((day for day in days if day >= as_of), default=as_of)


def _places(past: Past, looks: Sequence[Look]) -> dict[date, frozenset[str]]:
    """By the day of a round too long for one day, the lots and bins that it names; any other looked at all."""
    rules = {look.rule.id for look in looks if look.bin}
    named = {day: frozenset(name.about for name in told if name.rule in rules) for day, told in past.rounds.items()}
    return {day: places for day, places in named.items() if places}


def _as_planned(look: Look, last: date | None, planned: Sequence[date], follows: date, past: Past) -> date | None:
    """When a look was last made if every round was: elsewhere than in bins, in the last round it could wait for."""
    if look.bin:
        return planned[-1] if planned else last
    for day, after in pairwise([*planned, follows]):
        if look.id in past.rounds.get(day, ()) or look.wished(last) < after:
            last = day
    return last
