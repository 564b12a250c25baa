"""Weaning: the steps from a closed bag to room air that end at potting, or under a cover in the pot. Pure.

The first step is reckoned back from the likely potting day; each other counts from the last one logged, so that once
one is they no longer move with the forecast. No step puts potting off: bags stay on the mat until roots are through.

It is kept by the cuttings, not by the lot: `opened`, `wilt` and `all_clear` stand on each cohort in order
(`Cohort.airing`), so what was potted half weaned goes on from there under its cover, while bags of the same lot have
steps of their own. A step may be late by less than the days between two, so no two fall on one day. Where looks are
logged, a step that was not is asked for again each week; elsewhere it counts as done, like a round.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import date, timedelta

from almanac.forecast.model import Milestone
from almanac.forecast.thermal import rate
from almanac.nursery.lots import Cohort, Lot
from almanac.plain import dataclass
from almanac.plan.care.programme import Programme
from almanac.plan.care.programmes.weaning.derivation import Aired, OffMat, ToLamp
from almanac.plan.care.proposal import Proposal
from almanac.plan.context.day import Context
from almanac.plan.context.looked import lot_seen
from almanac.plan.context.opening import WEEK, first_opening, weeks_late
from almanac.plan.ids import EntryId
from almanac.plan.model import Look, Task
from almanac.rulebook.models import TaskRule
from almanac.rulebook.programmes.weaning import STEPS, Weaning

IN_BAG = ("wean_loosen", "wean_half", "wean_open")
IN_TRAY = ("vent_crack", "vent_half", "vent_off")
IN_POT = ("cover_lift", "cover_half", "uncover")


@dataclass(frozen=True, kw_only=True)
class Vent:
    """How far a bag or a cover is open: `done` steps that stand, since the day of what was logged last.

    `wilting` while it is set back and not said to be firm again; `closed_back` is the day of that.
    """

    done: int = 0
    since: date | None = None
    after: str = ""
    wilting: bool = False
    closed_back: date | None = None


@dataclass(frozen=True, kw_only=True)
class _Next:
    """The next step of some of a lot: its day, and what that was counted from."""

    day: date
    after: str
    since: date
    milestone: Milestone | None = None
    weeks: int = 0


def propose(context: Context) -> Proposal:
    """The steps of every lot, and what open bags ask for where potting slips."""
    rules = context.around.book.programme(Weaning)
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
        tasks += [*_card(context, lot, rules, in_bag), *in_bag]
        tasks += _in_pot(context, lot, rules, in_bag)
        tasks += _off_mat(context, lot, rules, taken)
        looks += _weight(context, lot, rules, in_bag)
    return Proposal(tasks=tuple(tasks), looks=tuple(looks))


PROGRAMME = Programme(
    numbers=Weaning,
    propose=propose,
    derivations=(Aired, ToLamp, OffMat),
    follows="light",
)


def _names(context: Context, lot: Lot) -> tuple[str, ...]:
    """The steps by which a lot's way of rooting is brought to room air; none where it needs none."""
    found = (each for each in (IN_BAG, IN_TRAY) if lot.method in context.around.book.task(each[0]).methods)
    return next(found, ())


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
            found = Vent(
                done=min(found.done + 1 + max(passed, 0) // round(rules.between), STEPS), since=day, after=what
            )
        elif what == "wilt" and day - last <= holds and not (found.wilting and found.since == day):
            found = Vent(done=max(found.done - 1, 0), since=day, after=what, wilting=True, closed_back=day)
        elif what == "all_clear" and found.wilting:
            found = replace(found, since=day, after=what, wilting=False)
    return found


def _under_cover(cohort: Cohort, day: date) -> bool:
    return cohort.stage == "pot" and day >= cohort.since


def _cover_due(stand: Vent, potted_on: date, rules: Weaning, milestone: Milestone | None = None) -> _Next:
    """The next step under a cover: after the last, and not at once after potting."""
    comes = _Next(
        day=potted_on + timedelta(days=rules.after_potting), after="potted", since=potted_on, milestone=milestone
    )
    after = _after_the_last(stand, rules) if stand.since else comes
    return max(comes, after, key=lambda each: each.day)


def _least(cohorts: Iterable[Cohort], rules: Weaning) -> tuple[Vent, date] | None:
    """The softest of a lot's cuttings, which the others wait for, and the day they came where they stand."""
    stands = [(stand_of(cohort, rules), cohort.since) for cohort in cohorts]
    return min(stands, key=lambda each: (each[0].done, -each[1].toordinal()), default=None)


def _in_bag(context: Context, lot: Lot, rules: Weaning, names: Sequence[str]) -> Iterator[Task]:
    """The steps of what is left in the bags."""
    least = _in_bags(lot, rules)
    if least is None or "wilt" in lot.troubles or least[0].wilting or least[0].done == STEPS:
        return
    stand = least[0]
    if stand.since is not None:
        yield from _steps(context, lot, rules, names, stand, _next_in_bag(context, lot, stand, rules))
        return
    opening = first_opening(context, lot)
    if opening is None:
        return
    comes = _Next(
        day=opening.day, after=opening.after, since=opening.since, milestone=opening.milestone, weeks=opening.weeks
    )
    # Once begun it goes on in the bag until it is potted; what could not begin in time is for the pot.
    for task in _steps(context, lot, rules, names, stand, comes):
        if task.due < opening.potting:
            yield task


def _in_bags(lot: Lot, rules: Weaning) -> tuple[Vent, date] | None:
    return _least((cohort for cohort in lot.cohorts if cohort.stage == "rooting"), rules)


def _next_in_bag(context: Context, lot: Lot, stand: Vent, rules: Weaning) -> _Next | None:
    """The next step of a bag that was opened: never before roots, and none while these are looked for in vain."""
    roots = context.found(lot, "rooting").get("roots")
    if roots is None or roots.window is None or roots.overdue(lot.known_at):
        return None
    comes = _after_the_last(stand, rules)
    if roots.known is None and roots.window[1] > comes.day:
        return _Next(day=roots.window[1], after="roots", since=roots.window[1], milestone=roots)
    weeks = weeks_late(comes.day, context, lot)
    return replace(comes, day=comes.day + timedelta(days=WEEK * weeks), weeks=weeks)


def _card(context: Context, lot: Lot, rules: Weaning, in_bag: Sequence[Task]) -> Iterator[Task]:
    """A fresh card before the first opening lets gnats in."""
    first = in_bag[0] if in_bag and in_bag[0].rule.id == IN_BAG[0] else None
    if first is None:
        return
    rule = context.around.book.task("gnat_open")
    yield replace(first, id=EntryId(lot.id, rule.id), rule=rule, derivation=None)


def _after_the_last(stand: Vent, rules: Weaning) -> _Next:
    """A step after the last one logged; after wilting, one closed back long enough and firm since the day before."""
    assert stand.since is not None
    between = timedelta(days=rules.between)
    if stand.closed_back is None:
        return _Next(day=stand.since + between, after=stand.after, since=stand.since)
    return _Next(
        day=max(stand.closed_back + between, stand.since + timedelta(days=1)), after=stand.after, since=stand.since
    )


def _in_pot(context: Context, lot: Lot, rules: Weaning, in_bag: Sequence[Task]) -> Iterator[Task]:
    """Under the cover, of those potted before their bags were open, then out of the shade; or as foreseen."""
    rooted = (cohort for cohort in lot.cohorts if cohort.stage == "pot" and cohort.reached == "rooted")
    least = _least(rooted, rules)
    if least is not None:
        stand, potted_on = least
        milestone = None
    else:
        milestone = context.milestones[lot.id].get("potted")
        if milestone is None or milestone.days is None or milestone.next is None:
            return
        begun = any(cohort.airing for cohort in lot.cohorts)  # and then it goes on in the bag
        stand, potted_on = Vent(done=STEPS if begun else len(in_bag)), milestone.next[1]
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
        id=EntryId(lot.id, rule.id),
        rule=rule,
        lots=(lot.id,),
        earliest=day,
        due=day,
        latest=day + timedelta(days=rules.between + rules.late),
        counted_from="potted",
        since=potted_on,
        milestone=milestone,
        bin="",
        crop=lot.crop,
        count=lot.count("pot") or lot.count("rooting"),
        derivation=ToLamp(round(rules.in_shade), potted_on, off),
    )


