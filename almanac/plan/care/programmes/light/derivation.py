"""What a lamp's setting comes to: the figures behind it, for those who ask why. Plain values."""

from __future__ import annotations

from almanac.plain import dataclass
from almanac.plan.derivation import Derivation
from almanac.site.lamp import Daylight, Lamp, LightAim, Setting


@dataclass(frozen=True, kw_only=True)
class LampHours(Derivation):
    """What a lamp is set to and why: for crops in leaf, `raised` once one of them has roots; `before` in hours a day.

    `day` is the daylight of that week where the lamp adds to it, of which the `share` reaches the leaves; `place` is
    what such a place asks for.
    """

    setting: Setting
    wanted: LightAim
    lamp: Lamp
    day: Daylight | None
    share: float | None
    crops: tuple[str, ...]
    raised: bool
    before: float
    place: str
