"""The days of visits against an independent optimum, and against the greedy cover of intervals.

SciPy's integer programming (HiGHS) chooses days under the same duties, number by number in the order in which a visit
plan is judged; on short stretches every choice of days is tried. STICKDATE_VISITS sets how many cases are drawn.
"""

from __future__ import annotations

import os
import random
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from itertools import combinations, pairwise

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array

from almanac.plan.model import Look
from almanac.plan.visits import visit_days
from almanac.rulebook.models import TaskRule

CASES = int(os.environ.get("STICKDATE_VISITS", "300"))
FIRST = date(2027, 2, 1)


@dataclass(frozen=True)
class Case:
    """Looks that begin on different days, and what the days are like; days count from `FIRST`."""

    looks: tuple[Look, ...]
    bench: frozenset[int]
    away: frozenset[int]
    fixed: frozenset[int] = field(default=frozenset())

    @property
    def length(self) -> int:
        return max(number(look.end) for look in self.looks) + 1

    def visits(self) -> list[int]:
        """What the program chooses."""
        found = visit_days(
            self.looks,
            {day(n) for n in self.fixed},
            lambda d: False,
            lambda d: number(d) in self.away,
            lambda d: number(d) in self.bench,
        )
        return [number(d) for d in found]

    def duties(self) -> list[tuple[int | None, range]]:
        """Each duty: if a visit is on this day (None: in any case), there must be one in this range."""
        found: list[tuple[int | None, range]] = []
        for look in self.looks:
            period, end, opens = look.rule.every_days or 0, number(look.end), number(look.opens)
            first = number(look.start) + (look.rule.first_day or 0)
            if first <= end:
                found.append((None, range(opens, first + 1)))
            found += [(n, range(n + 1, n + period + 1)) for n in range(opens, end - period + 1)]
        return found

    def judged(self, visits: Sequence[int]) -> tuple[int, int, int, int]:
        """Latest days missed, visits while away, visits off bench days, visits; those fixed beforehand are free."""
        there, chosen = set(visits), [n for n in visits if n not in self.fixed]
        missed = sum((n is None or n in there) and there.isdisjoint(days) for n, days in self.duties())
        return missed, sum(n in self.away for n in chosen), sum(n not in self.bench for n in chosen), len(chosen)


def day(number_of_day: int) -> date:
    return FIRST + timedelta(days=number_of_day)


def number(of: date) -> int:
    return (of - FIRST).days


def look(start: int, end: int, first_day: int, every_days: int) -> Look:
    rule = TaskRule(
        id="look",
        title="Look",
        kind="look",
        after="stuck",
        first_day=first_day,
        every_days=every_days,
        source="none",
    )
    return Look("look", rule, "7a", "A", day(start), day(end), "stuck")


