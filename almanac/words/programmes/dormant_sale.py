"""When dormant wood is offered and posted, in words: by what the days are chosen. Pure."""

from __future__ import annotations

from collections.abc import Mapping

from almanac.plan.wood.season import EndedBy, Posting
from almanac.units import System, temperature
from almanac.words.dates import days
from almanac.words.programme_words import AnyWords, DerivationWords
from almanac.words.season import WEEKDAYS, both_scales
from almanac.words.sentences import listed

_ENDS: Mapping[EndedBy, str] = {
    "season": "Then the usual weeks for selling dormant wood are over.",
    "store_limit": "Then the wood has been in store for as long as it keeps.",
    "buds": "Soon after, buds may swell in store, and soft buds break in the post.",
}


def values(found: Posting) -> Mapping[str, str]:
    """What the texts of the sale name."""
    return {
        "post_days": listed(WEEKDAYS[each] for each in found.weekdays) if found.weekdays else "the days you choose",
        "cold": both_scales(found.hold_below_c),
        "warm": both_scales(found.hold_above_c),
        "why": _ENDS[found.ended_by],
    }


def steps(found: Posting, system: System) -> list[str]:
    """What the days of the sale are chosen by."""
    on_days = listed(WEEKDAYS[each] for each in found.weekdays) or "no day: give post_days under [week]"
    cold, warm = (temperature(each, system) for each in (found.hold_below_c, found.hold_above_c))
    return [
        f"Post goes on {on_days}; no public holiday then or in {days(found.transit_days)} of transit, none while away.",
        f"Held where the usual night is {cold} or less, or a usual day {warm} or more.",
        _ENDS[found.ended_by],
    ]


WORDS: AnyWords = (DerivationWords(Posting, values, steps),)
