"""What keeps a lot from being sent."""

from __future__ import annotations

from typing import Annotated, ClassVar

from almanac.plain import dataclass
from almanac.rulebook.fields import Days, Within
from almanac.rulebook.programme_numbers import ProgrammeNumbers


@dataclass(frozen=True, kw_only=True)
class ForSale(ProgrammeNumbers):
    """What keeps a lot from being sent: a trouble of `holds` that is not over, and so long `after_treatment` [days].

    Plants that came in are kept `apart` so long first. A promise of plants to come is told of once its chance is so
    much less than that at which such promises are made, `less_sure`.
    """

    tasks: ClassVar[frozenset[str]] = frozenset({"ship_order", "ship_order_away", "promise_at_risk"})
    values: ClassVar[frozenset[str]] = frozenset(
        {"order", "count", "number", "form", "where", "chance", "never_stuck", "day", "law"}
    )
    holds: tuple[str, ...]
    after_treatment: Days
    apart: Days
    less_sure: Annotated[float, Within(ge=0, le=1)]
