"""Weaning: the steps from a closed bag to room air that end at potting, or under a cover in the pot. Pure.

The first step is reckoned back from the likely potting day; each other counts from the last one logged, so that once
one is they no longer move with the forecast. No step puts potting off: bags stay on the mat until roots are through.

It is kept by the cuttings, not by the lot: `opened`, `wilt` and `all_clear` stand on each cohort in order
(`Cohort.airing`), so what was potted half weaned goes on from there under its cover, while bags of the same lot have
steps of their own. A step may be late by less than the days between two, so no two fall on one day. Where looks are
logged, a step that was not is asked for again each week; elsewhere it counts as done, like a round.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date, timedelta

from almanac.forecast.model import Milestone
from almanac.nursery.lots import Lot
from almanac.plan.care.programme import Programme
from almanac.plan.care.programmes.weaning.derivation import Aired, OffMat, ToLamp
from almanac.plan.care.programmes.weaning.slipped import off_mat, weight_looks
from almanac.plan.care.programmes.weaning.vents import (
    Vent,
    after_the_last,
    bags_of,
    cover_due,
    least_aired,
)
from almanac.plan.care.proposal import Proposal
from almanac.plan.context.day import Context
from almanac.plan.context.opening import WEEK, Step, first_opening, weeks_late
from almanac.plan.context.tasks import lot_task
from almanac.plan.ids import EntryId
from almanac.plan.model import Look, Task
from almanac.rulebook.programmes.weaning import STEPS, Weaning

IN_BAG = ("wean_loosen", "wean_half", "wean_open")
IN_TRAY = ("vent_crack", "vent_half", "vent_off")
IN_POT = ("cover_lift", "cover_half", "uncover")


def propose(context: Context) -> Proposal:
    """The steps of every lot, and what open bags ask for where potting slips."""
    rules = context.book.programme(Weaning)
    tasks: list[Task] = []
    looks: list[Look] = []
    taken: dict[str, int] = {}
    for lot in context.open_lots():
        names = _names(context, lot)
        if not names:
            continue
        in_bag = list(_in_bag(context, lot, rules, names))
        if names is IN_TRAY:  # its cells are looked at and watered as before, and its pots stand open
            tasks += in_bag
            continue
        tasks += [*_card(context, lot, in_bag), *in_bag]
        tasks += _in_pot(context, lot, rules, in_bag)
        tasks += off_mat(context, lot, rules, taken)
        looks += weight_looks(context, lot, rules, in_bag)
    return Proposal(tasks=tuple(tasks), looks=tuple(looks))


PROGRAMME = Programme(
    numbers=Weaning,
    propose=propose,
    derivations=(Aired, ToLamp, OffMat),
    follows="light",
)


def _names(context: Context, lot: Lot) -> tuple[str, ...]:
    """The steps by which a lot's way of rooting is brought to room air; none where it needs none."""
    found = (each for each in (IN_BAG, IN_TRAY) if lot.method in context.book.task(each[0]).methods)
    return next(found, ())


def _in_bag(context: Context, lot: Lot, rules: Weaning, names: Sequence[str]) -> Iterator[Task]:
    """The steps of what is left in the bags."""
    least = bags_of(lot, rules)
    if least is None or "wilt" in lot.troubles or least[0].wilting or least[0].done == STEPS:
        return
    stand = least[0]
    if stand.since is not None:
        yield from _steps(context, lot, rules, names, stand, _next_in_bag(context, lot, stand, rules))
        return
    opening = first_opening(context, lot)
    if opening is None:
        return
    # Once begun it goes on in the bag until it is potted; what could not begin in time is for the pot.
    for task in _steps(context, lot, rules, names, stand, opening):
        if task.due < opening.potting:
            yield task


def _next_in_bag(context: Context, lot: Lot, stand: Vent, rules: Weaning) -> Step | None:
    """The next step of a bag that was opened: never before roots, and none while these are looked for in vain."""
    roots = context.found(lot, "rooting").get("roots")
    if roots is None or roots.window is None or roots.overdue(lot.known_at):
        return None
    comes = after_the_last(stand, rules)
    if roots.known is None and roots.window[1] > comes.day:
        return Step(day=roots.window[1], after="roots", since=roots.window[1], milestone=roots)
    weeks = weeks_late(comes.day, context, lot)
    return replace(comes, day=comes.day + timedelta(days=WEEK * weeks), weeks=weeks)


