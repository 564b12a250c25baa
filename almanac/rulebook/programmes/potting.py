"""Pots and mix for what is rooted, and when they must be ready."""

from __future__ import annotations

from typing import Annotated

from almanac.plain import dataclass
from almanac.rulebook.fields import Days, Volume, Within
from almanac.rulebook.programme_numbers import ProgrammeNumbers


@dataclass(frozen=True, kw_only=True)
class Potting(ProgrammeNumbers):
    """Pots and mix for the plants to come: `pot` holds so much, `settling` is the share more that mix needs.

    They are made ready `lead` days before the lot is likely potted up.
    """

    tasks = frozenset({"pots_ready"})
    values = frozenset({"pots", "mix", "count", "week"})
    pot: Volume
    settling: Annotated[float, Within(ge=0, lt=1)]
    lead: Days

    @property
    def mix_l(self) -> float:
        """Mix to make up for one pot [litres]."""
        return self.pot * (1 + self.settling)
