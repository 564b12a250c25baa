"""When wood is taken and stuck, in words: where the dates come from. Pure."""

from __future__ import annotations

from collections.abc import Mapping

from almanac.plan.wood.bare import Collecting
from almanac.plan.wood.season import Sticking
from almanac.units import System
from almanac.words.dates import day
from almanac.words.programme_words import AnyWords, DerivationWords, no_values
from almanac.words.season import bare, killing_nights


def collecting_values(found: Collecting) -> Mapping[str, str]:
    """What the text of taking wood may name."""
    return {"bare": bare(found), "nights": killing_nights(found)}


def collecting_steps(found: Collecting, system: System) -> list[str]:
    """The arithmetic of a collecting window."""
    opens = "as logged" if found.leaf_fall_logged else "forecast from the first frosts and the shortest day"
    if found.hang:
        opens = "the shortest day: no frost brings leaves down by then"
    swell = "as logged" if found.buds_logged else f"early end; likely {day(found.buds_swell[1], found.middle)}"
    return [
        f"Shortest day {day(found.middle)}.",
        f"Opens with leaf fall, {day(found.opens, found.middle)}: {opens}.",
        f"Buds swell outdoors {day(found.buds_swell[0], found.middle)}: {swell}.",
        killing_nights(found),
        f"Best taken {found.best}: good day {day(found.due, found.middle)}, last {day(found.closes, found.middle)}.",
    ]


def sticking_steps(found: Sticking, system: System) -> list[str]:
    """The arithmetic of a window for sticking."""
    where = f"bin {found.bin}" if found.bin else "no bin, at the warmth of the crop's rule"
    last = "nine lots in ten still harden before winter" if found.by_autumn else "the last wood taken still keeps"
    return [
        f"Worked out for {found.count} cuttings in {where}.",
        f"From {day(found.earliest, found.middle)} there is wood.",
        f"From {day(found.best, found.middle)} plants need not wait under lamps for frost, and wood is at its best.",
        f"Until {day(found.latest, found.middle)} {last}.",
    ]


WORDS: AnyWords = (
    DerivationWords(Collecting, collecting_values, collecting_steps),
    DerivationWords(Sticking, no_values, sticking_steps),
)
