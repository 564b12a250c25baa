"""The one account of how cuttings strike here, that forecasts, room, supplies and plans backwards read. Pure.

The share that roots is in the likelihood of days as a mixture (three shares stand for a lot's Beta) and in the first of
n. A lot that ended without roots would look slow, so it counts in the share alone.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import field
from functools import cached_property

from almanac.alike import gathered
from almanac.forecast.outcomes import Aim, Counted, Outcome
from almanac.forecast.shares import beta
from almanac.forecast.strike import Rate, Shares
from almanac.nursery.lots import Lot
from almanac.plain import dataclass
from almanac.rulebook.models import Crop, Strike
from almanac.worked_out import WorkedOut

_SHARES = 3  # of a lot's cuttings that may root: so many stand for all


@dataclass(frozen=True, kw_only=True)
class Striking:
    """What outcomes say of each crop, method and variety; with none it is the rule's word.

    `ahead` is by crop how many lots are rooting or planned, a large one among small ones counting for more: they share
    one doubt about the mean.
    """

    known: tuple[Outcome, ...] = ()
    ahead: Mapping[str, float] = field(default_factory=dict)
    _rates: WorkedOut[tuple[str, str, str], Shares] = field(
        init=False, default_factory=WorkedOut, compare=False, repr=False
    )
    _shares: WorkedOut[tuple[str, str], tuple[float, ...]] = field(
        init=False, default_factory=WorkedOut, compare=False, repr=False
    )

    @classmethod
    def of(
        cls,
        known: tuple[Outcome, ...],
        crops: Mapping[str, Crop],
        lots: Iterable[Lot],
        to_come: Iterable[tuple[str, int]],
    ) -> Striking:
        """From the outcomes of all lots, those open and those to come."""
        counts: dict[str, list[int]] = {name: [] for name in crops}
        for crop, count in [*((lot.crop, lot.count("rooting")) for lot in lots), *to_come]:
            if count:
                counts[crop].append(count)
        ahead = {crop: sum(each) ** 2 / sum(count**2 for count in each) for crop, each in counts.items() if each}
        return cls(known=known, ahead=ahead)

    def rate(self, aim: Aim, crop: str, method: str, rule: Strike, number: str = "") -> Rate:
        """What is believed of a share: of a crop and method, or of a variety of it."""
        return self._rates.of((crop, method, number), lambda: self._rates_of(crop, method, rule, number)).of(aim)

    def _rates_of(self, crop: str, method: str, rule: Strike, number: str) -> Shares:
        told = self._by_way.get((crop, method)) or Counted(())
        if number:
            return Shares(told.own(number), rule, Shares(told.others(number), rule))
        return Shares(told.every, rule)

    @cached_property
    def _by_way(self) -> Mapping[tuple[str, str], Counted]:
        """What is known of each crop and method."""
        found = gathered(((each.crop, each.method), each) for each in self.known)
        return {way: Counted(each) for way, each in found.items()}

    def rooting(self, crop: str, method: str, rule: Strike) -> tuple[float, ...]:
        """The shares of a lot that may root, each as likely as the others."""
        return self._shares.of((crop, method), lambda: self._rooting(crop, method, rule))

    def _rooting(self, crop: str, method: str, rule: Strike) -> tuple[float, ...]:
        found = self.rate("rooted", crop, method, rule)
        lot = beta(found.mean, found.in_doubt())
        return tuple(lot.quantile((number + 0.5) / _SHARES) for number in range(_SHARES))
