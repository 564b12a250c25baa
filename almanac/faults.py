"""What is wrong, refused or worth telling, as data: a kind with its values, and of a file the place. Pure.

A reader returns its value and its faults; whoever must stop raises `InputFaults` with all of them. The sentence of each
kind stands in `almanac/words/`, and nothing is ever read back out of it.
"""

from __future__ import annotations

import errno
from collections.abc import Hashable, Iterable
from enum import Enum

from almanac.plain import dataclass


@dataclass(frozen=True, init=False)
class Fact:
    """Something to tell: its kind, and the values its sentence is made from, by name.

    Values are data: a text as it was found, a count as a number, a day as a date, several in a tuple, what is nearest
    as `Nearest`, another fact as that fact.
    """

    kind: str
    given: tuple[tuple[str, Hashable], ...]

    def __init__(self, kind: str, /, **values: Hashable) -> None:
        object.__setattr__(self, "kind", kind)
        object.__setattr__(self, "given", tuple(sorted(values.items())))

    @property
    def values(self) -> dict[str, Hashable]:
        """The values by name."""
        return dict(self.given)


@dataclass(frozen=True)
class Nearest:
    """The valid word nearest to one that is not known; where none is near, those that may be meant if they are few."""

    word: str = ""
    known: tuple[str, ...] = ()


_ALIKE = 0.6  # of two words, the share of letters they have in common
_FEW = 16


def nearest(word: str, known: Iterable[str]) -> Nearest:
    """What may have been meant by a word that is not among the known ones.

    Near is what a person finds near: a slip or two of the key, a word begun, a part of a longer name. Words that only
    share letters (mould and cold, blueberry and mulberry) are not.
    """
    names = sorted(known)
    given = _plain(word[:60])
    parts = [name for name in names if given and given in _plain(name).split("_")]
    if len(parts) > 1:
        return Nearest(known=tuple(parts))
    from difflib import SequenceMatcher  # for words that were mistaken alone

    matcher = SequenceMatcher(autojunk=False)
    matcher.set_seq2(given)
    best, found = 0.0, parts[0] if parts else ""
    for name in [] if parts else names:
        plain = _plain(name)
        matcher.set_seq1(plain)
        begun = len(given) >= 3 and (plain.startswith(given) or (len(plain) >= 3 and given.startswith(plain)))
        if not begun and (matcher.real_quick_ratio() < _ALIKE or matcher.quick_ratio() < _ALIKE):
            continue
        ratio = max(matcher.ratio(), _ALIKE if begun else 0.0)
        if ratio > best and (begun or (ratio >= _ALIKE and may_be_meant(given, plain))):
            best, found = ratio, name
    if found:
        return Nearest(found)
    return Nearest(known=tuple(names) if len(names) <= _FEW else ())


def _plain(word: str) -> str:
    return word.lower().replace("-", "_").replace(" ", "_")


def may_be_meant(given: str, name: str) -> bool:
    """Whether one takes a word for a slip in writing a name; a first letter is seldom mistaken."""
    slips, letters = _slips(given, name), max(len(given), len(name))
    if letters < 3:
        return False  # of numbers as short as that any is near any other
    if given[:1] == name[:1]:
        return slips <= max(1, letters // (2 if letters < 9 else 3))
    return slips <= (2 if letters >= 8 else 1)


def _slips(one: str, other: str) -> int:
    """The fewest letters left out, added, changed or exchanged with a neighbour that make one word of another."""
    before: list[int] = []
    above = list(range(len(other) + 1))
    for row, letter in enumerate(one, 1):
        here = [row]
        for column, wanted in enumerate(other, 1):
            least = min(above[column] + 1, here[-1] + 1, above[column - 1] + (letter != wanted))
            if row > 1 and column > 1 and letter == other[column - 2] and one[row - 2] == wanted:
                least = min(least, before[column - 2] + 1)
            here.append(least)
        before, above = above, here
    return above[-1]


@dataclass(frozen=True, kw_only=True)
class Fault:
    """A fact about one place of one file, shown as one line: a fault, or a notice that is none.

    `line` counts from 1 as an editor does; `key` is the path of a TOML key in words ("bin 'A', mat").
    """

    file: str
    fact: Fact
    line: int | None = None
    key: str = ""


class Unusable(ValueError):
    """Values that cannot be used together; `facts` are all that is wrong with them."""

    def __init__(self, *facts: Fact) -> None:
        self.facts = facts
        super().__init__(*facts)


class InputFaults(Exception):
    """The grower's input is at fault; carries every fault found, in file and line order."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = tuple(sorted(set(faults), key=lambda f: (f.file, f.line or 0, f.key, f.fact.kind)))
        super().__init__(self.faults)


class Shape(Enum):
    """What stood in a file instead of a single value."""

    LIST = "list"
    TABLE = "table"


def as_found(written: object) -> Hashable:
    """What stood in a file as the value of a fact: of a list or table no more than that it is one."""
    if isinstance(written, list | dict):
        return Shape.LIST if isinstance(written, list) else Shape.TABLE
    return written if isinstance(written, Hashable) else str(written)


class Stopped(Exception):
    """Something cannot go on; `fact` says why."""

    def __init__(self, fact: Fact) -> None:
        self.fact = fact
        super().__init__(fact)


class Refusal(Stopped):
    """A command was understood and cannot be carried out."""


class MachineTrouble(Stopped):
    """The machine is at fault, not the grower: a full disk, a busy lock, no permission."""


def machine_trouble(error: OSError, file: str = "") -> MachineTrouble:
    """What the machine would not do; `file` is what it was about where the machine names none."""
    about, why = str(error.filename or file), (error.strerror or str(error)).lower()
    if error.errno in (errno.ENOSPC, errno.EDQUOT):
        return MachineTrouble(Fact("disk_full", file=about, why=why))
    if error.errno in (errno.EACCES, errno.EPERM, errno.EROFS):
        return MachineTrouble(Fact("not_permitted", file=about, why=why))
    if isinstance(error, TimeoutError):  # a lock that another holds
        return MachineTrouble(Fact("busy"))
    return MachineTrouble(Fact("machine_failed", file=about, why=why))


def of_machine(error: Exception) -> bool:
    """Whether the machine is at fault, and not what was asked for: a file named that is not there is not its fault."""
    named = FileNotFoundError, FileExistsError, IsADirectoryError, NotADirectoryError
    return isinstance(error, MachineTrouble | OSError) and not isinstance(error, named)


def troubles(error: Exception) -> tuple[Fault | Fact, ...]:
    """What an exception tells that is no defect: of the grower's files, of what was asked for, of the machine."""
    if isinstance(error, InputFaults):
        return error.faults
    if isinstance(error, OSError):
        error = machine_trouble(error)
    return (error.fact,) if isinstance(error, Stopped) else ()


class Miswritten(Stopped, ValueError):
    """A value in a file or on the command line cannot be read."""


def clipped(text: str) -> str:
    """As much of a grower's text as a fault line quotes."""
    return text if len(text) <= 60 else f"{text[:59]}…"
