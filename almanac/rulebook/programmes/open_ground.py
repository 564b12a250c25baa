"""When soil lets sticks in, and when thaws have loosened them."""

from __future__ import annotations

from typing import Annotated

from almanac.plain import dataclass
from almanac.rulebook.fields import Days, Length, Table, Temperature, Within
from almanac.rulebook.programme_numbers import ProgrammeNumbers


@dataclass(frozen=True, kw_only=True)
class BedSoil(Table):
    """The ground of a bed: how deep the `foot` of a stick is, and where the year's wave is `damped` to a third [cm]."""

    foot: Annotated[Length, Within(gt=0)]
    damped: Annotated[Length, Within(gt=0)]
    source: str
    note: str = ""

    @property
    def depth(self) -> float:
        """How deep the foot of a stick is, as a share of the depth at which the wave is damped to a third."""
        return self.foot / self.damped


@dataclass(frozen=True, kw_only=True)
class OpenGround(ProgrammeNumbers):
    """Sticks in a bed, by the usual warmth of its soil.

    Soil is `workable` from a mean warmth on; where its usual coldest is below `heaves` it freezes hard and lifts what
    has no roots, so that nothing is stuck in autumn. In autumn sticks want to `settle` for so long before it is no
    longer workable. In spring they are stuck until buds swell outdoors, but for `at_least` so long, as wood kept cold
    is behind. Sticks that stood a winter are made firm again within `firm` of the soil being workable, and once that is
    `past` it is not asked for any more: they root or they do not. Wood that waits for spring is heeled in within
    `heel_in` of its cut.
    """

    tasks = frozenset({"ground_firm", "heel_in"})
    values = frozenset({"opens"})
    workable: Temperature
    heaves: Temperature
    settle: Days
    at_least: Days
    firm: Days
    past: Days
    heel_in: Days
    soil: BedSoil
