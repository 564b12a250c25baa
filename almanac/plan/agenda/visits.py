"""On which days to go: the fewest visits that keep every latest day and every window, and most wishes. Pure.

Chosen in this order: latest days kept; no days away; no public holidays that are off; fewest visits off bench days;
fewest visits and days on which a wish is late, together; days as they were published before; fewest visits; even
spacing. So a wish sends nobody to the bench on another day, and a bench day is saved only where that makes looks late
by no more than a day.

A shortest path over days: from a visit the next may come up to the first latest day of whatever still waits for one,
and the cost of a path is the sum of its steps' numbers, compared in that order. So the best path to a day is found from
the best paths to the days before it (Bellman's principle), and is exact: a window is kept by a path if and only if none
of its steps leaps over it, and which days a step leaps over are late hangs on its beginning alone.

A wish and a visit are one number: of two in an order one would always win, and every wish on time makes rounds on
Saturday and Sunday both, fewest visits one bench day a week of two. Greedy rules miss days away and uneven weeks.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Sequence
from datetime import date
from itertools import accumulate

from almanac.nursery.workdays import Rank
from almanac.plain import dataclass

Cost = tuple[int, int, int, int, int, int, int]


@dataclass(frozen=True, kw_only=True)
class Span:
    """A visit is wanted from one day to another, both included."""

    earliest: date
    latest: date


@dataclass(frozen=True, kw_only=True)
class Repeat:
    """After a visit on any day from `first` to `last`, both included, another is wanted within so many days."""

    first: date
    last: date
    every_days: int


@dataclass(frozen=True, kw_only=True)
class Wish:
    """Visits are wished from `first` to `end`: one by `by`, and another within so many days after each.

    What was wished by a day before is late on each until a visit comes, and till the day after the end if none does.
    """

    first: date
    by: date
    every_days: int
    end: date


@dataclass(frozen=True)
class Wants:
    """What visits are for: each span wants one, each repeat the next not too long after one; every visit serves all.

    What should have been before the first day is wanted on that day.
    """

    spans: Sequence[Span] = ()
    repeats: Sequence[Repeat] = ()
    wishes: Sequence[Wish] = ()

    def until(self, zero: int) -> int:
        """The last day on which anything is wanted, counted from one; -1 where nothing is."""
        ends = [max(span.latest.toordinal() - zero, 0) for span in self.spans]
        ends += [repeat.last.toordinal() + repeat.every_days - zero for repeat in self.repeats]
        ends += [wish.end.toordinal() - zero for wish in self.wishes]
        return max(ends, default=-1)


def visit_days(
    wants: Wants,
    start: date,
    rank: Callable[[date], Rank],
    *,
    keep: Collection[date] = (),
    before: date | None = None,
) -> list[date]:
    """The days to visit, first to last.

    Args:
        wants: what they are for
        start: the first day on which a visit can be
        rank: how ill a day suits
        keep: days published before, which stay where others would do no better
        before: the day of the last visit, from which even spacing counts
    """
    zero = start.toordinal()
    length = wants.until(zero) + 1
    if length <= 0:
        return []
    due, late = _first_due(wants, zero, length), _Late(wants.wishes, zero=zero, length=length)
    days = [date.fromordinal(zero + n) for n in range(length)]
    price = [(*map(int, rank(day)), int(day not in keep)) for day in days]
    source = min(before.toordinal() - zero, -1) if before else -1
    best: dict[int, tuple[Cost, int]] = {source: ((0,) * 7, source)}
    end: tuple[Cost, int] | None = None
    for here in (source, *range(length)):
        if here not in best:
            continue
        cost, latest = best[here][0], due[max(here, -1) + 1]
        gone, wait = late.after(here), 0
        last = length - 1 if latest is None else latest
        if latest is None and not gone:
            end = min(end or (cost, here), (cost, here))
            continue
        for there in range(max(here + 1, 0), last + 1):
            wait += there in gone
            away, holiday, off, new = price[there]
            total = (
                cost[0] + away,
                cost[1] + holiday,
                cost[2] + off,
                cost[3] + 1 + wait,
                cost[4] + new,
                cost[5] + 1,
                cost[6] + (there - here) ** 2,
            )
            if there not in best or total < best[there][0]:
                best[there] = total, here
        if latest is None:  # no visit more
            total = (*cost[:3], cost[3] + len(gone), *cost[4:])
            end = min(end or (total, here), (total, here))
    assert end is not None  # after the last visit that anything waits for, nothing does
    path, here = [], end[1]
    while here != source:
        path.append(days[here])
        here = best[here][1]
    return path[::-1]


class _Late:
    """Which days are late when the last visit was on one: those on which any wish is past and goes on."""

    def __init__(self, wishes: Iterable[Wish], *, zero: int, length: int) -> None:
        opens = [-1] * (length + 1)  # by day, the last opening of those whose first visit is late on it
        # By the days between, then by the day of a visit, until when it is wished.
        self._until: dict[int, list[int]] = {}
        for wish in dict.fromkeys(wishes):  # lots of one day wish alike
            by, end, every = wish.by.toordinal() - zero, wish.end.toordinal() - zero, wish.every_days
            first = max(wish.first.toordinal() - zero, 0)
            for day in range(max(by + 1, 0), end + 2) if by <= end else ():
                if opens[day] < first:
                    opens[day] = first
            until = self._until.setdefault(every, [-1] * length)
            for day in range(first, end - every + 1):
                if until[day] < end:
                    until[day] = end
        self._opens = [(day, opening) for day, opening in enumerate(opens) if opening >= 0]

    def after(self, here: int) -> frozenset[int]:
        """The late days after a visit on a day; before any visit where that is less than 0."""
        found = {day for day, opening in self._opens if opening > here and day > here}
        if here >= 0:
            for every, until in self._until.items():
                found.update(range(here + every + 1, until[here] + 2))
        return frozenset(found)


def _first_due(wants: Wants, zero: int, length: int) -> list[int | None]:
    """After a visit on each day, first that before them all: the first latest day of what then waits, if anything."""
    never = length
    opening = [never] * (length + 1)  # by the day they open, the first latest day of those that open that day
    for span in wants.spans:
        latest = max(span.latest.toordinal() - zero, 0)
        earliest = min(max(span.earliest.toordinal() - zero, 0), latest)
        opening[earliest] = min(opening[earliest], latest)
    due = list(accumulate(reversed(opening), min))[::-1]
    for every, running in _running(wants.repeats, zero, length).items():
        for day, number in enumerate(accumulate(running)):
            if number and day < length:
                due[day + 1] = min(due[day + 1], day + every)
    return [day if day < never else None for day in due]


def _running(repeats: Iterable[Repeat], zero: int, length: int) -> dict[int, list[int]]:
    """By their number of days, how many repeats begin less how many have ended, day by day."""
    running: dict[int, list[int]] = {}
    for repeat in repeats:
        first, last = max(repeat.first.toordinal() - zero, 0), repeat.last.toordinal() - zero
        if first <= last:
            steps = running.setdefault(repeat.every_days, [0] * (length + 1))
            steps[first] += 1
            steps[last + 1] -= 1
    return running
