"""What can be logged of a lot or a bin as it is now, as groups of buttons that keep their places. Pure.

A button's place goes by the stage the cuttings are in, never by what was logged before or what is due: the hand knows
it. What is due is marked where it stands; what cannot be said now stands in its place and takes no tap.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from datetime import date
from typing import Literal

from almanac.nursery.events import EVENTS, STAGES, Event, Stage
from almanac.nursery.lots import Lot
from almanac.plain import dataclass
from almanac.words.dates import day

Name = Literal["next", "sign", "trouble", "job", "move", "gone", "bin"]
_TITLES: Mapping[Name, str] = {
    "next": "Seen or done",
    "sign": "More to see",
    "trouble": "Trouble",
    "job": "More work",
    "move": "Goes elsewhere",
    "gone": "Plants leave, or are counted",
    "bin": "Of the whole bin",
}
# What is logged most of cuttings in a stage, in the order of its buttons.
_USUAL: Mapping[Stage, tuple[str, ...]] = {
    "store": ("looked", "stuck", "pushing", "mould", "dry", "died"),
    "rooting": ("looked", "roots", "potted", "mould", "callus", "leaves", "well_rooted", "opened", "watered", "died"),
    "pot": ("looked", "watered", "set_out", "outside", "fed", "potted_on", "gnats", "wilt", "sold", "died"),
    "outside": ("looked", "watered", "hardened", "fed", "brought_in", "potted_on", "scorch", "resting", "sold", "died"),
}
# Where the event's own name could be taken for something else, or says too little on a button.
_LABELS: Mapping[str, str] = {
    "leaves": "First leaves",
    "budbreak": "Buds open",
    "pushing": "Buds swell",
    "drawing": "Drinks",
    "stored": "Back to store",
    "potted": "Potted up",
    "potted_on": "Bigger pot",
    "set_out": "Carried out",
    "outside": "Outside for good",
    "moved": "To another bin",
    "opened": "Opened a step",
    "gave": "Given away",
    "planted": "Planted out",
    "kept": "Kept as mother plant",
    "discarded": "Thrown out",
    "counted": "Counted: so many",
    "temperature": "Warmth of the mix",
    "treated": "Treated",
    "noted": "A note",
    "all_clear": "Trouble over",
    "resting": "Gone to rest",
    "woke": "Awake",
    "wet": "Too wet",
    "dry": "Too dry",
    "scorch": "Scorched",
    "wilt": "Wilts",
    "mat": "Mat set to",
    "air": "Air set to",
    "lamp": "Lamp set to",
}
_YEARLY = ("resting", "woke")
# Wood in the cold store drinks, grows and drains nothing.
_IN_STORE = ("looked", "treated", "noted", "mould", "rot", "dry", "wet", "all_clear")
_OF_A_BIN = ("gnats", "mould", "watered", "treated", "temperature", "mat", "air", "lamp", "noted", "all_clear")


@dataclass(frozen=True, kw_only=True)
class Button:
    """One event to log by a tap; `group` names the fields beside it that go with it.

    `needs` names the field it cannot do without, `seen` when it was logged first, `due` that the plan waits for it, and
    `off` that it cannot be said now.
    """

    what: str
    label: str
    group: Name
    needs: str = ""
    seen: str = ""
    due: bool = False
    off: bool = False


@dataclass(frozen=True)
class ButtonGroup:
    """Buttons that share their fields."""

    name: Name
    title: str
    buttons: tuple[Button, ...]

    def takes(self, what: str) -> bool:
        return any(button.what == what for button in self.buttons)


def usual(lot: Lot, due: Collection[str], troubles: Collection[str] = (), as_of: date = date.min) -> ButtonGroup:
    """What is logged most of a lot where it stands.

    Args:
        lot: as it is now
        due: names of events that the plan waits for
        troubles: those of the bin it stands in
        as_of: the day it is told on
    """
    names = _usual_names(lot)
    if lot.troubles or troubles:
        names = (*names, "all_clear")  # the last, so that nothing gives way to it
    return ButtonGroup("next", _TITLES["next"], tuple(_of_lot(name, lot, due, as_of, "next") for name in names))


def choices(
    lot: Lot, due: Collection[str], bins: int, troubles: Collection[str] = (), as_of: date = date.min
) -> list[ButtonGroup]:
    """All groups of one lot, what is usual in front.

    Args:
        lot, due, troubles, as_of: as for `usual`
        bins: how many bins there are
    """
    groups = [usual(lot, due, troubles, as_of)]
    every = [event for event in EVENTS.values() if _can(event, lot, bins, [*lot.troubles, *troubles])]
    every = [event for event in every if event.name != "lifted" or "lifted" in due]  # of beds alone, and when asked for
    for name in ("sign", "trouble", "job", "move", "gone"):
        rest = [event.name for event in every if _group(event) == name and not groups[0].takes(event.name)]
        groups.append(ButtonGroup(name, _TITLES[name], tuple(_of_lot(each, lot, due, as_of, name) for each in rest)))
    return [group for group in groups if group.buttons]


def bin_choices(troubles: Collection[str]) -> ButtonGroup:
    """What is logged of a bin as a whole."""
    names = [name for name in _OF_A_BIN if name != "all_clear" or troubles]
    return ButtonGroup("bin", _TITLES["bin"], tuple(_button(EVENTS[name], "bin") for name in names))


def group_of(what: str) -> str:
    """The group an event stands in among a lot's buttons."""
    return _group(EVENTS[what]) if what in EVENTS else ""


