"""What really grows, whatever the program forecasts: the days on which each cutting of a lot shows its signs.

Drawn evenly from the durations of its rule, as though the bench were as warm as they say; the last in a dozen never
root. Nothing here reads a plan.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, timedelta
from math import exp
from statistics import NormalDist

from almanac.rulebook.models import Crop

_NORMAL = NormalDist()
SIGNS = ("callus", "roots", "budbreak", "leaves", "well_rooted")


@dataclass(frozen=True)
class Cutting:
    """The days of one cutting's signs; those that it never shows are missing."""

    days: dict[str, date]

    def shows(self, sign: str, day: date) -> bool:
        return sign in self.days and self.days[sign] <= day


@dataclass
class Batch:
    """The cuttings of one lot that were stuck together: those in bags, the furthest first, and those potted."""

    stuck: date
    bags: list[Cutting] = field(default_factory=list)
    pots: list[Cutting] = field(default_factory=list)

    def showing(self, sign: str, day: date) -> int:
        """How many of those in bags show a sign."""
        return sum(each.shows(sign, day) for each in self.bags)

    def ready(self, day: date) -> int:
        """How many bags have the roots to be potted up."""
        return self.showing("well_rooted", day)

    def drinking(self, day: date) -> int:
        """How many bags have both roots and leaf, and so draw water."""
        return sum(each.shows("roots", day) and each.shows("leaves", day) for each in self.bags)

    def pot(self, count: int) -> None:
        """Pot up the furthest."""
        self.pots += self.bags[:count]
        del self.bags[:count]

    def lose(self, count: int) -> None:
        """Throw the last in bags out."""
        del self.bags[len(self.bags) - count :]


def batch(crop: Crop, stuck: date, count: int) -> Batch:
    """A lot's cuttings as they will grow."""
    never = max(count // 12, 1)
    cuttings = [_cutting(crop, stuck, (number + 0.5) / count, rooted=number < count - never) for number in range(count)]
    return Batch(stuck, cuttings)


def _cutting(crop: Crop, stuck: date, rank: float, *, rooted: bool) -> Cutting:
    def after(name: str, share: float) -> timedelta:
        rule = crop.durations[name]
        return timedelta(days=round(rule.median * exp(rule.spread * _NORMAL.inv_cdf(share))))

    days = {"callus": stuck + after("callus", rank), "budbreak": stuck + after("budbreak", rank)}
    days["leaves"] = days["budbreak"] + after("leaves", 0.5)
    if rooted:
        days["roots"] = stuck + after("roots", rank)
        days["well_rooted"] = days["roots"] + after("well_rooted", rank)
    return Cutting(days)
