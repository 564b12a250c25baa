"""What programmes came to: the figures behind a date that was worked out, for those who ask why. Plain values."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from almanac.forecast.drying import Drying
from almanac.rulebook.programmes import Water, Watering
from almanac.units import System


@dataclass(frozen=True)
class Worked:
    """The figures of one task; each programme has its own. `words.worked` tells them.

    Where they come to no task, `about` is the id that it would have, for those who ask why there is none.
    """

    about: str = field(default="", kw_only=True)


@dataclass(frozen=True)
class Weighed(Worked):
    """What weighing a lot's bag or pot came to, by which rules, and the nursery's units."""

    drying: Drying
    water: Water
    rules: Watering
    stage: Literal["pot", "rooting"]
    units: System