def label(what: str) -> str:
    """An event as a button says it."""
    return _LABELS.get(what) or what.replace("_", " ").capitalize()


def stages_of(lot: Lot) -> list[Stage]:
    """The stages that hold any of its cuttings."""
    return [stage for stage in STAGES if lot.count(stage)]


def _usual_names(lot: Lot) -> tuple[str, ...]:
    """By the stages that hold any of its cuttings; without what would leave open from which of them."""
    here = stages_of(lot)
    names = dict.fromkeys(name for stage in here for name in _USUAL[stage])
    plain = [name for name in names if len(set(EVENTS[name].takes_from) & set(here)) < 2 or EVENTS[name].kind != "step"]
    return tuple("woke" if name == "resting" and lot.resting else name for name in plain)


def _group(event: Event) -> Name | Literal[""]:
    if event.kind in ("sign", "trouble", "job"):
        return event.kind
    if event.to == "gone" or event.name == "counted":
        return "gone"
    return "move" if event.target in ("lot", "lots") and event.name not in ("joined", "cut_up") else ""


def _can(event: Event, lot: Lot, bins: int, troubles: Collection[str]) -> bool:
    """Whether it can be said of cuttings in the stages where the lot has any."""
    here = stages_of(lot)
    if not here or event.target not in ("lot", "lots", "lots_or_bin"):
        return False
    if event.takes_from and not set(event.takes_from) & set(here):
        return False
    if here == ["store"] and event.kind in ("trouble", "job") and event.name not in _IN_STORE:
        return False
    if event.name == "all_clear":
        return bool(troubles)
    if event.name in _YEARLY:
        return lot.resting == (event.name == "woke")
    return event.name != "moved" or (bins > 1 and "rooting" in here)


def _off(name: str, lot: Lot) -> bool:
    """Whether it cannot be said of the lot now, though of others in its stage."""
    if name == "brought_in":
        return lot.hardening_since is None and not lot.count("outside")
    return name == "set_out" and all(each.hardening_since for each in lot.cohorts if each.stage == "pot")


def _of_lot(name: str, lot: Lot, due: Collection[str], as_of: date, group: Name) -> Button:
    sign = lot.signs.get(name) if name not in _YEARLY else None
    seen = f"seen {day(sign.day, as_of)}" if sign and not (sign.potted and lot.count("rooting")) else ""
    return _button(
        EVENTS[name], group, seen=seen, due=name in due and name != "noted" and not seen, off=_off(name, lot)
    )


def _button(event: Event, group: Name, *, seen: str = "", due: bool = False, off: bool = False) -> Button:
    needs = "count" if event.count == "must" else "value" if event.value == "must" else ""
    needs = "note" if event.name == "noted" else "bin" if event.bin == "must" else needs
    return Button(what=event.name, label=label(event.name), group=group, needs=needs, seen=seen, due=due, off=off)
