"""Potting up: how many pots and how much mix to have ready, and by when, for what is likely to root. Pure."""

from __future__ import annotations

from datetime import date, timedelta

from almanac.nursery.lots import Lot
from almanac.plan.context.day import Context
from almanac.plan.demand import Number
from almanac.plan.derivation import Pots
from almanac.plan.model import Look, Task
from almanac.plan.room.pots import together, week_of
from almanac.plan.room.stays import to_be_potted
from almanac.rulebook.programmes.potting import Potting


def ask(context: Context, tasks: list[Task], looks: list[Look]) -> None:
    """Add the pots of every lot with roots in sight, and what its week comes to."""
    rule = context.around.book.task("pots_ready")
    rules = context.around.book.programme(Potting)
    lots = [lot for lot in context.open_lots() if lot.count("rooting") and lot.method in rule.methods]
    ready = {lot.id: day for lot in lots if (day := _ready_on(context, lot))}
    numbers = {lot.id: to_be_potted(lot, context.around) for lot in lots if lot.id in ready}
    for lot in lots:
        roots = context.found(lot, "rooting").get("roots")
        if lot.id not in ready or roots is None or roots.window is None:
            continue
        due = max(ready[lot.id] - timedelta(days=rules.lead), roots.window[1])
        worked = _worked(lot, rules, ready, numbers)
        latest = max(due, ready[lot.id])
        tasks.append(
            Task(
                f"{lot.id}.{rule.id}",
                rule,
                (lot.id,),
                due,
                due,
                latest,
                "roots",
                roots.window[1],
                roots,
                lot.bin,
                lot.crop,
                lot.count("rooting"),
                worked=worked,
            )
        )


def _ready_on(context: Context, lot: Lot) -> date | None:
    """The day a lot is likely well rooted; None while that is out of sight."""
    milestone = context.found(lot, "rooting").get("well_rooted")
    if milestone is None or milestone.window is None or milestone.overdue(lot.known_at):
        return None
    return milestone.window[1]


def _worked(lot: Lot, rules: Potting, ready: dict[str, date], numbers: dict[str, Number]) -> Pots:
    number, day = numbers[lot.id], ready[lot.id]
    same = [name for name, other in ready.items() if week_of(other) == week_of(day)]
    return Pots(
        number.most,
        number.surely,
        number.share,
        *together([number]),
        rules.pot,
        rules.settling,
        round(rules.lead),
        day,
        tuple(name for name in same if name != lot.id),
        *together(numbers[name] for name in same),
    )
