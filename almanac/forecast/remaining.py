"""Some of a lot's cuttings by themselves, where others have gone on: what they showed, and what is ahead. Pure.

A sign that was counted ends when as many are potted (`Sign.potted`), and "half of the lot" or its first root becomes
that of the rest, later in the lot's order. Roots without a count were those of the first, and went with them; what was
said to be ready without a count was all of it, so that what is left is reminded of.
"""

from __future__ import annotations

from collections.abc import Mapping

from almanac.forecast.interval import is_act, way_to_potting
from almanac.forecast.milestones import milestones
from almanac.forecast.model import Milestone, Surroundings
from almanac.nursery.lots import Cohort, Lot, Sign
from almanac.plain import replace

_STEPS = {"rooting": ("potted", "set_out", "outside"), "pot": ("set_out", "outside")}


def remaining(
    lot: Lot, cohorts: tuple[Cohort, ...], found: Mapping[str, Milestone], around: Surroundings
) -> Mapping[str, Milestone]:
    """The milestones of some of a lot's cuttings: those left behind by others have theirs anew.

    Args:
        lot: as the logbook leaves it
        cohorts: the cuttings asked for, all of one stage
        found: the lot's milestones
        around: what milestones depend on
    """
    if not any(name in found and found[name].known for name in _ahead(cohorts)):
        return found
    alone = left_behind(lot, cohorts, around)
    if cohorts[0].stage != "rooting":
        return milestones(alone, around)
    # What was not logged even of those potted is not waited for in vain.
    passed = {rule.name for rule in way_to_potting(lot.method, around.book) if not is_act(rule.name)} - lot.signs.keys()
    if not passed <= around.unlogged:
        around = replace(around, unlogged=around.unlogged | passed)
    return milestones(alone, around, lot.potted_so_far)


def left_behind(lot: Lot, cohorts: tuple[Cohort, ...], around: Surroundings) -> Lot:
    """The lot as if it were those of its cuttings alone that others left behind, with what these showed themselves.

    Cuttings are potted for the roots they show. So of a sign that was counted those left have what went over the
    number potted since; of one that needs roots and was not counted, nothing: it was seen on the first of the lot.
    What was said to be ready without a number is so of every one.
    """
    steps = _ahead(cohorts)
    rules = around.book.milestones_for(lot.method)
    ready = {earlier for rule in rules if rule.name in steps for earlier in rule.after}
    rooted = {rule.name for rule in rules if "potted" in rule.settled_by} - ready
    left = {name: day for name, day in lot.steps.items() if name not in steps}
    alone = replace(lot, cohorts=cohorts, steps=left)
    if cohorts[0].stage != "rooting":
        return alone
    there = sum(cohort.count for cohort in cohorts)
    shown = {name: _of_those_left(sign, there, first=name in rooted) for name, sign in lot.signs.items()}
    signs = {name: sign for name, sign in shown.items() if sign}
    drinks = signs.get("roots") or signs.get("well_rooted")
    watered = tuple(day for day in lot.jobs.get("watered", ()) if drinks and day >= drinks.day)
    jobs = {name: days for name, days in lot.jobs.items() if name != "watered"}
    return replace(alone, signs=signs, jobs=jobs | ({"watered": watered} if watered else {}))


def _ahead(cohorts: tuple[Cohort, ...]) -> tuple[str, ...]:
    """The steps that these have still to take."""
    return ("outside",) if cohorts[0].hardening_since else _STEPS[cohorts[0].stage]


def _of_those_left(sign: Sign, there: int, *, first: bool) -> Sign | None:
    """A sign as it stands for those left: nothing, once as many as showed it were potted up."""
    if not sign.potted:
        return sign
    if sign.lately is None:
        return None if first else sign
    count = min(sign.lately[0] - sign.potted, there)
    if count <= 0:
        return None
    return replace(
        sign, count=count, of=there, lately=(count, there), ahead=sign.ahead + sign.potted, potted=0, first=None
    )
