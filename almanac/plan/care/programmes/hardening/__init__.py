"""Hardening off: from plants in pots to the days on which each group goes out, a step nearer the sun, and nights. Pure.

Days come before nights. They stand out by day from about two weeks before they can live out (`set_out` waits for that
day less those weeks), and what is carried is told each day; they live out from the latest of three days.

Instead of hours fixed by the clock they are those of the sun: well after sunrise, when the air is coldest, until before
sunset. A day's carrying is one entry for all that stands out the same hours, told three weeks ahead: more would move
with every forecast.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

from almanac.forecast.ramp import Step, light_of
from almanac.nursery.lots import Lot
from almanac.plain import replace
from almanac.plan.care.programme import Programme
from almanac.plan.care.programmes.hardening.carry import Going, carried
from almanac.plan.care.programmes.hardening.derivation import ByNight, Carry, Ramp
from almanac.plan.care.programmes.hardening.group import Group, groups, plants
from almanac.plan.care.proposal import Proposal
from almanac.plan.context.day import Context
from almanac.plan.context.tasks import lot_task
from almanac.plan.model import Task
from almanac.rulebook.programmes.frost_watch import FrostWatch
from almanac.rulebook.programmes.hardening import Hardening


def propose(context: Context) -> Proposal:
    """Each group's tasks, and what is carried each day."""
    found: list[Going] = [(group, _ramps(context, group)) for group in groups(context)]
    own = [task for group, ramps in found for lot in group.lots for task in _tasks(context, lot, group, ramps)]
    return Proposal(tasks=(*own, *carried(context, found)))


PROGRAMME = Programme(
    numbers=Hardening,
    propose=propose,
    derivations=(Ramp, Carry),
    reads=(FrostWatch,),
    follows="watering",
)


def by_night(context: Context, crop: str) -> ByNight:
    """Where a crop stands at night while it hardens, and what it bears."""
    book, way = context.book, context.around.settings.hardening.nights
    numbers, cold = book.programme(Hardening), book.crops[crop].cold
    shelter = {"frame": numbers.frame, "fleece": numbers.fleece}.get(way)
    bears_c = cold.new_growth_killed + book.programme(FrostWatch).margin
    return ByNight(
        way=way,
        adds_c=shelter.adds if shelter else 0.0,
        lowest_c=cold.lowest_night,
        by_day_c=numbers.by_day,
        bears_c=bears_c,
    )


def _ramps(context: Context, group: Group) -> dict[int, Ramp]:
    """By the number of a step, what it comes to; 0 is what follows the last."""
    found = {0: _ramp(context, group, None, None)}
    steps = group.course.steps
    for number, step in enumerate(steps):
        until = steps[number + 1].day - timedelta(days=1) if number + 1 < len(steps) else None
        found[step.number] = _ramp(context, group, step, until)
    return found


def _tasks(context: Context, lot: Lot, group: Group, ramps: dict[int, Ramp]) -> Iterator[Task]:
    """A lot's own: putting out, each step after it, the first night out."""
    for number, step in enumerate(group.course.steps):
        if number == 0 and group.course.out:
            continue  # it is made
        name, day = ("harden", step.day) if number else ("harden_out", group.due_out)
        task = _task(context, lot, name, day, ramps[step.number], step.number if number else "")
        # Groups may share an entry on a day that brings them to the same place, never on another.
        until = ramps[step.number].until if step.timed else None
        yield replace(task, group=repr((step.stand, step.out, step.back, until)))
    if group.lives is None:
        return
    nights = group.lives.day
    task = _task(context, lot, "harden_nights", nights, ramps[0])
    outside = context.milestones[lot.id].get("outside")
    if outside and not outside.known and outside.days:
        task = replace(task, counted_from="outside", since=outside.days[1], milestone=outside)
    yield replace(task, latest=nights + timedelta(days=3))


def _task(context: Context, lot: Lot, name: str, day: date, derivation: Ramp, step: object = "") -> Task:
    set_out = context.milestones[lot.id]["set_out"]
    assert set_out.window is not None  # a group is made of such lots
    return lot_task(
        lot,
        context.rule(name, lot.crop),
        (day, day, day),
        "set_out",
        set_out.window[1],
        milestone=set_out,
        count=plants(lot),
        step=step,
        derivation=derivation,
    )


def _ramp(context: Context, group: Group, step: Step | None, until: date | None) -> Ramp:
    place, about = context.place, step or group.course.steps[-1]
    noon = light_of(place, about.day).noon.astimezone(place.zone)
    return Ramp(
        steps=group.course.steps,
        step=step,
        until=until,
        noon=(noon + timedelta(minutes=2)).replace(minute=noon.minute // 5 * 5, second=0, microsecond=0).time(),
        lamp=group.lamp,
        used_to=group.course.used_to,
        resumed=group.course.resumed,
        raise_a_day=context.book.programme(Hardening).raise_a_day,
        wall="" if place.tropical else "south" if place.southern else "north",
        lives=group.lives,
        by_night=by_night(context, group.lots[0].crop),
    )
