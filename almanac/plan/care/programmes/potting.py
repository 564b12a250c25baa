"""Potting up: how many pots and how much mix to have ready, and by when, for what is likely to root. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta

from almanac.alike import gathered
from almanac.nursery.lots import Lot
from almanac.plain import dataclass
from almanac.plan.care.programme import Programme
from almanac.plan.care.proposal import Proposal
from almanac.plan.context.day import Context
from almanac.plan.context.tasks import lot_task
from almanac.plan.demand import Number
from almanac.plan.derivation import Derivation
from almanac.plan.room.pots import together, week_of
from almanac.plan.room.stays import to_be_potted
from almanac.rulebook.programmes.potting import Potting


@dataclass(frozen=True, kw_only=True)
class Pots(Derivation):
    """Pots and mix for what a lot likely comes to: `expected` of the `bags`, by `share`, those `seen` rooted apart.

    `held_in` is what each of them roots in, a bag or a cell. `up_to` suffice nine times in ten; a pot holds `pot_l` and
    takes the share `settling` more of mix [litres]. They are due `lead` days before the lot is well rooted, on `ready`.
    `others` are lots likely potted in the same week, the one of `ready`, that come to `week_expected` pots with it, and
    to `week_up_to` nine times in ten.
    """

    bags: int
    seen: int
    share: float
    expected: float
    up_to: int
    pot_l: float
    settling: float
    lead: int
    ready: date
    others: tuple[str, ...]
    week_expected: float
    week_up_to: int
    held_in: str

    def mix_l(self, pots: float) -> float:
        """Mix for so many pots [litres]."""
        return pots * self.pot_l * (1 + self.settling)


def propose(context: Context) -> Proposal:
    """The pots of every lot with roots in sight, and what its week comes to."""
    rule = context.book.task("pots_ready")
    rules = context.book.programme(Potting)
    lots = [lot for lot in context.open_lots() if lot.count("rooting") and lot.method in rule.methods]
    ready = {lot.id: day for lot in lots if (day := _ready_on(context, lot))}
    numbers = {lot.id: to_be_potted(lot, context.around) for lot in lots if lot.id in ready}
    weeks = _weeks(ready, numbers)
    tasks = []
    for lot in lots:
        roots = context.found(lot, "rooting").get("roots")
        if lot.id not in ready or roots is None or roots.window is None:
            continue
        due = max(ready[lot.id] - timedelta(days=rules.lead), roots.window[1])
        held_in, week = context.book.methods[lot.method].container, weeks[week_of(ready[lot.id])]
        derivation = _derivation(lot, held_in, rules, ready[lot.id], numbers[lot.id], week)
        tasks.append(
            lot_task(
                lot,
                rule,
                (due, due, max(due, ready[lot.id])),
                "roots",
                roots.window[1],
                milestone=roots,
                bin_name=lot.bin,
                count=lot.count("rooting"),
                derivation=derivation,
            )
        )
    return Proposal(tasks=tuple(tasks))


PROGRAMME = Programme(
    numbers=Potting,
    propose=propose,
    derivations=(Pots,),
    follows="weaning",
)


def _ready_on(context: Context, lot: Lot) -> date | None:
    """The day a lot is likely well rooted; None while that is out of sight."""
    milestone = context.found(lot, "rooting").get("well_rooted")
    if milestone is None or milestone.window is None or milestone.overdue(lot.known_at):
        return None
    return milestone.window[1]


@dataclass(frozen=True)
class _Week:
    """The lots likely well rooted in one week, and the pots they come to: in the mean, and nine times in ten."""

    lots: tuple[str, ...]
    pots: tuple[float, int]


def _weeks(ready: Mapping[str, date], numbers: Mapping[str, Number]) -> dict[tuple[int, int], _Week]:
    lots = gathered((week_of(day), name) for name, day in ready.items())
    return {week: _Week(tuple(names), together(numbers[name] for name in names)) for week, names in lots.items()}


def _derivation(lot: Lot, held_in: str, rules: Potting, day: date, number: Number, week: _Week) -> Pots:
    (expected, up_to), (week_expected, week_up_to) = together([number]), week.pots
    return Pots(
        bags=number.most,
        seen=number.surely,
        share=number.share,
        expected=expected,
        up_to=up_to,
        pot_l=rules.pot,
        settling=rules.settling,
        lead=round(rules.lead),
        ready=day,
        others=tuple(name for name in week.lots if name != lot.id),
        week_expected=week_expected,
        week_up_to=week_up_to,
        held_in=held_in,
    )
