"""From a lot, the rules and the site to its milestones: logged, settled by a later event, or forecast. Pure.

A forecast is conditioned on the lot's last entry, not on today: not having looked is not having seen nothing. It also
keeps the calendar still. A forecast that is shown is never in the past (`Milestone.shown`); an act not logged (potting
up) is taken to come by the end of the week, and what follows is planned by days that do not slip with it (`late`).
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta
from statistics import fmean

from almanac.forecast.bare import bare_from, growing_from
from almanac.forecast.durations import Arrival, after, arrival, believed
from almanac.forecast.hardening import taking
from almanac.forecast.interval import (
    Interval,
    interval,
    is_act,
    known,
    leading_to,
    rule_of,
    source,
    steps,
    typical_origin,
    way_to_potting,
)
from almanac.forecast.late import AGAIN, GRACE, end_of_week, late_by, turn
from almanac.forecast.model import Basis, Days, Milestone, Surroundings, all_three, each_of, later
from almanac.forecast.sums import Sum
from almanac.nursery.lots import Lot
from almanac.plain import dataclass, replace
from almanac.rulebook.models import Duration, MilestoneRule


def milestones(lot: Lot, around: Surroundings, gone: int = 0, upto: str = "") -> dict[str, Milestone]:
    """Every milestone of a lot that is known or can be forecast, in the order they come.

    Args:
        lot: as the logbook leaves it
        around: what they depend on
        gone: how many of the lot went on before these, being the first that were ready
        upto: the last that is asked for, where not all are
    """
    found = steps(lot)
    for rule in around.book.milestones_for(lot.method):
        rule = _of_the_rest(rule, gone, lot, around)
        milestone = known(lot, rule, found)
        if not lot.closed:
            coming = _Next(lot=lot, rule=rule, found=found, around=around)
            milestone = coming.judged(milestone) if milestone else coming.forecast()
        if milestone:
            found[rule.name] = milestone
            for earlier in rule.after:
                if earlier in found:
                    found[earlier] = _nolater(found[earlier], milestone)
        if rule.name == upto:
            break
    return found


def _of_the_rest(rule: MilestoneRule, gone: int, lot: Lot, around: Surroundings) -> MilestoneRule:
    """A share of those left is a larger share of the lot, as the first of it have gone on; not all left will root.

    The first of those left to root is likewise the next of the lot after those gone.
    """
    if not gone or (rule.share is None and not around.needs_roots(rule)):
        return rule
    rooting = around.rooting_of(lot, rule)
    left = lot.count("rooting") * sum(rooting) / len(rooting)
    if not left:
        return rule
    of_left = min(1.0, left) if rule.share is None else rule.share * left
    return replace(rule, share=(gone + of_left) / (gone + left))


def _nolater(earlier: Milestone, milestone: Milestone) -> Milestone:
    """A sign that is often missed, shown no later than what follows it, which is forecast apart from it."""
    if not earlier.often_missed or earlier.days is None or milestone.days is None:
        return earlier
    early, likely, late = (min(pair) for pair in zip(earlier.days, milestone.days, strict=True))
    return replace(earlier, days=(early, likely, late))


@dataclass(frozen=True, kw_only=True)
class _Coming:
    """When a milestone comes by its own interval, what it was told along, and the last day it is known not to be there.

    `comes` is None where it cannot be said; `summed` the sum since sticking that told it, if one did.
    """

    comes: Arrival | None
    way: Interval
    known_at: date
    summed: Sum | None = None


@dataclass(frozen=True, kw_only=True)
class _Waiting:
    """Days after what they wait for outdoors; `frost`, `nights` are the days waited for, `too_cold_c` what never is."""

    days: Days | None
    frost: date | None = None
    nights: date | None = None
    too_cold_c: float | None = None


@dataclass(frozen=True, kw_only=True)
class _Next:
    """The next milestone of a lot by its rule, where those before it were `found`."""

    lot: Lot
    rule: MilestoneRule
    found: Mapping[str, Milestone]
    around: Surroundings

    def judged(self, milestone: Milestone) -> Milestone:
        """A logged sign with the days it was to be expected on."""
        duration, latest = self.around.duration(self.lot, self.rule), source(self.lot, self.rule, self.found)
        if duration is None or latest is None or not latest.logged or not milestone.logged or is_act(self.rule.name):
            return milestone
        way = self._way_from(latest, duration)
        return replace(milestone, usual=_three(_arrival(self.lot, way, way.pace.origin, self.around)))

    def forecast(self) -> Milestone | None:
        """When it comes; None where nothing can be said of it."""
        lot, rule, around = self.lot, self.rule, self.around
        duration, latest = around.duration(lot, rule), source(lot, rule, self.found)
        if duration is None or latest is None or self._looked_for_in_vain():
            return None
        latest, soonest = self._kept(duration, latest)
        duration, coming, days = self._after(duration, latest)
        waiting, held, planned = _waiting(days, lot, rule, around), None, None
        if days and is_act(rule.name) and waiting.days and waiting.days[1] < around.as_of:
            held, planned = _held(waiting.days, lot, rule, around), waiting.days
            done = turn(rule.name, around.as_of) - GRACE
            back = self.found["brought_in"].known if "brought_in" in self.found else None
            if not back or planned[1] > back:  # else it was done, and they came in again
                soonest = (max([done, *(day for day, _ in lot.hardening)]),) * 3  # not since it was brought in
            waiting = _waiting(_not_yet(days, around), lot, rule, around)
        told = waiting.days
        if soonest and told:
            told = min(told[0], soonest[0]), told[1], told[2]
        comes = coming.comes
        return Milestone(
            name=rule.name,
            title=rule.title,
            days=told,
            overdue_on=comes.overdue() if comes and latest.known and self._told_when_overdue() else None,
            basis=self._basis(duration, latest, coming, waiting),
            often_missed=rule.often_missed,
            held=held if held != waiting.days else None,
            planned=planned,
            soonest=soonest,
            was_likely=days[1] if days else None,
        )

    def _basis(self, duration: Duration, latest: Milestone, coming: _Coming, waiting: _Waiting) -> Basis:
        lot, rule, around, way = self.lot, self.rule, self.around, coming.way
        learned = around.learned(lot, rule)
        return Basis(
            duration=duration,
            after=latest.name,
            after_day=latest.known,
            of=way.of,
            share=rule.share,
            counted=coming.comes.pace.counted(coming.known_at) if coming.comes and latest.known else 0.0,
            rate=way.pace.usual_rate if latest.window else 1.0,
            known_at=coming.known_at,
            clock=way.clock,
            waits_for_frost=waiting.frost,
            rest=way.rest,
            learned=learned,
            offset=learned.offset(lot.id, lot.number) if learned else None,
            waits_for_nights=waiting.nights,
            nights_too_cold_c=waiting.too_cold_c,
            rooted=fmean(around.rooting_of(lot, rule)),
            summed=coming.summed,
            passed_over=rule.name in around.unlogged,
            ahead_days=rule.ahead_days,
        )

    def _after(self, duration: Duration, latest: Milestone) -> tuple[Duration, _Coming, Days | None]:
        """How long it takes after what it follows, how it comes, and when, before it waits for the weather."""
        if self.rule.ramp and latest.window:
            duration = taking(duration, self.lot, latest.window[1], self.around)
        coming = self._coming(duration, latest)
        return duration, coming, _no_sooner(_three(coming.comes) if coming.comes else None, latest)

    def _kept(self, duration: Duration, latest: Milestone) -> tuple[Milestone, Days | None]:
        """What it follows as it is planned by, and the days that it has if an act not logged is done by now.

        That act is taken to come as planned, or four weeks later, and again, until done by now it comes no later than
        so.
        """
        if latest.known or not latest.soonest:
            return latest, None

        def if_done(days: Days) -> Days | None:
            by_then = self._after(duration, replace(latest, days=days))[2]
            return _waiting(by_then, self.lot, self.rule, self.around).days

        soonest, before = if_done(latest.soonest), rule_of(latest.name, self.lot, self.around)
        if not latest.planned or not before or not soonest:
            return latest, soonest
        late = timedelta(0)
        while True:
            days = _waiting(_later_by(late, latest.planned), self.lot, before, self.around).days
            follows = if_done(days) if days else None
            if days is None or follows is None:
                return latest, soonest
            if follows[1] >= soonest[1]:
                return replace(latest, days=days), soonest
            late += AGAIN

    def _looked_for_in_vain(self) -> bool:
        """Whether what comes before is past its time: of what hangs on it nothing can be said until it is seen."""
        missed = [name for name in self.rule.after if name not in self.around.unlogged]
        return any(name in self.found and self.found[name].overdue(self.lot.known_at) for name in missed)

    def _coming(self, duration: Duration, latest: Milestone) -> _Coming:
        """From what is known of the milestone before, or along the whole way from sticking, or after its forecast."""
        lot, rule, around = self.lot, self.rule, self.around
        known_at = latest.known if rule.kept and latest.known else self._not_by(latest.known)
        if rule.name in around.unlogged and (begun := latest.known or lot.steps.get("stuck")):
            known_at = begun  # a look without it says nothing
        if latest.known:
            way = self._way_from(latest, duration)
            return _Coming(comes=_arrival(lot, way, known_at, around), way=way, known_at=known_at)
        summed = around.sum_to(lot, rule.name)
        if summed and latest.days and not self._begun():
            first = way_to_potting(lot.method, around.book)[0]
            along = around.duration(lot, first)
            assert along
            way = interval(lot, first, along, lot.steps["stuck"], around)
            comes = summed.arrival(rule.name, lot.id, lot.number, lot.stuck_count or lot.total, way.pace, known_at)
            return _Coming(comes=comes, way=way, known_at=known_at, summed=summed)
        ends, start = self._ends_of(latest) or (latest.days, known_at)
        way = interval(lot, rule, duration, start, around)
        comes_after = after(ends, _arrival(lot, way, known_at, around)) if ends else None
        return _Coming(comes=comes_after, way=way, known_at=known_at)

    def _way_from(self, latest: Milestone, duration: Duration) -> Interval:
        """The way from a known milestone, or from when a share of the lot showed it."""
        lot, rule, around = self.lot, self.rule, self.around
        return interval(lot, rule, duration, typical_origin(lot, rule, latest, self.found, around), around)

    def _ends_of(self, latest: Milestone) -> tuple[Days, date] | None:
        """When the milestone before ends, and the day to count from, where that is not simply its own forecast.

        That is so for a share of the lot instead of the first cutting, and for a sign so often missed that its not
        being logged says nothing.
        """
        lot, around = self.lot, self.around
        before = leading_to(latest, lot, self.found, around)
        if before is None or not (self.rule.share or before[0].often_missed):
            return None
        earlier, duration, origin = before
        says_nothing = earlier.often_missed or earlier.name in around.unlogged
        not_by = origin if says_nothing else max(lot.known_at, origin)
        way = interval(lot, earlier, duration, origin, around)
        days = _three(_arrival(lot, way, not_by, around, self.rule.share))
        if days and earlier.not_before == "growth":
            days = growing_from(lot.crop, days, around)
        return (days, not_by) if days else None

    def _not_by(self, since: date | None) -> date:
        """The last day on which it was looked for and not there; of what is counted bag by bag, a count says so."""
        if self.rule.counted and since:
            return max(since, self.lot.none_yet.get(self.rule.name, date.min))
        return max(self.lot.known_at, since or date.min)

    def _begun(self) -> bool:
        """Whether anything on the way to it is logged of the lot besides its sticking."""
        names = [each.name for each in way_to_potting(self.lot.method, self.around.book)]
        signs = self.lot.signs
        return "stuck" not in self.lot.steps or any(name in signs for name in names[: names.index(self.rule.name)])

    def _told_when_overdue(self) -> bool:
        """Whether a task exists that says what to look for when it is late; of other signs lateness says nothing."""
        tasks = self.around.book.tasks_for(self.lot.method)
        return any(task.overdue and task.after == self.rule.name for task in tasks)


def _no_sooner(days: Days | None, latest: Milestone) -> Days | None:
    """No sooner than what it follows, as a sum fitted to days that frost tears apart would say so."""
    if days and latest.days and not latest.known and not latest.often_missed:
        return later(days, latest.days)
    return days


def _not_yet(days: Days, around: Surroundings) -> Days:
    """An act whose day went by and that was not logged is still to come this week."""
    end = end_of_week(around.as_of)
    return later(days, (end, end, end))


def _held(days: Days, lot: Lot, rule: MilestoneRule, around: Surroundings) -> Days | None:
    """The days by which what follows an act is planned where its likely day has gone by."""
    late = timedelta(0)
    while True:
        found = _waiting(_later_by(late, days), lot, rule, around).days
        if found is None or not (more := late_by(found[1], turn(rule.name, around.as_of))):
            return found
        late += more


def _later_by(late: timedelta, days: Days) -> Days:
    return each_of(days, lambda day: day + late)


def _waiting(days: Days | None, lot: Lot, rule: MilestoneRule, around: Surroundings) -> _Waiting:
    """The same days once frost is as unlikely as accepted and nights are warm, or leaves are down, as a rule waits."""
    if days and rule.not_before == "dormant":
        return _Waiting(days=bare_from(lot.crop, days, around))
    if days and rule.not_before == "growth":
        return _Waiting(days=growing_from(lot.crop, days, around))
    if not days or rule.not_before != "frost_accepted":
        return _Waiting(days=days)
    ahead = timedelta(days=rule.ahead_days)
    safe = all_three(around.safe_day(day + ahead, rule.frost_free_days) for day in days)
    if not safe:
        return _Waiting(days=None)
    frost = safe[1] if safe[1] > days[1] + ahead else None
    lives = all_three(around.warm_day(day, rule, lot.crop) for day in safe)
    if not lives:
        return _Waiting(days=None, frost=frost, too_cold_c=around.book.crops[lot.crop].cold.lowest_night)
    return _Waiting(days=_later_by(-ahead, lives), frost=frost, nights=lives[1] if lives[1] > safe[1] else None)


def _arrival(lot: Lot, way: Interval, known_at: date, around: Surroundings, share: float | None = None) -> Arrival:
    learned = around.learned(lot, way.rule)
    offset, wider = (learned.offset(lot.id, lot.number), learned.cuttings) if learned else (None, 1.0)
    belief = believed(way.duration, way.rest, offset, wider)
    return arrival(belief, way.of, share or way.rule.share, way.pace, known_at, around.rooting_of(lot, way.rule))


def _three(comes: Arrival) -> Days | None:
    return all_three(map(comes.day, (0.1, 0.5, 0.9)))
