"""When dormant sticks go into a bed outdoors: in autumn, at winter's end, or not at all, by the usual soil. Pure.

The soil is reckoned from the site's usual lows (`site.soil`): every day told from it is an estimate. Two windows, not
one: between them soil is frozen or sodden, and what has no roots is lifted by frost.
"""

from __future__ import annotations

from datetime import date, timedelta
from typing import Literal

from almanac.plain import dataclass
from almanac.plan.context.winters import Outdoors
from almanac.plan.wood.bare import Collecting
from almanac.rulebook.programmes.open_ground import OpenGround
from almanac.site.soil import bed_years

Refused = Literal["no_winter", "winter_kills"]
Window = tuple[date, date]


@dataclass(frozen=True, kw_only=True)
class Ground:
    """The windows of a winter in which sticks of a crop go into a bed, both ends in it; `refused` says why none do.

    `heaves` where soil usually freezes hard, `coldest_c` [°C] in its coldest days; `opens` is when it is workable again
    after the shortest day, `waits` says that it is not all winter.
    """

    autumn: Window | None
    spring: Window | None
    opens: date
    heaves: bool
    coldest_c: float
    waits: bool
    refused: Refused | None = None

    @property
    def windows(self) -> tuple[Window, ...]:
        return tuple(each for each in (self.autumn, self.spring) if each)

    def fits(self, day: date) -> bool:
        """Whether sticks go into the bed on a day."""
        return any(first <= day <= last for first, last in self.windows)


def ground_for(collect: Collecting, method: str, outdoors: Outdoors) -> Ground:
    """When wood of a crop goes into a bed in the winter round a shortest day.

    Args:
        collect: when its wood is bare, its buds swell and cold kills it
        method: the one that stands in beds
        outdoors: the site's nights
    """
    book = outdoors.around.book
    numbers, own = book.programme(OpenGround), book.crops[collect.crop].method[method].ground
    middle, opens = collect.middle, workable_from(collect.middle, outdoors)
    soil = _soil(middle, outdoors)
    heaves = min(soil.values()) < numbers.heaves
    after = (day for day in sorted(soil) if collect.opens <= day < middle and soil[day] < numbers.workable)
    shuts = next(after, middle)
    waits = any(degrees < numbers.workable for degrees in soil.values())
    closes = shuts - timedelta(days=round(numbers.settle)) if waits else middle
    spring_opens = max(opens, collect.opens)
    last = max(collect.buds_swell[0], spring_opens + timedelta(days=round(numbers.at_least)))
    refused: Refused | None = None
    if not collect.freezes and outdoors.place.tropical:
        refused = "no_winter"
    elif collect.grown.known and collect.grown.likely:
        refused = "winter_kills"
    season = own.season if own else "spring"
    autumn = season != "spring" and not heaves and closes >= collect.opens
    spring = season != "autumn" or not autumn
    return Ground(
        autumn=(collect.opens, closes) if autumn and not refused else None,
        spring=(spring_opens, last) if spring and not refused else None,
        opens=opens,
        heaves=heaves,
        coldest_c=min(soil.values()),
        waits=waits,
        refused=refused,
    )


def workable_from(middle: date, outdoors: Outdoors) -> date:
    """The first day from the shortest day on from which soil is usually workable."""
    numbers = outdoors.around.book.programme(OpenGround)
    soil = _soil(middle, outdoors)
    cold = [day for day in soil if day >= middle and soil[day] < numbers.workable]
    later = [day for day in sorted(soil) if cold and day > max(cold)]
    return later[0] if later else middle if not cold else max(soil)


def _soil(middle: date, outdoors: Outdoors) -> dict[date, float]:
    """The usual warmth of soil from four months before a shortest day to six after it, every ten days [°C]."""
    numbers = outdoors.around.book.programme(OpenGround)
    first, last = middle - timedelta(days=120), middle + timedelta(days=180)
    found = bed_years(outdoors.nights.usual, first.year, 3, numbers.soil.depth).soil_c
    return {day: degrees for day, degrees in found if first <= day <= last}
