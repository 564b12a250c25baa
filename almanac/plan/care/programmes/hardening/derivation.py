"""What hardening off comes to: a group's steps, the day it lives out, what is carried on a day. Plain values."""

from __future__ import annotations

from datetime import date, time
from typing import Literal

from almanac.forecast.hardening import KnownLamp
from almanac.forecast.ramp import Light, Step
from almanac.nursery.settings import Nights
from almanac.plain import dataclass
from almanac.plan.derivation import Derivation


@dataclass(frozen=True, kw_only=True)
class LivesOut:
    """The day from which plants stay out for good, and the three that it must not come before.

    `frost`: when a later frost is no likelier than accepted; `nights`: when usual ones are warm enough, None where they
    are not known; `ramp`: when the ramp is done. `day` is the first good day from all three on.
    """

    day: date
    frost: date
    nights: date | None
    ramp: date

    @property
    def held_by(self) -> Literal["frost", "nights", "ramp"]:
        """What keeps them in the longest."""
        if self.ramp > max(self.frost, self.nights or self.frost):
            return "ramp"
        return "nights" if self.nights and self.nights > self.frost else "frost"

    @property
    def may_slip(self) -> int:
        """How many days the ramp may be late before it is what they wait for."""
        return max((max(self.frost, self.nights or self.frost) - self.ramp).days, 0)


@dataclass(frozen=True, kw_only=True)
class ByNight:
    """Where plants stand at night while they harden: the `way`, how much warmer it is there [°C], and what they bear.

    Under a forecast of `least_c` they go indoors, whatever shelters them; once out for good of `bears_c`. `by_day_c` is
    how warm it should be when they go out.
    """

    way: Nights
    adds_c: float
    lowest_c: float
    by_day_c: float
    bears_c: float

    @property
    def least_c(self) -> float:
        """The coldest night outside [°C] that is no colder than they bear where they stand."""
        return self.lowest_c - self.adds_c


@dataclass(frozen=True, kw_only=True)
class Ramp(Derivation):
    """How a group of plants comes from its lamp to the sun.

    `step` is the one a task is about, None for what comes after the last; `until` the last day before the next, and
    `noon` when the sun stands highest, by the local clock. `wall` is the side of a wall that no sun reaches, empty in
    the tropics, where there is none. `lives` is None where no day is safe.
    """

    steps: tuple[Step, ...]
    step: Step | None
    until: date | None
    noon: time
    lamp: KnownLamp
    used_to: Light
    resumed: bool
    raise_a_day: float
    wall: str
    lives: LivesOut | None
    by_night: ByNight


@dataclass(frozen=True)
class Carried:
    """Lots that stand out for the same hours of a day, in the place of their step; `until` is its last day."""

    lots: tuple[str, ...]
    count: int
    ramp: Ramp


@dataclass(frozen=True, kw_only=True)
class Carry(Derivation):
    """What goes out and comes in on a day, by the local clock; `number` is which day out it is of those longest out.

    It takes so many `minutes` each way; the grower is `away`.
    """

    day: date
    number: int
    out: time
    back: time
    carried: tuple[Carried, ...]
    by_night: ByNight
    minutes: float
    away: bool

    @property
    def count(self) -> int:
        return sum(each.count for each in self.carried)
