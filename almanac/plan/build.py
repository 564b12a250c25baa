"""From a nursery to its plan: milestones, tasks and rounds from a day on. Pure: same in, same out."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from typing import Literal

from almanac.forecast.interval import rule_of
from almanac.forecast.milestones import milestones
from almanac.forecast.of_lots import OfLots
from almanac.nursery.nursery import Nursery
from almanac.plain import replace
from almanac.plan.agenda.cautioned import told_whole
from almanac.plan.agenda.dated import dated
from almanac.plan.agenda.rounds import rounds_of
from almanac.plan.agenda.settle import unseen
from almanac.plan.agenda.to_come import tasks_to_come
from almanac.plan.care.proposed import proposed
from almanac.plan.context.asked import asked_of
from almanac.plan.context.day import Context
from almanac.plan.context.turns import one_a_morning
from almanac.plan.model import Plan, PlanWarning, Task
from almanac.plan.past import Past
from almanac.plan.room.shortages import shortages
from almanac.plan.room.space import space_of
from almanac.plan.wood.account import account_in, stored
from almanac.plan.wood.ahead import with_chances
from almanac.plan.wood.forsale import shipments
from almanac.plan.wood.rests import rests_of
from almanac.plan.wood.to_come import standing
from almanac.rulebook.models import MilestoneRule
from almanac.site.freeze_year import FreezeYear

NO_PAST = Past()
_DAY = timedelta(days=1)
_LAST_WORD = timedelta(days=21)  # so long it is said of what cannot be done any more
_HALF_A_YEAR = timedelta(days=183)
_LAST_CALL = timedelta(days=14)  # before it lapses, a window that nothing hangs on is told again


def build_plan(nursery: Nursery, past: Past = NO_PAST) -> Plan:
    """Everything to do from the nursery's day on.

    Args:
        nursery: as its files say on `nursery.as_of`
        past: what earlier runs published
    """
    context = context_of(nursery, past)
    as_of, stock, workdays = nursery.as_of, context.stock, context.workdays
    around, found = context.around, context.milestones
    crops = {number: each.crop for number, each in nursery.varieties.items()}
    space = space_of(stock, found, around, crops, context.at_rest)
    proposal = proposed(context)
    tasks, looks = dated(proposal, context)
    tasks += tasks_to_come(context, space.planned)
    jobs, windows = [task for task in tasks if task.in_round], [task for task in tasks if not task.in_round]
    late = [task for task in windows if _gone_by(task, past, nursery)]
    rounds, warnings = rounds_of(looks, jobs, late, workdays, past, as_of)
    days = {line.id: each.day for each in rounds for line in each.lines if line.task is not None}
    jobs = [replace(job, due=days.get(job.id, job.due)) for job in jobs]
    tasks = sorted([*jobs, *windows], key=lambda task: (task.due, task.id))
    told = (*warnings, *_unforeseen(context), *proposal.warnings, *shortages(space, workdays, past))
    told += (*_never_stuck(context), *_too_late(tasks, context))
    coming = [task for task in windows if task.due >= as_of]
    protected = {name for name, lot in stock.lots.items() if lot.protected}
    season = FreezeYear(southern=nursery.place.southern)
    return Plan(
        as_of=as_of,
        tasks=tuple(tasks),
        rounds=tuple(rounds),
        milestones=found,
        warnings=told,
        looks=tuple(looks),
        space=space,
        cautioned=told_whole(coming, rounds, around.book, protected, past, season),
        past_range=dict(_past_range(context)),
        at_rest=context.at_rest,
        over=stock.over,
    )


def context_of(nursery: Nursery, past: Past = NO_PAST) -> Context:
    """The day that is planned from, with each lot's milestones."""
    nursery, around, planned_till = standing(nursery)
    stock = nursery.stock
    coming = {name: milestones(lot, around) for name, lot in stock.lots.items() if not lot.closed}
    found = OfLots(one_a_morning(coming, past), stock.lots, around)
    crops = tuple(sorted({variety.crop for variety in nursery.varieties.values()}))
    sellable = frozenset(variety.crop for variety in nursery.varieties.values() if not variety.protected)
    numbers = {
        crop: tuple(sorted((n for n, v in nursery.varieties.items() if v.crop == crop), key=int)) for crop in crops
    }
    context = Context(
        stock=stock,
        place=nursery.place,
        around=around,
        milestones=found,
        past=past,
        crops=crops,
        nights=nursery.nights,
        sellable=sellable,
        numbers=numbers,
        planned_till=planned_till,
    )
    account = account_in(context)
    at_rest = rests_of(stock, nursery.as_of, context.years, account, nursery.book)
    open_orders = with_chances(shipments(nursery, account), nursery, around, found)
    return replace(context, shipments=open_orders, asked=asked_of(nursery), at_rest=at_rest)


