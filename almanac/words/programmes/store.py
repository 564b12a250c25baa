"""When wood is taken and stuck, in words: where the dates come from. Pure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from almanac.plan.wood.account import Wood
from almanac.plan.wood.bare import Collecting
from almanac.plan.wood.cuts import Taking
from almanac.plan.wood.season import StickingLeft
from almanac.plan.wood.sticking import Sticking
from almanac.units import System
from almanac.words.dates import day, span
from almanac.words.lots import named
from almanac.words.programmes import AnyWords, DerivationWords
from almanac.words.season import STORE_ENDS, bare, killing_nights
from almanac.words.sentences import listed
from almanac.words.wood import cut_words, of_number


def _left(numbers: Sequence[str]) -> str:
    """Of which varieties it is still to do, where it is done of others."""
    return f" of {', '.join(numbers)}" if numbers else ""


def taking_values(found: Taking) -> Mapping[str, str]:
    longer = [f"{number} till {day(each, found.collect.closes)}" for number, each in found.later.items()]
    later = f"Sheltered plants have longer: {listed(longer)}." if longer else ""
    told = " ".join(filter(None, (bare(found.collect), killing_nights(found.collect), later)))
    purpose = "".join(f"{each.number}: {cut_words(each)}. " for each in found.cuts)  # each with a space behind it
    return {"bare": told, "left": _left(found.left), "what": _what(found), "purpose": purpose}


def _what(found: Taking) -> str:
    """What is to be taken: `wood: 20 of no. 1, 16 of no. 3`, or where nobody says how many `dormant wood of 1, 3`."""
    if not found.cuts:
        return f"dormant wood{_left(found.left)}"
    counted = [of_number(each.count, each.number) if each.count else f"no. {each.number}" for each in found.cuts]
    others = [f"no. {number}" for number in found.left if number not in {each.number for each in found.cuts}]
    return f"wood: {named([*counted, *others], 4)}"


def taking_steps(found: Taking, system: System) -> list[str]:
    """The arithmetic of a collecting window, and what is left of it."""
    left = [f"Taken already but of {listed(found.left)}."] if found.left else []
    return [*_collecting(found.collect), *left]


def left_to_stick(found: StickingLeft, system: System) -> list[str]:
    """The arithmetic of a window for sticking, and of the lots in store."""
    lots = [
        f"{each.wood.lot} ({each.wood.count}) was cut {day(each.wood.cut, found.window.middle)}: best stuck "
        f"{day(each.stick[1], found.window.middle)}, by {day(each.stick[2], found.window.middle)}."
        for each in found.lots
    ]
    left = [f"Stuck or planned already but of {listed(found.left)}."] if found.left else []
    return [*_sticking(found.window), *lots, *left]


def wood_values(found: Wood) -> Mapping[str, str]:
    return {"early": day(found.look_first), "ends": STORE_ENDS[found.until_by]}


def wood_steps(found: Wood, system: System) -> list[str]:
    near, (low, high) = found.cut, found.keeps
    such = "heeled in for a bed it" if found.until_by == "heeled" else "such wood"
    lines = [f"Cut {day(found.cut, near)}; {such} keeps until {span(low, high, near)}."]
    if found.swells:
        early, likely, late = found.swells
        where = "out of doors" if found.until_by == "heeled" else "in store"
        lines.append(f"Buds likely swell {where} {day(likely, near)} ({span(early, late, near)}).")
    seen = f", {found.seen} since {day(found.seen_on, near)}" if found.seen_on else ""
    lines.append(f"Last looked at or logged {day(found.known_at, near)}{seen}.")
    return [*lines, f"Worth sticking until {day(found.until, near)}. {STORE_ENDS[found.until_by]}"]


def _collecting(found: Collecting) -> list[str]:
    opens = "as logged" if found.leaf_fall_logged else "forecast from frosts, cold nights and the shortest day"
    if found.hang:
        opens = "the shortest day: no frost brings leaves down by then"
    swell = "as logged" if found.buds_logged else f"early end; likely {day(found.buds_swell[1], found.middle)}"
    return [
        f"Shortest day {day(found.middle)}.",
        f"Opens with leaf fall, {day(found.opens, found.middle)}: {opens}.",
        f"Buds swell outdoors {day(found.buds_swell[0], found.middle)}: {swell}.",
        *filter(None, [killing_nights(found)]),
        f"Best taken {found.best}: good day {day(found.due, found.middle)}, last {day(found.closes, found.middle)}.",
    ]


def _sticking(found: Sticking) -> list[str]:
    where = f"{found.kind} {found.bin}" if found.bin else f"no {found.kind}, at the warmth of the crop's rule"
    last = (
        "nine lots in ten still harden before winter"
        if found.by_autumn
        else "the last wood taken still keeps, and plants outdoors are not in leaf"
    )
    return [
        f"Worked out for {found.count} cuttings in {where}.",
        f"From {day(found.earliest, found.middle)} there is wood.",
        f"From {day(found.best, found.middle)} plants need not wait under lamps for frost, and wood is at its best.",
        f"Until {day(found.latest, found.middle)} {last}.",
    ]


WORDS: AnyWords = (
    DerivationWords(of=Taking, values=taking_values, steps=taking_steps),
    DerivationWords(of=StickingLeft, values=lambda found: {"left": _left(found.left)}, steps=left_to_stick),
    DerivationWords(of=Wood, values=wood_values, steps=wood_steps),
)
