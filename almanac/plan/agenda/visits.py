"""On which days to go: the fewest visits that keep every latest day and every window. Pure.

Chosen in this order: latest days kept; no days away; fewest visits off bench days; fewest visits; days as they were
published before; even spacing. A shortest path over days: from a visit the next may come up to the first latest day of
whatever still waits for one, and the cost of a path is the sum of its steps' five numbers, compared in that order. So
the best path to a day is found from the best paths to the days before it (Bellman's principle), and is exact: a window
is kept by a path if and only if none of its steps leaps over it.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import accumulate

Cost = tuple[int, int, int, int, int]


@dataclass(frozen=True)
class Span:
    """A visit is wanted from one day to another, both included."""

    earliest: date
    latest: date


@dataclass(frozen=True)
class Repeat:
    """After a visit on any day from `first` to `last`, both included, another is wanted within so many days."""

    first: date
    last: date
    every_days: int


def visit_days(
    spans: Sequence[Span],
    repeats: Sequence[Repeat],
    start: date,
    is_away: Callable[[date], bool],
    is_bench_day: Callable[[date], bool],
    *,
    keep: Collection[date] = (),
    before: date | None = None,
) -> list[date]:
    """The days to visit, first to last.

    Args:
        spans: each wants one visit; what should have been before `start` is wanted on that day
        repeats: each wants the next visit not too long after one; every visit serves all of them
        start: the first day on which a visit can be
        is_away, is_bench_day: of a day
        keep: days published before, which stay where others would do no better
        before: the day of the last visit, from which even spacing counts
    """
    zero = start.toordinal()
    number = [max(span.latest.toordinal() - zero, 0) for span in spans]
    number += [repeat.last.toordinal() + repeat.every_days - zero for repeat in repeats]
    length = max(number, default=-1) + 1
    if length <= 0:
        return []
    due = _first_due(spans, repeats, zero, length)
    days = [date.fromordinal(zero + n) for n in range(length)]
    price = [(int(is_away(day)), int(not is_bench_day(day)), 1, int(day not in keep)) for day in days]
    source = min(before.toordinal() - zero, -1) if before else -1
    best: dict[int, tuple[Cost, int]] = {source: ((0, 0, 0, 0, 0), source)}
    end: tuple[Cost, int] | None = None
    for here in (source, *range(length)):
        if here not in best:
            continue
        cost = best[here][0]
        latest = due[max(here, -1) + 1]
        if latest is None:
            end = min(end or (cost, here), (cost, here))
            continue
        for there in range(max(here + 1, 0), latest + 1):
            away, off, visit, new = price[there]
            total = (cost[0] + away, cost[1] + off, cost[2] + visit, cost[3] + new, cost[4] + (there - here) ** 2)
            if there not in best or total < best[there][0]:
                best[there] = total, here
    assert end is not None  # after the last visit that anything waits for, nothing does
    path, here = [], end[1]
    while here != source:
        path.append(days[here])
        here = best[here][1]
    return path[::-1]


def _first_due(spans: Iterable[Span], repeats: Iterable[Repeat], zero: int, length: int) -> list[int | None]:
    """After a visit on each day, first that before them all: the first latest day of what then waits, if anything."""
    never = length
    opening = [never] * (length + 1)  # by the day they open, the first latest day of those that open that day
    for span in spans:
        latest = max(span.latest.toordinal() - zero, 0)
        earliest = min(max(span.earliest.toordinal() - zero, 0), latest)
        opening[earliest] = min(opening[earliest], latest)
    due = list(accumulate(reversed(opening), min))[::-1]
    for every, running in _running(repeats, zero, length).items():
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