def _steps(
    context: Context, lot: Lot, rules: Weaning, names: Sequence[str], stand: Vent, comes: _Next | None
) -> Iterator[Task]:
    """The steps still to come, each so many days after the one before."""
    if comes is None:
        return
    bags, pots = lot.count("rooting"), lot.count("pot")
    stage = "pot" if names is IN_POT else "rooting"
    between, late = timedelta(days=rules.between), timedelta(days=rules.late)
    for number in range(stand.done + 1, STEPS + 1):
        rule = context.around.book.task(names[number - 1])
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
        yield Task(
            id=EntryId(lot.id, rule.id),
            rule=rule,
            lots=(lot.id,),
            earliest=day,
            due=day,
            latest=day + late,
            counted_from=comes.after,
            since=comes.since,
            milestone=comes.milestone,
            bin=lot.bin if stage == "rooting" else "",
            crop=lot.crop,
            count=lot.count("pot") if stage == "pot" and pots else _own(context, lot, bags),
            derivation=derivation,
        )


def _own(context: Context, lot: Lot, bags: int) -> int:
    """How many of the bags showed roots and leaf themselves, where they were counted; all of them where not yet."""
    found = context.found(lot, "rooting")
    seen = [found[name] for name in ("roots", "leaves") if name in found and found[name].known]
    return min([bags, *(each.showing.count for each in seen if each.showing)]) if len(seen) == 2 else bags


