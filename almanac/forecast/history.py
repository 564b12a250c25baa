"""From every lot in the logbook to what is learned from them, by crop, method and milestone. Pure.

What one lot tells stands in `told`. What potting settled is told by the sum of the intervals up to it (`sums`). A lot
that died or was given up says nothing of days: it tells of the share that roots.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import lru_cache
from math import exp, inf, log, sqrt
from statistics import NormalDist

from almanac.alike import gathered
from almanac.forecast.durations import EVERY
from almanac.forecast.interval import (
    is_act,
    way_to_potting,
)
from almanac.forecast.learning import Learned, learn_spread
from almanac.forecast.model import Experience, Milestone, Surroundings
from almanac.forecast.outcomes import outcomes
from almanac.forecast.striking import Striking
from almanac.forecast.sums import Part, Sum, part
from almanac.forecast.timing import Timing
from almanac.forecast.told import Leap, leaps, said_of, timed
from almanac.nursery.lots import Lot, Stock
from almanac.nursery.nursery import Nursery
from almanac.plain import dataclass, replace
from almanac.rulebook.book import Rulebook
from almanac.rulebook.models import Duration

_HABIT = 3  # lots potted that it takes to know what a grower passes over
_TEACH, _TEACH_OF_VARIETY = 1_000, 10  # lots that are over, of a crop by a method, and of a variety at least
_NINETY = NormalDist().inv_cdf(0.9)


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
    old: set[str] = set()
    for over in gathered(((lot.crop, lot.method), lot) for lot in lots if lot.closed).values():
        if len(over) > _TEACH:
            of_variety: Counter[str] = Counter()
            for place, lot in enumerate(sorted(over, key=lambda lot: (lot.first_stuck_on, lot.id), reverse=True)):
                of_variety[lot.number] += 1
                if place >= _TEACH and of_variety[lot.number] > _TEACH_OF_VARIETY:
                    old.add(lot.id)
    return [lot for lot in lots if lot.id not in old] if old else lots


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

    timings: Mapping[_Key, tuple[Duration, Sequence[Timing]]]
    given_up: Mapping[_Key, int]
    leaps: Mapping[tuple[str, str, str, str], Sequence[Leap]]
    whole: Mapping[tuple[str, str], Sequence[Leap]]


def _told(lots: Iterable[Lot], around: Surroundings) -> _Told:
    timings: dict[_Key, tuple[Duration, list[Timing]]] = {}
    given_up: Counter[_Key] = Counter()
    stretches: dict[tuple[str, str, str, str], list[Leap]] = {}
    whole: dict[tuple[str, str], list[Leap]] = {}
    for lot in lots:
        crop, method, found = lot.crop, lot.method, said_of(lot, around)
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
            alone[crop, method, item.name] = one.shared(number, alone.get((crop, method, item.name)))
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
