"""What the programme against fungus gnats came to, in words: the values its texts name, its sums line by line. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from math import isinf

from almanac.plan.care.programmes.fungus_gnats.derivation import GnatDays, UnfitMix
from almanac.units import System, both_scales, temperature
from almanac.words.dates import day, days
from almanac.words.programmes import AnyWords, DerivationWords


def values(found: GnatDays) -> Mapping[str, str]:
    return {
        "seen": day(found.last),
        "end": day(found.end),
        "gap": days(found.gap or 0),
        "range": both_scales(*found.bears_c) if found.bears_c else "",
    }


def steps(found: GnatDays, system: System) -> list[str]:
    """The sums: what was seen, days from egg to adult at the fastest and slowest, spacing of turns, the end."""
    warm, cold = temperature(found.warmest_c, system), temperature(found.coldest_c, system)
    over = found.threshold_c if system == "metric" else found.threshold_c * 9 / 5 + 32
    threshold = f"{over:.1f} °{'C' if system == 'metric' else 'F'}"
    count = f"{found.count} on the card" if found.count is not None else "gnats, not counted"
    lines = [
        f"Seen {day(found.seen)}: {count}; from {found.act_at} on, or not counted, something is done. "
        f"Last adult seen {day(found.last)}.",
        f"Egg to adult at the fastest: {found.fast_sum:.0f} degree-days (C) over {threshold}; "
        f"in mix at {warm} {_told(found.fast_days)}.",
        f"Egg to adult at the slowest: {found.slow_sum:.0f} degree-days; in mix at {cold} {_told(found.slow_days)}.",
    ]
    if found.larva_days is not None and found.every is not None and found.gap is not None:
        grows = f"A larva in mix at {warm} feeds {_told(found.larva_days)} at the least"
        lines.append(f"{grows}: a turn every {days(found.every)}, never more than {found.gap} apart.")
    if found.bears_c:
        lines.append(f"Nematodes work in mix at {both_scales(*found.bears_c)}.")
    if found.cold:
        lines.append(f"The mix is too cold for a slow generation; the longest told of ends {day(found.end)}.")
    else:
        lines.append(f"One slow generation after the last adult seen, along the warmth logged: {day(found.end)}.")
    return lines


def _told(number: float) -> str:
    return "never" if isinf(number) else f"{number:.1f} days"


def refused(found: UnfitMix, where: str, lots: str) -> str:
    """Nematodes that will not do, and what is done instead."""
    hot = found.mix_c > found.high_c
    remedy = "turn the mat down, wait until they are potted," if hot else "warm the mix,"
    return (
        f"No nematodes against gnats {where or 'in pots'} ({lots}): the mix is at {both_scales(found.mix_c)}, too "
        f"{'hot' if hot else 'cold'} for them, who want {both_scales(found.low_c, found.high_c)}. "
        f"Instead cards and culling, and dry tops once bags are open; or {remedy} or set another way under [gnats]."
    )


WORDS: AnyWords = (
    DerivationWords(of=GnatDays, values=values, steps=steps),
    DerivationWords(of=UnfitMix, warning=refused),
)
