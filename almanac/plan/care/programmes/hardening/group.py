"""Lots that harden together, and when they live out. Pure.

How light is raised stands in `forecast.ramp`, how a lot comes to it in `forecast.hardening`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from almanac.forecast.hardening import Course, KnownLamp, course, lamp_of
from almanac.nursery.lots import Lot, lot_order
from almanac.plan.care.programmes.hardening.derivation import LivesOut
from almanac.plan.context.day import Context
from almanac.rulebook.programmes.hardening import Hardening

_DAY, _SEASON = timedelta(days=1), timedelta(days=120)  # what could go out longer ago is late since then


@dataclass(frozen=True)
class Group:
    """Lots that harden together, by their softest: from the weakest lamp, on the day of the last potted.

    They are to go out on `due_out`, which stays where it is once it has gone by; their course is told as if they went
    next.
    """

    lots: tuple[Lot, ...]
    lamp: KnownLamp
    course: Course
    lives: LivesOut | None
    due_out: date


def groups(context: Context) -> Iterator[Group]:
    """Every group that hardens, or will."""
    for lots in _together(context):
        found = _group(context, lots)
        if found:
            yield found


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


def _group(context: Context, lots: Sequence[Lot]) -> Group | None:
    lamp = min((lamp_of(lot, context.around) for lot in lots), key=lambda lamp: (lamp.light.dose_mol, lamp.ppfd))
    windows = [context.milestones[lot.id]["set_out"].window for lot in lots]
    planned = context.workdays.next(max(window[1] for window in windows if window))
    found = course(lots[0], planned, lamp.light, context.around)
    if found is None:
        return None
    due = planned if found.out else min(planned, _due_out(context, lots, planned))
    return Group(tuple(lots), lamp, found, _lives_out(context, lots, found), due)


def _due_out(context: Context, lots: Sequence[Lot], planned: date) -> date:
    """The day on which they were first to go out, where they still may today; else the day planned.

    What is not logged is not done, so the day planned slips by the week; what it waits for must not.
    """
    around, crop = context.around, lots[0].crop
    potted = [context.milestones[lot.id]["potted"].known for lot in lots if "potted" in context.milestones[lot.id]]
    if len(potted) < len(lots) or None in potted:
        return planned
    [rule] = (each for each in around.book.milestones_for(lots[0].method) if each.name == "set_out")
    waits = around.book.duration(crop, rule, lots[0].method)
    night_c, ahead = around.book.crops[crop].cold.lowest_night, timedelta(days=rule.ahead_days)

    def may_go(day: date) -> bool:
        return around.warm_day(day + ahead, rule.frost_free_days, night_c, rule.warm_days) == day + ahead

    came_in = max((day for lot in lots for day, what in lot.hardening if what == "brought_in"), default=date.min)
    ready = max(day for day in potted if day) + timedelta(days=round(waits.median if waits else 0))
    ready = max(ready, came_in)
    day, season = context.as_of, context.as_of - _SEASON
    if day <= ready or not may_go(day):
        return planned
    while day > max(ready, season) and may_go(day - _DAY):
        day -= _DAY
    return context.workdays.next(day)


def _lives_out(context: Context, lots: Sequence[Lot], found: Course) -> LivesOut | None:
    """The latest of the accepted frost, nights that are usually warm enough, and some days in full light."""
    around = context.around
    comes = [context.milestones[lot.id].get("outside") for lot in lots]
    if any(each is None or each.window is None for each in comes):
        return None
    [rule] = (each for each in around.book.milestones_for(lots[0].method) if each.name == "outside")
    night_c, start = around.book.crops[lots[0].crop].cold.lowest_night, found.steps[0].day
    done = found.last_day + timedelta(days=round(around.book.programme(Hardening).nights_after))
    frost = around.safe_day(start, rule.frost_free_days)
    nights = around.warm_day(start, rule.frost_free_days, night_c)
    ready = around.warm_day(done, rule.frost_free_days, night_c)
    if frost is None or nights is None or ready is None:
        return None
    known = around.frost.usual_low_c(start) is not None
    return LivesOut(context.workdays.next(ready), frost, nights if known else None, done)
