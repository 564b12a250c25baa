"""What the grower's own lots say of one interval: from their timings to what is believed of each lot. Pure.

A lot's offset from the rule, in the logarithm of counted days, is the grower's own plus the variety's plus the lot's,
each normal with the spread the rule gives. Where a lot tells its offset with a normal error (one cutting, seen on its
day) all is closed-form. Where it does not (the first of many, a sign between two looks, a lot still waiting) the normal
stands in that has the same mean and variance beside what all others say: expectation propagation (Minka 2001,
Uncertainty in Artificial Intelligence 17:362-369), which on log-concave likelihoods has one answer at each step.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from math import sqrt

from almanac.forecast.durations import Normal
from almanac.forecast.timing import Timing, Word
from almanac.rulebook.models import Duration

_WILD = 2.5  # predictive spreads from which a finished lot is held out of learning: more likely a slip of the pen
_WITNESSES = 3  # other finished lots that it takes to doubt one: the rule alone may not fit this grower
_AT_ONCE = 0.05  # of the lots: the wildest may be what makes others look wild, so few are held out at a time
_SWEEPS = 30
_STILL = 1e-2  # of a spread: where what others say of a lot moves less, its own word has been heard
Said = tuple[float, float]  # what is said of an offset, as a normal: precision, and precision times mean
_NOTHING: Said = (0.0, 0.0)


@dataclass(frozen=True)
class Learned:
    """What is believed of the offsets of one interval.

    Args:
        grower: of the grower
        varieties: of the next lot of each variety met, how far lots differ included
        lots: of each lot, by all but its own word
        other: of a lot of a variety not met yet
        held_out: finished lots too far off to be believed, and by how many predictive spreads
        finished, waiting: how many lots say so much
    """

    grower: Normal
    varieties: Mapping[str, Normal]
    lots: Mapping[str, Normal]
    other: Normal
    held_out: Mapping[str, float] = field(default_factory=dict)
    finished: int = 0
    waiting: int = 0

    def offset(self, lot: str, variety: str) -> Normal:
        """Of a lot, before its own word."""
        return self.lots.get(lot) or self.varieties.get(variety) or self.other


def learn(timings: Sequence[Timing], rule: Duration) -> Learned:
    """What timings of one crop, method and milestone say, beginning from the rule.

    Args:
        timings: one a lot
        rule: its spreads hold; its median is what the timings are told against
    """
    tree = _Tree(timings, rule)
    out: set[int] = set()
    tree.fit(out)
    while wild := tree.wild(out):
        out |= wild
        tree.fit(out)
    after_all = {number for number in out if abs(tree.off(number)) <= _WILD}  # another made it look wild
    if after_all:
        tree.fit(out - after_all)
    return tree.learned()


class _Tree:
    """Grower, varieties and lots, and what is said of each."""

    def __init__(self, timings: Sequence[Timing], rule: Duration) -> None:
        self.timings = timings
        self.grower_var, self.variety_var, self.lot_var = (
            spread**2 for spread in (rule.between_growers, rule.between_varieties, rule.between_lots)
        )
        self.words = [Word(timing, rule.spread) for timing in timings]
        self.said: list[Said] = [_NOTHING] * len(timings)  # of each lot by its own word
        self.by_lots = {timing.variety: _NOTHING for timing in timings}  # of each variety by its lots
        self.by_all = _NOTHING  # of the grower by all varieties
        self.by_others: dict[str | None, Normal] = {}  # each variety's offset by all others, until a lot is heard
        self.heard_beside: list[Normal | None] = [None] * len(timings)
        self.out: set[int] = set()

    def fit(self, out: set[int]) -> None:
        """Hear every lot but those held out, until nothing moves."""
        for number in out - self.out:
            self._hear(number, _NOTHING)
            self.heard_beside[number] = None
        self.out = set(out)
        listened = [number for number in range(len(self.timings)) if number not in out]
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
            self.by_others[variety] = self._by_others(variety)
        return self.by_others[variety]

    def _by_others(self, variety: str | None) -> Normal:
        own = _upward(self.by_lots[variety], self.variety_var) if variety is not None else _NOTHING
        grower = _blend(Normal(0.0, self.grower_var), _less(self.by_all, own))
        return Normal(grower.mean, grower.var + self.variety_var)

    def without(self, number: int) -> Normal:
        """A lot's offset by what all other lots say."""
        variety = self.timings[number].variety
        own = _upward(self.said[number], self.lot_var)
        offset = _blend(self._variety(variety), _less(self.by_lots[variety], own))
        return Normal(offset.mean, offset.var + self.lot_var)

    def off(self, number: int) -> float:
        """How far a finished lot lies from what all others say, in predictive spreads."""
        if not self.timings[number].finished:
            return 0.0
        before = self.without(number)
        precision, weighted = self._word(number, before) if number in self.out else self.said[number]
        return (weighted / precision - before.mean) / sqrt(before.var + 1 / precision) if precision > 0 else 0.0

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
            _blend(Normal(0.0, self.grower_var), self.by_all),
            {name: Normal(each.mean, each.var + self.lot_var) for name, each in varieties.items()},
            {timing.lot: self.without(number) for number, timing in enumerate(self.timings)},
            Normal(other.mean, other.var + self.lot_var),
            {self.timings[number].lot: self.off(number) for number in sorted(self.out)},
            len(self.timings) - waiting - len(self.out),
            waiting,
        )


def _alike(a: Normal, b: Normal) -> bool:
    return abs(a.mean - b.mean) < _STILL * sqrt(a.var) and abs(a.var - b.var) < _STILL * a.var


def _upward(said: Said, var: float) -> Said:
    """What is said of an offset, as said of the one it differs from by a variance."""
    return said[0] / (1 + said[0] * var), said[1] / (1 + said[0] * var)


def _plus(a: Said, b: Said) -> Said:
    return a[0] + b[0], a[1] + b[1]


def _less(a: Said, b: Said) -> Said:
    return max(a[0] - b[0], 0.0), a[1] - b[1]


def _blend(before: Normal, said: Said) -> Normal:
    """A normal after what is said of it; a variance of 0 stays as it is."""
    share = 1 + before.var * said[0]
    return Normal((before.mean + before.var * said[1]) / share, before.var / share)
