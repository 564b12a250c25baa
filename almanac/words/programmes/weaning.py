"""The steps of weaning and the move off the mat, in words: how each was dated. Pure."""

from __future__ import annotations

from collections.abc import Mapping

from almanac.plan.care.programmes.weaning.derivation import Aired, OffMat, ToLamp
from almanac.units import System, both_scales, temperature
from almanac.words.dates import days, weekday
from almanac.words.programmes import AnyWords, DerivationWords
from almanac.words.sentences import so_many

_AFTER = {
    "roots": "roots",
    "leaves": "first leaves",
    "opened": "the last step logged",
    "all_clear": "the day it was firm again",
    "potted": "potting",
}


def values_to_air(found: Aired) -> Mapping[str, str]:
    """What the texts of a step may name: which part of a lot to log."""
    return {"part": f" --stage {found.stage}" if found.stage else ""}


def values_off_mat(found: OffMat) -> Mapping[str, str]:
    """What the text of the move may name: the cooler bin."""
    return {"to": found.bin, "room": both_scales(found.bin_c)}


def steps_to_air(found: Aired, system: System) -> list[str]:
    """How a step was dated, line by line."""
    near = found.since
    told = f"Step {found.number} of {found.of}; "
    told += f"{found.done} logged and standing." if found.done else "none logged yet."
    lines = [told]
    if found.closed_back:
        lines.append(f"Closed back a step for wilting on {weekday(found.closed_back, near)}; goes on once it is firm.")
    first = found.done + 1
    lead = f", {days(found.lead)} on" if found.lead else ""
    if found.after == "potting_likely":
        told = f"Step {first} is reckoned {-found.lead} days back from the likely potting day"
        lines.append(f"{told}, {weekday(found.since, near)}: {found.of} steps, and open before it.")
    else:
        lines.append(f"Step {first} is counted from {_AFTER[found.after]}, {weekday(found.since, near)}{lead}.")
    if found.weeks:
        lines.append(f"It was not logged: asked for again {so_many(found.weeks, 'week')} later.")
    if found.number > first:
        lines.append(f"Each further step {found.between} days after the one before.")
    lines.append(f"A step may be {found.late} days late; once logged, the next counts from that day.")
    return lines


def steps_to_lamp(found: ToLamp, system: System) -> list[str]:
    """How the end of the shade was dated."""
    lines = [f"{found.in_shade} days in shade from potting, {weekday(found.potted, found.potted)}."]
    if found.opened:
        lines.append(f"Not before the cover has come off, {weekday(found.opened, found.potted)}, with days to settle.")
    return lines


def steps_off_mat(found: OffMat, system: System) -> list[str]:
    """Why there and why then."""
    near = found.counted_from
    lines = [f"It stands on {temperature(found.base_c, system)}; to be potted by {weekday(near, near)}, and not yet."]
    if found.bin:
        warmth = temperature(found.bin_c, system)
        lines.append(f"Bin {found.bin} is the coolest it still grows in ({warmth}), with room for {found.free}.")
    else:
        lines.append("No bin is that much cooler and has room for it.")
    return lines


WORDS: AnyWords = (
    DerivationWords(of=Aired, values=values_to_air, steps=steps_to_air),
    DerivationWords(of=ToLamp, steps=steps_to_lamp),
    DerivationWords(of=OffMat, values=values_off_mat, steps=steps_off_mat),
)
