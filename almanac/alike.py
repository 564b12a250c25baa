"""What is alike together, so that it is worked out or told once. Pure."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable
from typing import TypeVar

_Key = TypeVar("_Key", bound=Hashable)
_Thing = TypeVar("_Thing")


def together(every: Iterable[_Thing], by: Callable[[_Thing], _Key]) -> dict[_Key, list[_Thing]]:
    """By what they are alike in, those that are, in the order in which the first of each comes."""
    return gathered((by(each), each) for each in every)


def gathered(pairs: Iterable[tuple[_Key, _Thing]]) -> dict[_Key, list[_Thing]]:
    """The same of things that come with what they are alike in."""
    found: dict[_Key, list[_Thing]] = {}
    for key, thing in pairs:
        found.setdefault(key, []).append(thing)
    return found
