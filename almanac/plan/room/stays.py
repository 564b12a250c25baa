"""From a lot and its milestones to the places its cuttings take, and from when till when. Pure.

A cutting takes a bag's place in its lot's bin until it is potted; a pot one under the lamps until it stays out
overnight, and one outside from the day it is first carried out: while it hardens it takes both, by night and by day,
but where a frame or fleece shelters it at night.
At rest it takes one in a shelter instead of a lamp: until it wakes where that is dark, else until it goes out.
Every cutting in a bag may live, so bags are counted whole; of them so many are potted as strike with this grower.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from almanac.forecast.milestones import milestones
from almanac.forecast.model import Milestone, Surroundings
from almanac.forecast.remaining import left_behind, remaining
from almanac.forecast.supposed import lot_stuck
from almanac.nursery.lots import Cohort, Lot, Planned
from almanac.nursery.settings import Settings
from almanac.nursery.settings_places import Shelter
from almanac.plan.demand import Move, Number, Stay
from almanac.plan.rest import Rest

LAMPS, OUTSIDE, SHELTER = "lamps", "outside", "shelter"
# LAMPS or OUTSIDE and nothing; SHELTER or "bin" and its name, empty where it is in none that has one.
Place = tuple[str, str]
_Found = Mapping[str, Milestone]


def stays_of(lot: Lot, found: _Found, around: Surroundings, rest: Rest | None = None) -> Iterator[tuple[Place, Stay]]:
    """What a lot's cuttings take now and in time to come.

    Args:
        lot: as the logbook leaves it
        found: its milestones
        around: what they depend on
        rest: that it is in
    """
    # What is lifted waits heeled in or in damp sand, and has left its place free.
    rooting = tuple(each for each in lot.cohorts if each.stage == "rooting" and each.reached != "finished")
    if rooting:
        ahead = remaining(lot, rooting, found, around)
        ends = around.book.methods[lot.method].ends
        potted = move_to(ahead, ends, around)
        yield ("bin", lot.bin), Stay(lot=lot.id, number=Number(most=lot.in_place), comes=None, goes=potted)
        if potted and ends == "potted":
            yield from _in_pots(lot.id, to_be_potted(lot, around), potted, ahead, around)
    for cohort in lot.cohorts:
        if cohort.stage == "pot":
            ahead = remaining(lot, (cohort,), found, around)
            leaves = move_to(ahead, _leaves_lamps(around), around)
            if not cohort.hardening_since or _leaves_lamps(around) == "outside":
                yield from _under_cover(lot, cohort, leaves, rest, around)
            comes = None if cohort.hardening_since else move_to(ahead, "set_out", around)
            if cohort.hardening_since or comes:
                yield (OUTSIDE, ""), Stay(lot=lot.id, number=Number(most=cohort.count), comes=comes)
        elif cohort.stage == "outside":
            yield (OUTSIDE, ""), Stay(lot=lot.id, number=Number(most=cohort.count))


def _under_cover(
    lot: Lot, cohort: Cohort, leaves: Move | None, rest: Rest | None, around: Surroundings
) -> Iterator[tuple[Place, Stay]]:
    """Pots in shelter while they rest, else under the lamps."""
    number = Number(most=cohort.count)
    if rest is None or not rest.sleeps(around.as_of) or cohort.hardening_since:
        yield (LAMPS, ""), Stay(lot=lot.id, number=number, comes=None, goes=leaves)
        return
    place = shelter_of(lot, around.settings)
    if place is not None and not place.dark:
        yield (SHELTER, place.name), Stay(lot=lot.id, number=number, comes=None, goes=leaves)
        return
    wakes = Move.on(rest.granted.toordinal())
    yield (SHELTER, place.name if place else ""), Stay(lot=lot.id, number=number, comes=None, goes=wakes)
    yield (LAMPS, ""), Stay(lot=lot.id, number=number, comes=wakes, goes=leaves, potted=True)


def shelter_of(lot: Lot, settings: Settings) -> Shelter | None:
    """Where pots of a lot spend the winter: as logged, else the first shelter that the nursery names."""
    return settings.shelter_named(lot.shelter) or next(iter(settings.shelter), None)


def stays_of_planned(planned: Planned, crop: str, bin_name: str, around: Surroundings) -> Iterator[tuple[Place, Stay]]:
    """What a lot to come will take, once it is stuck on its day, or today where that day has gone by."""
    day = max(planned.day, around.as_of)
    method = around.method_for(crop, bin_name)
    lot = lot_stuck(crop, planned.count, day, bin_name, method, number=planned.number, protected=planned.protected)
    comes = Move.on(day.toordinal())
    for place, stay in stays_of(lot, milestones(lot, around), around):
        yield place, replace(stay, comes=stay.comes or comes, planned=planned.row)


def _in_pots(
    lot: str, number: Number, potted: Move, ahead: _Found, around: Surroundings
) -> Iterator[tuple[Place, Stay]]:
    yield (LAMPS, ""), Stay(lot=lot, number=number, comes=potted, goes=move_to(ahead, _leaves_lamps(around), around))
    out = move_to(ahead, "set_out", around)
    if out:
        yield (OUTSIDE, ""), Stay(lot=lot, number=number, comes=out)


def _leaves_lamps(around: Surroundings) -> str:
    """The milestone with which pots need no place under the lamps any more."""
    return "outside" if around.settings.hardening.nights == "indoors" else "set_out"


def move_to(ahead: _Found, name: str, around: Surroundings) -> Move | None:
    """A move to come; None where nothing can be said of it, and then it is not counted on."""
    days = ahead[name].days if name in ahead else None
    if days is None:
        return None
    early, likely, late = (day.toordinal() for day in days)
    return Move(early=early, likely=likely, late=late, not_before=around.as_of.toordinal() + 1)


def to_be_potted(lot: Lot, around: Surroundings) -> Number:
    """How many of those rooting come to be potted: those seen with roots, and of the others the share that roots."""
    rooted, there = around.rate("rooted", lot), lot.count("rooting")
    bags = tuple(cohort for cohort in lot.cohorts if cohort.stage == "rooting")
    signs = left_behind(lot, bags, around).signs if bags else {}
    seen = [
        sign.lately[0] if sign.lately else there if name == "well_rooted" else 1
        for name, sign in signs.items()
        if name in ("roots", "well_rooted")
    ]
    doubt = rooted.in_doubt(around.striking.ahead.get(lot.crop, 1.0))
    return Number(most=there, surely=min(max(seen, default=0), there), share=rooted.mean, concentration=doubt)
