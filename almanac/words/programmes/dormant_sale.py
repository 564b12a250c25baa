"""When dormant wood is offered and posted, in words: by what the days are chosen. Pure."""

from __future__ import annotations

from collections.abc import Mapping

from almanac.plan.wood.season import Posting
from almanac.units import System, both_scales, temperature
from almanac.words.dates import day, days, weekday, weekday_in_full
from almanac.words.law import law_in_full, law_in_short
from almanac.words.programmes import AnyWords, DerivationWords
from almanac.words.season import SALE_ENDS
from almanac.words.sentences import listed


def values(found: Posting) -> Mapping[str, str]:
    return {
        "post_days": listed(map(weekday_in_full, found.weekdays)) or "the days you choose",
        "cold": both_scales(found.hold_below_c),
        "warm": both_scales(found.hold_above_c),
        "why": SALE_ENDS[found.wood.sale_ended_by],
        "look_first": day(found.wood.look_first),
        "law": f" {told}" if (told := law_in_short(found.laws)) else "",
    }


def steps(found: Posting, system: System) -> list[str]:
    """What the days of the sale are chosen by."""
    on_days = listed(map(weekday_in_full, found.weekdays)) or "no day: give post_days under [week]"
    cold, warm = (temperature(each, system) for each in (found.hold_below_c, found.hold_above_c))
    return [
        f"Post goes on {on_days}; no mail holiday then or in {days(found.transit_days)} of transit, none while away.",
        f"Held where the usual night is {cold} or less, or a usual day {warm} or more.",
        f"From {day(found.wood.look_first)} on sold only if looked at within the week.",
        f"Sold until {weekday(found.wood.closes)}. {SALE_ENDS[found.wood.sale_ended_by]}",
        *law_in_full(found.laws),
    ]


WORDS: AnyWords = (DerivationWords(of=Posting, values=values, steps=steps),)
