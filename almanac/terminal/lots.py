"""Where each lot's cuttings are and what comes next; one lot with all its milestones. Pure."""

from __future__ import annotations

from datetime import date
from typing import Any

from almanac.forecast.model import Milestone
from almanac.nursery.events import STAGES
from almanac.nursery.lots import Lot, Planned
from almanac.nursery.nursery import Nursery
from almanac.plan.model import Plan
from almanac.plan.rest import Rest
from almanac.terminal.encoded import Shape, band
from almanac.terminal.table import paragraph, table
from almanac.words.dates import day, weekday
from almanac.words.derivation import rule_of
from almanac.words.lock_screen import cut
from almanac.words.lots import gone, next_milestone, next_words, place_and_count, status, whereabouts
from almanac.words.milestones import forecast
from almanac.words.season import since_past_range
from almanac.words.sentences import listed

_NAME = 14  # letters of a variety in the table
_KEPT = "\u00a0"  # a space at which no line is broken: a span of days is broken before it, not in it


def lots_text(plan: Plan, nursery: Nursery, *, closed: bool = False) -> str:
    """A table of lots; with the `closed` ones also those that were planned and never stuck, by the row that did."""
    rows: list[tuple[str, ...]] = []
    for lot in nursery.stock.lots.values():
        if lot.closed and not closed:
            continue
        name, where = cut(nursery.varieties[lot.number].name, _NAME), place_and_count(lot, plan)
        past = None if lot.troubles or lot.closed else plan.past_range.get(lot.id)
        # A trouble matters more than whether the lot is on time; and what one column says the next does not say again.
        going = ", ".join(each.replace("_", " ") for each in lot.troubles) or status(lot, plan)
        coming = since_past_range(past, plan.as_of) if past else next_words(lot, plan, _KEPT)
        rows.append((lot.id, name, where, going, coming))
    for each in _never_stuck(plan, nursery) if closed else ():
        name = cut(nursery.varieties[each.number].name, _NAME)
        rows.append((each.row, name, f"{each.count} planned", "not stuck", f"planned for {day(each.day, plan.as_of)}"))
    if not rows:
        ended = nursery.stock.lots or plan.over
        return "No lots; lots --closed shows those that had some.\n" if ended else "No lots yet.\n"
    text = "\n".join(table(rows, ("lot", "variety", "where", "going", "next")))
    return text.replace(_KEPT, " ") + "\n"


def _never_stuck(plan: Plan, nursery: Nursery) -> list[Planned]:
    return [each for each in nursery.stock.planned if each.row in plan.over]


def lot_text(lot: Lot, plan: Plan, nursery: Nursery) -> str:
    """One lot: where it is, its milestones, what is open for it."""
    variety = nursery.varieties[lot.number]
    near = plan.as_of
    protected = ", protected" if lot.protected else ""
    lines = paragraph(f"{lot.id}: {variety.name} ({lot.crop.replace('_', ' ')}){protected}")
    lines += paragraph(whereabouts(lot, plan), 2)
    origin = f" by {lot.origin.replace('_', ' ')}" if lot.origin else ""
    source = lot.parent or lot.mother
    lines.append(f"  started {weekday(lot.started, near)}{origin}" + (f", from {source}" if source else ""))
    lines += [f"  gone: {listed(left)}"] if (left := gone(lot)) else []
    lines += [f"  trouble: {name.replace('_', ' ')} since {day(since, near)}" for name, since in lot.troubles.items()]
    lines += ["", "Milestones"]
    rows = [
        (m.title if m.name not in lot.steps else m.name.replace("_", " ").capitalize(), forecast(m, near))
        for m in plan.milestones[lot.id].values()
    ]
    lines += table(rows, indent=2)
    tasks = [task for task in plan.tasks if lot.id in task.lots]
    if tasks:
        lines += ["", "To do"]
        lines += table([(weekday(t.due, near), rule_of(t).title, t.id) for t in tasks], indent=2)
    return "\n".join(lines) + "\n"


def lots_json(lots: list[Lot], plan: Plan) -> dict[str, Any]:
    return {"lots": [_lot_json(lot, plan) for lot in lots]}


def all_lots_json(plan: Plan, nursery: Nursery, *, closed: bool = False) -> dict[str, Any]:
    """What `lots_text` tells as one object."""
    chosen = [lot for lot in nursery.stock.lots.values() if closed or not lot.closed]
    never = _never_stuck(plan, nursery) if closed else []
    return {**lots_json(chosen, plan), "never_stuck": [_PLANNED(each) for each in never]}


_PLANNED = Shape(Planned, "row number count date=day bin?")


_LOT = Shape(
    Lot,
    "lot=id number crop method bin? counts gone parent? mother?",
    counts=lambda lot: {stage: lot.count(stage) for stage in STAGES},
)
# Since when it rests, from when on its waking is asked for, and from when it is taken to be awake.
_REST = Shape(Rest, "since wakes awake_by=granted logged")


def _lot_json(lot: Lot, plan: Plan) -> dict[str, Any]:
    found = plan.milestones[lot.id]
    coming = next_milestone(found)
    return {
        **_LOT(lot),
        "milestones": {name: _milestone_json(milestone, plan.as_of) for name, milestone in found.items()},
        "next": coming.name if coming else None,
        "status": status(lot, plan),
        "rest": _REST(plan.at_rest.get(lot.id)),
        "troubles": lot.troubles,
    }


def _milestone_json(milestone: Milestone, as_of: date) -> dict[str, Any]:
    if milestone.logged:
        return {"date": milestone.logged}
    if milestone.settled:
        return {"date": milestone.settled, "settled_by": milestone.settled_by}
    return band(milestone.shown(as_of) or (None, None, None))
