"""Strike rate: from what became of cuttings to what is believed of the share that roots, and that finishes. Pure.

The share that finishes is learned as rooted times finished of rooted, each where it settles: good lots that stand in
pots have told by then that they rooted.

The mean share is learned, how far lots differ is not: a dozen lots would say little of the concentration. The prior of
the mean is a Beta with the rule's concentration, so that the rule counts like one big lot; a variety's prior mean is
what the other lots make of the rule's. The posterior is one integral by the trapezoidal rule along the logit, exact to
rounding (`tests/outside/test_strike.py`). What is to come is told by a Beta as wide as lots and the doubt about their
mean make it together (`Rate.in_doubt`), wider where many lots share that doubt.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date
from functools import cached_property
from itertools import groupby
from math import ceil

from almanac.forecast.outcomes import AIMS, Aim, Outcome, Told
from almanac.forecast.shares import Density, Tally, beta, chance_of, concentration_of, density, how_many
from almanac.nursery.lots import lot_order
from almanac.plain import dataclass
from almanac.rulebook.models import Strike

SeasonOf = Callable[[date], date]  # from a day to the first day of its season
LOW, HIGH = 0.10, 0.90  # the ends of an 80 % range
MOST = 10_000  # cuttings in one lot; beyond that no answer is of use
_NEARLY_ALL = 0.995  # a share of all, as the mean of a Beta
_WIDEST_LOT = 0.9  # of the variance of all or nothing: no Beta is taken to be wider


@dataclass(frozen=True, kw_only=True)
class Rate:
    """What is believed of a share: the mean that `prior` and these lots give, and how far single lots lie from it.

    `lots` are the settled outcomes it rests on; `struck` of `of` cuttings in them rooted, or finished. `others` is what
    gave the prior; None: the rule itself. `made_of` are the two shares that one that finishes is the product of.
    """

    prior: float
    concentration: float
    lots: int
    struck: int
    of: int
    density: Density
    others: Rate | None = None
    made_of: tuple[Rate, Rate] | None = None

    @cached_property
    def mean(self) -> float:
        taught = self.lots or (self.made_of and any(part.lots for part in self.made_of))
        return self.density.mean if taught else self.prior

    @cached_property
    def mean_range(self) -> tuple[float, float]:
        """Where the mean of all lots lies, 80 %."""
        return self.density.quantile(LOW), self.density.quantile(HIGH)

    @cached_property
    def next_range(self) -> tuple[float, float]:
        """Where the share of the next lot lies, 80 %: lots differ, and their mean is itself in doubt."""
        shares = beta(self.mean, self.in_doubt())
        return shares.quantile(LOW), shares.quantile(HIGH)

    def in_doubt(self, lots: float = 1.0) -> float:
        """The concentration of the Beta of a lot to come, the doubt about the mean counted in.

        Of several lots to come all share that doubt: taken as if each had a doubt of its own, so much wider, their sum
        is as wide as it is.
        """
        return in_doubt(self.mean, self.concentration, self.density.variance, lots)


def in_doubt(mean: float, concentration: float, variance: float, lots: float = 1.0) -> float:
    """The concentration of one of so many Betas whose mean, the same for all, is known but for a variance."""
    spread = mean * (1 - mean)
    single = (spread - variance) / (concentration + 1)
    return concentration_of(mean, min(single + lots * variance, _WIDEST_LOT * spread))


def _rate(prior: float | Rate, concentration: float, seen: Tally) -> Rate:
    mean, others = (prior.mean, prior) if isinstance(prior, Rate) else (prior, None)
    return Rate(
        prior=mean,
        concentration=concentration,
        lots=seen.lots,
        struck=seen.struck,
        of=seen.cuttings,
        density=density(mean, concentration, seen),
        others=others,
    )


def _product(one: Rate, other: Rate) -> tuple[float, Density]:
    """Of a product of two shares: how far lots differ as a concentration, and what is believed of its mean."""

    def variance(a: float, b: float) -> float:
        """Of a product of two that are independent."""
        return a * b + a * other.mean**2 + b * one.mean**2

    mean = one.mean * other.mean
    lots = variance(*(each.mean * (1 - each.mean) / (each.concentration + 1) for each in (one, other)))
    doubt = variance(one.density.variance, other.density.variance)
    return concentration_of(mean, lots), beta(mean, concentration_of(mean, doubt))


@dataclass(frozen=True, kw_only=True)
class RatePart:
    """What a rate is of: a crop and method (every method where that is empty), or a variety's or a season's part of it.

    `season` is the first day of the freeze year in which its lots were stuck.
    """

    crop: str
    method: str
    number: str = ""
    season: date | None = None

    @property
    def whole(self) -> RatePart:
        return RatePart(crop=self.crop, method=self.method)

    def holds(self, found: Outcome, season_of: SeasonOf) -> bool:
        return (
            found.crop == self.crop
            and self.method in ("", found.method)
            and self.number in ("", found.number)
            and self.season in (None, season_of(found.stuck_on))
        )


Rates = Mapping[RatePart, Mapping[Aim, Rate]]  # of each part the share that roots and that finishes


def rates(part: RatePart, known: Iterable[Outcome], rule: Strike, season_of: SeasonOf) -> dict[Aim, Rate]:
    """The rates of a part, as rooted and as finished.

    A crop's prior is the rule's; a variety's or a season's is what the other lots of its crop and method make of that.
    """
    own: list[Outcome] = []
    rest: list[Outcome] = []
    for each in known:
        if part.whole.holds(each, season_of):
            (own if part.holds(each, season_of) else rest).append(each)
    others = Shares(Told.by(rest), rule) if part != part.whole else None
    found = Shares(Told.by(own), rule, others)
    return {aim: found.of(aim) for aim in AIMS}


class Shares:
    """The rates of a part by what is told of it, beginning from the rule or from what others make of it."""

    def __init__(self, told: Told, rule: Strike, others: Shares | None = None) -> None:
        self._told, self._rule, self._others = told, rule, others

    def of(self, aim: Aim) -> Rate:
        return self.rooted if aim == "rooted" else self.finished

    @cached_property
    def rooted(self) -> Rate:
        """The share that roots."""
        prior = self._others.rooted if self._others else self._rule.rooted
        return _rate(prior, self._rule.concentration, self._told.rooted)

    @cached_property
    def through(self) -> Rate:
        """Of those that root, as many as come through the pots."""
        rule = self._rule
        prior = self._others.through if self._others else min(rule.finished / rule.rooted, _NEARLY_ALL)
        return _rate(prior, rule.concentration, self._told.through)

    @cached_property
    def finished(self) -> Rate:
        """The share that finishes: both together."""
        others, told = self._others.finished if self._others else None, self._told.finished
        concentration, density_of_both = _product(self.rooted, self.through)
        return Rate(
            prior=others.mean if others else self._rule.finished,
            concentration=concentration,
            lots=told.lots,
            struck=told.struck,
            of=told.cuttings,
            density=density_of_both,
            others=others,
            made_of=(self.rooted, self.through),
        )


def parts(known: Iterable[Outcome], season_of: SeasonOf) -> list[RatePart]:
    """Every part that has outcomes: crop by crop, method by method, then the varieties and seasons in that."""
    found: list[RatePart] = []
    for crop, of_crop in groupby(sorted(known, key=lambda o: (o.crop, o.method)), key=lambda o: o.crop):
        by_method = {method: list(each) for method, each in groupby(of_crop, key=lambda o: o.method)}
        found += [RatePart(crop=crop, method="")] if len(by_method) > 1 else []
        for method, own in by_method.items():
            numbers, seasons = {o.number for o in own}, {season_of(o.stuck_on) for o in own}
            found.append(RatePart(crop=crop, method=method))
            found += [RatePart(crop=crop, method=method, number=number) for number in sorted(numbers, key=lot_order)]
            found += [RatePart(crop=crop, method=method, season=day) for day in sorted(seasons)]
    return found


@dataclass(frozen=True, kw_only=True)
class NumberToStick:
    """How many cuttings to stick as one lot for so many finished plants, and what it rests on.

    `bare` cuttings would give the plants on average, and at least so many with a chance of `bare_chance` only;
    `waiting` are lots of the part that are not settled.
    """

    part: RatePart
    plants: int
    chance: float
    cuttings: int
    rate: Rate
    rule: Strike
    waiting: tuple[str, ...]

    @property
    def bare(self) -> int:
        return ceil(self.plants / self.rate.mean)

    @property
    def bare_chance(self) -> float:
        return chance_of(self.plants, self.bare, self.rate.mean, self.rate.in_doubt())


def sticking(
    part: RatePart, plants: int, chance: float, known: Sequence[Outcome], rule: Strike, season_of: SeasonOf
) -> NumberToStick | None:
    """The fewest cuttings of a part that give so many plants with at least this chance; None: not even `MOST` do."""
    found = rates(part, known, rule, season_of)["finished"]
    cuttings = how_many(plants, chance, found.mean, found.in_doubt(), MOST)
    if cuttings is None:
        return None
    own = (each for each in known if part.holds(each, season_of))
    waiting = tuple(each.lots[0] for each in own if each.of and not each.settled("rooted"))
    return NumberToStick(
        part=part, plants=plants, chance=chance, cuttings=cuttings, rate=found, rule=rule, waiting=waiting
    )
