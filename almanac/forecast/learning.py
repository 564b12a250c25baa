"""What the grower's own lots say of one interval: from their timings to what is believed of each lot. Pure.

A lot's offset from the rule, in the logarithm of counted days, is the grower's own plus the variety's plus the lot's,
each normal with the spread the rule gives. Where a lot tells its offset with a normal error (one cutting, seen on its
day) all is closed-form. Where it does not (the first of many, a sign between two looks, a lot still waiting) the normal
stands in that has the same mean and variance beside what all others say: expectation propagation (Minka 2001,
Uncertainty in Artificial Intelligence 17:362-369), which on log-concave likelihoods has one answer at each step.

How far lots, varieties and cuttings differ is learned as one factor on the rule's spreads, by how far each lot lies
from what the others say, in predictive spreads; the rule counts like so many lots, and the factor is bounded.

Instead of sampling: the same logbook must give the same calendar. Instead of a plain mean: a first root of 24 cuttings,
a sign between two looks and a lot still waiting all say something, each as it is. `tests/outside/test_learning.py`
holds it against an exact grid: a thousandth of a spread off in usual logbooks; where nothing has shown yet, the
grower's spread comes out up to 4 % too narrow after eight lots and 10 % after sixty. A lot never learns from itself
twice: its forecast starts from what all others say, and is then conditioned on its own looks.

Effects of a bin or of a season are left out: off-dial bins then hold 79 to 81 % of first roots, so nothing near two
points is to be had, and of seasons eight lots tell too little. Signs dated late cannot be told from slow lots: the band
of a grower who dates all three days late holds 60 to 70 % of first roots. `tests/outside/simulate_growers.py` draws
growers of five habits from a truth unlike the model and prints how each fares.

A finished lot far off is held out and named, as more often a slip of the pen than a wonder; but the rule alone may not
fit a grower, so it alone doubts nobody. The wildest goes first: a slip makes good lots beside it look wild too.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import field
from math import hypot, sqrt

from almanac.forecast.durations import EVERY, Normal
from almanac.forecast.timing import Timing, Word
from almanac.plain import dataclass, replace
from almanac.rulebook.models import Duration

_WILD = 2.5  # predictive spreads from which a finished lot is held out of learning: more likely a slip of the pen
_WITNESSES = 3  # other finished lots that it takes to doubt one: the rule alone may not fit this grower
_AT_ONCE = 0.05  # of the lots: the wildest may be what makes others look wild, so few are held out at a time
_SWEEPS = 30
_RULE_COUNTS = 3.0  # lots that the rule's spreads count like, beside the grower's own
_NARROWEST, _WIDEST = 0.9, 2.2  # times the rule's spreads, whatever lots show
_FARTHEST = 3.0  # predictive spreads that one lot may count, or a single slip would widen every forecast
_REFITS, _SAME_SPREAD = 12, 0.005
_HEARD_THE_SAME, _HEARD_ANEW = 1.15, 1.3  # times as wide: below the first each lot says as good as the same
_STILL = 1e-2  # of a spread: where what others say of a lot moves less, its own word has been heard
Said = tuple[float, float]  # what is said of an offset, as a normal: precision, and precision times mean
_NOTHING: Said = (0.0, 0.0)


@dataclass(frozen=True, kw_only=True)
class Learned:
    """What is believed of the offsets of one interval.

    Args:
        grower: of the grower
        varieties: of the next lot of each variety met, how far lots differ included
        lots: of each lot, by all but its own word
        other: of a lot of a variety not met yet
        held_out: finished lots too far off to be believed, and by how many predictive spreads
        finished, waiting: how many lots say so much
        potted: how many lots tell of it by their potting alone
        unlooked: of the finished, how many were seen with no look logged shortly before: they say little
        given_up: how many lots ended without it, and say nothing of its days
        wider: how many times as far lots and varieties differ as by the rule
        cuttings: how many times as far cuttings of a lot do, as their lots were heard by: 1 where it hardly matters
    """

    grower: Normal
    varieties: Mapping[str, Normal]
    lots: Mapping[str, Normal]
    other: Normal
    held_out: Mapping[str, float] = field(default_factory=dict)
    finished: int = 0
    waiting: int = 0
    potted: int = 0
    unlooked: int = 0
    given_up: int = 0
    wider: float = 1.0
    cuttings: float = 1.0

    def offset(self, lot: str, variety: str) -> Normal:
        """Of a lot, before its own word."""
        return self.lots.get(lot) or self.varieties.get(variety) or self.other


def learn(timings: Sequence[Timing], rule: Duration) -> Learned:
    """What timings of one crop, method and milestone say, beginning from the rule.

    Args:
        timings: one a lot
        rule: its spreads hold; its median is what the timings are told against
    """
    return _fitted(timings, rule).learned()


def learn_spread(timings: Sequence[Timing], rule: Duration) -> Learned:
    """The same, with the spreads of the rule widened or narrowed by what the lots show, if two or more do.

    A lot too far off for even the widened spreads is a slip, and says nothing of the spread either.
    """
    if sum(timing.finished for timing in timings) < 2:
        return learn(timings, rule)
    tree = _fitted(timings, rule)
    wider = _spread_of(tree, rule, frozenset())
    slips = frozenset(number for number in tree.out if abs(tree.off(number)) > _WILD)
    if slips:
        wider = _spread_of(tree, rule, slips)
    cuttings = _heard_by(wider)
    if cuttings != 1.0 or slips != tree.out:
        tree = _fitted(timings, _widened(rule, wider, cuttings=cuttings))
    return replace(tree.learned(), wider=wider, cuttings=cuttings)


def _heard_by(wider: float) -> float:
    """How many times as far as by the rule cuttings of a lot are heard to differ, where lots differ by so much.

    Lots have to be heard anew for it, which takes as long again, and hardly matters for a little. What is between a
    little and much goes over without a leap: one look more must not throw a date by a day.
    """
    full = min(max((wider - _HEARD_THE_SAME) / (_HEARD_ANEW - _HEARD_THE_SAME), 0.0), 1.0)
    return 1 + full * (wider - 1)


def _spread_of(tree: _Tree, rule: Duration, slips: frozenset[int]) -> float:
    """How many times as far as by the rule lots differ; leaves the tree put together by that."""
    wider = 1.0
    for _ in range(_REFITS):
        tree.widen(_widened(rule, wider, cuttings=wider))  # what each lot said hardly depends on it
        off, weight = tree.differ(slips)
        wanted = sqrt((_RULE_COUNTS + off * wider**2) / (_RULE_COUNTS + weight))
        wanted = min(max(wanted, _NARROWEST), _WIDEST)
        if abs(wanted / wider - 1) < _SAME_SPREAD:
            break
        wider = wanted
    tree.widen(_widened(rule, wider, cuttings=wider))
    return wider


def _widened(rule: Duration, wider: float, *, cuttings: float) -> Duration:
    """A rule with lots and varieties so many times as far apart, and cuttings; growers as before."""
    return replace(
        rule,
        spread=rule.spread * cuttings,
        between_lots=rule.between_lots * wider,
        between_varieties=rule.between_varieties * wider,
    )


def _fitted(timings: Sequence[Timing], rule: Duration) -> _Tree:
    tree = _Tree(timings, rule)
    out: set[int] = set()
    tree.fit(out)
    while wild := tree.wild(out):
        out |= wild
        tree.fit(out)
    after_all = {number for number in out if abs(tree.off(number)) <= _WILD}  # another made it look wild
    if after_all:
        tree.fit(out - after_all)
    return tree


class _Tree:
    """Grower, varieties and lots, and what is said of each."""

    def __init__(self, timings: Sequence[Timing], rule: Duration) -> None:
        self.timings = timings
        self._spread(rule)
        # Those that may have come long before they were seen are heard as if seen at once, and then anew beside what
        # the others say: many that agree bear one another out, and one alone is doubted.
        heard: dict[tuple[object, ...], Word] = {}
        at_once = (replace(timing, at_most=None) if timing.at_most else timing for timing in timings)
        self.words = [_word(timing, rule.spread, heard) for timing in at_once]
        self.doubted = {n: _word(each, rule.spread, heard) for n, each in enumerate(timings) if each.at_most}
        self.said: list[Said] = [_NOTHING] * len(timings)  # of each lot by its own word
        self.by_lots = {timing.variety: _NOTHING for timing in timings}  # of each variety by its lots
        self.by_all = _NOTHING  # of the grower by all varieties
        self.by_others: dict[str | None, Normal] = {}  # each variety's offset by all others, until a lot is heard
        self.heard_beside: list[Normal | None] = [None] * len(timings)
        self.out: set[int] = set()

    def _spread(self, rule: Duration) -> None:
        self.within = rule.spread
        self.grower_var, self.variety_var, self.lot_var = (
            spread**2 for spread in (rule.between_growers, rule.between_varieties, rule.between_lots)
        )

    def widen(self, rule: Duration) -> None:
        """Put the same words together by the spreads of another rule, without hearing any of them anew."""
        said, self.said = self.said, [_NOTHING] * len(self.timings)
        self.by_lots, self.by_all = dict.fromkeys(self.by_lots, _NOTHING), _NOTHING
        self._spread(rule)
        for number, each in enumerate(said):
            self._hear(number, each)

    def fit(self, out: set[int]) -> None:
        """Hear every lot but those held out, until nothing moves."""
        for number in out - self.out:
            self._hear(number, _NOTHING)
            self.heard_beside[number] = None
        self.out = set(out)
        self._sweep()
        if self.doubted:
            for number, word in self.doubted.items():
                self.words[number], self.heard_beside[number] = word, None
            self.doubted = {}
            self._sweep()

    def _sweep(self) -> None:
        listened = [number for number in range(len(self.timings)) if number not in self.out]
        for _ in range(_SWEEPS):
            if not sum(map(self._listen, listened)):  # a sum, so that each is asked
                return

    def _listen(self, number: int) -> bool:
        """Hear a lot anew, if what others say of it has moved since; whether it has."""
        heard = self.heard_beside[number]
        if heard and self.words[number].closed_form:
            return False  # it says the same beside anything
        before = self.without(number)
        if heard and _alike(before, heard):
            return False
        self._hear(number, self._word(number, before))
        self.heard_beside[number] = before
        return True

    def _word(self, number: int, before: Normal) -> Said:
        """A lot's word, as the normal that does the same to what all others say."""
        plain = self.words[number].closed_form
        if plain:
            return 1 / plain.var, plain.mean / plain.var
        after = self.words[number].heard(before)
        precision = 1 / after.var - 1 / before.var
        return (precision, after.mean / after.var - before.mean / before.var) if precision > 0 else _NOTHING

    def _hear(self, number: int, said: Said) -> None:
        variety = self.timings[number].variety
        old_lots = self.by_lots[variety]
        lots = _plus(_less(old_lots, _upward(self.said[number], self.lot_var)), _upward(said, self.lot_var))
        others = _less(self.by_all, _upward(old_lots, self.variety_var))
        self.by_all = _plus(others, _upward(lots, self.variety_var))
        self.by_lots[variety], self.said[number] = lots, said
        self.by_others.clear()

    def _variety(self, variety: str | None) -> Normal:
        """A variety's offset by what all other varieties say; of one never met (None) by all."""
        if variety not in self.by_others:
            own = _upward(self.by_lots[variety], self.variety_var) if variety is not None else _NOTHING
            self.by_others[variety] = _beside(self.grower_var, 0.0, self.by_all, own, self.variety_var)
        return self.by_others[variety]

    def without(self, number: int) -> Normal:
        """A lot's offset by what all other lots say."""
        variety = self.timings[number].variety
        others, own = self._variety(variety), _upward(self.said[number], self.lot_var)
        return _beside(others.var, others.mean, self.by_lots[variety], own, self.lot_var)

    def off(self, number: int) -> float:
        """How far a finished lot lies from what all others say, in predictive spreads."""
        return self._off(number, self.without(number)) if self.timings[number].finished else 0.0

    def _off(self, number: int, before: Normal) -> float:
        timing = self.timings[number]
        if timing.rooting != EVERY and not timing.share and not timing.at_most:
            # A first root months late could be a lone laggard of a lot that died: beside what lots of that size do it
            # is a wonder all the same.
            return (timing.middle - before.mean - self.within * timing.standing[0]) / hypot(
                sqrt(before.var), self.within * timing.standing[1]
            )
        precision, weighted = self._word(number, before) if number in self.out else self.said[number]
        return (weighted / precision - before.mean) / sqrt(before.var + 1 / precision) if precision > 0 else 0.0

    def differ(self, slips: frozenset[int]) -> tuple[float, float]:
        """How far finished lots lie from what all others say: squares of predictive spreads, and how much each tells.

        A lot that says little of its own offset lies near whatever the others say, so it counts for little; slips of
        the pen count for nothing.
        """
        off = weight = 0.0
        for number, timing in enumerate(self.timings):
            if timing.finished and number not in slips:
                before = self.without(number)
                precision = (self._word(number, before) if number in self.out else self.said[number])[0]
                tells = before.var * precision / (1 + before.var * precision)
                off += tells * min(self._off(number, before) ** 2, _FARTHEST**2)
                weight += tells
        return off, weight

    def wild(self, out: set[int]) -> set[int]:
        """The wildest of the lots not held out yet, one, or a few of many; none where all can be believed."""
        believed = [number for number, timing in enumerate(self.timings) if timing.finished and number not in out]
        if len(believed) <= _WITNESSES:
            return set()
        far = {number: abs(self.off(number)) for number in believed}
        wild = sorted((number for number in far if far[number] > _WILD), key=far.__getitem__, reverse=True)
        return set(wild[: max(1, int(len(far) * _AT_ONCE))])

    def learned(self) -> Learned:
        """What is believed now."""
        varieties = {name: _blend(self._variety(name), said) for name, said in self.by_lots.items()}
        other = self._variety(None)
        waiting = sum(not timing.finished for timing in self.timings)
        return Learned(
            grower=_blend(Normal(mean=0.0, var=self.grower_var), self.by_all),
            varieties={name: Normal(mean=each.mean, var=each.var + self.lot_var) for name, each in varieties.items()},
            lots={timing.lot: self.without(number) for number, timing in enumerate(self.timings)},
            other=Normal(mean=other.mean, var=other.var + self.lot_var),
            held_out={self.timings[number].lot: self.off(number) for number in sorted(self.out)},
            finished=len(self.timings) - waiting - len(self.out),
            waiting=waiting,
        )


