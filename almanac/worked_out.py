"""What was worked out before, by what it was worked out for: all that changes in a frozen class. Takes nothing else."""

from __future__ import annotations

from collections.abc import Callable
from typing import Generic, TypeVar

_For = TypeVar("_For")
_Found = TypeVar("_Found")
_MOST = 2**16


class WorkedOut(Generic[_For, _Found]):
    """At most so many values: one more, and it begins anew."""

    def __init__(self, most: int = _MOST) -> None:
        self._found: dict[_For, _Found] = {}
        self._most = most

    def of(self, what: _For, worked_out: Callable[[], _Found]) -> _Found:
        """The value of something, worked out where it is not kept yet."""
        try:
            return self._found[what]
        except KeyError:
            pass
        value = worked_out()
        if len(self._found) >= self._most:
            self._found = {}  # another thread may still read the old one
        self._found[what] = value
        return value
