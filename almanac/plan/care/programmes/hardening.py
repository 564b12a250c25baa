"""Hardening off: from plants in pots to the days on which each group goes out, a step nearer the sun, and nights. Pure.

How light is raised stands in `forecast.ramp`, how a lot comes to it in `forecast.hardening`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, time, timedelta

from almanac.forecast.hardening import Course, KnownLamp, course, lamp_of
from almanac.forecast.ramp import Light, Step, light_of
from almanac.nursery.lots import Lot, lot_order
from almanac.plan.care.programme import Programme
from almanac.plan.care.proposal import Proposal
from almanac.plan.context.day import Context
from almanac.plan.derivation import Derivation
from almanac.plan.ids import EntryId
from almanac.plan.model import Task
from almanac.rulebook.programmes.hardening import Hardening


@dataclass(frozen=True)
class Ramp(Derivation):
    """How a group of plants comes from its lamp to the sun.

    `step` is the one a task is about, None for what comes after the last; `until` the last day before the next, and
    `noon` when the sun stands highest, by the local clock. `wall` is the side of a wall that no sun reaches, empty in
    the tropics, where there is none. `nights_known` says whether the site's usual nights are.
    """

    steps: tuple[Step, ...]
    step: Step | None
    until: date | None
    noon: time
    lamp: KnownLamp
    used_to: Light
    resumed: bool
    raise_a_day: float
    wall: str
    nights_known: bool


@dataclass(frozen=True)
class _Group:
    """Lots that harden together, by their softest: from the weakest lamp, on the day of the last potted."""

    lots: tuple[Lot, ...]
    lamp: KnownLamp
    course: Course


def propose(context: Context) -> Proposal:
    """Each group's tasks."""
    groups = filter(None, (_group(context, lots) for lots in _together(context)))
    return Proposal(tuple(task for group in groups for lot in group.lots for task in _tasks(context, lot, group)))


PROGRAMME = Programme(
    numbers=Hardening,
    propose=propose,
    derivations=(Ramp,),
    follows="watering",
)


def _together(context: Context) -> Iterator[tuple[Lot, ...]]:
    """Lots of a crop that stand alike, potted within so many days of the first of them."""
    within = timedelta(days=round(context.around.book.programme(Hardening).group))
    alike: dict[tuple[str, object, object], list[Lot]] = {}
    for lot in context.open_lots():
        if _comes_to_harden(context, lot):
            alike.setdefault((lot.crop, lot.hardening, lot.hardening_since), []).append(lot)
    for lots in alike.values():
        lots.sort(key=lambda lot: (_potted(context, lot), lot_order(lot.id)))
        group: list[Lot] = []
        for lot in lots:
            if group and _potted(context, lot) > _potted(context, group[0]) + within:
                yield tuple(group)
                group = []
            group.append(lot)
        yield tuple(group)


def _comes_to_harden(context: Context, lot: Lot) -> bool:
    """Whether it has plants in pots, or will have, and a day for them to go out or to have gone out."""
    found = context.milestones[lot.id]
    set_out, potted = found.get("set_out"), found.get("potted")
    if set_out is None or set_out.window is None or (set_out.known and not lot.hardening_since):
        return False
    if lot.count("pot"):
        return True
    to_come = potted is not None and potted.known is None and potted.days is not None
    return to_come and bool(lot.count("rooting") or lot.count("store"))


def _potted(context: Context, lot: Lot) -> date:
    potted = context.milestones[lot.id].get("potted")
    return potted.window[1] if potted and potted.window else lot.since("pot") or lot.started


def _group(context: Context, lots: Sequence[Lot]) -> _Group | None:
    lamp = min((lamp_of(lot, context.around) for lot in lots), key=lambda lamp: (lamp.light.dose_mol, lamp.ppfd))
    windows = [context.milestones[lot.id]["set_out"].window for lot in lots]
    planned = context.workdays.next(max(window[1] for window in windows if window))
    found = course(lots[0], planned, lamp.light, context.around)
    return _Group(tuple(lots), lamp, found) if found else None


def _tasks(context: Context, lot: Lot, group: _Group) -> Iterator[Task]:
    """A lot's own: putting out, each step after it, the first night out."""
    steps = group.course.steps
    for number, step in enumerate(steps):
        until = steps[number + 1].day - timedelta(days=1) if number + 1 < len(steps) else None
        if number == 0 and group.course.out:
            continue  # it is made
        rule = "harden_out" if number == 0 else "harden"
        task = _task(context, lot, group, rule, step.day, _derivation(context, group, step, until))
        # Groups may share an entry on a day that brings them to the same place, never on another.
        task = replace(task, group=repr((step.stand, step.out, step.back, until if step.timed else None)))
        clock = (step.out, step.back) if step.out and step.back else None
        if number:
            yield replace(task, id=task.id.at(step.number), step=str(step.number), clock=clock)
        else:
            yield replace(task, clock=clock)
    nights = _first_night(context, group)
    if nights is not None:
        task = _task(context, lot, group, "harden_nights", nights, _derivation(context, group, None, None))
        outside = context.milestones[lot.id].get("outside")
        if outside and not outside.known and outside.days:
            task = replace(task, counted_from="outside", since=outside.days[1], milestone=outside)
        yield replace(task, latest=nights + timedelta(days=3))


def _first_night(context: Context, group: _Group) -> date | None:
    """The first night out: after some days in full light, and not before frost and usual nights allow it."""
    book, days = context.around.book, []
    for lot in group.lots:
        outside = context.milestones[lot.id].get("outside")
        if outside is None or outside.window is None:
            return None
        if not outside.known:
            days.append(outside.window[1])
    after = group.course.last_day + timedelta(days=round(book.programme(Hardening).nights_after))
    night_c = book.crops[group.lots[0].crop].cold.lowest_night
    safe = context.around.warm_day(max([after, *days]), 0, night_c)
    return context.workdays.next(safe) if safe else None


def _task(context: Context, lot: Lot, group: _Group, name: str, day: date, derivation: Ramp) -> Task:
    book = context.around.book
    set_out = context.milestones[lot.id]["set_out"]
    assert set_out.window is not None  # a group is made of such lots
    return Task(
        EntryId(lot.id, name),
        book.told_for(book.task(name), lot.crop),
        (lot.id,),
        day,
        day,
        day,
        "set_out",
        set_out.window[1],
        set_out,
        crop=lot.crop,
        count=lot.count("pot") or lot.count("rooting") or lot.total,
        protected=(lot.id,) if lot.protected else (),
        derivation=derivation,
    )


def _derivation(context: Context, group: _Group, step: Step | None, until: date | None) -> Ramp:
    place, about = context.place, step or group.course.steps[-1]
    noon = light_of(place, about.day).noon.astimezone(place.zone)
    return Ramp(
        group.course.steps,
        step,
        until,
        (noon + timedelta(minutes=2)).replace(minute=noon.minute // 5 * 5, second=0, microsecond=0).time(),
        group.lamp,
        group.course.used_to,
        group.course.resumed,
        context.around.book.programme(Hardening).raise_a_day,
        "" if place.tropical else "south" if place.southern else "north",
        bool(context.around.frost.lows_c),
    )
