"""What someone who looks after the bench for a few days needs to be told: how good looks, what to leave, when to call.

By the stages that are there; in words of one who has never done it, without a number. Pure.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Final

from almanac.nursery.events import Stage
from almanac.words.sentences import capital

_GOOD: Final[Mapping[Stage, str]] = {
    "rooting": "A good bag: beads of water on the inside, the stick firm and its bark tight, the neck shut, the bag "
    "warm to the hand and never hot. White or cream threads are roots. Small leaves at the top are good, too.",
    "pot": "A good plant in a pot: leaves that stand, a mix that is dark just under its surface, nothing that crawls "
    "or flies.",
    "outside": "A good plant outside: leaves that stand, the pot upright, its shade cloth where it was.",
    "store": "Good wood in store: firm, bark tight, buds shut, the wrap closed and barely damp.",
}
_LEAVE: Final[Mapping[Stage, str]] = {
    "rooting": "Leave bags shut, unless the list says open. Do not pull at a stick to see whether it holds. Do not "
    "water a bag: beads inside mean that it has enough.",
    "pot": "Do not water a pot that is still heavy, and do not move plants into the sun.",
    "outside": "Do not move plants or take off their cloth, unless the list says so.",
    "store": "Leave the wood cold and wrapped.",
}
_CALL: Final[Mapping[Stage, str]] = {
    "rooting": "fur of any colour, a sour smell, soft or black wood, water standing in a bag, a bag dry inside, a mat "
    "cold or hot to the hand",
    "pot": "leaves that hang although the pot is heavy, leaves with brown or grey spots, small black flies",
    "outside": "leaves that turn white or brown, a night that may freeze, a storm",
    "store": "fur, a sour smell, wood that shrivels, buds that open, a store that is warm or frozen",
}
_ALWAYS_CALL: Final = "a lamp or mat that is out, a wet plug or cable, anything you are not sure of"
_ALWAYS_LEAVE: Final = "Leave thermostats, timers and bottles alone. Spray or pour nothing that the list does not name."
FIRST: Final = (
    "Nothing here is urgent enough to hurt yourself. Work with dry hands near plugs. If something looks wrong, touch "
    "nothing and telephone."
)

WRITE_DOWN: Final = "Where a line says log, write it on this paper, with the lot; the grower types it in later."


def to_know(stages: Collection[Stage]) -> dict[str, list[str]]:
    """By heading what someone is told of cuttings in some stages."""
    good, leave, call = ([text for stage, text in of.items() if stage in stages] for of in (_GOOD, _LEAVE, _CALL))
    return {
        "How good looks": good,
        "Leave alone": [*leave, _ALWAYS_LEAVE],
        "Telephone if you see": list(map(capital, (*call, _ALWAYS_CALL))),
    }
