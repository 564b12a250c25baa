"""Strike rate: from lots to what became of the cuttings stuck, and to the share that roots and that finishes. Pure.

*Rooted* are those potted, *finished* those ready to plant or sell, both of those stuck. Cuttings sold, given, planted
or kept out of the bag leave the sum, and so do those a stocktake missed: nobody knows what would have become of them.

The share that finishes is learned as rooted times finished of rooted, each where it settles: good lots that stand in
pots have told by then that they rooted. Nor does a lot count sooner for being dead: one of which nothing came waits
until a lot stuck on its day or later has come so far, or nothing of its season is undecided any more.

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
from typing import Literal

from almanac.forecast.shares import Density, beta, chance_of, concentration_of, how_many, mean_of_lots
from almanac.nursery.lots import Lot, lot_order
from almanac.plain import dataclass
from almanac.rulebook.models import Strike

Aim = Literal["rooted", "finished"]
AIMS: tuple[Aim, ...] = ("rooted", "finished")
SeasonOf = Callable[[date], date]  # from a day to the first day of its season
LOW, HIGH = 0.10, 0.90  # the ends of an 80 % range
MOST = 10_000  # cuttings in one lot; beyond that no answer is of use
_NEARLY_ALL = 0.995  # a share of all, as the mean of a Beta
_WIDEST_LOT = 0.9  # of the variance of all or nothing: no Beta is taken to be wider

_DEAD = ("died", "discarded")
_ELSEWHERE = ("restuck", "joined", "cut_up")  # moved to a lot where they are counted, or new where they are


@dataclass(frozen=True, kw_only=True)
class Outcome:
    """What became of the cuttings of a lot, those of lots restuck from it and those of lots joined with it.

    Every cutting stuck is in one of `taken` (out of the bag: sold, given, planted, kept), `missing` (at a stocktake),
    `dead` (before it was potted), `rooting` (may still be potted) and `rooted`; of the rooted, `finished` are ready
    to plant or sell and `in_pots` may still be.
    """

    lots: tuple[str, ...]
    number: str
    crop: str
    method: str
    stuck_on: date
    taken: int = 0
    missing: int = 0
    dead: int = 0
    rooting: int = 0
    rooted: int = 0
    in_pots: int = 0
    finished: int = 0

    @property
    def stuck(self) -> int:
        """All that were ever stuck."""
        return self.of + self.taken + self.missing

    @property
    def of(self) -> int:
        """Those in the sum."""
        return self.dead + self.rooting + self.rooted

    def struck(self, aim: Aim) -> int:
        return self.rooted if aim == "rooted" else self.finished

    def settled(self, aim: Aim) -> bool:
        """Whether nothing that is left can change the figure."""
        return self.rooting == 0 and (aim == "rooted" or self.in_pots == 0)


def outcomes(lots: Mapping[str, Lot]) -> tuple[Outcome, ...]:
    """What became of all cuttings ever stuck, lot by lot in bench order.

    Lots that were restuck or joined are told with the first of them that was stuck.
    """
    return tuple(found for family in _families(lots) if (found := _outcome(family)).stuck)


def _families(lots: Mapping[str, Lot]) -> list[list[Lot]]:
    """Lots that share cuttings, the first stuck first."""
    head = {name: name for name in lots}

    def first(name: str) -> str:
        while head[name] != name:
            name = head[name]
        return name

    for lot in sorted(lots.values(), key=lambda lot: (_stuck_on(lot), _letter(lot.id))):
        for kin in (lot.parent, *lot.joined):
            if kin in lots:
                one, other = sorted(
                    (first(kin), first(lot.id)), key=lambda name: (_stuck_on(lots[name]), _letter(name))
                )
                head[other] = one
    found: dict[str, list[Lot]] = {}
    for name, lot in lots.items():
        found.setdefault(first(name), []).append(lot)
    return [sorted(family, key=lambda lot: (lot.id != name, _letter(lot.id))) for name, family in found.items()]


def _letter(lot: str) -> tuple[int, str]:
    """The order of lots of one number by their letters (a … z, aa)."""
    return len(lot), lot


def _stuck_on(lot: Lot) -> date:
    return lot.steps.get("stuck", lot.started)


def _outcome(family: Sequence[Lot]) -> Outcome:
    """Count every cutting once, where it is now or where it left."""
    counts = dict.fromkeys(("taken", "missing", "dead", "rooting", "rooted", "in_pots", "finished"), 0)
    for lot in family:
        for cohort in lot.cohorts:
            reached = lot.reached(cohort)
            if reached:
                counts["rooting"] += cohort.count * (reached == "stuck")
                counts["in_pots"] += cohort.count * (reached == "rooted")
                counts["rooted"] += cohort.count * (reached != "stuck")
                counts["finished"] += cohort.count * (reached == "finished")
        for (what, reached), count in lot.left.items():
            if not reached or what in _ELSEWHERE:
                continue
            if what == "counted":
                counts["missing"] += count
            elif reached == "stuck":
                counts["dead" if what in _DEAD else "taken"] += count
            else:
                counts["rooted"] += count
                counts["finished"] += count * (reached == "finished")
    counts["missing"] = max(counts["missing"], 0)  # found rather than missing: there they are, among the others
    head = family[0]
    names = tuple(lot.id for lot in family)
    return Outcome(
        lots=names, number=head.number, crop=head.crop, method=head.method, stuck_on=_stuck_on(head), **counts
    )


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


def rate(aim: Aim, prior: float | Rate, concentration: float, known: Iterable[Outcome]) -> Rate:
    """What settled outcomes say of a share; an open lot says nothing yet, for it may go either way."""
    mean, others = (prior.mean, prior) if isinstance(prior, Rate) else (prior, None)
    seen = [(found.struck(aim), found.of) for found in _telling(aim, known) if found.of]
    return _rate(mean, concentration, seen, others)


def _rate(mean: float, concentration: float, seen: Sequence[tuple[int, int]], others: Rate | None) -> Rate:
    density = mean_of_lots(mean, concentration, seen)
    return Rate(
        prior=mean,
        concentration=concentration,
        lots=len(seen),
        struck=sum(won for won, _ in seen),
        of=sum(of for _, of in seen),
        density=density,
        others=others,
    )


def _telling(aim: Aim, known: Iterable[Outcome]) -> list[Outcome]:
    """The settled outcomes, but for those that are settled so soon only because nothing came of them."""
    every = list(known)
    settled = [found for found in every if found.settled(aim)]
    came = max((found.stuck_on for found in settled if found.struck(aim)), default=date.min)
    undecided = {_season(found) for found in every if not found.settled(aim) and not found.struck(aim)}
    return [
        found for found in settled if found.struck(aim) or found.stuck_on <= came or _season(found) not in undecided
    ]


def held_back(known: Sequence[Outcome]) -> list[Outcome]:
    """Settled lots of which nothing came that do not count yet for those that root, method by method."""
    ways = {(found.crop, found.method) for found in known}
    each = [[found for found in known if (found.crop, found.method) == way] for way in sorted(ways)]
    return [
        found for some in each for found in some if found.settled("rooted") and found not in _telling("rooted", some)
    ]


def _season(found: Outcome) -> int:
    """The year about midsummer in which it was stuck: lots of another are no company to wait for."""
    return (found.stuck_on.toordinal() + 184) // 365


def _finished(rooted: Rate, rule: Strike, known: Iterable[Outcome], others: Rate | None) -> Rate:
    """The share that finishes: of those that root, as many as come through the pots."""
    told = _telling("finished", known)
    after = others.made_of[1] if others and others.made_of else None
    prior = after.mean if after else min(rule.finished / rule.rooted, _NEARLY_ALL)
    seen = [(found.finished, found.rooted) for found in told if found.rooted]
    through = _rate(prior, rule.concentration, seen, after)
    concentration, density = _product(rooted, through)
    before = others.mean if others else rule.finished
    whole = [found for found in told if found.of]
    struck, of = sum(found.finished for found in whole), sum(found.of for found in whole)
    return Rate(
        prior=before,
        concentration=concentration,
        lots=len(whole),
        struck=struck,
        of=of,
        density=density,
        others=others,
        made_of=(rooted, through),
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


def rates(part: RatePart, known: Iterable[Outcome], rule: Strike, season_of: SeasonOf) -> dict[Aim, Rate]:
    """The rates of a part, as rooted and as finished.

    A crop's prior is the rule's; a variety's or a season's is what the other lots of its crop and method make of that.
    """
    own: list[Outcome] = []
    rest: list[Outcome] = []
    for each in known:
        if part.whole.holds(each, season_of):
            (own if part.holds(each, season_of) else rest).append(each)
    others = _rates_of(rest, rule, None) if part != part.whole else None
    return _rates_of(own, rule, others)


def _rates_of(known: Sequence[Outcome], rule: Strike, others: dict[Aim, Rate] | None) -> dict[Aim, Rate]:
    rooted = rate("rooted", others["rooted"] if others else rule.rooted, rule.concentration, known)
    return {"rooted": rooted, "finished": _finished(rooted, rule, known, others["finished"] if others else None)}


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
