"""What can be logged of a lot or a bin as it is now, as groups of buttons, what is due in front. Pure."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Literal

from almanac.nursery.events import EVENTS, STAGES, Event, Stage
from almanac.nursery.lots import Lot

Name = Literal["next", "sign", "trouble", "job", "move", "gone", "bin"]
_TITLES: Mapping[Name, str] = {
    "next": "Next",
    "sign": "Seen",
    "trouble": "Trouble",
    "job": "Done",
    "move": "Moves on",
    "gone": "Leaves, or counted",
    "bin": "Of the whole bin",
}
_NEXT = 4
_YEARLY = ("resting", "woke")
# Wood in the cold store drinks, grows and drains nothing.
_IN_STORE = ("looked", "treated", "noted", "mould", "rot", "dry", "wet", "all_clear")
_OF_A_BIN = ("gnats", "mould", "watered", "treated", "temperature", "mat", "air", "lamp", "all_clear", "noted")


@dataclass(frozen=True)
class Button:
    """One event to log by a tap; `group` names the fields beside it that go with it."""

    what: str
    label: str
    group: Name
    needs: str = ""


@dataclass(frozen=True)
class ButtonGroup:
    """Buttons that share their fields."""

    name: Name
    title: str
    buttons: tuple[Button, ...]

    def takes(self, what: str) -> bool:
        return any(button.what == what for button in self.buttons)


def choices(lot: Lot, due: Collection[str], bins: int, troubles: Collection[str] = ()) -> list[ButtonGroup]:
    """The groups of one lot.

    Args:
        lot: as it is now
        due: names of events that the plan waits for, the most pressing first
        bins: how many bins there are
        troubles: those of the bin it stands in
    """
    every = [event for event in EVENTS.values() if _can(event, lot, bins, [*lot.troubles, *troubles])]
    named = {event.name: event for event in every if _is_plain(event, lot)}
    first = [named[name] for name in dict.fromkeys(["looked", *due]) if name in named and name != "noted"][:_NEXT]
    groups = [ButtonGroup("next", _TITLES["next"], tuple(_button(event) for event in first))]
    for name in ("sign", "trouble", "job", "move", "gone"):
        rest = [event for event in every if _group(event) == name and event not in first]
        groups.append(ButtonGroup(name, _TITLES[name], tuple(_button(event) for event in rest)))
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
    return what.replace("_", " ").capitalize()


def stages_of(lot: Lot) -> list[Stage]:
    """The stages that hold any of its cuttings."""
    return [stage for stage in STAGES if lot.count(stage)]


def _group(event: Event) -> Name | Literal[""]:
    if event.kind in ("sign", "trouble", "job"):
        return event.kind
    if event.to == "gone" or event.name == "counted":
        return "gone"
    return "move" if event.target in ("lot", "lots") and event.name not in ("joined", "cut_up") else ""


def _is_plain(event: Event, lot: Lot) -> bool:
    """Whether a tap can say it all: it does not leave open from which stage, nor where to."""
    from_where = set(event.takes_from) & set(stages_of(lot)) if event.kind == "step" else ()
    return _group(event) not in ("gone", "") and event.bin != "must" and len(from_where) < 2


def _can(event: Event, lot: Lot, bins: int, troubles: Collection[str]) -> bool:
    """Whether it can be said of the lot as it is."""
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
    if event.name == "moved":
        return bins > 1 and "rooting" in here
    if event.name == "brought_in":
        return lot.hardening_since is not None or "outside" in here
    if event.kind == "sign":
        seen = lot.signs.get(event.name)
        return seen is None or bool(seen.potted and lot.count("rooting"))
    return True


def _button(event: Event, group: Name | None = None) -> Button:
    needs = "count" if event.count == "must" else "value" if event.value == "must" else ""
    needs = "note" if event.name == "noted" else "bin" if event.bin == "must" else needs
    name = group or _group(event) or "bin"
    return Button(event.name, label(event.name), name, needs)
