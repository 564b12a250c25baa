"""What is carried out and in, day by day, until plants live out: together what stands out for the same hours. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date, time, timedelta

from almanac.forecast.hardening import mild_hours
from almanac.forecast.ramp import Step
from almanac.nursery.lots import lot_order
from almanac.plan.care.programmes.hardening.derivation import Carried, Carry, Ramp
from almanac.plan.care.programmes.hardening.group import Group, plants
from almanac.plan.context.day import Context
from almanac.plan.ids import EntryId
from almanac.plan.model import Task
from almanac.rulebook.programmes.hardening import Hardening

_Hours = tuple[date, time, time]
Going = tuple[Group, dict[int, Ramp]]  # a group, and by the number of a step what it comes to


def carried(context: Context, going: Iterable[Going]) -> Iterator[Task]:
    """Every day's carrying, as far ahead as it is told."""
    together: dict[_Hours, list[tuple[int, Carried]]] = {}
    for group, ramps in going:
        for day, step in _days(context, group):
            lots = tuple(sorted((lot.id for lot in group.lots), key=lot_order))
            count = sum(map(plants, group.lots))
            hours = (day, *_hours(context, group, step, day))
            number = (day - group.course.steps[0].day).days + 1
            together.setdefault(hours, []).append((number, Carried(lots, count, ramps[step.number])))
    for hours, found in sorted(together.items()):
        yield _task(context, hours, found)


def _days(context: Context, group: Group) -> Iterator[tuple[date, Step]]:
    """The days until plants live out that are told by now, each with the step they stand at."""
    steps, lives = group.course.steps, group.lives
    numbers = context.book.programme(Hardening)
    if lives is None:
        return
    day, last = max(steps[0].day, context.as_of), context.as_of + timedelta(days=round(numbers.told_ahead))
    while day < lives.day and day <= last:
        yield day, [step for step in steps if step.day <= day][-1]
        day += timedelta(days=1)


def _hours(context: Context, group: Group, step: Step, day: date) -> tuple[time, time]:
    """The mild hours, more of them every day; where plants are carried by the clock, those of the step alone."""
    if step.out and step.back and context.around.settings.hardening.way == "hours":
        return step.out, step.back
    numbers = context.book.programme(Hardening)
    mild, carry, zone = mild_hours(numbers, context.around, day), numbers.hours, context.place.zone
    length = timedelta(hours=carry.first_day + carry.more_a_day * (day - group.course.steps[0].day).days)
    start = mild.start if mild.early else max(mild.start, mild.end - length)
    end = min(mild.end, mild.start + length) if mild.early else mild.end
    out, back = start.astimezone(zone).time(), end.astimezone(zone).time()
    return (min(out, step.out), max(back, step.back)) if step.out and step.back else (out, back)


def _task(context: Context, hours: _Hours, found: list[tuple[int, Carried]]) -> Task:
    day, out, back = hours
    book = context.book
    each = tuple(sorted((each for _, each in found), key=lambda each: lot_order(each.lots[0])))
    lots = tuple(sorted((lot for one in each for lot in one.lots), key=lot_order))
    rule, count = book.task("carry"), sum(one.count for one in each)
    softest = max((one.ramp.by_night for one in each), key=lambda night: night.lowest_c)
    sheltered = softest.way != "indoors"  # a cover is taken off for all of them at once
    minutes = rule.minutes * (len(each) if sheltered else count) / 2
    derivation = Carry(
        day=day,
        number=max(number for number, _ in found),
        out=out,
        back=back,
        carried=each,
        by_night=softest,
        minutes=minutes,
        away=context.workdays.is_away(day),
    )
    return Task(
        id=EntryId(lots[0], rule.id, day),
        rule=rule,
        lots=lots,
        earliest=day,
        due=day,
        latest=day,
        counted_from="set_out",
        since=min(one.ramp.steps[0].day for one in each),
        count=count,
        derivation=derivation,
        step=str(day),
        clock=(out, back),
        rings_back=True,
        group=repr((out, back)),  # never merged with other hours
    )
