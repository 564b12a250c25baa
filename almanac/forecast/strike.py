"""Strike rate: from lots to what became of the cuttings stuck, and to the share that roots and that finishes. Pure.

*Rooted* are those potted, *finished* those ready to plant or sell, both of those stuck. Cuttings sold, given, planted
or kept out of the bag leave the sum, and so do those a stocktake missed: nobody knows what would have become of them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from itertools import groupby
from math import ceil
from typing import Literal

from almanac.forecast.shares import Density, beta, chance_of, how_many, mean_of_lots
from almanac.nursery.lots import Lot, lot_order
from almanac.rulebook.models import Strike

Aim = Literal["rooted", "finished"]
AIMS: tuple[Aim, ...] = ("rooted", "finished")
SeasonOf = Callable[[date], date]  # from a day to the first day of its season
LOW, HIGH = 0.10, 0.90  # the ends of an 80 % range
MOST = 10_000  # cuttings in one lot; beyond that no answer is of use

_DEAD = ("died", "discarded")
_ELSEWHERE = ("restuck", "joined", "cut_up")  # moved to a lot where they are counted, or new where they are


@dataclass(frozen=True)
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

    for lot in sorted(lots.values(), key=lambda lot: (_stuck_on(lot), lot_order(lot.id))):
        for kin in (lot.parent, *lot.joined):
            if kin in lots:
                one, other = sorted(
                    (first(kin), first(lot.id)), key=lambda name: (_stuck_on(lots[name]), lot_order(name))
                )
                head[other] = one
    found: dict[str, list[Lot]] = {}
    for name, lot in lots.items():
        found.setdefault(first(name), []).append(lot)
    return [sorted(family, key=lambda lot: (lot.id != name, lot_order(lot.id))) for name, family in found.items()]


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
    return Outcome(names, head.number, head.crop, head.method, _stuck_on(head), **counts)


@dataclass(frozen=True)
class Rate:
    """What is believed of a share: the mean that `prior` and these lots give, and how far single lots lie from it.

    `lots` are the settled outcomes it rests on; `struck` of `of` cuttings in them rooted, or finished. `others` is what
    gave the prior; None: the rule itself.
    """

    prior: float
    concentration: float
    lots: int
    struck: int
    of: int
    density: Density
    others: Rate | None = None

    @cached_property
    def mean(self) -> float:
        return self.density.mean if self.lots else self.prior

    @cached_property
    def mean_range(self) -> tuple[float, float]:
        """Where the mean of all lots lies, 80 %."""
        return self.density.quantile(LOW), self.density.quantile(HIGH)

    @cached_property
    def next_range(self) -> tuple[float, float]:
        """Where the share of the next lot lies, 80 %: the rule's Beta, about this mean."""
        shares = beta(self.mean, self.concentration)
        return shares.quantile(LOW), shares.quantile(HIGH)


def rate(aim: Aim, prior: float | Rate, concentration: float, known: Iterable[Outcome]) -> Rate:
    """What settled outcomes say of a share; an open lot says nothing yet, for it may go either way."""
    mean, others = (prior.mean, prior) if isinstance(prior, Rate) else (prior, None)
    seen = [(found.struck(aim), found.of) for found in known if found.settled(aim) and found.of]
    density = mean_of_lots(mean, concentration, seen)
    return Rate(mean, concentration, len(seen), sum(won for won, _ in seen), sum(of for _, of in seen), density, others)


@dataclass(frozen=True)
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
        return RatePart(self.crop, self.method)

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
    found: dict[Aim, Rate] = {}
    for aim in AIMS:
        mean = rule.rooted if aim == "rooted" else rule.finished
        prior = mean if part == part.whole else rate(aim, mean, rule.concentration, rest)
        found[aim] = rate(aim, prior, rule.concentration, own)
    return found


def parts(known: Iterable[Outcome], season_of: SeasonOf) -> list[RatePart]:
    """Every part that has outcomes: crop by crop, method by method, then the varieties and seasons in that."""
    found: list[RatePart] = []
    for crop, of_crop in groupby(sorted(known, key=lambda o: (o.crop, o.method)), key=lambda o: o.crop):
        by_method = {method: list(each) for method, each in groupby(of_crop, key=lambda o: o.method)}
        found += [RatePart(crop, "")] if len(by_method) > 1 else []
        for method, own in by_method.items():
            numbers, seasons = {o.number for o in own}, {season_of(o.stuck_on) for o in own}
            found.append(RatePart(crop, method))
            found += [RatePart(crop, method, number) for number in sorted(numbers, key=lot_order)]
            found += [RatePart(crop, method, season=day) for day in sorted(seasons)]
    return found


@dataclass(frozen=True)
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
        return chance_of(self.plants, self.bare, self.rate.mean, self.rate.concentration)


def sticking(
    part: RatePart, plants: int, chance: float, known: Sequence[Outcome], rule: Strike, season_of: SeasonOf
) -> NumberToStick | None:
    """The fewest cuttings of a part that give so many plants with at least this chance; None: not even `MOST` do."""
    found = rates(part, known, rule, season_of)["finished"]
    cuttings = how_many(plants, chance, found.mean, found.concentration, MOST)
    if cuttings is None:
        return None
    own = (each for each in known if part.holds(each, season_of))
    waiting = tuple(each.lots[0] for each in own if each.of and not each.settled("finished"))
    return NumberToStick(part, plants, chance, cuttings, found, rule, waiting)
