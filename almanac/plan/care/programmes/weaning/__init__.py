"""Weaning: the steps from a closed bag to room air, or under a cover in the pot, and rooted bags off the mat. Pure.

A step counts from the last one logged, so that once one is they no longer move with the forecast.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from math import ceil

from almanac.forecast.model import Milestone
from almanac.forecast.thermal import rate
from almanac.nursery.lots import Cohort, Lot
from almanac.plan.care.programme import Programme
from almanac.plan.care.programmes.weaning.derivation import Aired, OffMat, ToLamp
from almanac.plan.care.proposal import Proposal
from almanac.plan.context.day import Context
from almanac.plan.context.looked import lot_seen
from almanac.plan.ids import EntryId
from almanac.plan.model import Task
from almanac.rulebook.programmes.weaning import Weaning

IN_BAG = ("wean_loosen", "wean_half", "wean_open")
IN_POT = ("cover_lift", "cover_half", "uncover")
STEPS = len(IN_BAG)
_WEEK = 7


@dataclass(frozen=True)
class Vent:
    """How far a bag or a cover is open: `done` steps that stand, since the day of what was logged last.

    `wilting` while it is set back and not said to be firm again; `closed_back` is the day of that.
    """

    done: int = 0
    since: date | None = None
    after: str = ""
    wilting: bool = False
    closed_back: date | None = None


@dataclass(frozen=True)
class _Next:
    """The next step of some of a lot: its day, and what that was counted from."""

    day: date
    after: str
    since: date
    milestone: Milestone | None = None
    weeks: int = 0


def propose(context: Context) -> Proposal:
    """The steps of every lot, and where its bags go from the mat."""
    rules = context.around.book.programme(Weaning)
    tasks: list[Task] = []
    taken: dict[str, int] = {}
    for lot in context.open_lots():
        if lot.method not in context.around.book.task(IN_BAG[0]).methods:
            continue
        in_bag = list(_in_bag(context, lot, rules))
        tasks += in_bag
        tasks += _in_pot(context, lot, rules, in_bag)
        tasks += _off_mat(context, lot, rules, in_bag, taken)
    return Proposal(tuple(tasks))


PROGRAMME = Programme(
    numbers=Weaning,
    propose=propose,
    derivations=(Aired, ToLamp, OffMat),
    follows="light",
)


def stand_of(cohort: Cohort, rules: Weaning) -> Vent:
    """How far some cuttings are aired: one step a day, and wilting that comes later than `holds` has other causes.

    In the bag the n-th step logged is the n-th. Under a cover, where steps are not asked for again, one logged is the
    one that was asked for on its day.
    """
    found, holds = Vent(), timedelta(days=rules.holds)
    for what, day in cohort.airing:
        last = found.since or cohort.since
        if what == "opened" and not (found.after == "opened" and found.since == day):
            passed = (day - _cover_due(found, cohort.since, rules).day).days if _under_cover(cohort, day) else 0
            found = Vent(min(found.done + 1 + max(passed, 0) // round(rules.between), STEPS), day, what)
        elif what == "wilt" and day - last <= holds and not (found.wilting and found.since == day):
            found = Vent(max(found.done - 1, 0), day, what, wilting=True, closed_back=day)
        elif what == "all_clear" and found.wilting:
            found = replace(found, since=day, after=what, wilting=False)
    return found


def _under_cover(cohort: Cohort, day: date) -> bool:
    return cohort.stage == "pot" and day >= cohort.since


def _cover_due(stand: Vent, potted_on: date, rules: Weaning, milestone: Milestone | None = None) -> _Next:
    """The next step under a cover: after the last, and not at once after potting."""
    comes = _Next(potted_on + timedelta(days=rules.after_potting), "potted", potted_on, milestone)
    after = _after_the_last(stand, rules) if stand.since else comes
    return max(comes, after, key=lambda each: each.day)


def _least(cohorts: Iterable[Cohort], rules: Weaning) -> tuple[Vent, date] | None:
    """The softest of a lot's cuttings, which the others wait for, and the day they came where they stand."""
    stands = [(stand_of(cohort, rules), cohort.since) for cohort in cohorts]
    return min(stands, key=lambda each: (each[0].done, -each[1].toordinal()), default=None)


