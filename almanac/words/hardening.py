"""Hardening off in words: where plants stand, what light that is, and how the ramp was worked out. Pure."""

from __future__ import annotations

from collections.abc import Mapping

from almanac.forecast.hardening import Known
from almanac.forecast.ramp import Light, Stand, Step
from almanac.plan.worked import Ramp
from almanac.words.dates import day, weekday

_LAMP_OF: Mapping[Known, str] = {
    "pots": "light under [space] in nursery.toml",
    "bin": "light of the bin it rooted in",
    "bins": "the weakest lamp of nursery.toml: no bin of its own is known",
    "rule": "a common lamp: nursery.toml names none, so add light to [[bin]] or [space]",
}


def values(worked: Ramp) -> dict[str, str]:
    """What the texts of its tasks may name."""
    step = worked.step
    if step is None:
        return {"what": "", "where": "", "light": ""}
    return {"what": _what(worked, step), "where": _where(worked, step), "light": _light_there(step)}


def steps(worked: Ramp) -> list[str]:
    """The arithmetic: the lamp, the share a day, each step, full sun."""
    lamp, near = worked.lamp, worked.steps[0].day
    lines = [
        f"The lamp: {lamp.ppfd:g} µmol for {lamp.hours:g} h x 0.0036 = {lamp.light.dose_mol:.1f} mol a day "
        f"({_LAMP_OF[lamp.told_by]})."
    ]
    if worked.resumed:
        lines.append(f"Set back: it starts from the step before, {_figures(worked.used_to)}.")
    lines.append(
        f"Dose and peak may rise by {worked.raise_a_day:.0%} a day on the light of the step before; figures are of a "
        "clear sky on a step's first day."
    )
    lines += [f"{weekday(each.day, near)}: {_said(worked, each)}" for each in worked.steps]
    last = worked.steps[-1]
    lines.append(f"Full sun on {day(last.day, near)}: {_figures(last.full)}.")
    lines.append(
        "Usual nights and the chance of a frost both allow the start."
        if worked.nights_known
        else "Usual nights are not known here: the frost date alone sets the start ([frost] monthly or record tells)."
    )
    return lines


def _said(worked: Ramp, step: Step) -> str:
    over = "; MORE than that" if step.beyond else ""
    return f"{_what(worked, step)}, {_figures(step.light)}; borne by then {_figures(step.bears)}{over}."


def _figures(light: Light) -> str:
    return f"{light.dose_mol:.1f} mol, peak {light.peak_ppfd:.0f} µmol"


def _light_there(step: Step) -> str:
    told = f"A clear day there gives {step.light.dose_mol:.0f} mol, at most {step.light.peak_ppfd:.0f} µmol."
    return f"{told} That is more than they bear: first a week nearer the lamp." if step.beyond else told


def _what(worked: Ramp, step: Step) -> str:
    """In a few words, for a title."""
    if step.out and step.back:
        place = "sun" if step.rest else "full shade"
        return f"{place} {step.out:%H:%M} to {step.back:%H:%M}"
    stand = step.stand
    return {
        "full_shade": "full shade",
        "cloths": "both cloths",
        "cloth": f"{_percent(stand)} cloth",
        "light_shade": "light shade",
        "sun": "full sun",
        "sun_till_noon": f"sun till {worked.noon:%H:%M}, then {_afternoon(stand)}",
    }[stand.kind]


def _where(worked: Ramp, step: Step) -> str:
    """Where to stand them, and how long, as one tells a helper."""
    full_shade = f"{worked.wall} of a wall" if worked.wall else "close to a wall or under a dense tree"
    if step.out and step.back:
        until = f" Each day till {weekday(worked.until, step.day)}." if worked.until else ""
        if step.rest:
            return (
                f"Into the sun at {step.out:%H:%M}, by {step.back:%H:%M} back in full shade, {full_shade}, "
                f"for the rest of the day.{until}"
            )
        return f"Out at {step.out:%H:%M} in full shade, {full_shade}; in by {step.back:%H:%M}.{until}"
    stand = step.stand
    return {
        "full_shade": f"Out all day where no sun reaches: {full_shade}.",
        "cloths": f"Under both cloths, one over the other ({' and '.join(f'{s:.0%}' for s in stand.shades)}).",
        "cloth": f"Under the {_percent(stand)} cloth alone.",
        "light_shade": "Under a light tree or laths that keep off half the sun: no cloth is named in nursery.toml.",
        "sun": "In full sun all day; keep the shade at hand.",
        "sun_till_noon": f"In the sun till {worked.noon:%H:%M}, then {_afternoon(stand)}. Afternoon shade stays: "
        "the sun is too fierce here for young plants.",
    }[stand.kind]


def _percent(stand: Stand) -> str:
    return " and ".join(f"{shade:.0%}" for shade in stand.shades)


def _afternoon(stand: Stand) -> str:
    if stand.shades:
        return f"{_percent(stand)} cloth"
    return "light shade" if (stand.after_noon or 0) > 0.2 else "full shade"
