"""The closed list of events a logbook may hold, one row each: what it is about, what it takes, where it moves cuttings.

A new event is a new row of `EVENTS`; the logbook's checks, the replay and `stickdate log --list` read this table.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any, Literal

from almanac.plain import dataclass

Stage = Literal["store", "rooting", "pot", "outside"]
STAGES: tuple[Stage, ...] = ("store", "rooting", "pot", "outside")
Kind = Literal["step", "bin", "sign", "trouble", "job", "plan"]
# What an event is about: a new lot of a variety, one lot, several, lots or a whole bin, a bin, a crop outdoors, a row.
Target = Literal["variety", "lot", "lots", "lots_or_bin", "bin", "crop", "row"]
Need = Literal["no", "may", "must"]
# What the value says: one of a list of words, or a quantity with its unit, or free text.
ValueKind = Literal["words", "temperature", "hours", "mass", "date", "method", "text"]


@dataclass(frozen=True, kw_only=True)
class Event:
    """One kind of event.

    `takes_from` names the stages it can take cuttings from, or of a job those it may be logged of; `to` the stage it
    brings them to ("gone": they leave the nursery). `bin` says whether a bin is named with it as the place the cuttings
    go to.
    """

    name: str
    kind: Kind
    target: Target
    meaning: str
    count: Need = "no"
    takes_from: tuple[Stage, ...] = ()
    to: Stage | Literal["gone", ""] = ""
    bin: Need = "no"
    value: Need = "no"
    value_kind: ValueKind = "text"
    words: tuple[str, ...] = ()
    refers: Need = "no"
    makes_lot: bool = False

    @property
    def handles(self) -> bool:
        """Whether cuttings are in hand without their place: when a lot is cut, split, moved, potted or joined."""
        return self.makes_lot or self.name in ("potted", "moved", "cut_up", "joined")


DEATHS = ("rot", "dry", "heat", "cold", "gnats", "no_roots", "broken")
ORIGINS = ("own_wood", "post", "trade", "air_layer", "liner", "plant")
READY = ("air_layer", "liner", "plant")  # they come with roots: into pots, and nobody here struck them
NO_TROUBLE = "no_trouble"  # a look that says nothing of roots and leaves
TROUBLES = ("gnats", "mould", "rot", "dry", "wet", "scorch", "wilt")


def _step(
    name: str, meaning: str, takes_from: tuple[Stage, ...], to: Stage | Literal["gone", ""], **more: Any
) -> Event:
    base = Event(name=name, kind="step", target="lots", meaning=meaning, count="may", takes_from=takes_from, to=to)
    return replace(base, **more)


def _leaves(name: str, meaning: str, **more: Any) -> Event:
    return _step(name, meaning, STAGES, "gone", count="must", **more)


def _sign(name: str, meaning: str, *stages: Stage) -> Event:
    return Event(name=name, kind="sign", target="lots_or_bin", meaning=meaning, count="may", takes_from=stages)


def _trouble(name: str, meaning: str, count: Need = "no") -> Event:
    return Event(name=name, kind="trouble", target="lots_or_bin", meaning=meaning, count=count)


def _job(name: str, meaning: str, **more: object) -> Event:
    return Event(name=name, kind="job", target="lots_or_bin", meaning=meaning, **more)  # type: ignore[arg-type]  # one row's keys


_TABLE = (
    Event(
        name="taken",
        kind="step",
        target="variety",
        meaning="cuttings cut from your own plants; value: which, by its place in nursery.toml",
        count="must",
        takes_from=(),
        to="store",
        bin="may",
        value="may",
        makes_lot=True,
    ),
    Event(
        name="received",
        kind="step",
        target="variety",
        meaning="cuttings or plants that came in; value: where from, or what they are (with roots: into pots)",
        count="must",
        takes_from=(),
        to="store",
        bin="may",
        value="may",
        value_kind="words",
        words=ORIGINS,
        makes_lot=True,
    ),
    _step("stored", "put back into the cold store", ("rooting", "pot", "outside"), "store"),
    _step(
        "stuck",
        "set to root; part of a stored lot makes the next letter; value: the method, if not the usual one",
        ("store",),
        "rooting",
        bin="may",
        value="may",
        value_kind="method",
        refers="may",
        makes_lot=True,
    ),
    _step("potted", "potted up, under cover", ("rooting",), "pot"),
    _step("lifted", "lifted from its bed, rooted: to be planted, potted or sold", ("rooting",), "rooting"),
    _step("set_out", "carried out for the first time: hardening begins", ("pot",), "pot"),
    _step("outside", "outside overnight, for good", ("pot",), "outside"),
    _step("brought_in", "back under cover; bin: the shelter", ("pot", "outside"), "pot", bin="may"),
    _leaves("sold", "sold; refers: the order it was sent for", refers="may"),
    _leaves("gave", "given away"),
    _leaves("planted", "planted out in your own ground"),
    _leaves("kept", "kept as a stock plant, a mother plant from then on; value: where it stands", value="may"),
    _leaves("died", "died; value: of what", value="may", value_kind="words", words=DEATHS),
    _leaves("discarded", "thrown out"),
    Event(
        name="counted",
        kind="step",
        target="lot",
        meaning="stocktake: the count that is really there; value or note: why",
        count="must",
        takes_from=STAGES,
        value="may",
    ),
    Event(
        name="cut_up",
        kind="step",
        target="lot",
        meaning="sticks cut into cuttings: the new, higher count",
        count="must",
        takes_from=("store", "rooting"),
    ),
    Event(
        name="restuck",
        kind="step",
        target="lot",
        meaning="salvaged, recut, set to root again: next letter, new clock",
        count="may",
        takes_from=("rooting", "pot"),
        to="rooting",
        bin="may",
        refers="may",
        makes_lot=True,
    ),
    Event(
        name="joined",
        kind="step",
        target="lot",
        meaning="put together with another lot of the variety and date (refers)",
        refers="must",
    ),
    Event(name="moved", kind="bin", target="lots", meaning="moved to another bin; its days run on", bin="must"),
    Event(
        name="mat",
        kind="bin",
        target="bin",
        meaning="mat set to a temperature, or off",
        value="must",
        value_kind="temperature",
        words=("off",),
    ),
    Event(
        name="air",
        kind="bin",
        target="bin",
        meaning="air round the tops of a bin",
        value="must",
        value_kind="temperature",
    ),
    Event(
        name="lamp",
        kind="bin",
        target="bin",
        meaning="lamp set to hours a day, or off",
        value="must",
        value_kind="hours",
        words=("off",),
    ),
    _sign("callus", "callus seen at the base", "rooting"),
    _sign("roots", "roots seen", "rooting", "pot"),
    _sign("pushing", "buds swell in the cold store", "store"),
    _sign("budbreak", "buds open", "rooting", "pot"),
    _sign("leaves", "first leaves open", "rooting", "pot"),
    _sign("drawing", "bag lighter and mix paler: the plant drinks", "rooting"),
    _sign("well_rooted", "several roots on two sides, ready to pot", "rooting"),
    _sign("hardened", "hardened off, ready to plant or sell", "pot", "outside"),
    _sign("resting", "gone to rest", "rooting", "pot", "outside"),
    _sign("woke", "awake after rest", "rooting", "pot", "outside"),
    Event(name="leaf_fall", kind="sign", target="crop", meaning="leaves down outdoors"),
    Event(name="buds_swelling", kind="sign", target="crop", meaning="buds swelling outdoors"),
    _trouble("gnats", "fungus gnats seen; count: on the card", "may"),
    _trouble("mould", "mould seen"),
    _trouble("rot", "rot seen"),
    _trouble("dry", "too dry"),
    _trouble("wet", "too wet"),
    _trouble("scorch", "leaves scorched"),
    _trouble("wilt", "leaves wilt"),
    Event(
        name="all_clear",
        kind="trouble",
        target="lots_or_bin",
        meaning="trouble over; value: which, if not all",
        value="may",
        value_kind="words",
        words=TROUBLES,
    ),
    _job(
        "looked",
        "looked through; value: no_trouble where nobody looked for roots or leaves",
        value="may",
        value_kind="words",
        words=(NO_TROUBLE,),
    ),
    _job(
        "opened",
        "bag opened or cover lifted a step (weaning); stage: rooting or pot, where it is in doubt",
        takes_from=("rooting", "pot"),
    ),
    _job("rebagged", "put into a new bag"),
    _job("potted_on", "moved on into a bigger pot", takes_from=("pot", "outside")),
    _job("watered", "watered"),
    _job("fed", "fed"),
    _job("treated", "treated; value: product and rate", value="may"),
    _job("weighed", "sample bag or pot weighed: the weight", value="must", value_kind="mass"),
    _job("temperature", "probe reading in the mix", value="must", value_kind="temperature"),
    _job("noted", "a note"),
    Event(
        name="planned",
        kind="plan",
        target="variety",
        meaning="a lot to come; value: the day to stick it",
        count="must",
        bin="may",
        value="must",
        value_kind="date",
    ),
    Event(name="void", kind="plan", target="row", meaning="undoes the row named in refers", refers="must"),
)
EVENTS: dict[str, Event] = {event.name: event for event in _TABLE}
ALIASES = {"sealed": "stuck"}  # the same step, as it is said of bags
