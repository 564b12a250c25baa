"""How many places are taken on each day: the sum of stays that begin, end and number by chance. Pure.

Lots are taken as independent of one another; a lot moves as a whole.

A forecast move is a split normal through its three days: it needs no day to count from and meets days that frost or the
end of the week made one. Of a lot's bags so many are potted as strike (a Beta). What suffices nine times in ten is
exact by convolution where few lots are in doubt, else from three moments; `tests/unit/test_demand.py` holds one against
the other and against drawn seasons. Frost moves all lots alike, so room outside is less sure than it says.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import field
from datetime import date
from itertools import accumulate
from math import ceil, sqrt
from statistics import NormalDist

from almanac.forecast.shares import beta_binomial
from almanac.plain import dataclass
from almanac.worked_out import WorkedOut

NOT_EXCEEDED = 0.9
_WORK = 12_000  # multiplications a day up to which a sum is worked out exactly; more parts are near enough a normal
_NORMAL = NormalDist()
_SCORE = _NORMAL.inv_cdf(NOT_EXCEEDED)
_HARDLY = 1e-12  # a share so near none, or all, is taken for that
_ROUNDING = 1e-9  # of a sum of chances, so that a chance of just 90 % counts as that
_REACH = 3.0  # spreads beyond which a move counts as sure: one in 700


@dataclass(frozen=True, kw_only=True)
class Move:
    """A move on a day not yet known: a split normal through its 10, 50 and 90 % days, and never before a day.

    A forecast has no day to count from that a log-normal would need; each half with a spread of its own meets all
    three days, also where frost or the end of the week makes two of them one (Wallis 2014, Statistical Science
    29:106-112, on the two-piece normal). Days are ordinals.
    """

    early: int
    likely: int
    late: int
    not_before: int
    first: int = field(init=False)
    full: int = field(init=False)

    def __post_init__(self) -> None:
        before, after = ((self.likely - self.early) / _SCORE, (self.late - self.likely) / _SCORE)
        object.__setattr__(self, "first", max(self.likely - int(_REACH * before), self.not_before))
        object.__setattr__(self, "full", max(self.likely + ceil(_REACH * after), self.not_before))

    @classmethod
    def on(cls, day: int) -> Move:
        """A move whose day is known."""
        return cls(early=day, likely=day, late=day, not_before=day)

    def chance_by(self, day: int) -> float:
        """The chance that it has come by the end of a day."""
        if day < self.first:
            return 0.0
        if day >= self.full:
            return 1.0
        spread = self.late - self.likely if day >= self.likely else self.likely - self.early
        return _NORMAL.cdf((day - self.likely) * _SCORE / spread)  # never 0: then the day would be first or full


@dataclass(frozen=True, kw_only=True)
class Number:
    """How many of `most` there will be: `surely` of them, and of the rest a share that is itself drawn from a Beta.

    Lots differ in their luck, so the number is beta-binomial; `share` is the Beta's mean, `concentration` the sum of
    its two parameters.
    """

    most: int
    surely: int = 0
    share: float = 1.0
    concentration: float = 1.0

    @property
    def certain(self) -> bool:
        """Whether all of them will be there."""
        return self.share > 1 - _HARDLY or self.surely >= self.most

    def moments(self) -> tuple[float, float, float]:
        """The means of the number, its square and its cube."""
        rest, total = self.most - self.surely, self.concentration
        if self.certain:
            return float(self.most), float(self.most**2), float(self.most**3)
        falling = [1.0]  # of the number, of it times itself less one, and so on: the beta-binomial's factorial moments
        for k in range(3):
            falling.append(falling[k] * (rest - k) * (self.share * total + k) / (total + k))
        one, two, three = falling[1], falling[2] + falling[1], falling[3] + 3 * falling[2] + falling[1]
        sure = self.surely
        return sure + one, sure**2 + 2 * sure * one + two, sure**3 + 3 * sure**2 * one + 3 * sure * two + three

    def chances(self) -> tuple[float, ...]:
        """The chance of each number from 0 to the most."""
        rest = self.most - self.surely
        if self.certain:
            return (*(0.0,) * self.most, 1.0)
        if self.share < _HARDLY:
            return (*(0.0,) * self.surely, 1.0, *(0.0,) * rest)
        return (*(0.0,) * self.surely, *beta_binomial(rest, self.share, self.concentration))


@dataclass(frozen=True, kw_only=True)
class Stay:
    """Cuttings of a lot, or of a lot to come, that take places from one move until another.

    `comes` None: there already; `goes` None: as long as can be said. `planned` is the row that plans the lot to come;
    `potted` says that it comes in pots that it has, not to be potted up.
    """

    lot: str
    number: Number
    comes: Move | None = None
    goes: Move | None = None
    planned: str = ""
    potted: bool = False

    def chance(self, day: int) -> float:
        """The chance that it is there on a day: it has come and not gone, and it never goes before it comes."""
        come = self.comes.chance_by(day) if self.comes else 1.0
        return max(come - (self.goes.chance_by(day) if self.goes else 0.0), 0.0)


class Demand:
    """The places taken in one place on each day of a stretch. Linear in stays and days."""

    def __init__(self, *, first: int, days: int, stays: Sequence[Stay]) -> None:
        self.first, self.days, self.stays = first, days, tuple(stays)
        self._steps = [0] * (days + 1)  # of what is sure: how it changes from day to day
        self._doubt: list[list[Stay]] = [[] for _ in range(days)]
        self._moments = [[0.0] * days for _ in range(3)]  # mean, variance, third central moment of what is not
        self._suffices: WorkedOut[int, int] = WorkedOut()
        self._numbers: WorkedOut[Number, tuple[float, ...]] = WorkedOut()  # a stay is in doubt on many days
        for stay in self.stays:
            self._add(stay)
        self._sure = list(accumulate(self._steps[:days]))

    def only(self, holds: Callable[[Stay], bool]) -> Demand:
        """The same of some stays alone."""
        return Demand(first=self.first, days=self.days, stays=[stay for stay in self.stays if holds(stay)])

    def _add(self, stay: Stay) -> None:
        begin, here = (stay.comes.first, stay.comes.full) if stay.comes else (self.first, self.first)
        leaving, gone = (stay.goes.first, stay.goes.full) if stay.goes else (self.first + self.days,) * 2
        begin, here, leaving, gone = (min(max(day - self.first, 0), self.days) for day in (begin, here, leaving, gone))
        if stay.number.certain and here < leaving:
            self._steps[here] += stay.number.most
            self._steps[leaving] -= stay.number.most
            doubtful = [*range(begin, here), *range(leaving, gone)]
        else:
            doubtful = [*range(begin, gone)]
        one, two, three = stay.number.moments()
        means, variances, thirds = self._moments
        for number in doubtful:
            chance = stay.chance(self.first + number)
            if chance <= 0:
                continue
            mean = chance * one
            means[number] += mean
            variances[number] += chance * two - mean * mean
            thirds[number] += chance * three - 3 * mean * chance * two + 2 * mean**3
            self._doubt[number].append(stay)

    def expected(self, day: date) -> float:
        """How many places are taken in the mean."""
        number = day.toordinal() - self.first
        return self._sure[number] + self._moments[0][number]

    def most(self, day: date) -> int:
        """How many can be taken at all."""
        number = day.toordinal() - self.first
        return self._sure[number] + sum(stay.number.most for stay in self._doubt[number])

    def up_to(self, day: date) -> int:
        """The fewest places that suffice with a chance of 90 %."""
        number = day.toordinal() - self.first
        return self._suffices.of(number, lambda: self._up_to(day, number))

    def _up_to(self, day: date, number: int) -> int:
        doubt, sure, most = self._doubt[number], self._sure[number], self.most(day)
        if sum(2 if stay.number.certain else stay.number.most for stay in doubt) * (most - sure) < 2 * _WORK:
            return sure + quantile(
                [(stay.chance(day.toordinal()), self._numbers.of(stay.number, stay.number.chances)) for stay in doubt]
            )
        return min(sure + near_quantile(*(moment[number] for moment in self._moments)), most)


def quantile(parts: Sequence[tuple[float, tuple[float, ...]]]) -> int:
    """The 90 % point of a sum of counts, each there with a chance."""
    sums = [1.0]
    for chance, (none, *some) in parts:
        sums = added(sums, (chance * none + (1 - chance), *(chance * each for each in some)))
    return next((k for k, within in enumerate(accumulate(sums)) if within >= NOT_EXCEEDED - _ROUNDING), len(sums) - 1)


def added(sums: Sequence[float], chances: Sequence[float]) -> list[float]:
    """The chances of each sum of two numbers, by those of the numbers from 0 on: by convolution, exact."""
    longer = [0.0] * (len(sums) + len(chances) - 1)
    for k, weight in enumerate(chances):
        if weight > 0:
            for place, before in enumerate(sums, k):
                longer[place] += weight * before
    return longer


def near_quantile(mean: float, variance: float, third: float) -> int:
    """The same from three moments: normal with the first term of Cornish and Fisher for skew, to the whole place.

    Cornish & Fisher 1938, Revue de l'Institut International de Statistique 5:307-320; half a place for continuity.
    """
    spread = sqrt(max(variance, 0.0))
    skew = third / spread**3 if spread else 0.0
    return max(ceil(mean + spread * (_SCORE + (_SCORE**2 - 1) * skew / 6) - 0.5), 0)
