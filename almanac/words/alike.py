"""What is alike together, so that it is told once. Pure."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TypeVar

_T = TypeVar("_T")
_K = TypeVar("_K")


def together(every: Iterable[_T], by: Callable[[_T], _K]) -> dict[_K, list[_T]]:
    """By what they are alike in, those that are, in the order in which the first of each comes."""
    found: dict[_K, list[_T]] = {}
    for each in every:
        found.setdefault(by(each), []).append(each)
    return found
