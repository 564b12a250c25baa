"""From a lot to what it tells of its intervals: of each by itself, and of stretches on which something went unlogged.

A sign happened between the lot's last look and the one that saw it; where no look was logged, some time before. A lot
that still waits says "longer than so many days", up to its last look or entry, and no longer than nine lots in ten
would take by the rule. Pure.

Acts are known to the day, signs to the look. On a bench where no look was logged for a fortnight a sign may have come
at the looks planned or long before: a mixture, heard at first as if seen at once and then beside what the others say,
so that many that agree are believed and one alone is not.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date, timedelta
from functools import lru_cache
from math import inf, log

from almanac.forecast.durations import EVERY, arrival, believed
from almanac.forecast.interval import (
    Interval,
    interval,
    is_act,
    known,
    origin_of,
    rule_of,
    source,
    steps,
    typical_origin,
    way_to_potting,
)
from almanac.forecast.model import Milestone, Surroundings
from almanac.forecast.thermal import Pace, plain_days
from almanac.forecast.timing import Span, Timing
from almanac.nursery.events import EVENTS, NO_TROUBLE
from almanac.nursery.lots import Lot
from almanac.plain import dataclass, replace
from almanac.rulebook.book import Rulebook
from almanac.rulebook.models import Duration, MilestoneRule

_LOOKS_LOGGED = timedelta(days=14)  # a bench where a look was logged so lately is one that logs its looks
_LEAST_DAYS = 0.5  # what came on the very day it was counted from
_UNEXPECTED = 0.02  # a wait that one lot in fifty would not have outlasted says next to nothing, and moves nobody


def said_of(lot: Lot, around: Surroundings) -> dict[str, Milestone]:
    """The steps of a lot, and its milestones that are logged or settled."""
    found = steps(lot)
    for rule in around.book.milestones_for(lot.method):
        milestone = known(lot, rule, found)
        if milestone:
            found[rule.name] = milestone
    return found


@dataclass(frozen=True, kw_only=True)
class Leap:
    """From one logged milestone to another, with some between that were not: how many counted days, from and to.

    `high` is infinite where the lot still waits.
    """

    lot: str
    variety: str
    start: str
    end: str
    of: int
    low: float
    high: float


def leaps(lot: Lot, found: Mapping[str, Milestone], around: Surroundings, *, whole: bool = False) -> Iterator[Leap]:
    """Every stretch of a lot's way to potting on which something went by unlogged; or the whole of it, as logged."""
    way = way_to_potting(lot.method, around.book)
    if not way or "stuck" not in lot.steps:
        return
    start, begin, gap, size = "stuck", lot.steps["stuck"], 0, lot.stuck_count or lot.total or 1
    for rule in way:
        milestone = found.get(rule.name)
        day = milestone.logged if milestone else None
        passed_over = whole and rule is not way[-1]
        if milestone is None or day is None or passed_over or _seen_at_random(lot, rule, day, around):
            gap += 1
            continue
        if gap:
            low, high = _between(lot, rule, day, _warm_days(lot, way[0], begin, around), around)
            if high > 1:
                yield Leap(lot=lot.id, variety=lot.number, start=start, end=rule.name, of=size, low=low, high=high)
        gap, start, begin = 0, rule.name, day
        duration = around.duration(lot, rule)
        following = next((each for each in way if rule.name in each.after), None)
        if duration and following and not is_act(rule.name):
            begin = typical_origin(lot, following, milestone, found, around)
    if gap == len(way) and not lot.closed and lot.count("rooting"):
        waited = _warm_days(lot, way[0], begin, around).counted(lot.known_at)
        yield Leap(lot=lot.id, variety=lot.number, start=start, end=way[-1].name, of=size, low=waited, high=inf)


def _between(lot: Lot, rule: MilestoneRule, day: date, pace: Pace, around: Surroundings) -> tuple[float, float]:
    """Counted days between which a milestone logged on a day came: an act is known to the day, a sign to the look."""
    if is_act(rule.name):
        return pace.counted(day) - _LEAST_DAYS, pace.counted(day) + _LEAST_DAYS
    return pace.counted(_look_before(lot, rule, day, around)), pace.counted(day)


