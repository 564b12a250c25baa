"""A lot's rest in words: until when it is taken to sleep, and why. Pure."""

from __future__ import annotations

from collections.abc import Mapping

from almanac.plan.rest import Rest
from almanac.units import System
from almanac.words.dates import day, weekday
from almanac.words.milestones import ANCHORS
from almanac.words.programmes import AnyWords, DerivationWords


def values(rest: Rest) -> Mapping[str, str]:
    """`granted`: the day from which it is taken to be awake."""
    return {"granted": day(rest.granted, rest.granted)}


def steps(rest: Rest, system: System) -> list[str]:
    logged = f"Logged at rest {weekday(rest.since, rest.wakes)}" if rest.logged else "At rest by the year"
    return [
        f"{logged}; here growth is taken to begin {weekday(rest.wakes, rest.since)}: asked for from then on.",
        f"Taken to be awake from {weekday(rest.granted, rest.since)}: {ANCHORS[rest.by]}.",
    ]


WORDS: AnyWords = (DerivationWords(of=Rest, values=values, steps=steps),)