def _in_bag(context: Context, lot: Lot, rules: Weaning) -> Iterator[Task]:
    """The steps of what is left in the bags."""
    least = _least((cohort for cohort in lot.cohorts if cohort.stage == "rooting"), rules)
    if least is None or "wilt" in lot.troubles or least[0].wilting or least[0].done == STEPS:
        return
    stand, found = least[0], context.found(lot, "rooting")
    comes = _next_in_bag(context, lot, stand, rules)
    potted = found.get("potted")
    # Once begun it goes on in the bag until it is potted; what could not begin in time is for the pot.
    end = potted.days[1] if potted and potted.days and stand.since is None else date.max
    for task in _steps(context, lot, rules, IN_BAG, stand, comes):
        if task.latest < end:
            yield task


def _next_in_bag(context: Context, lot: Lot, stand: Vent, rules: Weaning) -> _Next | None:
    """The next step of a bag: never before roots, and none while these are looked for in vain."""
    found = context.found(lot, "rooting")
    roots, ready = found.get("roots"), found.get("ready_to_wean")
    if roots is None or roots.window is None or roots.overdue(lot.known_at):
        return None
    if stand.since is not None:
        comes = _after_the_last(stand, rules)
        if roots.known is None and roots.window[1] > comes.day:
            return _Next(roots.window[1], "roots", roots.window[1], roots)
    elif ready is not None and ready.window is not None:
        comes = _when_ready(ready, roots, found.get("leaves"))
    else:
        return None
    return comes if comes.milestone and comes.milestone.known is None else _asked_again(comes, rules, context, lot)


def _when_ready(ready: Milestone, roots: Milestone, leaves: Milestone | None) -> _Next:
    """The first step: once roots and leaves are known, so many days on, which no later look moves; till then likely."""
    assert ready.window is not None
    assert roots.window is not None
    if ready.basis is None or roots.known is None or leaves is None or leaves.known is None:
        day = max(ready.window[1], roots.window[1])
        return _Next(day, "ready_to_wean", day, ready)
    last = max(roots, leaves, key=lambda each: each.known or date.min)
    assert last.known is not None
    wait = timedelta(days=round(ready.basis.duration.median))
    return _Next(last.known + wait, last.name, last.known, last)


def _after_the_last(stand: Vent, rules: Weaning) -> _Next:
    """A step after the last one logged; after wilting, one closed back long enough and firm since the day before."""
    assert stand.since is not None
    between = timedelta(days=rules.between)
    if stand.closed_back is None:
        return _Next(stand.since + between, stand.after, stand.since)
    return _Next(max(stand.closed_back + between, stand.since + timedelta(days=1)), stand.after, stand.since)


def _asked_again(comes: _Next, rules: Weaning, context: Context, lot: Lot) -> _Next:
    """Where looks are logged, a step that was not is asked for again a week later: not done, as far as is known."""
    late = (context.as_of - comes.day).days - rules.late
    if late <= 0 or not lot_seen(lot, context.walked, context.as_of).logs:
        return comes
    weeks = ceil(late / _WEEK)
    return replace(comes, day=comes.day + timedelta(days=_WEEK * weeks), weeks=weeks)


def _in_pot(context: Context, lot: Lot, rules: Weaning, in_bag: Sequence[Task]) -> Iterator[Task]:
    """Under the cover, of those potted before their bags were open, then out of the shade; or as foreseen."""
    rooted = (cohort for cohort in lot.cohorts if cohort.stage == "pot" and cohort.reached == "rooted")
    least = _least(rooted, rules)
    if least is not None:
        stand, potted_on = least
        milestone = None
    else:
        milestone = context.milestones[lot.id].get("potted")
        if milestone is None or milestone.days is None:
            return
        begun = any(cohort.airing for cohort in lot.cohorts)  # and then it goes on in the bag
        stand, potted_on = Vent(STEPS if begun else len(in_bag)), milestone.days[1]
    if stand.wilting:
        return
    steps = list(_steps(context, lot, rules, IN_POT, stand, _cover_due(stand, potted_on, rules, milestone)))
    yield from steps
    off = steps[-1].due if steps else stand.since if stand.since and stand.since > potted_on else None
    yield _to_lamp(context, lot, rules, potted_on, off, milestone)


