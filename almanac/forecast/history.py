"""From every lot in the logbook to timings, and to what is learned from them, by crop, method and milestone. Pure.

A sign happened between the lot's last look and the one that saw it. A lot that still waits, died or was given up says
"longer than so many days", up to its last look or entry, and no longer than nine lots in ten would take by the rule.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import lru_cache
from math import inf, log

from almanac.forecast.durations import arrival, believed
from almanac.forecast.interval import Interval, interval, is_act, known, source, steps, typical_origin
from almanac.forecast.learning import learn
from almanac.forecast.model import Experience, Milestone, Surroundings
from almanac.forecast.timing import Timing
from almanac.nursery.events import EVENTS
from almanac.nursery.lots import Lot
from almanac.nursery.nursery import Nursery
from almanac.rulebook.book import Rulebook
from almanac.rulebook.models import Duration, MilestoneRule

_LOOKS_LOGGED = timedelta(days=14)  # a bench where a look was logged so lately is one that logs its looks
_LEAST_DAYS = 0.5  # what came on the very day it was counted from
_UNEXPECTED = 0.02  # a wait that one lot in fifty would not have outlasted says next to nothing, and moves nobody


def surroundings(nursery: Nursery) -> Surroundings:
    """What milestones depend on besides the lot, with what the nursery's own lots say."""
    stock = nursery.stock
    around = Surroundings(nursery.book, nursery.settings, nursery.frost, stock.bins, nursery.as_of)
    return replace(around, experience=experience(stock.lots.values(), around))


def experience(lots: Iterable[Lot], around: Surroundings) -> Experience:
    """What all lots say, by crop, method and milestone; nothing where no lot says anything.

    Args:
        lots: of this season and past ones, open and closed
        around: the rules, and the bins' warmth by date
    """
    told: dict[tuple[str, str, str], list[Timing]] = {}
    rules: dict[tuple[str, str, str], Duration] = {}
    for lot in lots:
        for each in timed(lot, around):
            key = lot.crop, lot.method, each.way.rule.name
            told.setdefault(key, []).append(each.timing)
            rules[key] = each.way.duration
    return {key: _learned(tuple(found), rules[key]) for key, found in told.items()}


_learned = lru_cache(maxsize=128)(learn)  # a row that is logged tells of one milestone: all others are as before it


@dataclass(frozen=True)
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


def timed(lot: Lot, around: Surroundings) -> Iterator[Timed]:
    """Each interval that a lot has finished or waits in, as far as it tells of its own pace."""
    if any(sign.first for sign in lot.signs.values()):  # those left behind when others went on teach nothing anew
        lot = replace(lot, signs={name: sign.first or sign for name, sign in lot.signs.items()})
    found = steps(lot)
    for rule in around.book.milestones_for(lot.method):
        milestone = known(lot, rule, found)
        if milestone:
            found[rule.name] = milestone
        duration, latest = around.book.duration(lot.crop, rule), source(lot, rule, found)
        if duration is None or latest is None or latest.logged is None or not _tells(lot, rule, duration, milestone):
            continue
        way = interval(lot, rule, duration, typical_origin(lot, rule, latest, found, around), around)
        if milestone and milestone.logged:
            not_yet = milestone.logged if is_act(rule.name) else _look_before(lot, rule, milestone.logged, around)
            timing = _seen(lot, way, not_yet, milestone.logged)
            yield Timed(lot.id, way, timing, latest.logged, not_yet, milestone.logged)
        elif waiting := _waiting(lot, way):
            yield Timed(lot.id, way, waiting, latest.logged)


def logged_on(lot: Lot, milestone: str) -> date:
    """The day a milestone that a lot tells of was logged."""
    sign = lot.signs.get(milestone)
    return (sign.first or sign).day if sign else lot.steps[milestone]


def _tells(lot: Lot, rule: MilestoneRule, duration: Duration, milestone: Milestone | None) -> bool:
    """Whether the interval says anything of its own pace."""
    if rule.not_before or not (duration.between_lots or duration.between_varieties or duration.between_growers):
        return False  # it waits for the frost to pass, or is the same for every grower
    if milestone:
        return milestone.logged is not None  # settled by what came later, it may have come at any time before
    return not rule.often_missed and not (lot.closed and is_act(rule.name))


def _seen(lot: Lot, way: Interval, not_yet: date, day: date) -> Timing:
    rule, seen = way.rule, max(way.pace.counted(day), _LEAST_DAYS)
    if is_act(rule.name):  # some time that day
        return _timing(lot, way, seen - _LEAST_DAYS, seen + _LEAST_DAYS, way.of, None)
    sign = lot.signs[rule.name]
    nobody_looked = sign.not_yet < not_yet and not _look_logged(lot, day)
    if sign.count and (rule.share or nobody_looked):  # so many by then; how many at the look before is not known
        return _timing(lot, way, 0.0, seen, sign.of, sign.count)
    low = min(way.pace.counted(not_yet), seen - _LEAST_DAYS)
    return _timing(lot, way, low, seen, sign.of if sign.count else way.of, sign.count)


def _look_before(lot: Lot, rule: MilestoneRule, day: date, around: Surroundings) -> date:
    """The look before a sighting; where looks are not logged, they are taken to have come as planned."""
    planned = day - timedelta(days=_days_between_looks(rule.name, lot.method, around.book))
    return max(lot.signs[rule.name].not_yet, _look_logged(lot, day) or planned)


def _look_logged(lot: Lot, day: date) -> date | None:
    """The last look before a day, on a bench that logs its looks."""
    looks = [look for look in lot.jobs.get("looked", ()) if look < day]
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


def _waiting(lot: Lot, way: Interval) -> Timing | None:
    """A lot without the sign so far; None while nobody would expect it yet."""
    rule = arrival(believed(way.duration, way.rest), way.of, way.rule.share, way.pace, way.pace.origin)
    waited = min(way.pace.counted(_waited_until(lot, way.rule)), rule.counted(0.9))
    return _timing(lot, way, waited, inf, way.of, None) if waited > rule.counted(_UNEXPECTED) else None


def _waited_until(lot: Lot, rule: MilestoneRule) -> date:
    """The last look or entry; of a sign of stored wood, no later than the wood was stuck."""
    in_store = rule.name in EVENTS and EVENTS[rule.name].takes_from == ("store",)
    return min(lot.known_at, lot.steps.get("stuck", date.max)) if in_store else lot.known_at


def _timing(lot: Lot, way: Interval, low: float, high: float, of: int, count: int | None) -> Timing:
    median = log(way.duration.median * way.rest)
    low, high = (log(days) - median if days > 0 else -inf for days in (low, high))
    return Timing(lot.id, lot.number, low, high, max(of, 1), count, way.rule.share)
