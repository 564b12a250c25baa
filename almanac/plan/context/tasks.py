"""From a rule, its days and what it is about to a task or a look. Pure."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

from almanac.forecast.model import Days, Milestone
from almanac.nursery.events import Stage
from almanac.nursery.lots import Lot
from almanac.plan.context.day import Anchor, Context
from almanac.plan.context.looked import bin_seen, lot_seen
from almanac.plan.derivation import Derivation
from almanac.plan.ids import EntryId
from almanac.plan.model import Look, Task
from almanac.rulebook.models import TaskRule


def days_round(rule: TaskRule, early: date, likely: date | None = None, late: date | None = None) -> Days:
    """When a rule opens, is due and closes round a day, or round the early, the likely and the late one."""
    opens, due, closes = (timedelta(days=number or 0) for number in (rule.opens_day, rule.due_day, rule.closes_day))
    return early + opens, (likely or early) + due, (late or early) + closes


def lot_task(
    lot: Lot,
    rule: TaskRule,
    days: Days,
    counted_from: str,
    since: date,
    *,
    bin_name: str = "",
    count: int = 0,
    step: object = "",
    milestone: Milestone | None = None,
    derivation: Derivation | None = None,
    stage: Stage | None = None,
) -> Task:
    """The task of a rule for one lot, on its first, its good and its last day; as `Task` has the rest."""
    earliest, due, latest = days
    return Task(
        id=EntryId(lot.id, rule.id, step),
        rule=rule,
        lots=(lot.id,),
        earliest=earliest,
        due=due,
        latest=latest,
        counted_from=counted_from,
        since=since,
        milestone=milestone,
        bin=bin_name,
        crop=lot.crop,
        count=count,
        protected=(lot.id,) if lot.protected else (),
        step=f"{step}",
        derivation=derivation,
        stage=stage,
    )


def crop_task(
    crop: str, rule: TaskRule, days: Days, counted_from: str, since: date, year: int, derivation: Derivation
) -> Task:
    """The task of a rule for all plants of a crop in the season of a year."""
    earliest, due, latest = days
    return Task(
        id=EntryId(crop, rule.id, year),
        rule=rule,
        lots=(),
        earliest=earliest,
        due=due,
        latest=latest,
        counted_from=counted_from,
        since=since,
        crop=crop,
        step=str(year),
        derivation=derivation,
    )


def lot_look(
    context: Context,
    lot: Lot,
    rule: TaskRule,
    start: date,
    end: date,
    counted_from: str,
    *,
    bin_name: str = "",
    count: int = 1,
    milestone: Milestone | None = None,
) -> Look:
    """The look of a rule at one lot; as `Look` has the rest."""
    return Look(
        id=EntryId(lot.id, rule.id),
        rule=rule,
        lot=lot.id,
        bin=bin_name,
        start=start,
        end=end,
        counted_from=counted_from,
        milestone=milestone,
        seen=lot_seen(lot, context.walked, context.as_of),
        count=count,
    )


def bin_look(
    context: Context,
    name: str,
    rule: TaskRule,
    start: date,
    end: date,
    counted_from: str,
    milestone: Milestone | None = None,
) -> Look:
    """The look of a rule at a bin as a whole."""
    lots = len(context.in_bins.get(name, ()))
    return Look(
        id=EntryId(name, rule.id),
        rule=rule,
        lot="",
        bin=name,
        start=start,
        end=end,
        counted_from=counted_from,
        milestone=milestone,
        seen=bin_seen(context.stock.bins[name], lots, context.walked, context.as_of),
    )


def window_task(name: EntryId, rule: TaskRule, anchor: Anchor, lots: tuple[str, ...], place: str) -> Task:
    """The task of a rule with its three dates; a deadline counts from the early date alone."""
    earliest, due, latest = days_round(rule, *(anchor.days[:1] if rule.kind == "deadline" else anchor.days))
    return Task(
        id=name,
        rule=rule,
        lots=lots,
        earliest=earliest,
        due=due,
        latest=latest,
        counted_from=anchor.name,
        since=anchor.days[1],
        milestone=anchor.milestone,
        bin=place,
    )


def treatments(
    name: EntryId, rule: TaskRule, anchor: Anchor, treated: date | None, lots: tuple[str, ...], place: str
) -> Iterator[Task]:
    """The repeats of a treatment: from the sighting, and from the last one done, until its last day."""
    assert rule.first_day is not None
    assert rule.every_days is not None
    start = anchor.days[1]
    last = start + timedelta(days=rule.last_day if rule.last_day is not None else rule.first_day)
    done = treated if treated and treated >= start else None
    day = done + timedelta(days=rule.every_days) if done else start + timedelta(days=rule.first_day)
    number = 1 + ((day - start).days - rule.first_day) // rule.every_days if done else 1
    while day <= last:
        end = day + timedelta(days=rule.slack_days)
        yield Task(
            id=name.at(number),
            rule=rule,
            lots=lots,
            earliest=day,
            due=day,
            latest=end,
            counted_from=anchor.name,
            since=start,
            milestone=anchor.milestone,
            bin=place,
        )
        day += timedelta(days=rule.every_days)
        number += 1
