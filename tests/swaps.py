"""Constructors whose arguments could be exchanged unseen: `python -m tests.swaps [PACKAGE ...]`, of all by itself.

Two dates in the wrong order once passed types and tests. What is told by name cannot be exchanged: so a class takes by
name what it has more than three of, and all but one of each kind. Told are those that do not.
"""

from __future__ import annotations

import dataclasses
import inspect
import sys
from collections.abc import Iterator
from importlib import import_module
from itertools import combinations
from pkgutil import walk_packages

MOST = 3
ALIKE = {"int": "float", "datetime": "date"}  # one is taken for the other


def classes(package: str) -> Iterator[type]:
    """Every class that is written in a package."""
    found = import_module(package)
    names = [package, *(each.name for each in walk_packages(found.__path__, f"{package}."))]
    for module in map(import_module, names):
        for each in vars(module).values():
            if isinstance(each, type) and each.__module__ == module.__name__:
                yield each


def by_place(cls: type) -> dict[str, str]:
    """The arguments of its constructor that need no name, with their types as written."""
    if dataclasses.is_dataclass(cls):
        return {field.name: str(field.type) for field in dataclasses.fields(cls) if field.init and not field.kw_only}
    own = vars(cls).get("__init__")
    if own is None:
        return {}
    arguments = list(inspect.signature(own).parameters.values())[1:]
    return {each.name: str(each.annotation) for each in arguments if each.kind is each.POSITIONAL_OR_KEYWORD}


def of_one_kind(one: str, other: str) -> bool:
    """Whether a value may be of both types."""
    parts = ({ALIKE.get(part.strip(), part.strip()) for part in each.split("|")} - {"None"} for each in (one, other))
    return bool(set.intersection(*parts))


def swaps_of(cls: type) -> list[str]:
    """What could be exchanged in a class, a line each."""
    arguments, name = by_place(cls), f"{cls.__module__}.{cls.__qualname__}"
    found = [f"{name}: {len(arguments)} arguments without names"] if len(arguments) > MOST else []
    for one, other in combinations(arguments, 2):
        if of_one_kind(arguments[one], arguments[other]):
            found.append(f"{name}: {one} and {other}, {arguments[one]} and {arguments[other]}")
    return found


if __name__ == "__main__":
    for package in sys.argv[1:] or ["almanac"]:
        for cls in classes(package):
            for line in swaps_of(cls):
                print(line)
