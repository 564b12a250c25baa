"""What keeps a lot from being sent."""

from __future__ import annotations

from typing import ClassVar

from almanac.rulebook.fields import Days
from almanac.rulebook.programme_numbers import ProgrammeNumbers


class ForSale(ProgrammeNumbers):
    """What keeps a lot from being sent: a trouble of `holds` that is not over, and so long `after_treatment` [days].

    Plants that came in are kept `apart` so long first.
    """

    tasks: ClassVar[frozenset[str]] = frozenset({"ship_order", "ship_order_away"})
    values: ClassVar[frozenset[str]] = frozenset({"order", "count", "number", "form", "where", "law"})
    holds: list[str]
    after_treatment: Days
    apart: Days