def _card(context: Context, lot: Lot, in_bag: Sequence[Task]) -> Iterator[Task]:
    """A fresh card before the first opening lets gnats in."""
    if in_bag and in_bag[0].rule.id == IN_BAG[0]:
        rule = context.book.task("gnat_open")
        yield replace(in_bag[0], id=EntryId(lot.id, rule.id), rule=rule, derivation=None)


def _in_pot(context: Context, lot: Lot, rules: Weaning, in_bag: Sequence[Task]) -> Iterator[Task]:
    """Under the cover, of those potted before their bags were open, then out of the shade; or as foreseen."""
    rooted = (cohort for cohort in lot.cohorts if cohort.stage == "pot" and cohort.reached == "rooted")
    least = least_aired(rooted, rules)
    if least is not None:
        stand, potted_on = least
        milestone = None
    else:
        milestone = context.milestones[lot.id].get("potted")
        if milestone is None or milestone.days is None or milestone.follows is None:
            return
        begun = any(cohort.airing for cohort in lot.cohorts)  # and then it goes on in the bag
        stand, potted_on = Vent(done=STEPS if begun else len(in_bag)), milestone.follows[1]
    if stand.wilting:
        return
    steps = list(_steps(context, lot, rules, IN_POT, stand, cover_due(stand, potted_on, rules, milestone)))
    yield from steps
    off = steps[-1].due if steps else stand.since if stand.since and stand.since > potted_on else None
    yield _to_lamp(context, lot, rules, potted_on, off, milestone)


def _to_lamp(
    context: Context, lot: Lot, rules: Weaning, potted_on: date, off: date | None, milestone: Milestone | None
) -> Task:
    """Back under the full lamp after days in shade, and some after the cover came off."""
    rule = context.book.task("to_lamp")
    day = potted_on + timedelta(days=rules.in_shade)
    if off:
        day = max(day, off + timedelta(days=rules.between))
    return lot_task(
        lot,
        rule,
        (day, day, day + timedelta(days=rules.between + rules.late)),
        "potted",
        potted_on,
        milestone=milestone,
        count=lot.count("pot") or lot.count("rooting"),
        derivation=ToLamp(round(rules.in_shade), potted_on, opened=off),
    )


def _steps(
    context: Context, lot: Lot, rules: Weaning, names: Sequence[str], stand: Vent, comes: Step | None
) -> Iterator[Task]:
    """The steps still to come, each so many days after the one before."""
    if comes is None:
        return
    bags, pots = lot.count("rooting"), lot.count("pot")
    stage = "pot" if names is IN_POT else "rooting"
    between, late = timedelta(days=rules.between), timedelta(days=rules.late)
    for number in range(stand.done + 1, STEPS + 1):
        rule = context.book.task(names[number - 1])
        day = comes.day + (number - stand.done - 1) * between
        derivation = Aired(
            number=number,
            of=STEPS,
            between=between.days,
            late=late.days,
            after=comes.after,
            since=comes.since,
            lead=(comes.day - comes.since).days - WEEK * comes.weeks,
            done=stand.done,
            weeks=comes.weeks,
            closed_back=stand.closed_back,
            stage=stage if bags and pots else "",
        )
        yield lot_task(
            lot,
            rule,
            (day, day, day + late),
            comes.after,
            comes.since,
            milestone=comes.milestone,
            bin_name=lot.bin if stage == "rooting" else "",
            count=lot.count("pot") if stage == "pot" and pots else _own(context, lot, bags),
            derivation=derivation,
        )


def _own(context: Context, lot: Lot, bags: int) -> int:
    """How many of the bags showed roots and leaf themselves, where they were counted; all of them where not yet."""
    found = context.found(lot, "rooting")
    seen = [found[name] for name in ("roots", "leaves") if name in found and found[name].known]
    return min([bags, *(each.showing.count for each in seen if each.showing)]) if len(seen) == 2 else bags
