"""The numbers of programmes: care whose days are worked out (a generation, a dose of light) instead of counted.

A care file of a programme's name holds them as `[programme]`, and marks as `worked` the tasks whose days it gives.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import ClassVar

from almanac.rulebook.fields import Days, Table


class Programme(Table):
    """What every programme has: `tasks` whose days it works out, and the `values` that their texts may name."""

    tasks: ClassVar[frozenset[str]] = frozenset()
    values: ClassVar[frozenset[str]] = frozenset()
    source: str
    note: str = ""


class ForSale(Programme):
    """What keeps a lot from being sent: a trouble of `holds` that is not over, and so long `after_treatment` [days]."""

    tasks: ClassVar[frozenset[str]] = frozenset({"ship_order", "ship_order_away"})
    values: ClassVar[frozenset[str]] = frozenset({"order", "count", "number", "form", "where"})
    holds: list[str]
    after_treatment: Days


# By the name of the care file; `almanac/plan/programmes` has a file of the same name that works it out.
PROGRAMMES: Mapping[str, type[Programme]] = {"for_sale": ForSale}