def _word(timing: Timing, within: float, heard: dict[tuple[object, ...], Word]) -> Word:
    """A lot's word: that of another lot of which the same was seen, if there is one."""
    if timing.seen not in heard:
        heard[timing.seen] = Word(timing, within)
    return heard[timing.seen]


def _alike(a: Normal, b: Normal) -> bool:
    return abs(a.mean - b.mean) < _STILL * sqrt(a.var) and abs(a.var - b.var) < _STILL * a.var


def _upward(said: Said, var: float) -> Said:
    """What is said of an offset, as said of the one it differs from by a variance."""
    share = 1 + said[0] * var
    return said[0] / share, said[1] / share


def _plus(a: Said, b: Said) -> Said:
    return a[0] + b[0], a[1] + b[1]


def _less(a: Said, b: Said) -> Said:
    precision = a[0] - b[0]
    return precision if precision > 0 else 0.0, a[1] - b[1]


def _beside(var: float, mean: float, said: Said, own: Said, apart: float) -> Normal:
    """A normal after what is said of it less its own part, and how far one more lies from that, by a variance.

    The same as `_blend` of `_less`, widened; written out, as most of the time is spent here.
    """
    precision, weighted = said[0] - own[0], said[1] - own[1]
    if precision < 0:
        precision = 0.0
    share = 1 + var * precision
    return Normal(mean=(mean + var * weighted) / share, var=var / share + apart)


def _blend(before: Normal, said: Said) -> Normal:
    """A normal after what is said of it; a variance of 0 stays as it is."""
    share = 1 + before.var * said[0]
    return Normal(mean=(before.mean + before.var * said[1]) / share, var=before.var / share)
