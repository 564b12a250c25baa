"""The days of rounds against an independent optimum, and shared windows against a textbook's cover of intervals.

SciPy's integer programming (HiGHS) chooses days under the same duties and wishes: number by number in the order in
which rounds are judged, or all in one with weights that no sum of the lower ones reaches. On short stretches every
choice of days is tried. STICKDATE_VISITS sets how many cases are drawn.
"""

from __future__ import annotations

import os
import random
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache
from itertools import combinations, pairwise

import numpy as np
import pytest
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array

from almanac.nursery.settings import WEEKDAYS, Settings
from almanac.nursery.workdays import Workdays
from almanac.plan.agenda.merge import merged
from almanac.plan.agenda.rounds import rounds_of
from almanac.plan.agenda.visits import Span, Wants, visit_days
from almanac.plan.ids import EntryId
from almanac.plan.model import Look, Seen, Task
from almanac.plan.past import Past
from almanac.rulebook.models import TaskRule
from tests.documents import read

CASES = int(os.environ.get("STICKDATE_VISITS", "60"))
FIRST = date(2027, 2, 1)  # a Monday
Numbers = tuple[int, int, int, int, int]


@dataclass(frozen=True)
class Case:
    """Looks and treatments, and what the days are like; days count from `FIRST`, the day to plan from."""

    looks: tuple[Look, ...]
    jobs: tuple[Task, ...]
    bench: frozenset[int]
    away: tuple[int, int]

    @property
    def length(self) -> int:
        return max([number(look.end) for look in self.looks] + [number(job.latest) for job in self.jobs]) + 1

    def is_away(self, n: int) -> bool:
        return self.away[0] <= n < self.away[1]

    def is_bench(self, n: int) -> bool:
        return n % 7 in self.bench

    def visits(self) -> list[int]:
        """What the program chooses."""
        rounds, _ = rounds_of(self.looks, self.jobs, (), workdays(self.bench, self.away), Past(), FIRST)
        return [number(each.day) for each in rounds]

    def duties(self) -> list[tuple[int | None, range]]:
        """Each duty: if a visit is on this day (None: in any case), there must be one in this range."""
        found: list[tuple[int | None, range]] = [
            (None, range(number(job.earliest), number(job.latest) + 1)) for job in self.jobs
        ]
        for look in self.looks:
            found += _asked(look, look.rule.longest_days or 0)
        return found

    def wishes(self) -> list[tuple[int | None, range, int]]:
        """What is wished likewise, and until which day; each day on which one is past and not kept is late."""
        return [
            (given, within, number(look.end) + 1)
            for look in self.looks
            for given, within in _asked(look, look.rule.every_days or 0)
        ]

    def late(self, visits: Collection[int]) -> int:
        """The days that are late."""
        there = set(visits)
        days = (
            {day for day in range(within[-1] + 1, until + 1) if there.isdisjoint(range(within[0], day))}
            for n, within, until in self.wishes()
            if n is None or n in there
        )
        return len(set[int]().union(*days))

    def judged(self, visits: Sequence[int]) -> Numbers:
        """Latest days and windows missed, visits while away, off bench days, visits and days late together, visits."""
        there = set(visits)
        missed = sum((n is None or n in there) and there.isdisjoint(days) for n, days in self.duties())
        away, off = sum(map(self.is_away, visits)), sum(not self.is_bench(n) for n in visits)
        return missed, away, off, len(visits) + self.late(visits), len(visits)


def _asked(look: Look, gap: int) -> list[tuple[int | None, range]]:
    """Visits that a look wants no further apart than so many days: after the last one, and after each."""
    end, opens = number(look.end), number(look.opens)
    every, start = look.rule.every_days or 0, number(look.start)
    first = start + (look.rule.first_day or 0) + gap - every
    first = first if gap == every else max(first, start + gap)
    if look.seen.last is not None:
        opens, first = 0, number(look.seen.last) + gap
    found: list[tuple[int | None, range]] = [(None, range(opens, first + 1))] if first <= end else []
    return found + [(n, range(n + 1, n + gap + 1)) for n in range(opens, end - gap + 1)]


