"""From every lot in the logbook to timings, and to what is learned from them, by crop, method and milestone. Pure.

A sign happened between the lot's last look and the one that saw it; where no look was logged, some time before. A lot
that still waits says "longer than so many days", up to its last look or entry, and no longer than nine lots in ten
would take by the rule. One that died or was given up says nothing of days: it tells of the share that roots. What
potting settled is told by the sum of the intervals up to it (`sums`).

Acts are known to the day, signs to the look. On a bench where no look was logged for a fortnight a sign may have come
at the looks planned or long before: a mixture, heard at first as if seen at once and then beside what the others say,
so that many that agree are believed and one alone is not.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date, timedelta
from functools import lru_cache
from math import exp, inf, log, sqrt
from statistics import NormalDist

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
from almanac.forecast.learning import Learned, learn_spread
from almanac.forecast.model import Experience, Milestone, Surroundings
from almanac.forecast.outcomes import outcomes
from almanac.forecast.striking import Striking
from almanac.forecast.sums import Part, Sum, part
from almanac.forecast.thermal import Pace, plain_days
from almanac.forecast.timing import Span, Timing
from almanac.nursery.events import EVENTS, NO_TROUBLE
from almanac.nursery.lots import Lot, Stock
from almanac.nursery.nursery import Nursery
from almanac.plain import dataclass, replace
from almanac.rulebook.book import Rulebook
from almanac.rulebook.models import Duration, MilestoneRule

_LOOKS_LOGGED = timedelta(days=14)  # a bench where a look was logged so lately is one that logs its looks
_LEAST_DAYS = 0.5  # what came on the very day it was counted from
_HABIT = 3  # lots potted that it takes to know what a grower passes over
_TEACH, _TEACH_OF_VARIETY = 1_000, 10  # lots that are over, of a crop by a method, and of a variety at least
_NINETY = NormalDist().inv_cdf(0.9)
_UNEXPECTED = 0.02  # a wait that one lot in fifty would not have outlasted says next to nothing, and moves nobody


def surroundings(nursery: Nursery) -> Surroundings:
    """What milestones depend on besides the lot, with what the nursery's own lots say."""
    stock = nursery.stock
    around = Surroundings(
        book=nursery.book,
        settings=nursery.settings,
        frost=nursery.frost,
        bins=stock.bins,
        as_of=nursery.as_of,
        nights=nursery.nights,
        signs=stock.crop_signs,
    )
    return taught(stock.lots.values(), around, [(planned.crop, planned.count) for planned in stock.to_come])


def counting_on(stock: Stock, around: Surroundings) -> Surroundings:
    """The same surroundings where other lots are to come, which settle how much all share one doubt and no day."""
    to_come = [(planned.crop, planned.count) for planned in stock.to_come]
    known, lots = around.striking.known, list(stock.lots.values())
    return replace(around, striking=Striking.of(known, around.book.crops, lots, to_come))


def taught(lots: Iterable[Lot], around: Surroundings, to_come: Iterable[tuple[str, int]] = ()) -> Surroundings:
    """The same surroundings with what all lots say.

    Args:
        lots: of this season and past ones, open and closed
        around: the rules, and the bins' warmth by date
        to_come: crop and count of each lot planned
    """
    every = list(lots)
    striking = Striking.of(outcomes({lot.id: lot for lot in every}), around.book.crops, every, to_come)
    own = _newest([lot for lot in every if not lot.came_ready])
    around = replace(around, striking=striking, unlogged=_unlogged(own, around.book))
    told = _told(own, around)
    found, sums = _with_sums(told, _alone(told), around)
    return replace(around, experience=found, sums=sums)


def _newest(lots: list[Lot]) -> list[Lot]:
    """Those that teach: all that go on, and of those that are over the newest of each crop, method and variety."""
    by_way: dict[tuple[str, str], list[Lot]] = {}
    for lot in lots:
        if lot.closed:
            by_way.setdefault((lot.crop, lot.method), []).append(lot)
    old: set[str] = set()
    for over in by_way.values():
        if len(over) > _TEACH:
            of_variety: Counter[str] = Counter()
            for place, lot in enumerate(sorted(over, key=lambda lot: (lot.first_stuck_on, lot.id), reverse=True)):
                of_variety[lot.number] += 1
                if place >= _TEACH and of_variety[lot.number] > _TEACH_OF_VARIETY:
                    old.add(lot.id)
    return [lot for lot in lots if lot.id not in old] if old else lots


def experience(lots: Iterable[Lot], around: Surroundings) -> Experience:
    """What all lots say, by crop, method and milestone; nothing where no lot says anything."""
    return taught(lots, around).experience


_Key = tuple[str, str, str]


