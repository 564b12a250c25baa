"""What a row of the logbook says, as one grower says it to another: `opened 1b`, `roots on 9 of 1b`. Pure."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from almanac.nursery.logbook import Row

# Signs and troubles that say how a plant is, not what is on it; and jobs that are things.
_HOW = {
    "pushing": "buds swelling",
    "drawing": "drinking",
    "well_rooted": "well rooted",
    "hardened": "hardened off",
    "resting": "at rest",
    "woke": "awake",
    "dry": "too dry",
    "wet": "too wet",
    "all_clear": "all clear",
    "leaf_fall": "leaves down",
    "buds_swelling": "buds swelling",
}
_THINGS = ("temperature", "noted")
_NAMES = {"budbreak": "buds open", "noted": "note"}


def said_of(row: Row, about: str) -> str:
    """What was logged, of whom; one looks at a lot and through a bin."""
    count, word = row.count, _NAMES.get(row.what, row.what.replace("_", " "))
    many = f"{count} of {about}" if count is not None else about
    if row.what == "looked":
        return f"looked {'at' if row.lot else 'through'} {about}"
    if row.what in _HOW:
        return f"{_HOW[row.what]}: {many}"
    if row.event.kind == "trouble":
        return f"{word}{'' if count is None else f' ({count})'} in {about}"
    if (row.event.kind in ("step", "job") and row.what not in _THINGS) or row.what == "moved":
        return f"{word} {many}"
    return f"{word} {'of' if count is None else 'on'} {many}"
