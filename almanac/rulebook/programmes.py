"""The numbers of programmes: care whose days are worked out (a generation, a dose of light) instead of counted.

A care file of a programme's name holds them as `[programme]`, and marks as `worked` the tasks whose days it gives.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, ClassVar, Self

from pydantic import Field, model_validator

from almanac.rulebook.fields import Days, Table, TemperatureDifference, Volume


class Programme(Table):
    """What every programme has: `tasks` whose days it works out, and the `values` that their texts may name."""

    tasks: ClassVar[frozenset[str]] = frozenset()
    values: ClassVar[frozenset[str]] = frozenset()
    source: str
    note: str = ""


class Weaning(Programme):
    """From the closed bag, or the covered pot, to room air in steps; rooted bags off the mat.

    A step comes `between` days after the one before and may be `late` by so much; the first lift of a cover comes
    `after_potting`, the full lamp after days `in_shade`. Wilting within `holds` of the last step sets it back one. The
    mat is left, within `off_mat_within` of the last step, where the base is warmer than the air by `cooler`; for a bin
    that is cooler by as much where one has room.
    """

    tasks = frozenset(
        {
            "wean_loosen",
            "wean_half",
            "wean_open",
            "cover_lift",
            "cover_half",
            "uncover",
            "to_lamp",
            "cool_bin",
            "off_mat",
        }
    )
    values = frozenset({"part", "to", "room"})
    between: Days
    late: Days
    after_potting: Days
    in_shade: Days
    holds: Days
    cooler: TemperatureDifference
    off_mat_within: Days

    @model_validator(mode="after")
    def _one_a_day(self) -> Self:
        if self.between < 1:
            raise ValueError('between must be a day or more; write for example "3 d"')
        if not self.late < self.between:
            raise ValueError("late must be less than between, or two steps of a lot could fall on one day")
        return self


class Potting(Programme):
    """Pots and mix for the plants to come: `pot` holds so much, `settling` is the share more that mix needs.

    They are made ready `lead` days before the lot is likely potted up.
    """

    tasks = frozenset({"pots_ready"})
    values = frozenset({"pots", "mix", "count", "week"})
    pot: Volume
    settling: Annotated[float, Field(ge=0, lt=1)]
    lead: Days

    @property
    def mix_l(self) -> float:
        """Mix to make up for one pot [litres]."""
        return self.pot * (1 + self.settling)


# By the name of the care file; `almanac/plan/programmes` has a file of the same name that works it out.
PROGRAMMES: Mapping[str, type[Programme]] = {"weaning": Weaning, "potting": Potting}
