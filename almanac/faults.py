"""What is wrong with a grower's file, as data: where, what was found, the remedy. Gathered, shown all at once. Pure.

A reader returns its value and its faults; whoever must stop raises `InputFaults` with all of them.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from difflib import get_close_matches


@dataclass(frozen=True)
class Fault:
    """One fault of one file, shown as one line.

    `line` counts from 1 as an editor does; `key` is the path of a TOML key in words ("bin 'A', mat").
    `text` says what was found, what was expected and the remedy.
    """

    file: str
    text: str
    line: int | None = None
    key: str = ""

    def __str__(self) -> str:
        where = self.file if self.line is None else f"{self.file}:{self.line}"
        return one_line(f"{where}: {self.key}: {self.text}" if self.key else f"{where}: {self.text}")


class InputFaults(Exception):
    """The grower's input is at fault; carries every fault found, in file and line order."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = tuple(sorted(set(faults), key=lambda f: (f.file, f.line or 0, f.key, f.text)))
        super().__init__("\n".join(str(fault) for fault in self.faults))


class Refusal(Exception):
    """A command was understood and cannot be carried out; the message is one line with the remedy."""


def one_line(text: str) -> str:
    """Text as one line of printable characters, whatever stood in the file it quotes."""
    return "".join(sign if sign.isprintable() else "?" for sign in " ".join(text.split()))


def clipped(text: str) -> str:
    """As much of a grower's text as a fault line quotes."""
    return text if len(text) <= 60 else f"{text[:59]}…"


def listed(words: Iterable[str]) -> str:
    """`a, b and c`, as a person lists."""
    known = list(words)
    return known[0] if len(known) == 1 else ", ".join(known[:-1]) + f" and {known[-1]}" if known else ""


def suggestion(word: str, known: Iterable[str]) -> str:
    """The end of a fault line about an unknown word: the nearest valid one, or the valid ones where few."""
    names = sorted(known)
    lowered = {name.lower(): name for name in names}
    near = get_close_matches(word[:60].lower(), lowered, n=1, cutoff=0.6)
    if near:
        return f"; did you mean '{clipped(lowered[near[0]])}'?"
    if 0 < len(names) <= 12:
        return f"; expected {' | '.join(map(clipped, names))}"
    return ""