@cache
def workdays(bench: frozenset[int], away: tuple[int, int]) -> Workdays:
    stays = [{"from": day(away[0]), "to": day(away[1] - 1)}] if away[0] < away[1] else []
    written = {
        "nursery": {"id": "0f5c2a52-9d0e-4f57-8f6b-6d9b3a4f1c11"},
        "site": {"latitude": 37.3, "longitude": -79.9, "timezone": "America/New_York"},
        "frost": {"dates": {"never": True}},
        "week": {"bench_days": [WEEKDAYS[n] for n in sorted(bench)], "away": stays},
    }
    settings = read(Settings, written)
    return Workdays(settings, settings.place())


def day(number_of_day: int) -> date:
    return FIRST + timedelta(days=number_of_day)


def number(of: date) -> int:
    return (of - FIRST).days


def look(
    name: str, start: int, end: int, first_day: int, every_days: int, longest: int, seen: int | None = None
) -> Look:
    """A look of a lot in a bin; `seen` is when it was last made."""
    rule = TaskRule(
        id="look",
        title="Look",
        kind="look",
        after=name,
        first_day=first_day,
        every_days=every_days,
        longest_days=longest,
        source="none",
    )
    last = Seen(last=day(seen), before_today=day(seen), logs=True) if seen is not None else Seen()
    return Look(
        id=EntryId(name, "look"),
        rule=rule,
        lot=name,
        bin="A",
        start=day(start),
        end=day(end),
        counted_from=name,
        seen=last,
    )


TREAT = TaskRule(
    id="drench", title="Drench", kind="treat", after="gnats", first_day=0, every_days=5, slack_days=2, source="none"
)


def treatment(name: str, earliest: int, latest: int) -> Task:
    return Task(
        id=EntryId(name, "drench"),
        rule=TREAT,
        lots=("7a",),
        earliest=day(earliest),
        due=day(earliest),
        latest=day(latest),
        counted_from="gnats",
        since=FIRST,
        bin="A",
    )


