"""How a sentence is made from a template and the values of a fact. Pure.

A template is a text with the names of values in braces, `"{lot} has {there}; {wanted!n} cannot be {what!d}"`:

* `{x!c}` is a text clipped to what one line bears, `{x!v}` a value as it stood in a file, `{x!a}` and `{x!q}` a text in
  single or double quotes, `{x!p}` where cuttings of a stage are, `{x!h}` how many are in each stage, `{x!d}` what is
  done to cuttings, `{x!n}` a count or none, `{x!%}` a chance as files write it, `{x!m}` a month by name,
  `{x!z}` a number in two digits, `{x!e}` the half of the earth, `{x!l}` how latitudes of the other half are written;
* a tuple is `a, b and c`, or with `{stages: or }` joined by what stands behind the colon;
* `Nearest` is the end of a sentence, `; did you mean 'a'?`, or what stands behind the colon where nothing is near;
* a fact within a fact is its own sentence, a fault that with its place.

A kind whose sentence depends on more than that has a function instead, called with the values by name.
"""

from __future__ import annotations

from calendar import month_name
from collections.abc import Callable, Iterable
from string import Formatter
from typing import Any

from almanac.faults import Fact, Fault, Nearest, Shape, clipped

Sentence = str | Callable[..., str]
_SEVERAL = {"variety": "varieties", "supply": "supplies"}
_DONE = {"gave": "given", "died": "logged as died", "outside": "put outside"}


def one_line(text: str) -> str:
    """Text as one line of printable characters, whatever stood in the file it quotes."""
    return "".join(sign if sign.isprintable() else "?" for sign in " ".join(text.split()))


def with_sign(words: str, sign: str) -> str:
    """Words with a sign behind them, which a question does without: `Pot up:`, `Awake?`."""
    return words if words.endswith("?") else f"{words}{sign}"


def is_sentence(words: str) -> bool:
    """Whether words stand by themselves, so that others may stand before and behind them as such."""
    return words.endswith(".")


def listed(words: Iterable[str], last: str = "and") -> str:
    """`a, b and c`, as a person lists; or with another word before the last."""
    known = list(words)
    return f" {last} ".join([", ".join(known[:-1]), *known[-1:]] if len(known) > 1 else known)


def capital(words: str) -> str:
    """Words as a sentence begins."""
    return words[:1].upper() + words[1:]


def small(words: str) -> str:
    """Words as a sentence goes on."""
    return words[:1].lower() + words[1:]


def so_many(number: int, thing: str) -> str:
    """`1 pot`, `3 pots`, `2 varieties`."""
    return f"{number} {thing if abs(number) == 1 else _SEVERAL.get(thing, f'{thing}s')}"


# Figures of rules and shares of water, mix or light are told with Python's own `:.0%`, written alike.
def percent(share: float) -> str:
    """`62%` of a share that was worked out, 0 to 1: never rounded to none or all."""
    if 0 < share < 0.01 or 0.99 < share < 1:
        return "<1%" if share < 0.5 else ">99%"
    return f"{share:.0%}"


def percent_asked(chance: float) -> str:
    """`92.5%` of a chance that somebody named, 0 to 1: with the decimals it was given with."""
    return f"{chance * 100:.10g}%"


def near_text(near: Nearest) -> str:
    """The end of a line about an unknown word: the nearest valid one, or the valid ones where few; else empty."""
    if near.word:
        return f"; did you mean '{clipped(near.word)}'?"
    return f"; expected {' | '.join(map(clipped, near.known))}" if near.known else ""


def shown(given: object) -> str:
    """What stood in a file, as its writer would say it: texts in quotes, lists and tables by their kind."""
    if isinstance(given, str):
        return f'"{clipped(given)}"'
    if isinstance(given, bool):
        return str(given).lower()
    return f"a {given.value}" if isinstance(given, Shape) else clipped(str(given))


def where_kept(stage: str) -> str:
    """Where cuttings of a stage are."""
    return {"store": "in store", "pot": "in pots"}.get(stage, stage)


_WAYS: dict[str, Callable[[Any], str]] = {
    "c": lambda text: clipped(str(text)),
    "v": shown,
    "a": lambda text: f"'{text}'",
    "q": lambda text: f'"{text}"',
    "p": where_kept,
    "h": lambda held: f"{held[0]} {where_kept(held[1])}",
    "d": lambda what: _DONE.get(what, what.replace("_", " ")),
    "b": lambda kind: "lift" if kind == "bed" else "pot up",
    "n": lambda count: str(count or "none"),
    "%": lambda chance: f'"{chance * 100:g}%"',
    "e": lambda southern: "south" if southern else "north",
    "l": lambda southern: "positive in the north" if southern else "negative in the south",
    "z": lambda number: f"{number:02}",
    "m": lambda month: month_name[month],
}


class Filler(Formatter):
    """Fills templates; `told` makes the sentence of a fact within a fact."""

    def __init__(self, told: Callable[[Fact | Fault], str]) -> None:
        self.told = told

    def convert_field(self, value: Any, conversion: Any) -> Any:
        """A value, or each of several, in one of the ways."""
        if conversion is None:
            return value
        way = _WAYS[conversion]
        return tuple(way(each) for each in value) if isinstance(value, tuple) else way(value)

    def format_field(self, value: Any, format_spec: str) -> str:
        """A value by its type."""
        if isinstance(value, Nearest):
            return near_text(value) or format_spec
        if isinstance(value, Fact | Fault):
            return self.told(value)
        if isinstance(value, tuple):
            words = [self.format_field(each, "") for each in value]
            return format_spec.join(words) if format_spec else listed(words)
        return str(super().format_field(value, format_spec))
