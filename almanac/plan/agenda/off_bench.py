"""Why a round lies off the bench days: what cannot wait for the next; and which bench days would do. Pure."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from datetime import date
from itertools import combinations, pairwise

from almanac.nursery.events import EVENTS
from almanac.nursery.settings import WEEKDAYS, Weekday
from almanac.nursery.workdays import Workdays
from almanac.plan.agenda.kept import Kept
from almanac.plan.model import Forced, Look, PlanWarning, Round, Task
from almanac.rulebook.models import TaskRule


def forced_days(
    looks: Sequence[Look], kept: Kept, jobs: Sequence[Task], visits: Sequence[date], workdays: Workdays
) -> dict[date, Forced]:
    """By each visit off the bench days, what of all that waits for it is due first.

    Visits are the fewest off the bench days, so without one of them something would be late.
    """
    found, last = {}, dict(kept.last)
    for before, (day, follows) in zip([date.min, *visits], pairwise([*visits, date.max]), strict=False):
        if not workdays.is_bench_day(day):
            waiting = [*_looks(looks, last, day, follows), *_jobs(jobs, before, day, follows)]
            if waiting:
                found[day] = min(waiting, key=lambda forced: (forced.latest, forced.id))
        for look in looks:
            if look.is_open(day) and (look.bin or look.wished(last[look.id]) < follows):
                last[look.id] = day
    return found


def _looks(looks: Sequence[Look], last: dict, day: date, follows: date) -> Iterator[Forced]:  # type: ignore[type-arg]
    for look in looks:
        due = look.latest(last[look.id])
        if look.opens <= day and due <= look.end and due < follows:
            yield Forced(
                id=look.id,
                rule=look.rule,
                lot=look.lot,
                bin=look.bin,
                of_kind=look.of_kind,
                latest=due,
                since=last[look.id],
                treats=treats(look.rule),
            )


def _jobs(jobs: Sequence[Task], before: date, day: date, follows: date) -> Iterator[Forced]:
    for job in jobs:
        if before < job.earliest <= day <= job.latest < follows:
            lot = job.lots[0] if len(job.lots) == 1 else ""
            yield Forced(
                id=job.id,
                rule=job.rule,
                lot=lot,
                bin=job.bin,
                of_kind=job.of_kind,
                latest=job.latest,
                since=None,
                treats=treats(job.rule),
            )


def treats(rule: TaskRule) -> bool:
    """Whether something is wrong with what a rule is about."""
    return rule.after in EVENTS and EVENTS[rule.after].kind == "trouble"


def told_once(rounds: Sequence[Round], workdays: Workdays) -> list[PlanWarning]:
    """One warning for all rounds off the bench days that looks in their usual time ask for, if other days would do.

    Where bench days lie close enough, a holiday or days away are at fault, and each such round says why for itself.
    """
    off = [each for each in rounds if each.forced and each.forced.rule.kind == "look" and not each.forced.treats]
    if not off:
        return []
    first = min(off, key=lambda each: _gap(each.forced))
    assert first.forced is not None
    would = would_do(workdays.bench_days, _gap(first.forced))
    if not would:
        return []
    return [
        PlanWarning(
            kind="off_bench",
            day=off[0].day,
            lots=(first.forced.lot,) if first.forced.lot else (),
            places=first.forced.places,
            forced=first.forced,
            days=tuple(each.day for each in off),
            would_do=would,
        )
    ]


def _gap(forced: Forced | None) -> int:
    assert forced is not None
    return forced.rule.longest_days or forced.rule.every_days or 1


def widest_gap(weekdays: Collection[int]) -> int:
    """The most days from one of these days of the week to the next of them."""
    ordered = sorted(weekdays)
    return max(there - here for here, there in pairwise([*ordered, ordered[0] + 7]))


def would_do(bench: Collection[int], gap: int) -> tuple[tuple[Weekday, ...], ...]:
    """The fewest days of the week beside the bench days so that none lie further apart; none where none do now.

    One day alone in every way there is, several in the way that spaces them best.
    """
    free = [number for number in range(7) if number not in bench]
    for more in range(len(free) + 1):
        ways = [days for days in combinations(free, more) if widest_gap({*bench, *days}) <= gap]
        if ways:
            best = min(widest_gap({*bench, *days}) for days in ways)
            chosen = ways if more == 1 else [next(days for days in ways if widest_gap({*bench, *days}) == best)]
            return tuple(tuple(WEEKDAYS[number] for number in days) for days in chosen) if more else ()
    return ()
