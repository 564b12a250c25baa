"""From a lot and its milestones to the places its cuttings take, and from when till when. Pure.

A cutting takes a bag's place in its lot's bin until it is potted; a pot one under the lamps until it stays out
overnight, and one outside from the day it is first carried out: while it hardens it takes both, by night and by day.
Every cutting in a bag may live, so bags are counted whole; of them so many are potted as the crop's strike rate says.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from almanac.forecast.imagined import imagined_lot
from almanac.forecast.milestones import milestones
from almanac.forecast.model import Milestone, Surroundings
from almanac.nursery.lots import Cohort, Lot, Planned, Sign
from almanac.plan.demand import Move, Number, Stay

LAMPS, OUTSIDE = "lamps", "outside"
Place = tuple[str, str]  # LAMPS or OUTSIDE and nothing, or "bin" and its name, empty where it is in none
_STEPS = {"rooting": ("potted", "set_out", "outside"), "pot": ("set_out", "outside")}
_Found = Mapping[str, Milestone]


def stays_of(lot: Lot, found: _Found, around: Surroundings) -> Iterator[tuple[Place, Stay]]:
    """What a lot's cuttings take now and in time to come.

    Args:
        lot: as the logbook leaves it
        found: its milestones
        around: what they depend on
    """
    rooting = tuple(cohort for cohort in lot.cohorts if cohort.stage == "rooting")
    if rooting:
        ahead = _ahead(lot, rooting, found, around)
        potted = _move(ahead, "potted", around)
        yield ("bin", lot.bin), Stay(lot.id, Number(lot.count("rooting")), None, potted)
        if potted:
            yield from _in_pots(lot.id, _number(lot, around), potted, ahead, around)
    for cohort in lot.cohorts:
        if cohort.stage == "pot":
            ahead = _ahead(lot, (cohort,), found, around)
            leaves = _move(ahead, "outside", around)
            yield (LAMPS, ""), Stay(lot.id, Number(cohort.count), None, leaves)
            comes = None if cohort.hardening_since else _move(ahead, "set_out", around)
            if cohort.hardening_since or comes:
                yield (OUTSIDE, ""), Stay(lot.id, Number(cohort.count), comes)
        elif cohort.stage == "outside":
            yield (OUTSIDE, ""), Stay(lot.id, Number(cohort.count))


def stays_of_planned(planned: Planned, crop: str, bin_name: str, around: Surroundings) -> Iterator[tuple[Place, Stay]]:
    """What a lot to come will take, once it is stuck on its day, or today where that day has gone by."""
    day = max(planned.day, around.as_of)
    method = around.settings.nursery.method
    lot = imagined_lot(planned.number, crop, method, planned.count, day, bin_name, protected=planned.protected)
    comes = Move(*(day.toordinal(),) * 4)
    for place, stay in stays_of(lot, milestones(lot, around), around):
        yield place, replace(stay, comes=stay.comes or comes, planned=planned.row)


def _in_pots(
    lot: str, number: Number, potted: Move, ahead: _Found, around: Surroundings
) -> Iterator[tuple[Place, Stay]]:
    yield (LAMPS, ""), Stay(lot, number, potted, _move(ahead, "outside", around))
    out = _move(ahead, "set_out", around)
    if out:
        yield (OUTSIDE, ""), Stay(lot, number, out)


def _ahead(lot: Lot, cohorts: tuple[Cohort, ...], found: _Found, around: Surroundings) -> _Found:
    """The milestones still ahead of some of a lot's cuttings: those left behind by others have theirs anew.

    What the others' going on settled counts for these too, but not that they were ready for it.
    """
    steps = ("outside",) if cohorts[0].hardening_since else _STEPS[cohorts[0].stage]
    if not any(name in found and found[name].known for name in steps):
        return found
    ready = {name for rule in around.book.milestones_for(lot.method) if rule.name in steps for name in rule.after}
    settled = {name: Sign(each.settled) for name, each in found.items() if each.settled and name not in ready}
    left = {name: day for name, day in lot.steps.items() if name not in steps}
    return milestones(replace(lot, cohorts=cohorts, steps=left, signs={**settled, **lot.signs}), around)


def _move(ahead: _Found, name: str, around: Surroundings) -> Move | None:
    """A move to come; None where nothing can be said of it, and then it is not counted on."""
    days = ahead[name].days if name in ahead else None
    if days is None:
        return None
    early, likely, late = (day.toordinal() for day in days)
    return Move(early, likely, late, around.as_of.toordinal() + 1)


def _number(lot: Lot, around: Surroundings) -> Number:
    """How many of those rooting come to be potted: those seen with roots, and of the others the crop's share."""
    strike, there = around.book.crops[lot.crop].strike, lot.count("rooting")
    since = lot.steps.get("potted")
    seen = [
        (sign.count if sign.count is not None else there if name == "well_rooted" else 1)
        for name, sign in lot.signs.items()
        if name in ("roots", "well_rooted") and (since is None or sign.day > since)
    ]
    return Number(there, min(max(seen, default=0), there), strike.rooted, strike.concentration)
