"""What is wanted by a day, and the ways to reach it: waves of cuttings, each a lot to come. Pure."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Literal

from almanac.forecast.strike import Rate
from almanac.plain import dataclass
from almanac.plan.demand import Move
from almanac.plan.model import PlanWarning


@dataclass(frozen=True, kw_only=True)
class Wave:
    """Cuttings to stick on a day in a bin (empty: in none); `potted` is when they will be, by chance.

    `leaves` is the day by which they have left their places nine times in ten, `likely` each milestone's likely day.
    """

    day: date
    bin: str
    count: int
    potted: Move
    leaves: date
    likely: tuple[tuple[str, date], ...] = ()


@dataclass(frozen=True, kw_only=True)
class Aim:
    """What is wanted, and what the nursery's own lots say of the share that finishes.

    `doubt` is the variance of its mean, which all waves share; `method` is how they are rooted.
    """

    number: str
    crop: str
    plants: int
    by: date
    share: float
    concentration: float
    doubt: float = 0.0
    method: str = "sealed_bag"


Short = Literal["time", "wood", "bags", "warmth"]


@dataclass(frozen=True, kw_only=True)
class Way:
    """How to reach an aim with a chance: the waves, the earliest first, and the chance that they give.

    Where none does, `waves` is empty; `instead` is the day by which it can be reached from today on, and `at_most` how
    many plants by the day wanted, and `short` is what it lacks.
    """

    chance: float
    waves: tuple[Wave, ...] = ()
    reached: float = 0.0
    instead: date | None = None
    at_most: int = 0
    short: tuple[Short, ...] = ()

    @property
    def cuttings(self) -> int:
        return sum(wave.count for wave in self.waves)


@dataclass(frozen=True, kw_only=True)
class Backwards:
    """An aim, a way for each chance asked for, and for each the places that it alone would leave too full.

    `rate` is what is known of the share that finishes, `keeps` how long its wood may wait in store. Where no way gives
    a chance, `otherwise` are other methods of the crop that do, with theirs.
    """

    aim: Aim
    rate: Rate
    keeps: timedelta
    ways: tuple[Way, ...]
    crowded: tuple[tuple[PlanWarning, ...], ...]
    otherwise: tuple[tuple[str, Way], ...] = ()
