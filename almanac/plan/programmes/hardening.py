"""Hardening off: from plants in pots to the days on which each group goes out, a step nearer the sun, and nights. Pure.

How light is raised stands in `forecast.ramp`, how a lot comes to it in `forecast.hardening`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from almanac.forecast.hardening import Course, KnownLamp, course, lamp_of
from almanac.forecast.ramp import Step, light_of
from almanac.nursery.lots import Lot, lot_order
from almanac.plan.model import Look, Task
from almanac.plan.scene import Scene
from almanac.plan.worked import Ramp
from almanac.rulebook.programmes.hardening import Hardening

_AHEAD = timedelta(days=21)  # a day at home is looked for so far ahead


@dataclass(frozen=True)
class _Group:
    """Lots that harden together, by their softest: from the weakest lamp, on the day of the last potted."""

    lots: tuple[Lot, ...]
    lamp: KnownLamp
    course: Course


def ask(scene: Scene, tasks: list[Task], looks: list[Look]) -> None:
    """Add each group's tasks."""
    for lots in _together(scene):
        group = _group(scene, lots)
        if group is not None:
            for lot in group.lots:
                tasks += _tasks(scene, lot, group)


def _together(scene: Scene) -> Iterator[tuple[Lot, ...]]:
    """Lots of a crop that stand alike, potted within so many days of the first of them."""
    within = timedelta(days=round(scene.around.book.programme(Hardening).group))
    alike: dict[tuple[str, object, object], list[Lot]] = {}
    for lot in scene.open_lots():
        if _comes_to_harden(scene, lot):
            alike.setdefault((lot.crop, lot.hardening, lot.hardening_since), []).append(lot)
    for lots in alike.values():
        lots.sort(key=lambda lot: (_potted(scene, lot), lot_order(lot.id)))
        group: list[Lot] = []
        for lot in lots:
            if group and _potted(scene, lot) > _potted(scene, group[0]) + within:
                yield tuple(group)
                group = []
            group.append(lot)
        yield tuple(group)


def _comes_to_harden(scene: Scene, lot: Lot) -> bool:
    """Whether it has plants in pots, or will have, and a day for them to go out or to have gone out."""
    found = scene.milestones[lot.id]
    set_out, potted = found.get("set_out"), found.get("potted")
    if set_out is None or set_out.window is None or (set_out.known and not lot.hardening_since):
        return False
    if lot.count("pot"):
        return True
    to_come = potted is not None and potted.known is None and potted.days is not None
    return to_come and bool(lot.count("rooting") or lot.count("store"))


def _potted(scene: Scene, lot: Lot) -> date:
    potted = scene.milestones[lot.id].get("potted")
    return potted.window[1] if potted and potted.window else lot.since("pot") or lot.started


def _group(scene: Scene, lots: Sequence[Lot]) -> _Group | None:
    lamp = min((lamp_of(lot, scene.around) for lot in lots), key=lambda lamp: (lamp.light.dose_mol, lamp.ppfd))
    windows = [scene.milestones[lot.id]["set_out"].window for lot in lots]
    planned = _good_day(scene, max(window[1] for window in windows if window))
    found = course(lots[0], planned, lamp.light, scene.around, lambda day: _good_day(scene, day))
    return _Group(tuple(lots), lamp, found) if found else None


def _good_day(scene: Scene, day: date) -> date:
    return scene.workdays.good_day(day, day, day + _AHEAD)


def _tasks(scene: Scene, lot: Lot, group: _Group) -> Iterator[Task]:
    """A lot's own: putting out, each step after it, the first night out."""
    steps = group.course.steps
    for number, step in enumerate(steps):
        until = steps[number + 1].day - timedelta(days=1) if number + 1 < len(steps) else None
        if number == 0 and group.course.out:
            continue  # it is made
        rule = "harden_out" if number == 0 else "harden"
        task = _task(scene, lot, group, rule, step.day, _worked(scene, group, step, until))
        # Groups may share an entry on a day that brings them to the same place, never on another.
        task = replace(task, group=repr((step.stand, step.out, step.back, until if step.timed else None)))
        clock = (step.out, step.back) if step.out and step.back else None
        if number:
            yield replace(task, id=f"{task.id}.{step.number}", step=str(step.number), clock=clock)
        else:
            yield replace(task, clock=clock)
    nights = _first_night(scene, group)
    if nights is not None:
        task = _task(scene, lot, group, "harden_nights", nights, _worked(scene, group, None, None))
        outside = scene.milestones[lot.id].get("outside")
        if outside and not outside.known and outside.days:
            task = replace(task, counted_from="outside", since=outside.days[1], milestone=outside)
        yield replace(task, latest=nights + timedelta(days=3))


def _first_night(scene: Scene, group: _Group) -> date | None:
    """The first night out: after some days in full light, and not before frost and usual nights allow it."""
    book, days = scene.around.book, []
    for lot in group.lots:
        outside = scene.milestones[lot.id].get("outside")
        if outside is None or outside.window is None:
            return None
        if not outside.known:
            days.append(outside.window[1])
    after = group.course.last_day + timedelta(days=round(book.programme(Hardening).nights_after))
    night_c = book.crops[group.lots[0].crop].cold.lowest_night
    safe = scene.around.warm_day(max([after, *days]), 0, night_c)
    return _good_day(scene, safe) if safe else None


def _task(scene: Scene, lot: Lot, group: _Group, name: str, day: date, worked: Ramp) -> Task:
    book = scene.around.book
    set_out = scene.milestones[lot.id]["set_out"]
    assert set_out.window is not None  # a group is made of such lots
    return Task(
        f"{lot.id}.{name}",
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
        worked=worked,
    )


def _worked(scene: Scene, group: _Group, step: Step | None, until: date | None) -> Ramp:
    place, about = scene.place, step or group.course.steps[-1]
    noon = light_of(place, about.day).noon.astimezone(place.zone)
    return Ramp(
        group.course.steps,
        step,
        until,
        (noon + timedelta(minutes=2)).replace(minute=noon.minute // 5 * 5, second=0, microsecond=0).time(),
        group.lamp,
        group.course.used_to,
        group.course.resumed,
        scene.around.book.programme(Hardening).raise_a_day,
        "" if place.tropical else "south" if place.southern else "north",
        bool(scene.around.frost.lows_c),
    )