def drawn(seed: int, length: int, most: int, *, fixed: bool = False) -> Case:
    """A case of up to `most` looks, one to three bench days a week, and a stay away of up to seven days."""
    draw = random.Random(seed)
    looks = []
    for _ in range(draw.randint(1, most)):
        start = draw.randint(0, length // 3)
        looks.append(look(start, draw.randint(length * 2 // 3, length), draw.randint(1, 9), draw.randint(2, 9)))
    weekdays = set(draw.sample(range(7), draw.randint(1, 3)))
    days = range(length + 1)
    leave, stay = draw.randint(0, length), draw.randint(0, 8)
    forced = draw.sample(days, draw.randint(1, 2)) if fixed else []
    return Case(
        tuple(looks),
        frozenset(n for n in days if n % 7 in weekdays),
        frozenset(range(leave, leave + stay)),
        frozenset(forced),
    )


def best_by_integer_programming(case: Case) -> tuple[int, int, int, int]:
    """The least of the four numbers in their order: each is minimised while those before it are held."""
    duties, days = case.duties(), case.length
    size = days + len(duties)  # a visit or none on each day; a duty missed or not
    rows, columns, values, least = [], [], [], []
    for row, (given, within) in enumerate(duties):
        entries = [(n, 1.0) for n in within] + [(days + row, 1.0)] + ([(given, -1.0)] if given is not None else [])
        least.append(0.0 if given is not None else 1.0)
        for column, value in entries:
            rows.append(row)
            columns.append(column)
            values.append(value)
    matrix = csr_array((values, (rows, columns)), shape=(len(duties), size))
    limits = [LinearConstraint(matrix, lb=np.array(least))]
    costs = [np.zeros(size) for _ in range(4)]
    costs[0][days:] = 1
    costs[1][[n for n in case.away if n < days]] = 1
    costs[2][[n for n in range(days) if n not in case.bench]] = 1
    costs[3][:days] = 1
    found = []
    for cost in costs:
        solved = milp(cost, integrality=np.ones(size), bounds=Bounds(0, 1), constraints=limits)
        assert solved.status == 0, solved.message
        found.append(round(solved.fun))
        limits.append(LinearConstraint(cost[np.newaxis, :], ub=found[-1] + 0.5))
    missed, away, off, visits = found
    return missed, away, off, visits


def test_visits_are_as_few_and_as_well_placed_as_integer_programming_finds() -> None:
    # SciPy's HiGHS, an exact method, on looks alone: 20 to 30 days, up to six streams with different periods.
    for seed in range(CASES):
        case = drawn(seed, 20 + seed % 11, 6)

        assert case.judged(case.visits()) == best_by_integer_programming(case), f"seed {seed}"


def test_no_choice_of_days_is_better_or_more_evenly_spaced() -> None:
    # Every subset of up to twelve days, fixed visits among them; the fifth number is the sum of the squares of the
    # gaps, the first counted from the day before the first look begins.
    for seed in range(CASES // 5):
        case = drawn(seed, 11, 4, fixed=seed % 2 == 1)
        free = [n for n in range(case.length) if n not in case.fixed]
        before = min([number(each.start) for each in case.looks] + list(case.fixed)) - 1
        choices = (
            sorted({*chosen, *case.fixed})
            for size in range(len(free) + 1)
            for chosen in combinations([n for n in free if n > before], size)
        )

        best = min((*case.judged(days), spacing(before, days)) for days in choices)

        found = case.visits()
        assert (*case.judged(found), spacing(before, found)) == best, f"seed {seed}"


def spacing(before: int, days: Sequence[int]) -> int:
    return sum((there - here) ** 2 for here, there in pairwise([before, *days]))


def test_single_looks_are_kept_with_the_fewest_visits_of_the_greedy_cover() -> None:
    # The fewest points that meet every interval: go to the end of the one that ends first, drop all it meets, repeat
    # (Kleinberg & Tardos 2006, Algorithm Design, chapter 4, exercise on base stations along a road; from memory).
    # Worked by hand: 2-6, 4-9, 8-12, 11-15, 13-19 need 6, 12, 19: three visits.
    spans = [(2, 6), (4, 9), (8, 12), (11, 15), (13, 19)]

    assert greedy(spans) == [6, 12, 19]
    assert len(once_each(spans).visits()) == 3

    draw = random.Random(11)
    for _ in range(CASES):
        spans = [(first, first + draw.randint(0, 9)) for first in draw.sample(range(1, 40), draw.randint(1, 12))]
        assert len(once_each(spans).visits()) == len(greedy(spans))


def once_each(spans: Sequence[tuple[int, int]]) -> Case:
    """A look for each span of days, to be looked at once in it; every day a bench day."""
    looks = tuple(look(first - 1, last, last - first + 1, last - first + 1) for first, last in spans)
    return Case(looks, frozenset(range(60)), frozenset())


def greedy(spans: Sequence[tuple[int, int]]) -> list[int]:
    points: list[int] = []
    for first, last in sorted(spans, key=lambda span: span[1]):
        if not points or points[-1] < first:
            points.append(last)
    return points


def test_with_every_day_a_bench_day_a_look_every_four_days_is_a_visit_on_each_last_day() -> None:
    case = Case((look(0, 39, 4, 4),), frozenset(range(60)), frozenset())

    assert case.visits() == [4, 8, 12, 16, 20, 24, 28, 32, 36]
