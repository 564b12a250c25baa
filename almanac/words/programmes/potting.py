"""Pots and mix in words: how many and how much, and how that was reckoned. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from math import ceil

from almanac.plan.care.programmes.potting import Pots
from almanac.units import System, quantity
from almanac.words.dates import weekday
from almanac.words.programmes import AnyWords, DerivationWords
from almanac.words.sentences import listed, so_many

_JUST = 1e-6  # so that a sum of chances that is nine but for rounding is nine


def whole(expected: float) -> int:
    """The pots to have for so many plants in the mean."""
    return max(ceil(expected - _JUST), 1)


def values(found: Pots) -> Mapping[str, str]:
    """What the task's texts may name: pots, mix, what it is reckoned from, and the whole week's."""
    pots = whole(found.expected)
    return {
        "pots": so_many(pots, "pot"),
        "mix": _mix(found.mix_l(pots)),
        "count": (
            f"{found.bags} in {found.held_in}s: about {so_many(pots, 'pot')}, {found.up_to} at most nine times in ten."
        ),
        "week": _week(found),
    }


def steps(found: Pots, system: System) -> list[str]:
    rest = found.bags - found.seen
    seen = f"{found.seen} seen rooted, and " if found.seen else ""
    pots = whole(found.expected)
    each = f"{quantity(found.pot_l, 'volume', system)} a pot and {found.settling:.0%} for settling"
    mix = quantity(found.mix_l(pots), "volume", system)
    return [
        f"{seen}{found.share:.0%} of {rest}, as usually root: {found.expected:.1f} plants.",
        f"{so_many(pots, 'pot')} x {each}: {mix} of mix.",
        f"Likely well rooted {weekday(found.ready, found.ready)}; pots ready {found.lead} days before.",
        *([_week(found)] if found.others else []),
    ]


def _week(found: Pots) -> str:
    if not found.others:
        return ""
    pots = whole(found.week_expected)
    return f"With {listed(found.others)} that week: {so_many(pots, 'pot')}, {_mix(found.mix_l(pots))} of mix."


def _mix(litres: float) -> str:
    return f"{quantity(litres, 'volume', 'metric')} ({quantity(litres, 'volume', 'us')})"


WORDS: AnyWords = (DerivationWords(of=Pots, values=values, steps=steps),)
