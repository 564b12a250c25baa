"""Hardening off in words: where plants stand, what light that is, and how the ramp was worked out. Pure."""

from __future__ import annotations

from collections.abc import Mapping

from almanac.forecast.hardening import Known
from almanac.forecast.ramp import Kind, Light, Stand, Step
from almanac.plan.care.programmes.hardening import Ramp
from almanac.units import System
from almanac.words.dates import day, weekday
from almanac.words.programme_words import AnyWords, DerivationWords

_LAMP_OF: Mapping[Known, str] = {
    "pots": "light under [space] in nursery.toml",
    "bin": "light of the bin it rooted in",
    "bins": "the weakest lamp of nursery.toml: no bin of its own is known",
    "rule": "a common lamp: nursery.toml names none, so add light to [[bin]] or [space]",
}


def values(found: Ramp) -> dict[str, str]:
    """What the texts of its tasks may name."""
    step = found.step
    if step is None:
        return {"what": "", "where": "", "light": ""}
    return {"what": _what(found, step), "where": _where(found, step), "light": _light_there(step)}


def steps(found: Ramp, system: System) -> list[str]:
    """The arithmetic: the lamp, the share a day, each step, full sun."""
    lamp, near = found.lamp, found.steps[0].day
    lines = [
        f"The lamp: {lamp.ppfd:g} µmol for {lamp.hours:g} h x 0.0036 = {lamp.light.dose_mol:.1f} mol a day "
        f"({_LAMP_OF[lamp.told_by]})."
    ]
    if found.resumed:
        lines.append(f"Set back: it starts from the step before, {_figures(found.used_to)}.")
    lines.append(
        f"Dose and peak may rise by {found.raise_a_day:.0%} a day on the light of the step before; figures are of a "
        "clear sky on a step's first day."
    )
    lines += [f"{weekday(each.day, near)}: {_said(found, each)}" for each in found.steps]
    last = found.steps[-1]
    lines.append(f"Full sun on {day(last.day, near)}: {_figures(last.full)}.")
    lines.append(
        "Usual nights and the chance of a frost both allow the start."
        if found.nights_known
        else "Usual nights are not known here: the frost date alone sets the start ([frost] monthly or record tells)."
    )
    return lines


def _said(found: Ramp, step: Step) -> str:
    over = "; MORE than that" if step.beyond else ""
    return f"{_what(found, step)}, {_figures(step.light)}; borne by then {_figures(step.bears)}{over}."


def _figures(light: Light) -> str:
    return f"{light.dose_mol:.1f} mol, peak {light.peak_ppfd:.0f} µmol"


def _light_there(step: Step) -> str:
    told = f"A clear day there gives {step.light.dose_mol:.0f} mol, at most {step.light.peak_ppfd:.0f} µmol."
    return f"{told} That is more than they bear: first a week nearer the lamp." if step.beyond else told


def _what(found: Ramp, step: Step) -> str:
    """In a few words, for a title."""
    stand, short = step.stand, _short(step.stand)
    if step.out and step.back:
        return f"{short} {step.out:%H:%M}–{step.back:%H:%M}"
    if stand.after_noon:
        return f"{short}, shade from {found.noon:%H:%M}"
    return "full sun" if stand.kind == "sun" else short


def _where(found: Ramp, step: Step) -> str:
    """Where to stand them, and how long, as one tells a helper."""
    place, rest = _place(found, step.stand), step.rest
    if step.out and step.back:
        until = f" Each day till {weekday(found.until, step.day)}." if found.until else ""
        other = f"the rest of the day {_place(found, rest)}" if rest else "the rest of the day under cover"
        return f"{_begun(place)} from {step.out:%H:%M} to {step.back:%H:%M}, {other}.{until}"
    if step.stand.after_noon:
        return (
            f"{_begun(place)} till {found.noon:%H:%M}, then {_place(found, step.stand.after_noon)}. "
            "Afternoon shade stays: the sun is too fierce here for young plants."
        )
    keep = "; keep the shade at hand" if step.stand.kind == "sun" else ""
    return f"{_begun(place)} all day{keep}.{_note(step.stand)}"


def _short(stand: Stand) -> str:
    named: Mapping[Kind, str] = {"full_shade": "full shade", "cloths": "both cloths", "light_shade": "light shade"}
    return f"{_percent(stand)} cloth" if stand.kind == "cloth" else named.get(stand.kind, "sun")


def _place(found: Ramp, stand: Stand) -> str:
    wall = f"{found.wall} of a wall" if found.wall else "by a wall or under a dense tree"
    places: Mapping[Kind, str] = {
        "full_shade": f"in full shade {wall}",
        "cloths": f"under both cloths ({_percent(stand)}, one over the other)",
        "cloth": f"under the {_percent(stand)} cloth",
        "light_shade": "in light shade",
    }
    return places.get(stand.kind, "in the sun")


def _note(stand: Stand) -> str:
    light = " Laths or a light tree that let half the sun through: nursery.toml names no cloth."
    return light if stand.kind == "light_shade" else ""


def _begun(words: str) -> str:
    return words[:1].upper() + words[1:]


def _percent(stand: Stand) -> str:
    return " and ".join(f"{shade:.0%}" for shade in stand.shades)


WORDS: AnyWords = (DerivationWords(Ramp, values, steps),)