def _seen_at_random(lot: Lot, rule: MilestoneRule, day: date, around: Surroundings) -> bool:
    """Whether a sign was seen with no look before it: it may have come at any time, so nothing is counted from it."""
    return not is_act(rule.name) and _nobody_looked(lot, rule.name, _look_before(lot, rule, day, around))


def _warm_days(lot: Lot, rule: MilestoneRule, begin: date, around: Surroundings) -> Pace:
    """Counted days from a day on, by the clock of the first of a way; waits at its end are few and count alike."""
    duration = around.duration(lot, rule)
    return interval(lot, rule, duration, begin, around).pace if duration else plain_days(begin)


@dataclass(frozen=True, kw_only=True)
class Timed:
    """An interval of a lot, and what it tells.

    `start` is the day it counts from, as logged; `seen` the day the milestone was logged and `not_yet` that of the look
    before, both None while it waits.
    """

    lot: str
    way: Interval
    timing: Timing
    start: date
    not_yet: date | None = None
    seen: date | None = None


def timed(lot: Lot, around: Surroundings, found: Mapping[str, Milestone] | None = None) -> Iterator[Timed]:
    """Each interval that a lot has finished or waits in, as far as it tells of its own pace.

    Args:
        lot: as the logbook leaves it
        around: what its pace depends on
        found: its milestones, logged or settled, where they are known already
    """
    if any(sign.first for sign in lot.signs.values()):  # those left behind when others went on teach nothing anew
        lot, found = replace(lot, signs={name: sign.first or sign for name, sign in lot.signs.items()}), None
    found = said_of(lot, around) if found is None else found
    for rule in around.book.milestones_for(lot.method):
        milestone = found.get(rule.name)
        duration, latest = around.duration(lot, rule), source(lot, rule, found)
        if duration is None or latest is None or latest.logged is None or not _tells(lot, rule, duration, milestone):
            continue
        way = interval(lot, rule, duration, typical_origin(lot, rule, latest, found, around), around)
        if milestone and milestone.logged:
            not_yet = milestone.logged if is_act(rule.name) else _look_before(lot, rule, milestone.logged, around)
            timing = _seen(lot, way, not_yet, milestone.logged, _begun_before(lot, latest.name, found, around), around)
            yield Timed(lot=lot.id, way=way, timing=timing, start=latest.logged, not_yet=not_yet, seen=milestone.logged)
        elif rule.name not in around.unlogged and (waiting := _waiting(lot, way, around)):
            yield Timed(lot=lot.id, way=way, timing=waiting, start=latest.logged)


def logged_on(lot: Lot, milestone: str) -> date:
    """The day a milestone that a lot tells of was logged."""
    sign = lot.signs.get(milestone)
    return (sign.first or sign).day if sign else lot.steps[milestone]


def _tells(lot: Lot, rule: MilestoneRule, duration: Duration, milestone: Milestone | None) -> bool:
    """Whether the interval says anything of its own pace."""
    if rule.not_before or not (duration.between_lots or duration.between_varieties or duration.between_growers):
        return False  # it waits for the frost to pass, or is the same for every grower
    if milestone:
        return milestone.logged is not None  # settled by what came later: the sum up to that tells of it
    return not rule.often_missed and not lot.closed  # what died tells of the share, not of the days


def _seen(lot: Lot, way: Interval, not_yet: date, day: date, begun_before: int, around: Surroundings) -> Timing:
    """What a dated milestone tells; what it counts from may have begun so many days before it was seen."""
    rule, seen = way.rule, max(way.pace.counted(day), _LEAST_DAYS)
    rooting = around.rooting_of(lot, rule)
    at_most = (max(seen - _LEAST_DAYS, 0.0), seen + begun_before * way.pace.rate) if begun_before else None
    if is_act(rule.name):  # some time that day
        return _timing(lot, way, seen - _LEAST_DAYS, seen + _LEAST_DAYS, way.of, None, EVERY, at_most)
    sign = lot.signs[rule.name]
    nobody_looked = _nobody_looked(lot, rule.name, not_yet)
    if sign.count and (rule.share or nobody_looked):  # so many by then; how many at the look before is not known
        return _timing(lot, way, 0.0, seen, sign.of, sign.count, rooting)
    low = min(way.pace.counted(not_yet), seen - _LEAST_DAYS)
    if nobody_looked:
        at_most = (0.0, at_most[1] if at_most else seen)
    return _timing(lot, way, low, seen, sign.of if sign.count else way.of, sign.count, rooting, at_most)


