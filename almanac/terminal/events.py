"""The events that may be logged, as a list for a person and as JSON. Pure."""

from __future__ import annotations

from typing import Any

from almanac.nursery.events import ALIASES, EVENTS, Event
from almanac.terminal.encoded import Shape
from almanac.terminal.table import table

_HEADINGS = {
    "step": "Steps: cuttings move, come or go",
    "bin": "Bins",
    "sign": "Signs of development",
    "trouble": "Troubles",
    "job": "Jobs done",
    "plan": "Plans",
}
_TARGETS = {
    "variety": "NUMBER",
    "lot": "LOT",
    "lots": "LOT...",
    "lots_or_bin": "LOT... or --bin",
    "bin": "--bin",
    "crop": "CROP",
    "row": "",
}


def _takes(event: Event) -> str:
    def option(name: str, need: str) -> list[str]:
        return {"must": [name], "may": [f"[{name}]"], "no": []}[need]

    parts = [_TARGETS[event.target], *option("--count", event.count)]
    parts += option("--bin", event.bin if event.target != "bin" else "no")
    parts += option("--value", event.value) + option("--refers", event.refers if event.name != "void" else "no")
    return " ".join(part for part in parts if part)


def _meaning(event: Event) -> str:
    words = f" ({', '.join(event.words)})" if event.words else ""
    other = [alias for alias, name in ALIASES.items() if name == event.name]
    also = f"; also called {', '.join(other)}" if other else ""
    return f"{event.meaning}{words}{also}"


def events_text() -> str:
    """All events by kind, with what each takes."""
    lines = []
    wide = max(map(len, EVENTS))
    for kind, heading in _HEADINGS.items():
        events = [event for event in EVENTS.values() if event.kind == kind]
        rows = [(each.name.ljust(wide), ": ".join(filter(None, (_takes(each), _meaning(each))))) for each in events]
        lines += [heading, *table(rows, indent=2), ""]
    return "\n".join(lines).rstrip() + "\n"


def events_json() -> dict[str, Any]:
    return {"events": _EVENT(EVENTS.values())}


_EVENT = Shape(Event, "name kind target count from=takes_from to? value words meaning")
