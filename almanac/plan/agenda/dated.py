"""From what care proposes to tasks and looks on their days; what waits for an act to come goes with it. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta

from almanac.forecast.interval import is_act
from almanac.forecast.model import Milestone
from almanac.nursery.workdays import Workdays
from almanac.plain import replace
from almanac.plan.agenda.off_bench import treats
from almanac.plan.agenda.settle import settled, worth_telling
from almanac.plan.care.proposal import Proposal
from almanac.plan.context.day import Context
from almanac.plan.model import Look, Task

_WEEK = timedelta(days=7)


def dated(proposal: Proposal, context: Context) -> tuple[list[Task], list[Look]]:
    """What is worth telling of a proposal: windows on their good days, and small jobs and looks that wait for them."""
    proposed = (_till_bench_day(task, context.workdays) for task in proposal.tasks)
    told = [task for task in proposed if worth_telling(task, context.as_of)]
    windows = settled([task for task in told if not task.in_round], context)
    acts = {(lot, task.rule.logged_as): task.due for task in windows for lot in task.lots}
    jobs = settled([_not_before(task, acts) for task in told if task.in_round], context)
    return [*jobs, *windows], [_look_not_before(look, acts) for look in proposal.looks]


def _till_bench_day(job: Task, workdays: Workdays) -> Task:
    """A small job that has a week of its own and treats nothing, until a bench day: it sends nobody on another day."""
    rule = job.rule
    roomy = (rule.closes_day or 0) - (rule.opens_day or 0) >= _WEEK.days - 1
    if rule.kind != "do" or rule.worked or not roomy or treats(rule):
        return job
    days = (job.latest + timedelta(days=number) for number in range(_WEEK.days))
    return replace(job, latest=next(filter(workdays.is_bench_day, days), job.latest))


def _not_before(job: Task, acts: Mapping[tuple[str, str], date]) -> Task:
    """A small job that counts from an act to come, counted from the day on which that act is now planned."""
    late = _late(job.lots[0] if job.lots else "", job.counted_from, job.milestone, job.since, acts)
    if not late:
        return job
    return replace(
        job, earliest=job.earliest + late, due=job.due + late, latest=job.latest + late, since=job.since + late
    )


def _look_not_before(look: Look, acts: Mapping[tuple[str, str], date]) -> Look:
    late = _late(look.lot, look.counted_from, look.milestone, look.start, acts)
    return replace(look, start=look.start + late, end=look.end + late) if late else look


def _late(
    lot: str, act: str, milestone: Milestone | None, likely: date, acts: Mapping[tuple[str, str], date]
) -> timedelta:
    """How much later than likely an act is planned, as where lots wait for one another."""
    planned = acts.get((lot, act)) if milestone is not None and milestone.known is None and is_act(act) else None
    return max(planned - likely, timedelta(0)) if planned else timedelta(0)