def _nobody_looked(lot: Lot, name: str, not_yet: date) -> bool:
    """Whether no look was logged shortly before a sign was seen: it may have been there for long."""
    sign = lot.signs[name]
    return sign.not_yet < not_yet and not _look_logged(lot, sign.day)


def _begun_before(lot: Lot, name: str, found: Mapping[str, Milestone], around: Surroundings) -> int:
    """How many days before it was seen a sign may have come: none where a look before it was logged."""
    rule = rule_of(name, lot, around)
    if rule is None or name not in lot.signs:
        return 0
    seen, origin = lot.signs[name].day, origin_of(rule, found)
    if origin is None or not _nobody_looked(lot, name, _look_before(lot, rule, seen, around)):
        return 0
    return (seen - origin).days


def _look_before(lot: Lot, rule: MilestoneRule, day: date, around: Surroundings) -> date:
    """The look before a sighting; where looks are not logged, they are taken to have come as planned."""
    planned = day - timedelta(days=_days_between_looks(rule.name, lot.method, around.book))
    return max(lot.signs[rule.name].not_yet, _look_logged(lot, day) or planned)


def _look_logged(lot: Lot, day: date) -> date | None:
    """The last look for signs before a day, on a bench that logs its looks."""
    for_trouble = lot.jobs.get(NO_TROUBLE, ())
    looks = [look for look in lot.jobs.get("looked", ()) if look < day and look not in for_trouble]
    return looks[-1] if looks and day - looks[-1] <= _LOOKS_LOGGED else None


@lru_cache(maxsize=256)
def _days_between_looks(sign: str, method: str, book: Rulebook) -> int:
    """How far apart the looks come that wait for a sign: those that begin with what comes before it."""
    after = {each.name: each.after for each in book.milestones_for(method)}
    before: set[str] = set()
    waiting = [sign]
    while waiting:
        for name in after.get(waiting.pop(), []):
            before.add(name)
            waiting.append(name)
    looks = [task for task in book.tasks_for(method) if task.kind == "look" and task.after in before]
    return max((task.every_days or 1 for task in looks if task.while_in == "rooting"), default=1)


def _waiting(lot: Lot, way: Interval, around: Surroundings) -> Timing | None:
    """A lot without the sign so far; None while nobody would expect it yet."""
    rule = arrival(believed(way.duration, way.rest), way.of, way.rule.share, way.pace, way.pace.origin)
    waited = min(way.pace.counted(_waited_until(lot, way.rule)), rule.counted(0.9))
    rooting = around.rooting_of(lot, way.rule)
    return _timing(lot, way, waited, inf, way.of, None, rooting) if waited > rule.counted(_UNEXPECTED) else None


def _waited_until(lot: Lot, rule: MilestoneRule) -> date:
    """The last look or entry; of a sign of stored wood, no later than the wood was stuck."""
    if rule.counted:
        return lot.none_yet.get(rule.name, date.min)  # a look that did not count it says nothing
    in_store = rule.name in EVENTS and EVENTS[rule.name].takes_from == ("store",)
    return min(lot.known_at, lot.steps.get("stuck", date.max)) if in_store else lot.known_at


def _timing(
    lot: Lot,
    way: Interval,
    low: float,
    high: float,
    of: int,
    count: int | None,
    rooting: tuple[float, ...],
    at_most: Span | None = None,
) -> Timing:
    median = log(way.duration.median * way.rest)

    def told(days: float) -> float:
        return log(days) - median if days > 0 else -inf

    span = (told(at_most[0]), told(at_most[1])) if at_most else None
    return Timing(
        lot=lot.id,
        variety=lot.number,
        low=told(low),
        high=told(high),
        of=max(of, 1),
        count=count,
        share=way.rule.share,
        rooting=rooting,
        at_most=span,
    )
