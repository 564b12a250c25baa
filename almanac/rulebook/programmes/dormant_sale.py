"""When dormant cuttings are offered and posted."""

from __future__ import annotations

from typing import Annotated

from almanac.plain import dataclass
from almanac.rulebook.fields import Temperature, Within
from almanac.rulebook.programme_numbers import ProgrammeNumbers


@dataclass(frozen=True, kw_only=True)
class DormantSale(ProgrammeNumbers):
    """When dormant cuttings are offered and posted.

    Offered in the days that the task says, counted from the shortest day, as far as each lot lasts. A parcel travels
    `transit_days`; it is held where the usual night is `hold_below` or a usual day `hold_above`.
    """

    tasks = frozenset({"offer", "last_post"})
    values = frozenset({"post_days", "cold", "warm", "why", "look_first", "law"})
    transit_days: Annotated[int, Within(ge=0)]
    hold_below: Temperature
    hold_above: Temperature