@dataclass(frozen=True, kw_only=True)
class _Told:
    """What lots say, gone through once.

    Args:
        timings: of each interval by itself, with its rule
        given_up: how many lots ended while they waited for a sign
        leaps: stretches on which something went by unlogged, by crop, method, where they begin and where they end
        whole: those from sticking to potting, whatever was logged on the way
    """

    timings: Mapping[_Key, tuple[Duration, list[Timing]]]
    given_up: Mapping[_Key, int]
    leaps: Mapping[tuple[str, str, str, str], list[Leap]]
    whole: Mapping[tuple[str, str], list[Leap]]


def _told(lots: Iterable[Lot], around: Surroundings) -> _Told:
    timings: dict[_Key, tuple[Duration, list[Timing]]] = {}
    given_up: Counter[_Key] = Counter()
    stretches: dict[tuple[str, str, str, str], list[Leap]] = {}
    whole: dict[tuple[str, str], list[Leap]] = {}
    for lot in lots:
        crop, method, found = lot.crop, lot.method, _found(lot, around)
        for each in timed(lot, around, found):
            timings.setdefault((crop, method, each.way.rule.name), (each.way.duration, []))[1].append(each.timing)
        given_up.update((crop, method, name) for name in _given_up(lot, found, around))
        for leap in leaps(lot, found, around):
            stretches.setdefault((crop, method, leap.start, leap.end), []).append(leap)
        for leap in leaps(lot, found, around, whole=True):
            whole.setdefault((crop, method), []).append(leap)
    return _Told(timings=timings, given_up=given_up, leaps=stretches, whole=whole)


def _alone(told: _Told) -> dict[_Key, Learned]:
    """What dated milestones say of each interval by itself."""
    return {
        key: replace(
            _learned(tuple(found), rule),
            unlooked=sum(timing.at_most is not None for timing in found),
            given_up=told.given_up.get(key, 0),
        )
        for key, (rule, found) in told.timings.items()
    }


def _given_up(lot: Lot, found: Mapping[str, Milestone], around: Surroundings) -> Iterator[str]:
    """The sign on its way to potting that a lot waited for when it ended."""
    if lot.closed and "stuck" in lot.steps and "potted" not in lot.steps:
        yield from [rule.name for rule in way_to_potting(lot.method, around.book) if rule.name not in found][:1]


_learned = lru_cache(maxsize=128)(learn_spread)  # a row logged tells of few milestones: the others are as before it


def _with_sums(told: _Told, found: dict[_Key, Learned], around: Surroundings) -> tuple[Experience, Mapping[_Key, Sum]]:
    """The same with what stretches with unlogged milestones say of those, the commonest stretch first; and the sums.

    A sum is kept by the milestone it ends in. That of all lots potted, whatever was logged on the way, is the one that
    potting is forecast by: what was logged between adds noise of its own.
    """
    alone, sums = dict(found), dict[_Key, Sum]()
    for (crop, method, start, end), each in sorted(told.leaps.items(), key=lambda item: (-len(item[1]), item[0])):
        one = _summed(crop, method, start, end, each, alone, around)
        if one is None:
            continue
        for number, item in enumerate(one.parts):
            rule = _duration(crop, method, item.name, around)
            if rule:
                alone[crop, method, item.name] = one.shared(number, alone.get((crop, method, item.name)), rule)
        if start == "stuck":
            sums.setdefault((crop, method, end), one)
    for (crop, method), each in told.whole.items():
        roots = found.get((crop, method, way_to_potting(method, around.book)[0].name))
        if roots and sum(leap.high < inf for leap in each) * 2 >= roots.finished:
            one = _summed(crop, method, "stuck", each[0].end, each, {}, around)
            if one:
                sums[crop, method, each[0].end] = one
    return alone, sums


def _summed(
    crop: str,
    method: str,
    start: str,
    end: str,
    each: Sequence[Leap],
    alone: Mapping[_Key, Learned],
    around: Surroundings,
) -> Sum | None:
    """What stretches of a way teach of their sum; None where all of them wait."""
    way = way_to_potting(method, around.book)
    names = [rule.name for rule in way]
    stretch = way[names.index(start) + 1 if start in names else 0 : names.index(end) + 1]
    durations = [duration for rule in stretch if (duration := around.book.duration(crop, rule, method))]
    if len(durations) < len(stretch) or not any(leap.high < inf for leap in each):
        return None
    parts: list[Part] = []
    for place, (rule, duration) in enumerate(zip(stretch, durations, strict=True)):
        share = next((later.share for later in stretch[place:] if later.share), None)
        parts.append(part(rule.name, duration, alone.get((crop, method, rule.name)), share, act=is_act(rule.name)))
    one = Sum(start=start, parts=tuple(parts), rooting=around.rooting(crop, method))
    levels = one.rule(durations[-1])
    return replace(one, learned=_learned(tuple(_leaped(leap, one, levels) for leap in each), levels))


