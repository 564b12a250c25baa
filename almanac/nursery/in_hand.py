"""What a nursery has in hand of each supply, as `[supplies]` of `nursery.toml` says. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from almanac.faults import Fact, Miswritten, nearest
from almanac.rulebook.supplies import Supply, amount


def in_hand(written: Mapping[str, Any], supplies: Mapping[str, Supply]) -> tuple[dict[str, float], dict[str, Fact]]:
    """Pieces, or litres, by supply; and what is wrong, by the key it stands at.

    Args:
        written: `[supplies]` as read: `bags = 120`, `perlite = "40 l"`
        supplies: those of the rulebook
    """
    found: dict[str, float] = {}
    wrong: dict[str, Fact] = {}
    for name, value in written.items():
        if name not in supplies:
            wrong[name] = Fact("no_supply", supply=name, near=nearest(name, supplies))
            continue
        try:
            found[name] = amount(value, supplies[name].measure)
        except Miswritten as error:
            wrong[name] = error.fact
    return found, wrong
