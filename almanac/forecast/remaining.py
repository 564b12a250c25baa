"""The milestones still ahead of some of a lot's cuttings, where others of it have gone on before them. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

from almanac.forecast.milestones import milestones
from almanac.forecast.model import Milestone, Surroundings
from almanac.nursery.lots import Cohort, Lot, Sign

_STEPS = {"rooting": ("potted", "set_out", "outside"), "pot": ("set_out", "outside")}


def remaining(
    lot: Lot, cohorts: tuple[Cohort, ...], found: Mapping[str, Milestone], around: Surroundings
) -> Mapping[str, Milestone]:
    """The milestones of some of a lot's cuttings: those left behind by others have theirs anew.

    What the others' going on settled before they were ready counts for these too, but not that they were ready for it.

    Args:
        lot: as the logbook leaves it
        cohorts: the cuttings asked for, all of one stage
        found: the lot's milestones
        around: what milestones depend on
    """
    steps = ("outside",) if cohorts[0].hardening_since else _STEPS[cohorts[0].stage]
    if not any(name in found and found[name].known for name in steps):
        return found
    after = {rule.name: rule.after for rule in around.book.milestones_for(lot.method)}
    ready = {name for step in steps for name in after.get(step, ())}
    settled = {
        name: Sign(found[name].settled)  # type: ignore[arg-type]  # of those that have a day
        for name in _before(ready, after) - ready
        if name in found and found[name].settled
    }
    there = sum(cohort.count for cohort in cohorts)
    shown = {name: _of_those_left(sign, there) if name in ready else sign for name, sign in lot.signs.items()}
    signs = {name: sign for name, sign in shown.items() if sign}
    left = {name: day for name, day in lot.steps.items() if name not in steps}
    jobs = dict(lot.jobs)
    jobs["opened"] = tuple(day for cohort in cohorts[:1] for what, day in cohort.airing if what == "opened")
    if not jobs["opened"]:
        del jobs["opened"]
    alone = replace(lot, cohorts=cohorts, steps=left, signs={**settled, **signs}, jobs=jobs)
    return milestones(alone, around, lot.potted_so_far if cohorts[0].stage == "rooting" else 0)


def _before(names: Iterable[str], after: Mapping[str, Iterable[str]]) -> set[str]:
    """Every milestone that some rest on, without themselves."""
    found: set[str] = set()
    waiting = [earlier for name in names for earlier in after.get(name, ())]
    while waiting:
        name = waiting.pop()
        found.add(name)
        waiting += after.get(name, ())
    return found


def _of_those_left(sign: Sign, there: int) -> Sign | None:
    """A sign as it stands for those left: nothing, once as many as showed it were potted up."""
    if sign.count is None or not sign.potted:
        return sign
    return replace(sign, count=sign.count - sign.potted, of=there) if sign.count > sign.potted else None