def _duration(crop: str, method: str, name: str, around: Surroundings) -> Duration | None:
    rule = next(rule for rule in around.book.milestones_for(method) if rule.name == name)
    return around.book.duration(crop, rule, method)


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
    start, begin, gap = "stuck", lot.steps["stuck"], 0
    for rule in way:
        milestone = found.get(rule.name)
        if milestone is None or milestone.logged is None or (whole and rule is not way[-1]):
            gap += 1
            continue
        if _seen_at_random(lot, rule, milestone, around):
            gap += 1
            continue
        if gap:
            day = milestone.logged
            pace = _warm_days(lot, way[0], begin, around)
            low = day if is_act(rule.name) else _look_before(lot, rule, day, around)
            half = _LEAST_DAYS if is_act(rule.name) else 0.0
            by = pace.counted(day) + half
            if by > 1:
                yield Leap(
                    lot=lot.id,
                    variety=lot.number,
                    start=start,
                    end=rule.name,
                    of=_size(lot),
                    low=pace.counted(low) - half,
                    high=by,
                )
        gap, start = 0, rule.name
        duration = around.book.duration(lot.crop, rule, lot.method)
        begin = milestone.logged
        following = next((each for each in way if rule.name in each.after), None)
        if duration and following and not is_act(rule.name):
            begin = typical_origin(lot, following, milestone, found, around)
    if gap == len(way) and not lot.closed and lot.count("rooting"):
        waited = _warm_days(lot, way[0], begin, around).counted(lot.known_at)
        yield Leap(lot=lot.id, variety=lot.number, start=start, end=way[-1].name, of=_size(lot), low=waited, high=inf)


def _seen_at_random(lot: Lot, rule: MilestoneRule, milestone: Milestone, around: Surroundings) -> bool:
    """Whether a sign was seen with no look before it: it may have come at any time, so nothing is counted from it."""
    if is_act(rule.name) or milestone.logged is None:
        return False
    return _nobody_looked(lot, rule.name, _look_before(lot, rule, milestone.logged, around))


def _size(lot: Lot) -> int:
    return lot.stuck_count or lot.total or 1


def _warm_days(lot: Lot, rule: MilestoneRule, begin: date, around: Surroundings) -> Pace:
    """Counted days from a day on, by the clock of the first of a way; waits at its end are few and count alike."""
    duration = around.book.duration(lot.crop, rule, lot.method)
    return interval(lot, rule, duration, begin, around).pace if duration else plain_days(begin)


def _leaped(leap: Leap, one: Sum, rule: Duration) -> Timing:
    median = one.log_median(leap.of)
    if leap.high == inf:
        most = exp(_NINETY * sqrt(rule.between_growers**2 + rule.between_varieties**2 + rule.between_lots**2))
        waited = min(log(leap.low) - median, log(most)) if leap.low > 0 else -inf
        none = sum((1 - share) ** leap.of for share in one.rooting) / len(one.rooting)
        return Timing(lot=leap.lot, variety=leap.variety, low=waited, high=inf, rooting=(1 - none,) if none else EVERY)
    return Timing(
        lot=leap.lot,
        variety=leap.variety,
        low=log(leap.low) - median if leap.low > 0 else -inf,
        high=log(leap.high) - median,
    )


def _found(lot: Lot, around: Surroundings) -> dict[str, Milestone]:
    """The steps of a lot, and its milestones that are logged or settled."""
    found = steps(lot)
    for rule in around.book.milestones_for(lot.method):
        milestone = known(lot, rule, found)
        if milestone:
            found[rule.name] = milestone
    return found


def _unlogged(lots: Iterable[Lot], book: Rulebook) -> frozenset[str]:
    """Signs that this grower mostly passes over: of them a look without says nothing."""
    passed: Counter[str] = Counter()
    potted: Counter[str] = Counter()
    for lot in lots:
        if "potted" in lot.steps:
            for rule in way_to_potting(lot.method, book):
                if not is_act(rule.name):
                    potted[rule.name] += 1
                    passed[rule.name] += rule.name not in lot.signs
    return frozenset(name for name, count in potted.items() if count >= _HABIT and 2 * passed[name] > count)


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
    found = _found(lot, around) if found is None else found
    for rule in around.book.milestones_for(lot.method):
        milestone = found.get(rule.name)
        duration, latest = around.book.duration(lot.crop, rule, lot.method), source(lot, rule, found)
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
