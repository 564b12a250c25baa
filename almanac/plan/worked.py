"""What programmes came to: the figures behind a date that was worked out, for those who ask why. Plain values."""

from __future__ import annotations

from dataclasses import dataclass

from almanac.site.lamp import Daylight, Lamp, Setting, Wanted


@dataclass(frozen=True)
class Worked:
    """The figures of one task; each programme has its own. `words.worked` tells them."""


@dataclass(frozen=True)
class LampWorked(Worked):
    """What a lamp is set to and why: for crops in leaf, `raised` once one of them has roots; `before` in hours a day.

    `day` is the daylight of that week where the lamp adds to it, of which the `share` reaches the leaves; `place` is
    what such a place asks for.
    """

    setting: Setting
    wanted: Wanted
    lamp: Lamp
    day: Daylight | None
    share: float | None
    crops: tuple[str, ...]
    raised: bool
    before: float
    place: str
