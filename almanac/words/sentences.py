"""How a sentence is made from a template and the values of a fact. Pure.

A template is a text with the names of values in braces, `"{lot} has {there}; {wanted} cannot be {done}"`:

* `{found!c}` is a text clipped to what one line bears, `{found!v}` a value as it stood in a file, texts in quotes;
* a tuple is `a, b and c`, or with `{stages: or }` joined by what stands behind the colon;
* `Nearest` is the end of a sentence, `; did you mean 'a'?`, or what stands behind the colon where nothing is near;
* a fact within a fact is its own sentence.

A kind whose sentence depends on more than that has a function instead, called with the values by name.
"""

from __future__ import annotations

from collections.abc import Callable
from string import Formatter
from typing import Any

from almanac.faults import Fact, Nearest, clipped, listed
from almanac.units import shown

Sentence = str | Callable[..., str]


def near_text(near: Nearest) -> str:
    """The end of a line about an unknown word: the nearest valid one, or the valid ones where few; else empty."""
    if near.word:
        return f"; did you mean '{clipped(near.word)}'?"
    return f"; expected {' | '.join(map(clipped, near.known))}" if near.known else ""


class Filler(Formatter):
    """Fills templates; `told` makes the sentence of a fact within a fact."""

    def __init__(self, told: Callable[[Fact], str]) -> None:
        self.told = told

    def convert_field(self, value: Any, conversion: Any) -> Any:
        """Clipped, or as it stood in a file."""
        if conversion == "c":
            return clipped(str(value))
        return shown(value) if conversion == "v" else super().convert_field(value, conversion)

    def format_field(self, value: Any, format_spec: str) -> str:
        """A value by its type."""
        if isinstance(value, Nearest):
            return near_text(value) or format_spec
        if isinstance(value, Fact):
            return self.told(value)
        if isinstance(value, tuple):
            words = [self.format_field(each, "") for each in value]
            return format_spec.join(words) if format_spec else listed(words)
        return str(super().format_field(value, format_spec))
