"""On which days to go to the bench: the fewest visits that keep every look's latest day. Pure.

Chosen in this order: latest days kept, or else the fewest days late; no days away; fewest visits off bench days; fewest
visits; even spacing. A shortest path over days: the cost of a path is the sum of its steps' five numbers, compared in
that order, so the best path to a day is found from the best paths to the days before it (Bellman's principle), and is
exact.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Collection, Sequence
from datetime import date
from typing import Protocol

Cost = tuple[int, int, int, int, int]
_FREE: Cost = (0, 0, 0, 0, 0)
_LONGEST_OVERRUN = 21  # how far past a latest day a visit is still tried, in days; longer than any usual stay away


class Stream(Protocol):
    """Looks that come again and again."""

    @property
    def start(self) -> date: ...

    @property
    def end(self) -> date: ...

    def latest(self, last: date) -> date: ...


def visit_days(
    streams: Sequence[Stream],
    forced: Collection[date],
    barred: Callable[[date], bool],
    is_away: Callable[[date], bool],
    is_bench_day: Callable[[date], bool],
) -> list[date]:
    """The days to visit, first to last.

    Args:
        streams: what must be looked at; every visit serves all of them
        forced: days on which a visit takes place anyhow
        barred: days on which none can (they are past and none took place)
        is_away, is_bench_day: of a day
    """
    if not streams and not forced:
        return []
    first = min([stream.start for stream in streams] + list(forced)).toordinal() - 1
    last = max([stream.end for stream in streams] + list(forced)).toordinal()
    fixed = sorted({day.toordinal() for day in forced})
    best: dict[int, tuple[Cost, int]] = {first: (_FREE, first)}
    ends: tuple[Cost, int] | None = None
    for here in range(first, last + 1):
        if here not in best:
            continue
        cost = best[here][0]
        day = date.fromordinal(here)
        waiting = [
            (due.toordinal(), stream)
            for stream in streams
            if stream.end > day and (due := stream.latest(day)) <= stream.end
        ]
        latest = sorted(due for due, _ in waiting)
        next_fixed = next((n for n in fixed[bisect_left(fixed, here + 1) :]), None)
        if next_fixed is None:
            total = (cost[0] + sum(stream.end.toordinal() + 1 - due for due, stream in waiting), *cost[1:])
            if ends is None or total < ends[0]:
                ends = total, here
        if not latest and next_fixed is None:
            continue
        reach = min(latest[0] + _LONGEST_OVERRUN if latest else last, next_fixed or last, last)
        found = False
        for there in range(here + 1, (next_fixed or last) + 1):
            if there > reach and found:
                break
            to = date.fromordinal(there)
            if there != next_fixed and barred(to):
                continue
            found = True
            given = there == next_fixed
            step = (
                sum(there - due for due in latest[: bisect_left(latest, there)]),
                int(is_away(to) and not given),
                int(not is_bench_day(to) and not given),
                int(not given),
                (there - here) ** 2,
            )
            total = tuple(a + b for a, b in zip(cost, step, strict=True))  # type: ignore[assignment]  # five and five
            if there not in best or total < best[there][0]:
                best[there] = total, here
    assert ends is not None  # a path may always end where it stands, at the price of what it misses
    path = []
    here = ends[1]
    while here != first:
        path.append(date.fromordinal(here))
        here = best[here][1]
    return path[::-1]
