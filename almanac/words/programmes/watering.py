"""Water by weight in words: the weighings, the line through them, and the day it comes down to. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import assert_never

from almanac.plan.care.programmes.watering import Weighed
from almanac.units import System, quantity
from almanac.words.dates import day, days
from almanac.words.programmes import AnyWords, DerivationWords


def values(weighed: Weighed) -> Mapping[str, str]:
    """What the texts may name: the bag or pot, the weight at which to water, and what the weighings say so far."""
    found, system = weighed.drying, weighed.units
    target = _grams(found.target, system) if found.target else "its usual weight"
    return {"what": _what(weighed), "target": target, "said": _said(weighed)}


def steps(weighed: Weighed, system: System) -> list[str]:
    found, water = weighed.drying, weighed.water
    near = found.last.day if found.last else found.began
    told = [_since(weighed, near), *_weighings(weighed, system, near)]
    if found.line and found.used:
        rate, error = -found.line.slope, found.line.slope_error
        told.append(
            f"Line through the last {len(found.used)}: it loses {_rate(rate, system)} a day, "
            f"give or take {_rate(error, system)} (standard error)."
        )
    gap = (found.weighings[0].day - found.began).days if found.weighings else 0
    if found.full_on:
        told.append(f"Not weighed on {day(found.full_on, near)}; the line tells its full weight of that day.")
    elif gap:
        told.append(f"First weighed {days(gap)} after that; what it weighed then is taken for its full weight.")
    if found.full:
        told.append(
            f"Full weight {_grams(found.full, system)}, of which {water.available:.0%} is water that plants can draw; "
            f"to water when {water.gone:.0%} of that is gone, at {_grams(found.target, system)}."
        )
        told += [water.note] if water.note else []
    if found.days:
        early, likely, late = (day(each, near) for each in found.days)
        told.append(f"The line is down to that on {likely}: 9 in 10 not before {early}, 9 in 10 by {late}.")
    if found.doubt:
        told.append(_said(weighed))
    if found.rate:
        told.append(f"The time before it lost {_rate(found.rate, system)} a day: a first guess for the next weighing.")
    return told


def _since(weighed: Weighed, near: date) -> str:
    found = weighed.drying
    if found.rose:
        return f"Heavier on {day(found.began, near)} with no watering logged: taken as watered then."
    return f"Weighed since {day(found.began, near)}, when it was last watered or set in fresh mix:"


def _weighings(weighed: Weighed, system: System, near: date) -> list[str]:
    used = set(weighed.drying.used)
    return [
        f"{day(item.day, near)}: {_grams(item.grams, system)}{'' if item in used else ' (not in the line)'}"
        for item in weighed.drying.weighings
    ]


def _said(weighed: Weighed) -> str:
    """What the weighings come to, in a sentence."""
    found, system, what = weighed.drying, weighed.units, _what(weighed)
    near = found.last.day if found.last else found.began
    odd = f"{_grams(found.odd.grams, system)} on {day(found.odd.day, near)}" if found.odd else ""
    match found.doubt:
        case "few":
            return f"{len(found.used)} of the {weighed.rules.least} weighings that give a date."
        case "unsure":
            return "No date by weight: it does not get lighter for sure."
        case "odd":
            return f"No date by weight: {odd} does not fit the others; a slip, or not drained?"
        case "impossible":
            return f"No date by weight: {odd} is too light for this {what}; another one, or a slip?"
        case "slow":
            return f"No date by weight: so slow that it lasts over {days(round(weighed.rules.ahead))} more."
        case "stale":
            return "No date by weight: not weighed for too long."
        case None:
            assert found.days
            return f"By weight it is due {day(found.days[1], near)}."
        case _:
            assert_never(found.doubt)


def _what(weighed: Weighed) -> str:
    return "pot" if weighed.stage == "pot" else "bag"


def _grams(grams: float, system: System) -> str:
    return quantity(grams, "mass", system)


def _rate(grams: float, system: System) -> str:
    """A loss a day, to one place more than a weight."""
    return f"{grams / 28.349523125:.2f} oz" if system == "us" else f"{grams:.1f} g"


WORDS: AnyWords = (DerivationWords(of=Weighed, values=values, steps=steps),)
