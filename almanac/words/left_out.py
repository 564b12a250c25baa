"""Why crops that one may expect have no rule file: too little is known, or the method is wrong for them. Pure."""

from __future__ import annotations

from typing import Final

_OWN_FILE = "what you know of it may stand in rules/crops of your nursery"
# By the name as it may be typed, without what parts its words.
_WHY: Final = dict.fromkeys(("hydrangea", "olive"), "it is rooted from cuttings in leaf, not from dormant wood")


def left_out(crop: str) -> str:
    """The end of a line about a crop that is left out on purpose; empty for any other."""
    name = crop.lower().strip()
    why = _WHY.get(name) or _WHY.get(name.removesuffix("s")) or _WHY.get(f"{name.removesuffix('ies')}y")
    return f": {why}; {_OWN_FILE}" if why else ""