def _gone_by(task: Task, past: Past, nursery: Nursery) -> bool:
    """Whether a lot's or a bin's task is still to do though its own entry is over, or its latest day is."""
    rule = task.rule
    if rule.scope in ("crop", "nursery") or rule.kind != "window" or task.feed == "sales" or not rule.log:
        return False
    if unseen(task):
        return False  # what it waits for was not seen yet: no water for a bag without roots
    if rule.lapses and task.latest - nursery.as_of > _LAST_CALL:
        return False  # it may as well be left; one reminder each round until then would be a nuisance
    return task.latest < nursery.as_of or (past.entries.get(task.id) == task.due and task.due < nursery.as_of)


def _past_range(context: Context) -> Iterator[tuple[str, date]]:
    """Lots of wood in store that no longer keep, with the last day that they did."""
    account = account_in(context)
    for name, lot in context.stock.lots.items():
        if stored(lot) and (wood := account.of_lot(lot)).past(context.as_of):
            yield name, wood.until


def _never_stuck(context: Context) -> Iterator[PlanWarning]:
    """Lots planned whose season is over, said once: until the next day at the bench, all that are over till then."""
    days = {row: context.workdays.next(last + _DAY) for row, last in context.planned_till.items()}
    over = tuple(each for each in context.stock.never_stuck if days[each.row] >= context.as_of)
    if over:
        yield PlanWarning(kind="never_stuck", day=min(days[each.row] for each in over), lots=(), planned=over)


def _too_late(tasks: Sequence[Task], context: Context) -> Iterator[PlanWarning]:
    """Plants that were to go out, and for which the year has become too short: said once they are asked for no more."""
    soon = context.as_of + _HALF_A_YEAR
    asked = {(task.rule.after, lot) for task in tasks for lot in task.lots if task.due < soon}
    lots: dict[date, list[str]] = {}
    for lot in context.stock.lots.values():
        for milestone in context.milestones[lot.id].values() if lot.count("pot") else ():
            days, was_planned = milestone.days, milestone.planned
            if (milestone.name, lot.id) in asked or lot.hardening_since:
                continue
            if days and was_planned and days[1] - was_planned[1] > _HALF_A_YEAR:
                rule = rule_of(milestone.name, lot, context.around)
                since = _closed_since(rule, context) if rule else None
                if since:
                    lots.setdefault(since, []).append(lot.id)
    for since, named in lots.items():
        yield PlanWarning(kind="too_late", day=since, lots=tuple(named))


def _closed_since(rule: MilestoneRule, context: Context) -> date | None:
    """The first day that was too late for what waits for frost, if that was in the last three weeks."""
    for ago in range(1, _LAST_WORD.days + 1):
        lives = context.as_of - timedelta(days=ago) + timedelta(days=rule.ahead_days)
        if context.around.safe_day(lives, rule.frost_free_days) == lives:
            return context.as_of - timedelta(days=ago - 1)
    return None


def _unforeseen(context: Context) -> list[PlanWarning]:
    """Milestones that never come: frost in every month, or a bin too cold or too hot for anything to go on."""
    warnings = []
    for lot in [name for name, each in context.stock.lots.items() if not each.closed]:
        for milestone in context.milestones[lot].values():
            basis = milestone.basis
            if milestone.known is None and milestone.days is None and basis is not None:
                kind: Literal["standstill", "never_safe"] = "standstill" if basis.rate <= 0 else "never_safe"
                warnings.append(PlanWarning(kind=kind, day=basis.known_at, lots=(lot,), milestone=milestone))
                break
    return warnings
