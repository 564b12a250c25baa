"""Hardening off in words: where plants stand, what light that is, and how the ramp was worked out. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from almanac.forecast.hardening import Known
from almanac.forecast.ramp import Kind, Light, Stand, Step
from almanac.plan.care.programmes.hardening.derivation import ByNight, Carry, LivesOut, Ramp
from almanac.units import System, both_scales, quantity, temperature
from almanac.words.dates import day, days, weekday
from almanac.words.programmes import AnyWords, DerivationWords
from almanac.words.sentences import capital, listed, so_many

_LAMP_OF: Mapping[Known, str] = {
    "pots": "light under [space] in nursery.toml",
    "bin": "light of the bin it rooted in",
    "bins": "the weakest lamp of nursery.toml: no bin of its own is known",
    "rule": "a common lamp: nursery.toml names none, so add light to [[bin]] or [space]",
}


def values(found: Ramp) -> dict[str, str]:
    step, near = found.step, found.steps[0].day
    told = {
        "mild": both_scales(found.by_night.by_day_c),
        "nightly": nightly(found.by_night),
        "slips": _slips(found.lives),
        "held": _held(found.lives, near),
        "bears": both_scales(found.by_night.bears_c),
    }
    if step is None:
        return {"what": "", "where": "", "light": "", **told}
    # Nothing where they bear it: how much it is, `why` tells.
    light = " A clear day there is more than they bear: first a week nearer the lamp." if step.beyond else ""
    return {"what": _what(found, step), "where": _where(found, step), "light": light, **told}


def values_of_day(found: Carry) -> dict[str, str]:
    asked = {"indoors": "Ask someone: out", "frame": "Ask someone: frame", "fleece": "Ask someone: fleece"}
    what = {"indoors": "Out", "frame": "Frame open", "fleece": "Fleece off"}
    return {
        "times": f"{(asked if found.away else what)[found.by_night.way]} {found.out:%H:%M}–{found.back:%H:%M}",
        "where_each": " ".join(_where_carried(found)),
        "effort": _effort(found),
        "mild": both_scales(found.by_night.by_day_c),
        "nightly": nightly(found.by_night),
    }


def steps_of_day(found: Carry, system: System) -> list[str]:
    """How a day's hours were found."""
    by_light = any(each.ramp.step and each.ramp.step.timed for each in found.carried)
    hours = (
        "as long as they bear the light there" if by_light else "longer every day, until the mild hours are all theirs"
    )
    lines = [f"Day {found.number} outside: {hours}, from well after sunrise until before sunset."]
    lines += [
        f"{', '.join(each.lots)}: {_held(each.ramp.lives, found.day)}" for each in found.carried if each.ramp.lives
    ]
    return [*lines, *_night_lines(found.by_night, system)]


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
    if found.lives:
        lines.append(_held(found.lives, near))
    if found.lives and found.lives.nights is None:
        lines.append("Usual nights are not known here: frost and ramp alone count ([frost] monthly or record tells).")
    return [*lines, *_night_lines(found.by_night, system)]


def _held(lives: LivesOut | None, near: date) -> str:
    """Which of three days plants wait for until they live out, and the other two."""
    if lives is None:
        return ""
    told = {
        "frost": f"frost no likelier than you accept from {day(lives.frost, near)}",
        "nights": f"nights usually warm enough from {day(lives.nights, near)}" if lives.nights else "",
        "ramp": f"full sun borne by {day(lives.ramp, near)}",
    }
    first = told.pop(lives.held_by)
    others = "; ".join(filter(None, told.values()))
    return f"Living out, {weekday(lives.day, near)}, waits for this: {first} ({others})."


def _slips(lives: LivesOut | None) -> str:
    if lives is None:
        return "all that follows comes as much later."
    if lives.may_slip:
        spare = days(lives.may_slip)
        return f"the ramp may be {spare} late before living out ({day(lives.day)}) is too."
    return f"every later step and living out ({day(lives.day)}) then come as many days later."


def nightly(found: ByNight) -> str:
    """Where plants stand at night until they live out."""
    if found.way == "indoors":
        return "In at night, every night, till an entry says to leave them out."
    where = {"frame": "in the frame, shut before sunset", "fleece": "under fleece, off the leaves and pegged down"}
    warmer = f"{found.adds_c * 9 / 5:.2g} F ({found.adds_c:.1f} C)"
    return (
        f"They stay where they are at night, {where[found.way]}: it adds some {warmer}, so with a forecast under "
        f"{both_scales(found.least_c)} they spend that night indoors."
    )


def _night_lines(found: ByNight, system: System) -> list[str]:
    if found.way == "indoors":
        return [f"At night indoors: under {temperature(found.lowest_c, system)} is too cold for them yet."]
    adds = quantity(found.adds_c, "temperature difference", system)
    where = "in the frame" if found.way == "frame" else "under fleece"
    return [
        f"At night {where}, some {adds} warmer: down to a forecast of "
        f"{temperature(found.least_c, system)}, as they bear {temperature(found.lowest_c, system)} yet."
    ]


def _where_carried(found: Carry) -> list[str]:
    """Each group's place, by its lots where there are several."""
    told = []
    for each in found.carried:
        step = each.ramp.step
        assert step is not None  # a day out has a step
        where = _place_of(each.ramp, step)
        told.append(f"{', '.join(each.lots)}: {where}" if len(found.carried) > 1 else where)
    return told


def _place_of(found: Ramp, step: Step) -> str:
    """Where a step's plants stand on any of its days."""
    if step.out and step.back:
        rest = f"; the rest of the day {_place(found, step.rest)} or under cover" if step.rest else ""
        return f"From {step.out:%H:%M} to {step.back:%H:%M} {_place(found, step.stand)}{rest}."
    place = capital(_place(found, step.stand))
    if step.stand.after_noon:
        return f"{place} till {found.noon:%H:%M}, then {_place(found, step.stand.after_noon)}."
    return f"{place}."


def _effort(found: Carry) -> str:
    pots = so_many(found.count, "pot")
    each_way = f"some {max(round(found.minutes), 1)} min each way"
    return f"{pots}, {each_way}." if found.by_night.way == "indoors" else f"{pots} to open and to close, {each_way}."


def _said(found: Ramp, step: Step) -> str:
    over = "; MORE than that" if step.beyond else ""
    return f"{_what(found, step)}, {_figures(step.light)}; borne by then {_figures(step.bears)}{over}."


def _figures(light: Light) -> str:
    return f"{light.dose_mol:.1f} mol, peak {light.peak_ppfd:.0f} µmol"


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
        other = (
            f"the rest of the day {_place(found, rest)} or under cover" if rest else "the rest of the day under cover"
        )
        return f"{capital(place)} from {step.out:%H:%M} to {step.back:%H:%M}, {other}.{until}"
    if step.stand.after_noon:
        return (
            f"{capital(place)} till {found.noon:%H:%M}, then {_place(found, step.stand.after_noon)}. "
            "Afternoon shade stays: the sun is too fierce here for young plants."
        )
    keep = "; keep the shade at hand" if step.stand.kind == "sun" else ""
    laths = " Laths or a light tree that let half the sun through: nursery.toml names no cloth."
    return f"{capital(place)} all day{keep}.{laths if step.stand.kind == 'light_shade' else ''}"


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


def _percent(stand: Stand) -> str:
    return listed(f"{shade:.0%}" for shade in stand.shades)


WORDS: AnyWords = (
    DerivationWords(of=Ramp, values=values, steps=steps),
    DerivationWords(of=Carry, values=values_of_day, steps=steps_of_day),
)
