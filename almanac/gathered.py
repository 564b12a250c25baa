"""Things by what they share. Pure."""

from __future__ import annotations

from collections.abc import Hashable, Iterable
from typing import TypeVar

_Key = TypeVar("_Key", bound=Hashable)
_Thing = TypeVar("_Thing")


def gathered(pairs: Iterable[tuple[_Key, _Thing]]) -> dict[_Key, list[_Thing]]:
    """By what they share, things as they come: keys in the order of their first one."""
    found: dict[_Key, list[_Thing]] = {}
    for key, thing in pairs:
        found.setdefault(key, []).append(thing)
    return found
