"""The steps of weaning and the move off the mat, in words: how each was dated. Pure."""

from __future__ import annotations

from collections.abc import Mapping

from almanac.plan.derivation import Aired, OffMat, ToLamp
from almanac.units import System, temperature
from almanac.words.dates import weekday

_AFTER = {
    "ready_to_wean": "the day it is ready to wean",
    "roots": "roots",
    "leaves": "first leaves, when roots were there",
    "opened": "the last step logged",
    "all_clear": "the day it was firm again",
    "potted": "potting",
}


def values(worked: Aired | OffMat) -> Mapping[str, str]:
    """What the texts of its tasks may name: which part of a lot to log, and the cooler bin."""
    if isinstance(worked, OffMat):
        return {"to": worked.bin, "room": f"{worked.bin_c * 9 / 5 + 32:.0f} F ({round(worked.bin_c * 2) / 2:g} C)"}
    return {"part": f" --stage {worked.stage}" if worked.stage else ""}


def steps_to_air(worked: Aired) -> list[str]:
    """How a step was dated, line by line."""
    near = worked.since
    told = f"Step {worked.number} of {worked.of}; "
    told += f"{worked.done} logged and standing." if worked.done else "none logged yet."
    lines = [told]
    if worked.closed_back:
        lines.append(f"Closed back a step for wilting on {weekday(worked.closed_back, near)}; goes on once it is firm.")
    first = worked.done + 1
    lead = f", {worked.lead} day{'s' * (worked.lead != 1)} on" if worked.lead else ""
    lines.append(f"Step {first} is counted from {_AFTER[worked.after]}, {weekday(worked.since, near)}{lead}.")
    if worked.weeks:
        lines.append(f"It was not logged: asked for again {worked.weeks} week{'s' * (worked.weeks > 1)} later.")
    if worked.number > first:
        lines.append(f"Each further step {worked.between} days after the one before.")
    lines.append(f"A step may be {worked.late} days late; once logged, the next counts from that day.")
    return lines


def steps_to_lamp(worked: ToLamp) -> list[str]:
    """How the end of the shade was dated."""
    lines = [f"{worked.in_shade} days in shade from potting, {weekday(worked.potted, worked.potted)}."]
    if worked.opened:
        lines.append(
            f"Not before the cover has come off, {weekday(worked.opened, worked.potted)}, with days to settle."
        )
    return lines


def steps_off_mat(worked: OffMat, system: System) -> list[str]:
    """Why there and why then."""
    near = worked.counted_from
    lines = [f"It stands on {temperature(worked.base_c, system)}; due with the last step, {weekday(near, near)}."]
    if worked.bin:
        warmth = temperature(worked.bin_c, system)
        lines.append(f"Bin {worked.bin} is the coolest it still grows in ({warmth}), with room for {worked.free}.")
    else:
        lines.append("No bin is that much cooler and has room for it.")
    return lines