def _to_lamp(
    context: Context, lot: Lot, rules: Weaning, potted_on: date, off: date | None, milestone: Milestone | None
) -> Task:
    """Back under the full lamp after days in shade, and some after the cover came off."""
    rule = context.around.book.task("to_lamp")
    day = potted_on + timedelta(days=rules.in_shade)
    if off:
        day = max(day, off + timedelta(days=rules.between))
    return Task(
        EntryId(lot.id, rule.id),
        rule,
        (lot.id,),
        day,
        day,
        day + timedelta(days=rules.between + rules.late),
        "potted",
        potted_on,
        milestone,
        "",
        lot.crop,
        lot.count("pot") or lot.count("rooting"),
        derivation=ToLamp(round(rules.in_shade), potted_on, off),
    )


def _steps(
    context: Context, lot: Lot, rules: Weaning, names: Sequence[str], stand: Vent, comes: _Next | None
) -> Iterator[Task]:
    """The steps still to come, each so many days after the one before."""
    if comes is None:
        return
    bags, pots = lot.count("rooting"), lot.count("pot")
    stage = "rooting" if names is IN_BAG else "pot"
    between, late = timedelta(days=rules.between), timedelta(days=rules.late)
    for number in range(stand.done + 1, STEPS + 1):
        rule = context.around.book.task(names[number - 1])
        day = comes.day + (number - stand.done - 1) * between
        derivation = Aired(
            number,
            STEPS,
            between.days,
            late.days,
            comes.after,
            comes.since,
            (comes.day - comes.since).days - _WEEK * comes.weeks,
            stand.done,
            comes.weeks,
            stand.closed_back,
            stage if bags and pots else "",
        )
        yield Task(
            EntryId(lot.id, rule.id),
            rule,
            (lot.id,),
            day,
            day,
            day + late,
            comes.after,
            comes.since,
            comes.milestone,
            lot.bin if stage == "rooting" else "",
            lot.crop,
            lot.count("pot") if stage == "pot" and pots else bags,
            derivation=derivation,
        )


def _off_mat(
    context: Context, lot: Lot, rules: Weaning, in_bag: Sequence[Task], taken: dict[str, int]
) -> Iterator[Task]:
    """Open bags off the mat, once: into a cooler bin where one has room, else beside it."""
    bags = [cohort for cohort in lot.cohorts if cohort.stage == "rooting"]
    log = context.stock.bins.get(lot.bin) if bags else None
    least = _least(bags, rules)
    roots = context.found(lot, "rooting").get("roots")
    if log is None or least is None or roots is None or roots.window is None:
        return
    last = in_bag[-1] if in_bag and in_bag[-1].rule.id == IN_BAG[-1] else None
    day = last.due if last else least[0].since if least[0].done == STEPS else None
    moved = roots.known is not None and len(lot.places) > 1 and lot.places[-1][0] >= roots.known
    base_c = log.base_c[-1][1]
    if day is None or moved or base_c - log.air_c[-1][1] < rules.cooler:
        return
    place = _cooler_bin(context, lot, base_c - rules.cooler, taken)
    derivation = OffMat(base_c, day, *place) if place else OffMat(base_c, day)
    if place:
        taken[place[0]] = taken.get(place[0], 0) + lot.count("rooting")
    rule = context.around.book.task("cool_bin" if place else "off_mat")
    latest = day + timedelta(days=rules.off_mat_within)
    after, milestone = (last.counted_from, last.milestone) if last else ("opened", None)
    since = last.since if last else day
    yield Task(
        EntryId(lot.id, rule.id),
        rule,
        (lot.id,),
        day,
        day,
        latest,
        after,
        since,
        milestone,
        lot.bin,
        lot.crop,
        lot.count("rooting"),
        derivation=derivation,
    )


def _cooler_bin(context: Context, lot: Lot, at_most_c: float, taken: dict[str, int]) -> tuple[str, float, int] | None:
    """The coolest bin in which the crop still grows that has room for a lot: its name, its base [°C], places free."""
    warmth, count = context.around.book.crops[lot.crop].base, lot.count("rooting")
    found = []
    for item in context.around.settings.bin:
        base_c = context.stock.bins[item.name].base_c[-1][1]
        free = item.bags - context.bags.get(item.name, 0) - taken.get(item.name, 0)
        if base_c <= at_most_c and free >= count and rate(warmth, base_c) > 0:
            found.append((base_c, item.name, free))
    if not found:
        return None
    base_c, name, free = min(found)
    return name, base_c, free
