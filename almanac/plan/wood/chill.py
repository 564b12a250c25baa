"""Whether winters here end the rest of a crop: the hours of cold that it wants, and those that they give. Pure."""

from __future__ import annotations

from almanac.plain import dataclass
from almanac.rulebook.models import Chilling, Crop
from almanac.site.nights import Nights


@dataclass(frozen=True, kw_only=True)
class TooMild:
    """A crop whose rest a usual winter here does not end: it gives `hours` of the cold that its `rule` asks for.

    None: usual nights are not known, only worked out from frost dates, which tell that much and no number.
    """

    crop: str
    title: str
    hours: int | None
    rule: Chilling


def too_mild(crop: Crop, nights: Nights) -> TooMild | None:
    """What a usual winter lacks for a crop; None where it suffices, or nothing is known of the crop."""
    rule = crop.chilling
    if rule is None:
        return None
    hours = nights.usual.chill_h(rule.below)
    if hours >= rule.hours_least:
        return None
    known = round(hours / 50) * 50 if nights.frost.lows_c else None
    return TooMild(crop=crop.id, title=crop.title, hours=known, rule=rule)
