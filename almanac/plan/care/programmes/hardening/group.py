"""Lots that harden together, and when they live out. Pure.

How light is raised stands in `forecast.ramp`, how a lot comes to it in `forecast.hardening`.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from datetime import date, timedelta
from functools import partial

from almanac.alike import gathered
from almanac.forecast.hardening import Course, KnownLamp, course, lamp_of
from almanac.forecast.interval import rule_of
from almanac.forecast.late import AGAIN, late_by, turn
from almanac.forecast.model import Days
from almanac.nursery.lots import Lot, lot_order
from almanac.plain import dataclass
from almanac.plan.care.programmes.hardening.derivation import LivesOut
from almanac.plan.context.day import Context
from almanac.plan.ids import EntryId
from almanac.plan.inertia import may_be_off
from almanac.plan.past import Held
from almanac.rulebook.models import MilestoneRule
from almanac.rulebook.programmes.hardening import Hardening

_DAY, _SEASON = timedelta(days=1), timedelta(days=120)  # what could go out longer ago is late since then


@dataclass(frozen=True, kw_only=True)
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


def plants(lot: Lot) -> int:
    """How many of a lot harden: those in pots, else those that may come to be."""
    return lot.count("pot") or lot.count("rooting") or lot.total


def groups(context: Context) -> Iterator[Group]:
    """Every group that hardens, or will."""
    for lots in _together(context):
        found = _group(context, lots)
        if found:
            yield found


def _together(context: Context) -> Iterator[tuple[Lot, ...]]:
    """Lots of a crop that stand alike, potted within so many days of the first of them."""
    within = timedelta(days=round(context.book.programme(Hardening).group))
    lots_in_pots = (lot for lot in context.open_lots() if _comes_to_harden(context, lot))
    alike = gathered(((lot.crop, lot.hardening, lot.hardening_since), lot) for lot in lots_in_pots)
    for lots in alike.values():
        for group in _near(context, lots, partial(_potted, context), within):
            # Of those not potted on their day some are planned later than the others, who do not wait for them.
            yield from _near(context, group, partial(_goes_out, context), within)


def _near(
    context: Context, lots: Iterable[Lot], day_of: Callable[[Lot], date], within: timedelta
) -> Iterator[tuple[Lot, ...]]:
    """Lots by a day of theirs, each within so many days of the first of its group.

    Those published together, or apart, stay so while their days are only as far off as a published day may be.
    """
    group: list[Lot] = []

    def waits(lot: Lot) -> timedelta:
        first, own = (_told(context, each) for each in (group[0], lot))
        potted = context.milestones[lot.id].get("potted")
        off = may_be_off(day_of(lot), potted.window if potted else None, context.as_of)
        return within + (off if first & own else -off) if first and own else within

    for lot in sorted(lots, key=lambda lot: (day_of(lot), lot_order(lot.id))):
        if group and day_of(lot) > day_of(group[0]) + waits(lot):
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
    day = (potted.known or potted.was_likely) if potted else None
    return day or lot.since("pot") or lot.started


def _goes_out(context: Context, lot: Lot) -> date:
    window = _planned(context, lot)
    assert window is not None  # a group is made of such lots
    return _kept(context, lot) or _late(context, lot) or window[1]


def _planned(context: Context, lot: Lot) -> Days | None:
    """The days by which it is planned: as it waits for an act not logged, while no step after it has gone by.

    Then it is planned for this week; where a step was told and has gone by, it moves once, by four weeks (`_late`).
    """
    goes = context.milestones[lot.id]["set_out"]
    if not goes.held or not _missed_a_step(context, lot, context.workdays.next(goes.held[1])):
        return goes.follows
    told = context.past.holders.get(EntryId(lot.id, "harden", 2), ())
    if not any(goes.held[1] <= day < context.as_of for _, day in told):
        return goes.window
    early, likely, late = (day + AGAIN for day in goes.held)
    return (early, likely, late) if _may_go(context, lot, likely) else goes.window


def _kept(context: Context, lot: Lot) -> date | None:
    """The day published for it, where it waits for potting that is late, and potted by now it would keep it."""
    goes = context.milestones[lot.id]["set_out"]
    told = [day for _, day in _told(context, lot) if goes.days and goes.keeps(day, goes.days[1])]
    return min((day for day in told if _may_go(context, lot, day)), default=None)


def _late(context: Context, lot: Lot) -> date | None:
    """The day from which one that was to go out on a day gone by is planned: those told together stay together."""
    goes = context.milestones[lot.id]["set_out"]
    gone = [day for name, day in context.past.holders.get(EntryId(lot.id, "harden_out"), ()) if day < context.as_of]
    if not gone or not goes.planned or max(gone) < goes.planned[0]:
        return None
    day = max(gone) + late_by(max(gone), turn("set_out", context.as_of))
    while _missed_a_step(context, lot, day):
        day += AGAIN
    return day if _may_go(context, lot, day) else None


def _missed_a_step(context: Context, lot: Lot, out: date) -> bool:
    """Whether a step after a putting out has gone by, too: put out now, plants would scorch in the next."""
    found = course(lot, out, lamp_of(lot, context.around).light, context.around)
    return found is not None and any(step.day < context.as_of for step in found.steps[1:])


def _group(context: Context, lots: Sequence[Lot]) -> Group | None:
    lamp = min((lamp_of(lot, context.around) for lot in lots), key=lambda lamp: (lamp.light.dose_mol, lamp.ppfd))
    windows = [window for lot in lots if (window := _window(context, lot))]
    planned = _as_told(context, lots, windows, context.workdays.next(max(window[1] for window in windows)))
    found = course(lots[0], planned, lamp.light, context.around)
    if found is None:
        return None
    due = planned if found.out else min(planned, _due_out(context, lots, planned))
    return Group(lots=tuple(lots), lamp=lamp, course=found, lives=_lives_out(context, lots, found), due_out=due)


def _window(context: Context, lot: Lot) -> Days | None:
    """The early, likely and late days of its putting out; that of potting not logged stays while it can."""
    window, kept = _planned(context, lot), _kept(context, lot) or _late(context, lot)
    return (min(window[0], kept), kept, max(window[2], kept)) if window and kept else window


def _as_told(context: Context, lots: Sequence[Lot], windows: Sequence[Days], best: date) -> date:
    """The day that was published for most of them, while it is good enough; else the best one.

    All their steps count from it, so that they stay in order.
    """
    told = Counter(day for lot in lots for _, day in _told(context, lot))
    latest = max(windows, key=lambda window: window[1])
    early, rank = max(window[0] for window in windows), context.workdays.rank

    def stays(day: date) -> bool:
        off = may_be_off(day, latest, context.as_of)
        near = best - off <= day <= best + off and early <= day <= latest[2]
        return near and rank(day) <= rank(best) and _may_go(context, lots[0], day)

    good = [(-number, day) for day, number in told.items() if day >= context.as_of and stays(day)]
    return min(good)[1] if good else best


def _told(context: Context, lot: Lot) -> frozenset[Held]:
    """The entry to come that was published for its putting out, with its day."""
    return frozenset(context.past.to_come(EntryId(lot.id, "harden_out")))


def _may_go(context: Context, lot: Lot, day: date) -> bool:
    """Whether frost and nights let plants be put out on a day."""
    rule = _rule(context, lot, "set_out")
    then = day + timedelta(days=rule.ahead_days)
    return context.around.warm_day(then, rule, lot.crop) == then


def _rule(context: Context, lot: Lot, name: str) -> MilestoneRule:
    found = rule_of(name, lot, context.around)
    assert found is not None  # what hardens has it
    return found


def _due_out(context: Context, lots: Sequence[Lot], planned: date) -> date:
    """The day on which they were first to go out, where they still may today; else the day planned.

    What is not logged is not done, so the day planned slips by the week; what it waits for must not.
    """
    potted = [context.milestones[lot.id]["potted"].known for lot in lots if "potted" in context.milestones[lot.id]]
    if len(potted) < len(lots) or None in potted:
        return planned
    waits = context.around.duration(lots[0], _rule(context, lots[0], "set_out"))
    may_go = partial(_may_go, context, lots[0])
    came_in = max((day for lot in lots for day, what in lot.hardening if what == "brought_in"), default=date.min)
    ready = max(max(day for day in potted if day) + timedelta(days=round(waits.median if waits else 0)), came_in)
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
    rule, crop, start = _rule(context, lots[0], "outside"), lots[0].crop, found.steps[0].day
    done = found.last_day + timedelta(days=round(around.book.programme(Hardening).nights_after))
    frost = around.safe_day(start, rule.frost_free_days)
    nights, ready = around.warm_day(start, rule, crop), around.warm_day(done, rule, crop)
    if frost is None or nights is None or ready is None:
        return None
    known = around.frost.usual_low_c(start) is not None
    return LivesOut(day=context.workdays.next(ready), frost=frost, nights=nights if known else None, ramp=done)
