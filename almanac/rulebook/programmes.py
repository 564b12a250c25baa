"""The numbers of programmes: care whose days are worked out (a generation, a dose of light) instead of counted.

A care file of a programme's name holds them as `[programme]`, and marks as `worked` the tasks whose days it gives.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, ClassVar, Literal

from pydantic import Field

from almanac.rulebook.fields import Days, Table, Temperature


class Programme(Table):
    """What every programme has: `tasks` whose days it works out, and the `values` that their texts may name."""

    tasks: ClassVar[frozenset[str]] = frozenset()
    values: ClassVar[frozenset[str]] = frozenset()
    source: str
    note: str = ""


class Dormancy(Table):
    """When leaves fall and buds swell outdoors, by the site's frosts and its shortest day.

    Leaves fall `leaves_fall` after the first frost of autumn, not sooner than `leaves_from` days from the shortest day
    and by that day at the latest, when those still hanging are stripped. Buds swell `buds_swell` before the last frost
    of spring, not sooner than `buds_from` days after the shortest day, and on that day where it does not freeze. Wood
    is best taken `early` or `late` in between, and before nights under `cut_before` (left out: what kills dormant
    wood, which for young plants may be less cold).
    """

    leaves_fall: Days
    leaves_from: Annotated[int, Field(ge=-180, le=0)]
    buds_swell: Days
    buds_from: Annotated[int, Field(ge=0, le=180)]
    best: Literal["early", "late"] = "early"
    cut_before: Temperature | None = None
    source: str
    note: str = ""


class Store(Programme):
    """When dormant wood is taken and stuck.

    `dormancy` is that of a crop which gives none of its own; the good day to take wood comes `due` after the window
    opens, or before it closes where late wood is best. Forecasts for a lot to come are of one of `lot` cuttings.
    """

    tasks = frozenset({"take_wood", "stick_wood"})
    values = frozenset({"bare", "nights"})
    due: Days
    lot: Annotated[int, Field(ge=1)]
    dormancy: Dormancy


class DormantSale(Programme):
    """When dormant cuttings are offered and posted.

    Offered in the days that the task says, counted from the shortest day; the last post goes `margin` before buds may
    swell in store. A parcel travels `transit_days`; it is held where the usual night is `hold_below` or a usual day
    `hold_above`.
    """

    tasks = frozenset({"offer", "last_post"})
    values = frozenset({"post_days", "cold", "warm", "why"})
    margin: Days
    transit_days: Annotated[int, Field(ge=0)]
    hold_below: Temperature
    hold_above: Temperature


# By the name of the care file; `almanac/plan/programmes` has a file of the same name that works it out.
PROGRAMMES: Mapping[str, type[Programme]] = {"store": Store, "dormant_sale": DormantSale}