def drawn(seed: int, length: int, most: int, *, treated: bool) -> Case:
    """Up to `most` looks, treatments if wanted, one to three bench days a week, a stay away of up to eight days."""
    draw = random.Random(seed)
    looks = []
    for n in range(draw.randint(1, most)):
        first_day, every_days = draw.randint(1, 9), draw.randint(2, 9)
        longest = every_days + draw.randint(0, 4)
        end = draw.randint(length * 2 // 3, length)
        if draw.random() < 0.3:
            looks.append(look(f"{n + 1}a", -30, end, first_day, every_days, longest, seen=-1))
        else:
            looks.append(look(f"{n + 1}a", draw.randint(0, length // 3), end, first_day, every_days, longest))
    jobs = []
    for course in range(draw.randint(1, 3) if treated else 0):
        begun, every, slack = draw.randint(0, length // 2), draw.randint(4, 7), draw.randint(0, 2)
        for turn in range(draw.randint(1, 6)):
            earliest = begun + turn * every
            if earliest + slack < length:
                jobs.append(treatment(f"{course}.{turn}", earliest, earliest + slack))
    leave, stay = draw.randint(0, length), draw.randint(0, 8)
    bench = frozenset(draw.sample(range(7), draw.randint(1, 3)))
    return Case(tuple(looks), tuple(jobs), bench, (leave, leave + stay))


def model_of(case: Case) -> tuple[LinearConstraint, list[np.ndarray]]:
    """The duties as rows over a visit or none each day, a duty missed or not and a day late or not; and the five costs.

    Of those that follow a visit on one day, the tightest stands for all: who keeps it keeps them, and all can be kept.
    """
    tightest = {duty: duty for duty in sorted(set(case.duties()), key=lambda duty: -len(duty[1])) if duty[0] is None}
    after = {duty[0]: duty for duty in sorted(case.duties(), key=lambda duty: -len(duty[1])) if duty[0] is not None}
    duties, days = [*tightest, *after.values()], case.length
    until: dict[tuple[int | None, range], int] = {}
    for given, within, end in case.wishes():
        until[given, within] = max(end, until.get((given, within), 0))
    lateness = days + len(duties)  # from here on a day late or not, from the first day to that after the last
    size = lateness + days + 2
    rows, columns, values, least = [], [], [], []
    for row, (given, within) in enumerate(duties):
        entries = [(n, 1.0) for n in within] + [(days + row, 1.0)] + ([(given, -1.0)] if given is not None else [])
        least.append(0.0 if given is not None else 1.0)
        for column, value in entries:
            rows.append(row)
            columns.append(column)
            values.append(value)
    row = len(duties)
    for (given, within), end in until.items():
        for late in range(within[-1] + 1, end + 1):
            entries = [(n, 1.0) for n in range(within[0], min(late, days))] + [(lateness + late, 1.0)]
            for column, value in entries + ([(given, -1.0)] if given is not None else []):
                rows.append(row)
                columns.append(column)
                values.append(value)
            least.append(0.0 if given is not None else 1.0)
            row += 1
    matrix = csr_array((values, (rows, columns)), shape=(row, size))
    costs = [np.zeros(size) for _ in range(5)]
    costs[0][days:lateness] = 1
    costs[1][[n for n in range(days) if case.is_away(n)]] = 1
    costs[2][[n for n in range(days) if not case.is_bench(n)]] = 1
    costs[3][:days] = costs[3][lateness:] = 1
    costs[4][:days] = 1
    return LinearConstraint(matrix, lb=np.array(least)), costs


def best_number_by_number(case: Case) -> Numbers:
    """The least of the five numbers in their order: each is minimised while those before it are held."""
    duties, costs = model_of(case)
    limits, found = [duties], []
    for cost in costs:
        solved = milp(cost, integrality=np.ones(cost.size), bounds=Bounds(0, 1), constraints=limits)
        assert solved.status == 0, solved.message
        found.append(round(solved.fun))
        limits.append(LinearConstraint(cost[np.newaxis, :], ub=found[-1] + 0.5))
    missed, away, off, price, visits = found
    return missed, away, off, price, visits


def best_in_one(case: Case) -> tuple[int, ...]:
    """The first four in one solution, as larger weights would drown in rounding; no duty need be missed."""
    duties, costs = model_of(case)
    weight = 2 * case.length + 3
    total = sum(cost * weight**power for cost, power in zip(costs[1:4], (2, 1, 0), strict=True))
    solved = milp(
        total,
        integrality=np.ones(total.size),
        bounds=Bounds(0, 1 - costs[0]),
        constraints=[duties],
        options={"mip_rel_gap": 0.0},
    )
    assert solved.status == 0, solved.message
    return tuple(round(float(cost @ np.round(solved.x))) for cost in costs[:4])


@pytest.mark.parametrize("treated", [False, True], ids=["looks alone", "with treatments"])
def test_rounds_are_as_few_and_as_well_placed_as_integer_programming_finds(treated: bool) -> None:
    # SciPy's HiGHS, an exact method: up to seven lots with periods of their own and up to four days more for a bench
    # day, courses of treatment with windows of one to three days, 30 days, one to three bench days a week, up to eight
    # days away.
    for seed in range(CASES // 2):
        case = drawn(seed, 30, 7, treated=treated)

        assert case.judged(case.visits())[:4] == best_in_one(case), f"seed {seed}"


def test_integer_programming_finds_the_same_number_by_number_and_in_one() -> None:
    for seed in range(CASES // 25):
        case = drawn(seed, 28, 8, treated=seed % 2 == 1)

        assert best_number_by_number(case) == case.judged(case.visits()) == (*best_in_one(case), len(case.visits())), (
            f"seed {seed}"
        )


def test_no_choice_of_days_is_better_or_more_evenly_spaced() -> None:
    # Every subset of up to twelve days; the last number is the sum of the squares of the gaps, the first counted from
    # the day before the plan begins.
    for seed in range(CASES // 10):
        case = drawn(seed, 11, 4, treated=seed % 2 == 1)
        days = range(case.length)
        choices = (chosen for size in range(len(days) + 1) for chosen in combinations(days, size))

        best = min((*case.judged(chosen), spacing(chosen)) for chosen in choices)

        found = case.visits()
        assert (*case.judged(found), spacing(found)) == best, f"seed {seed}"


def spacing(days: Sequence[int]) -> int:
    return sum((there - here) ** 2 for here, there in pairwise([-1, *days]))


# --- windows that lots share -------------------------------------------------------------------------------------

# Cormen, Leiserson, Rivest & Stein, Introduction to Algorithms, 3rd edition 2009, section 16.1, the eleven activities
# (start, finish) of its worked example; from memory. At most four of them can follow one another without overlap; so
# many points are needed to meet them all, and as many will do (each activity up to its finish, which is not in it).
ACTIVITIES = ((1, 4), (3, 5), (0, 6), (5, 7), (3, 9), (5, 9), (6, 10), (8, 11), (8, 12), (2, 14), (12, 16))


def test_the_eleven_activities_of_the_textbook_are_met_on_four_days() -> None:
    spans = [(first, finish - 1) for first, finish in ACTIVITIES]

    found = shared_days(spans)

    assert greedy(spans) == [3, 6, 10, 15]  # the last days of the four activities that the book selects
    assert len(found) == 4
    assert all(any(first <= n <= last for n in found) for first, last in spans)


def test_lots_share_as_few_days_as_the_greedy_cover_of_intervals_needs() -> None:
    # The fewest points that meet every interval: go to the end of the one that ends first, drop all it meets, repeat
    # (Kleinberg & Tardos 2006, Algorithm Design, chapter 4, exercise on base stations along a road; from memory).
    draw = random.Random(11)
    for _ in range(CASES):
        spans = [(first, first + draw.randint(0, 9)) for first in draw.sample(range(40), draw.randint(1, 12))]

        assert len(shared_days(spans)) == len(greedy(spans)) == len(visited(spans))


def shared_days(spans: Sequence[tuple[int, int]]) -> list[int]:
    """The days of the entries that lots share, each lot's good day the first of its span; all days are bench days."""
    rule = TaskRule(
        id="pot_up", title="Pot up", kind="window", after="7a", opens_day=0, due_day=0, closes_day=60, source="none"
    )
    tasks = [
        Task(
            id=EntryId(f"{n}a", "pot_up"),
            rule=rule,
            lots=(f"{n}a",),
            earliest=day(first),
            due=day(first),
            latest=day(last),
            counted_from="well_rooted",
            since=FIRST,
        )
        for n, (first, last) in enumerate(spans, 1)
    ]
    groups = merged(tasks, {}, lambda these: these[0].id, workdays(frozenset(range(7)), (0, 0)), FIRST)
    assert sorted(task.id for group in groups for task in group.tasks) == sorted(task.id for task in tasks)
    for group in groups:
        assert all(task.earliest <= group.day <= task.latest for task in group.tasks)
    return [number(group.day) for group in groups]


def visited(spans: Sequence[tuple[int, int]]) -> list[date]:
    wanted = [Span(earliest=day(first), latest=day(last)) for first, last in spans]
    return visit_days(Wants(wanted), FIRST, lambda _: (False, False, False))


def greedy(spans: Sequence[tuple[int, int]]) -> list[int]:
    points: list[int] = []
    for first, last in sorted(spans, key=lambda span: span[1]):
        if not points or points[-1] < first:
            points.append(last)
    return points


def test_with_every_day_a_bench_day_a_look_every_four_days_is_a_visit_on_each_last_day() -> None:
    case = Case((look("7a", 0, 39, 4, 4, 4),), (), frozenset(range(7)), (0, 0))

    assert case.visits() == [4, 8, 12, 16, 20, 24, 28, 32, 36]
