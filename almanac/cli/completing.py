"""What may stand where, for a shell that completes: events, lots, bins, entries, rules, crops, by argument and option.

The commands know nothing of it: it is taught to them when a shell asks, and only then.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import assert_never

import click
from click.shell_completion import CompletionItem

from almanac.nursery.events import ALIASES, EVENTS, STAGES, Event
from almanac.nursery.names import Names
from almanac.nursery.order_rows import FORMS

Found = Mapping[str, str]  # a word, and what it is
_MOST = 200


def _events(names: Names, ctx: click.Context) -> Found:
    return {name: event.meaning for name, event in EVENTS.items() if event.kind != "plan"} | {
        alias: EVENTS[name].meaning for alias, name in ALIASES.items()
    }


def _event(ctx: click.Context) -> Event | None:
    """The event that the line logs; before an option that lacks its value the words are not taken apart yet."""
    word = str(ctx.params.get("what") or next(iter(ctx.args), ""))
    return EVENTS.get(ALIASES.get(word, word))


def _about(names: Names, ctx: click.Context) -> Found:
    """What an event is about, as the event says."""
    event = _event(ctx)
    if event is None:
        return {}
    match event.target:
        case "variety":
            return names.varieties
        case "bin":
            return names.bins
        case "crop":
            return names.crops
        case "row":
            return names.rows
        case "lot" | "lots" | "lots_or_bin":
            return names.lots | (names.varieties if event.makes_lot else {})
        case _:
            assert_never(event.target)


def _value(names: Names, ctx: click.Context) -> Found:
    event = _event(ctx)
    return dict.fromkeys(event.words, "") if event else {}


def _places(names: Names, ctx: click.Context) -> Found:
    event = _event(ctx)
    return names.bins | (names.shelters if event and event.name == "brought_in" else {})


def _chapters(names: Names, ctx: click.Context) -> Found:
    from almanac.actions.guide import CHAPTERS

    return dict.fromkeys(CHAPTERS, "")


# By the command and the parameter's name, else by the name alone.
_WAYS: dict[tuple[str, str] | str, Callable[[Names, click.Context], Found]] = {
    ("log", "what"): _events,
    ("log", "about"): _about,
    ("log", "value"): _value,
    ("undo", "row"): lambda names, ctx: names.rows,
    ("why", "name"): lambda names, ctx: names.entries,
    ("show", "name"): lambda names, ctx: names.rules,
    ("diff", "name"): lambda names, ctx: names.rules,
    ("new", "stem"): lambda names, ctx: names.crops | names.methods,
    ("new", "like"): lambda names, ctx: names.crops | names.methods,
    ("order", "number"): lambda names, ctx: names.varieties,
    ("guide", "name"): _chapters,
    "lot": lambda names, ctx: names.lots,
    "lots": lambda names, ctx: names.lots,
    "but": lambda names, ctx: names.lots,
    "refers": lambda names, ctx: names.lots | names.orders,
    "bin": _places,
    "variety": lambda names, ctx: names.varieties,
    "crop": lambda names, ctx: names.crops,
    "method": lambda names, ctx: names.methods,
    "on": lambda names, ctx: {"today": "", "yesterday": ""},
    "stage": lambda names, ctx: dict.fromkeys(STAGES, ""),
    "form": lambda names, ctx: dict.fromkeys(FORMS, ""),
    "ship": lambda names, ctx: names.orders,
    "cancel": lambda names, ctx: names.orders,
}


def teach(command: click.Command, names: Callable[[click.Context], Names]) -> click.Command:
    """Let the parameters of a command say what may stand for them; of a group also those inside."""
    for param in command.params:
        way = _WAYS.get((command.name or "", param.name or "")) or _WAYS.get(param.name or "")
        if way is not None:
            setattr(param, "shell_complete", _completer(way, names))  # noqa: B010  # a method of this one alone
    for inner in command.commands.values() if isinstance(command, click.Group) else ():
        teach(inner, names)
    return command


def _completer(
    way: Callable[[Names, click.Context], Found], names: Callable[[click.Context], Names]
) -> Callable[[click.Context, str], list[CompletionItem]]:
    def complete(ctx: click.Context, begun: str) -> list[CompletionItem]:
        try:
            found = way(names(ctx), ctx)
        except Exception:
            return []  # what is wrong is told by the command itself, not in the middle of a line
        fits = [(word, what) for word, what in found.items() if word.lower().startswith(begun.lower())]
        return [CompletionItem(word, help=what or None) for word, what in fits[:_MOST]]

    return complete


def names_for(ctx: click.Context) -> Names:
    """The names of the nursery that the line so far is about."""
    from almanac.cli.common import folder_of
    from almanac.rulebook.shipped import shipped

    named = next((each.params["nursery"] for each in _upwards(ctx) if each.params.get("nursery")), None)
    return Names(folder=folder_of(named), shipped=shipped("rules"))


def _upwards(ctx: click.Context | None) -> Iterator[click.Context]:
    while ctx is not None:
        yield ctx
        ctx = ctx.parent
