"""A lamp's setting in words: the clock times of its timer, what light that makes, and the sums behind it. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from typing import assert_never

from almanac.plan.care.programmes.light.derivation import LampHours
from almanac.site.lamp import MOL_PER_PPFD_HOUR, lit_h
from almanac.units import System
from almanac.words.dates import day
from almanac.words.programmes import AnyWords, DerivationWords


def values(derivation: LampHours) -> Mapping[str, str]:
    setting = derivation.setting
    hours = _hours(setting.hours) if setting.hours else "off"
    on, off = clock(setting.on_h), clock(setting.off_h)
    return {
        "on": on,
        "off": off,
        "hours": hours,
        "set": f"to {hours}" if setting.hours else "off",
        "timer": f"Timer from {on} to {off} ({hours}), the rest dark." if setting.hours else "Timer off.",
        "gives": _gives(derivation),
        "place": derivation.place,
    }


def clock(hour: float) -> str:
    """`06:30` for 6.5."""
    minutes = round(hour * 60) % (24 * 60)
    return f"{minutes // 60:02}:{minutes % 60:02}"


def _gives(derivation: LampHours) -> str:
    """What light it makes, and whether that suits."""
    lamp, setting, daylight = derivation.lamp, derivation.setting, derivation.day
    if not setting.hours:
        return _off(derivation)
    if lamp.ppfd is None:
        return "How strong it is nursery.toml does not say, so no dose is counted."
    needed = _needed(derivation)
    if needed is None:
        return f"{'With the day that' if daylight else 'That'} is the light they want."
    if needed > lamp.ppfd:
        return f"That is too little: hang it lower, for {needed / lamp.ppfd - 1:.0%} more light at the leaves."
    return f"That is more than they bear: hang it higher, for {1 - needed / lamp.ppfd:.0%} less light at the leaves."


def _needed(derivation: LampHours) -> float | None:
    """How strong the lamp should be at the leaves to suit them [µmol/m²/s]; None where it suits them as it hangs."""
    wanted, lamp, setting, daylight = derivation.wanted, derivation.lamp, derivation.setting, derivation.day
    natural = daylight.dose_mol if daylight else 0.0
    gives = natural + lamp.dose_mol(setting.hours)
    bound = None
    if gives < wanted.least_mol - _rounding(derivation):
        bound = wanted.least_mol
    elif gives > wanted.most_mol + _rounding(derivation):
        bound = wanted.most_mol
    return None if bound is None else (bound - natural) / setting.hours / MOL_PER_PPFD_HOUR


def _off(derivation: LampHours) -> str:
    """Why it is off: what the day alone gives."""
    assert derivation.day is not None  # a lamp that is all the light there is burns
    length = f"{derivation.day.length_h:.1f} h"
    match derivation.setting.limit:
        case "long_day" | "most_h":
            return f"The day of {length} is as long as they want."
        case "most_mol":
            return f"A day of {length} gives all the light that they bear."
        case "little":
            return f"A day of {length} gives nearly enough: less than an hour of lamp is lacking."
        case "enough" | "dose" | "least_h" | "lamp":
            return f"A day of {length} alone gives light enough."
        case _:
            assert_never(derivation.setting.limit)


def _rounding(derivation: LampHours) -> float:
    """Half a pin of the timer, in mol."""
    return derivation.lamp.dose_mol(0.25)


def steps(derivation: LampHours, system: System) -> list[str]:
    return [
        _wanted(derivation),
        *_lamp(derivation),
        *_daylight(derivation),
        *_together(derivation),
        *_bound(derivation),
        f"Before: {_hours(derivation.before) if derivation.before else 'off'}.",
    ]


def _wanted(derivation: LampHours) -> str:
    wanted = derivation.wanted
    aim = f"{wanted.aim_mol:g} mol a day once there are roots" if derivation.raised else f"{wanted.aim_mol:g} mol a day"
    low, crops = "" if derivation.raised else " until there are roots", ", ".join(derivation.crops)
    return (
        f"Wanted ({crops} in leaf): {aim}{low}; {wanted.least_mol:g} to {wanted.most_mol:g} suit. "
        f"{_hours(wanted.least_h)} to {_hours(wanted.most_h)} of light, at least {_hours(24 - wanted.most_h)} dark."
    )


def _lamp(derivation: LampHours) -> list[str]:
    lamp, hours = derivation.lamp, derivation.setting.hours
    if lamp.ppfd is None:
        return ["Lamp: not in nursery.toml; with light = { ppfd = ..., hours = ... } its hours follow the dose."]
    if not hours:
        return ["Lamp: off."]
    total = f"{lamp.ppfd:g} µmol x {hours:g} h x {MOL_PER_PPFD_HOUR:.4f} = {lamp.dose_mol(hours):.1f} mol"
    needed = _needed(derivation)
    suits = [] if needed is None else [f"To suit them it would have to give {needed:.0f} µmol at the leaves."]
    return [f"Lamp: {total}; it may burn {lamp.most_h:g} h.", *suits]


def _daylight(derivation: LampHours) -> list[str]:
    found = derivation.day
    if found is None:
        return []
    kind = "of the usual light, by the month's mean," if found.measured else "of a usual share of clear sky"
    return [
        f"Day, about {day(found.day)}: {found.length_h:.1f} h, {clock(found.rise_h)} to {clock(found.set_h)}; "
        f"{derivation.share:.0%} {kind} makes {found.dose_mol:.1f} mol."
    ]


def _together(derivation: LampHours) -> list[str]:
    found, setting = derivation.day, derivation.setting
    if derivation.lamp.ppfd is None or (found is None and not setting.hours):
        return []
    lit = lit_h(setting, found)
    gives = derivation.lamp.dose_mol(setting.hours) + (found.dose_mol if found else 0.0)
    return [f"Together {gives:.1f} mol; {lit:.1f} h lit, {24 - lit:.1f} h dark."]


def _bound(derivation: LampHours) -> list[str]:
    """What keeps the hours from being those that the dose alone asks for."""
    wanted, lamp = derivation.wanted, derivation.lamp
    if lamp.ppfd is None:
        return []
    needed = lamp.hours_for(max(0.0, wanted.aim_mol - (derivation.day.dose_mol if derivation.day else 0.0)))
    dose = f"For {wanted.aim_mol:g} mol the lamp would need {needed:.1f} h"
    if not needed:
        dose = f"The day alone gives the {wanted.aim_mol:g} mol"
    match derivation.setting.limit:
        case "dose":
            return [f"{dose}; the timer goes by half hours."]
        case "least_h":
            return [f"{dose}; the shortest day that suits asks for more."]
        case "most_h":
            return [f"{dose}; what the crop bears, with its dark, ends it sooner."]
        case "lamp":
            return [f"{dose}; this lamp may burn {lamp.most_h:g} h (nursery.toml)."]
        case "most_mol":
            return [f"{dose}; more than {wanted.most_mol:g} mol would be too much."]
        case "long_day":
            return [f"The day is {_hours(wanted.most_h)} or longer; a lamp would only take their dark."]
        case "little":
            return ["What the day lacks is less than an hour of lamp."]
        case "enough":
            return ["The day alone gives enough, and is long enough."]
        case _:
            assert_never(derivation.setting.limit)


def _hours(hours: float) -> str:
    return f"{hours:g} h"


WORDS: AnyWords = (DerivationWords(of=LampHours, values=values, steps=steps),)
