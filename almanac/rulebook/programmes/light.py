"""What lamps over bins go by."""

from __future__ import annotations

from typing import Annotated, ClassVar

from almanac.plain import dataclass
from almanac.rulebook.fields import Hours, Within
from almanac.rulebook.programme_numbers import ProgrammeNumbers


@dataclass(frozen=True, kw_only=True)
class Lamps(ProgrammeNumbers):
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
    settle_days: Annotated[int, Within(ge=1)]
    usual_share: Annotated[float, Within(gt=0, le=1)]
    closed: str
    beside_day: str
