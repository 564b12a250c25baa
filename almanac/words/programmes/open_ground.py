"""The soil of a bed in words. Pure."""

from __future__ import annotations

from collections.abc import Mapping

from almanac.plan.care.programmes.open_ground import SoilOpens
from almanac.units import System, temperature
from almanac.words.dates import day
from almanac.words.programmes import AnyWords, DerivationWords


def values(found: SoilOpens) -> Mapping[str, str]:
    """`opens`: when soil is workable again."""
    return {"opens": day(found.opens)}


def steps(found: SoilOpens, system: System) -> list[str]:
    """What it was reckoned from."""
    hard = " In its coldest weeks it usually freezes hard." if found.heaves else ""
    return [
        f"Soil is usually at {temperature(found.workable_c, system)} or more from about {day(found.opens)}: an "
        f"estimate from the usual lows of the site.{hard}"
    ]


WORDS: AnyWords = (DerivationWords(of=SoilOpens, values=values, steps=steps),)
