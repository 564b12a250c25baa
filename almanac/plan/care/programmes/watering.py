"""Water: by weight where weighings give the day, else by the plain looks; none while it is too wet. Pure.

The plain rules have asked for theirs already; here they give way to what is known better.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from math import floor
from typing import Literal

from almanac.forecast.drying import Drying, drying
from almanac.nursery.lots import Lot
from almanac.plain import dataclass
from almanac.plan.care.plain.lots import for_lot
from almanac.plan.care.programme import Programme
from almanac.plan.care.proposal import Drop, Proposal, PutOff, Tell, Until, combined
from almanac.plan.context.day import Context, last_logged
from almanac.plan.context.tasks import lot_task
from almanac.plan.derivation import Derivation
from almanac.plan.ids import EntryId
from almanac.plan.model import Task
from almanac.rulebook.programmes.watering import Water, Watering
from almanac.units import System

Stage = Literal["pot", "rooting"]


@dataclass(frozen=True, kw_only=True)
class Weighed(Derivation):
    """What weighing a lot's bag or pot came to, by which rules, and the nursery's units."""

    drying: Drying
    water: Water
    rules: Watering
    stage: Stage
    units: System


_DAY = timedelta(days=1)
# What asks for water where no weighing gives the day, by where the lot is.
_PLAIN = {"rooting": ("first_water", "water_again"), "pot": ("pot_water",)}


def propose(context: Context) -> Proposal:
    """Water dated by weight; whatever would water what is too wet or has been told otherwise is taken away."""
    return combined(part for lot in context.open_lots() for part in _of_lot(context, lot))


PROGRAMME = Programme(
    numbers=Watering,
    propose=propose,
    derivations=(Weighed,),
    follows="autumn",
)


def _of_lot(context: Context, lot: Lot) -> Iterator[Proposal]:
    stage: Stage = "pot" if lot.count("pot") else "rooting"
    drinks = _drinks_since(context, lot) if lot.count("rooting") else None
    since = drinks if stage == "rooting" else lot.steps.get("potted", lot.started)
    wet, fresh = context.too_wet(lot), last_logged(lot, "rebagged")
    if since and stage == "rooting" and fresh and fresh >= max(since, last_logged(lot, "watered") or since):
        yield from _as_if_watered(context, lot, fresh)
    if since and not wet and lot.count(stage):
        yield from _by_weight(context, lot, stage, since)
    if wet:
        yield _without(lot, "first_water", "water_again")
    elif drinks and context.too_dry(lot):
        yield _without(lot, "dry_bag", "first_water", "water_again", "water")
        yield for_lot(context, lot, context.rule("dry_water", lot.crop))


def _by_weight(context: Context, lot: Lot, stage: Stage, since: date) -> Iterator[Proposal]:
    rules = context.book.programme(Watering)
    entered = lot.steps.get("stuck" if stage == "rooting" else "potted", lot.started)
    weighings = tuple(item for item in lot.weighings if item.stage == stage and item.day >= entered)
    if not weighings:
        return
    water = rules.pot if stage == "pot" else rules.bag
    found = drying(weighings, lot.water_since(stage), since, water, rules, context.as_of)
    units = context.around.settings.nursery.units
    weighed = Weighed(drying=found, water=water, rules=rules, stage=stage, units=units, about=EntryId(lot.id, "water"))
    if found.rose and found.rose.day > since:
        yield from _as_if_watered(context, lot, found.rose.day)
    plain = [EntryId(lot.id, rule) for rule in _PLAIN[stage]]
    if found.days:
        late = found.days[2]
        if stage == "rooting":
            yield _without(lot, "first_water")
        else:
            yield for_lot(context, lot, context.rule("pot_leaves", lot.crop))
        yield Proposal(
            tasks=(_water(context, lot, stage, weighed),),
            amends=(
                Until(EntryId(lot.id, "pot_leaves"), late),
                *(PutOff(name, late, "water_by_weight") for name in plain),
            ),
        )
    else:
        yield Proposal(amends=tuple(Tell(name, weighed) for name in plain))
    next_day = _next_weighing(found, rules)
    if next_day:
        yield Proposal(tasks=(_weigh(context, lot, stage, weighed, next_day),))


def _water(context: Context, lot: Lot, stage: Stage, weighed: Weighed) -> Task:
    found = weighed.drying
    assert found.days
    assert found.last
    early, likely, late = found.days
    late = max(late, found.last.day + 2 * _DAY)  # what a weighing finds light has a day or two to be watered
    return lot_task(
        lot,
        context.rule("water", lot.crop),
        (early, likely, late),
        "weighed",
        found.last.day,
        bin_name=lot.bin if stage == "rooting" else "",
        count=lot.count(stage),
        derivation=weighed,
        stage=stage,
    )


def _weigh(context: Context, lot: Lot, stage: Stage, weighed: Weighed, day: date) -> Task:
    found = weighed.drying
    last = found.last.day if found.last else found.began
    latest = min(day + 2 * _DAY, found.days[1] - _DAY) if found.days else day + 2 * _DAY
    return lot_task(
        lot,
        context.rule("weigh", lot.crop),
        (max(last + _DAY, day - _DAY), day, latest),
        "weighed" if found.last else "watered",
        last,
        bin_name=lot.bin if stage == "rooting" else "",
        derivation=weighed,
        stage=stage,
    )


def _next_weighing(found: Drying, rules: Watering) -> date | None:
    """The day of the next weighing: part of the way to the date, else after the usual while; None where none helps."""
    if found.doubt == "stale":
        return None
    last = found.last.day if found.last else found.began
    expected = found.days[1] if found.days else _guess(found)
    if expected is None:
        return last + timedelta(days=round(rules.weigh_every))
    wait = (expected - last).days
    if found.days and wait < 3:  # there is no day left between that would tell more
        return None
    return last + _DAY * max(1, floor(wait * rules.weigh_at))


def _guess(found: Drying) -> date | None:
    """The day by which the share is gone at the rate of the run before."""
    if found.doubt != "few" or not found.rate or not found.weighings:
        return None
    return found.began + _DAY * floor((found.full - found.target) / found.rate)


def _as_if_watered(context: Context, lot: Lot, day: date) -> Iterator[Proposal]:
    """What would be asked of a lot watered on a day: its weight shows it, or fresh damp mix stands for it."""
    told = replace(lot, jobs={**lot.jobs, "watered": (*lot.jobs.get("watered", ()), day)})
    yield _without(lot, *_PLAIN["rooting"])
    yield from (for_lot(context, told, context.rule(name, lot.crop)) for name in _PLAIN["rooting"])


def _without(lot: Lot, *rules: str) -> Proposal:
    """Nothing of some rules for a lot, whatever asked for it."""
    return Proposal(amends=tuple(Drop(EntryId(lot.id, rule)) for rule in rules))


def _drinks_since(context: Context, lot: Lot) -> date | None:
    """The day from which bags can draw water, as far as known: roots and leaves both, or water drawn."""
    found = context.found(lot, "rooting")
    known = {name: found[name].known if name in found else None for name in ("roots", "leaves", "drawing")}
    roots, leaves, drawing = known["roots"], known["leaves"], known["drawing"]
    both = max(roots, leaves) if roots and leaves else None
    return min((day for day in (both, drawing) if day), default=None)
