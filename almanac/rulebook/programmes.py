"""The numbers of programmes: care whose days are worked out (a generation, a dose of light) instead of counted.

A care file of a programme's name holds them as `[programme]`, and marks as `worked` the tasks whose days it gives.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, ClassVar

from pydantic import Field

from almanac.rulebook.fields import Hours, Table


class Programme(Table):
    """What every programme has: `tasks` whose days it works out, and the `values` that their texts may name."""

    tasks: ClassVar[frozenset[str]] = frozenset()
    values: ClassVar[frozenset[str]] = frozenset()
    source: str
    note: str = ""


class Light(Programme):
    """Lamps over bins.

    `least_hours` is the shortest day for plants in leaf; the longest, and the dose, are the crop's. A timer is set anew
    only for a `change`, and left so for `settle_days`. `usual_share` of a clear sky is taken for a usual day where the
    place has no monthly means. `closed` and `beside_day` say what a lamp in a closed bin asks for, and one that adds to
    the day.
    """

    tasks: ClassVar[frozenset[str]] = frozenset({"lamp_on", "lamp_set", "lamp_probe"})
    values: ClassVar[frozenset[str]] = frozenset({"on", "off", "hours", "set", "timer", "gives", "place"})
    least_hours: Hours
    change: Hours
    settle_days: Annotated[int, Field(ge=1)]
    usual_share: Annotated[float, Field(gt=0, le=1)]
    closed: str
    beside_day: str


# By the name of the care file; `almanac/plan/programmes` has a file of the same name that works it out.
PROGRAMMES: Mapping[str, type[Programme]] = {"light": Light}
