"""What a nursery has in hand of each supply, as `[supplies]` of `nursery.toml` says. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from almanac.faults import clipped, suggestion
from almanac.rulebook.supplies import Supply, amount


def in_hand(written: Mapping[str, Any], supplies: Mapping[str, Supply]) -> tuple[dict[str, float], dict[str, str]]:
    """Pieces, or litres, by supply; and what is wrong, by the key it stands at.

    Args:
        written: `[supplies]` as read: `bags = 120`, `perlite = "40 l"`
        supplies: those of the rulebook
    """
    found: dict[str, float] = {}
    wrong: dict[str, str] = {}
    for name, value in written.items():
        if name not in supplies:
            near = suggestion(name, supplies) or "; all of them: stickdate rules"
            wrong[name] = f"'{clipped(name)}' is not a supply{near}"
            continue
        try:
            found[name] = amount(value, supplies[name].measure)
        except ValueError as error:
            wrong[name] = str(error)
    return found, wrong
