"""What looks want of the days of visits: each by its latest day, and, where days suit, as often as wished. Pure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, timedelta

from almanac.plan.agenda.visits import Repeat, Span, Wants, Wish
from almanac.plan.ids import EntryId
from almanac.plan.model import Look


def next_from(look: Look, last: date | None) -> date:
    """The first day on which the next look can be when the last was on a day."""
    return look.opens if last is None else max(look.opens, last + timedelta(days=1))


def wants(
    looks: Sequence[Look], last: Mapping[EntryId, date | None], latest: Mapping[EntryId, date], start: date
) -> Wants:
    """What must be kept, and what is wished.

    Args:
        looks: every look
        last: by look, the day it was last made
        latest: by look, the latest day for the next, where one is wanted at all
        start: the first day on which a visit can be
    """
    spans, repeats, wishes = set(), set(), set()
    for look in looks:
        first, before = next_from(look, last[look.id]), last[look.id]
        if look.id in latest:
            spans.add(Span(earliest=max(first, start), latest=latest[look.id]))
        repeats.add(
            Repeat(first=first, last=look.end - timedelta(days=look.longest_days), every_days=look.longest_days)
        )
        if look.longest_days > look.every_days:
            wishes.add(Wish(first=max(first, start), by=look.wished(before), every_days=look.every_days, end=look.end))
    return Wants(
        sorted(spans, key=lambda span: (span.earliest, span.latest)),
        sorted(repeats, key=lambda repeat: (repeat.first, repeat.last, repeat.every_days)),
        sorted(wishes, key=lambda wish: (wish.first, wish.by, wish.every_days, wish.end)),
    )
