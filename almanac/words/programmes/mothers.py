"""The mother plants of a task in words. Pure."""

from __future__ import annotations

from collections.abc import Mapping

from almanac.plan.care.programmes.mothers import Plants
from almanac.units import System
from almanac.words.programmes import AnyWords, DerivationWords

_MOST = 6


def values(found: Plants) -> Mapping[str, str]:
    """`plants`: `7 south wall, 8 from 8a`, in so many words as an entry bears."""
    named = [f"{number} {place}".strip() for number, place in found.named]
    more = f" and {len(named) - _MOST} more" if len(named) > _MOST else ""
    return {"plants": ", ".join(named[:_MOST]) + more}


def steps(found: Plants, system: System) -> list[str]:
    return [f"Mother plants: {', '.join(f'{number} {place}'.strip() for number, place in found.named)}."]


WORDS: AnyWords = (DerivationWords(of=Plants, values=values, steps=steps),)
