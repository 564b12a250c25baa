"""Pots and mix in words: how many and how much, and how that was reckoned. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from math import ceil

from almanac.faults import listed
from almanac.plan.derivation import Pots
from almanac.units import System, quantity
from almanac.words.dates import weekday

_JUST = 1e-6  # so that a sum of chances that is nine but for rounding is nine


def whole(expected: float) -> int:
    """The pots to have for so many plants in the mean."""
    return max(ceil(expected - _JUST), 1)


def values(worked: Pots) -> Mapping[str, str]:
    """What the task's texts may name: pots, mix, what it is reckoned from, and the whole week's."""
    pots = whole(worked.expected)
    return {
        "pots": _pots(pots),
        "mix": _mix(worked.mix_l(pots)),
        "count": f"{worked.bags} in bags: about {_pots(pots)}, {worked.up_to} at most nine times in ten.",
        "week": _week(worked),
    }


def steps(worked: Pots, system: System) -> list[str]:
    """The sum, line by line."""
    rest = worked.bags - worked.seen
    seen = f"{worked.seen} seen rooted, and " if worked.seen else ""
    pots = whole(worked.expected)
    each = f"{quantity(worked.pot_l, 'volume', system)} a pot and {worked.settling:.0%} for settling"
    mix = quantity(worked.mix_l(pots), "volume", system)
    return [
        f"{seen}{worked.share:.0%} of {rest}, as usually root: {worked.expected:.1f} plants.",
        f"{_pots(pots)} x {each}: {mix} of mix.",
        f"Likely well rooted {weekday(worked.ready, worked.ready)}; pots ready {worked.lead} days before.",
        *([_week(worked)] if worked.others else []),
    ]


def _week(worked: Pots) -> str:
    if not worked.others:
        return ""
    pots = whole(worked.week_expected)
    return f"With {listed(worked.others)} that week: {_pots(pots)}, {_mix(worked.mix_l(pots))} of mix."


def _pots(count: int) -> str:
    return f"{count} pot{'s' * (count != 1)}"


def _mix(litres: float) -> str:
    return f"{quantity(litres, 'volume', 'metric')} ({quantity(litres, 'volume', 'us')})"
