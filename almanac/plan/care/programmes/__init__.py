"""The programmes, a file or folder each, by the name of its rule file in `rules/care`: what is put here is found."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache

from almanac.by_stem import modules_in
from almanac.plan.care.programme import Programme


@cache
def programmes() -> Mapping[str, Programme]:
    """Every programme by its name, each after the one that it follows, those that follow the same by name."""
    found: dict[str, Programme] = {name: module.PROGRAMME for name, module in modules_in(__name__).items()}

    def line(name: str) -> tuple[str, ...]:
        before = found[name].follows
        return (*(line(before) if before else ()), name)

    return {name: found[name] for name in sorted(found, key=line)}
