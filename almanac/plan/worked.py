"""What programmes came to: the figures behind a date that was worked out, for those who ask why. Plain values."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, time

from almanac.forecast.hardening import Lamp
from almanac.forecast.ramp import Light, Step


@dataclass(frozen=True)
class Worked:
    """The figures of one task; each programme has its own. `words.worked` tells them."""


@dataclass(frozen=True)
class Ramp(Worked):
    """How a group of plants comes from its lamp to the sun.

    `step` is the one a task is about, None for what comes after the last; `until` the last day before the next, and
    `noon` when the sun stands highest, by the local clock. `wall` is the side of a wall that no sun reaches, empty in
    the tropics, where there is none. `nights_known` says whether the site's usual nights are.
    """

    steps: tuple[Step, ...]
    step: Step | None
    until: date | None
    noon: time
    lamp: Lamp
    used_to: Light
    resumed: bool
    raise_a_day: float
    wall: str
    nights_known: bool