def _weight(context: Context, lot: Lot, rules: Weaning, in_bag: Sequence[Task]) -> Iterator[Look]:
    """Open bags that wait for their pots are lifted at every round; where steps are not logged, as planned."""
    least = _in_bags(lot, rules)
    opened = least[0].since if least and least[0].done == STEPS else None
    if opened is None and in_bag and in_bag[-1].due < context.as_of and not in_bag[-1].guessed:
        opened = in_bag[-1].due
    potted = context.found(lot, "rooting").get("potted")
    if opened is None or potted is None or potted.days is None:
        return
    rule = context.around.book.task("open_weight")
    seen = lot_seen(lot, context.walked, context.as_of)
    end = max(potted.days[1], opened)
    yield Look(
        id=EntryId(lot.id, rule.id),
        rule=rule,
        lot=lot.id,
        bin=lot.bin,
        start=opened,
        end=end,
        counted_from="opened",
        seen=seen,
        count=lot.count("rooting"),
    )


def _off_mat(context: Context, lot: Lot, rules: Weaning, taken: dict[str, int]) -> Iterator[Task]:
    """Open bags with roots through off the mat where potting slips: into a cooler bin with room, else beside it.

    Before that the warmth hastens their roots, and so their potting.
    """
    log, least = context.stock.bins.get(lot.bin), _in_bags(lot, rules)
    ready = context.found(lot, "rooting").get("well_rooted")
    if log is None or least is None or least[0].done < STEPS or ready is None or ready.known is None:
        return
    if ready.showing and ready.showing.count < lot.count("rooting"):
        return
    assert least[0].since is not None
    slips = timedelta(days=context.around.book.task("pot_up").due_day or 0)
    day = max(least[0].since, ready.known + slips)
    moved = len(lot.places) > 1 and lot.places[-1][0] >= ready.known
    base_c = log.base_c[-1][1]
    if moved or base_c - log.air_c[-1][1] < rules.cooler:
        return
    place = _cooler_bin(context, lot, base_c - rules.cooler, taken)
    derivation = OffMat(base_c=base_c, counted_from=day)
    if place:
        name, bin_c, free = place
        derivation = replace(derivation, bin=name, bin_c=bin_c, free=free)
        taken[name] = taken.get(name, 0) + lot.count("rooting")
    rule: TaskRule = context.around.book.task("cool_bin" if place else "off_mat")
    yield Task(
        id=EntryId(lot.id, rule.id),
        rule=rule,
        lots=(lot.id,),
        earliest=day,
        due=day,
        latest=day + timedelta(days=rules.off_mat_within),
        counted_from=ready.name,
        since=ready.known,
        milestone=ready,
        bin=lot.bin,
        crop=lot.crop,
        count=lot.count("rooting"),
        derivation=derivation,
    )


def _cooler_bin(context: Context, lot: Lot, at_most_c: float, taken: dict[str, int]) -> tuple[str, float, int] | None:
    """The coolest bin in which the crop still grows that has room for a lot: its name, its base [°C], places free."""
    warmth, count = context.around.book.crops[lot.crop].base, lot.count("rooting")
    found = []
    for item in context.around.settings.places:
        base_c = context.stock.bins[item.name].base_c[-1][1]
        free = item.bags - context.bags.get(item.name, 0) - taken.get(item.name, 0)
        if item.kind == "bin" and base_c <= at_most_c and free >= count and rate(warmth, base_c) > 0:
            found.append((base_c, item.name, free))
    if not found:
        return None
    base_c, name, free = min(found)
    return name, base_c, free
