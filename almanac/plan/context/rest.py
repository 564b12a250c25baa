"""A lot at rest: since when, from when on its waking is asked for, by when it is taken for granted. Pure.

A log of `resting` holds until `woke` or leaf is logged, and no longer than to the accepted frost of spring (where it
never freezes: until the crop's buds swell outdoors): then water and hardening go on, and what would be wrong for a dead
plant (feed, a bigger pot, a sale) waits for a word. Instead of a rest without end, which a forgotten `woke` turned into
a summer without water. A lot of which nothing was logged rests by the site's year, once it has stood outside; so does
one that was never logged awake, from its next rest on: nothing of an old winter lingers.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from datetime import date, timedelta

from almanac.forecast.model import Days
from almanac.nursery.lots import Lot
from almanac.plan.context.growing import GrowingYear
from almanac.plan.rest import Granted, Rest

Swelling = Callable[[str, date], Days]  # of a crop after a day: when its buds swell outdoors
CropSigns = Mapping[tuple[str, str], Sequence[date]]
Turn = tuple[date, bool, str]  # the day, whether rest begins or ends, and what the day counts from
AWAKE = ("woke", "budbreak", "leaves")
LIVING = ("fed", "potted_on")  # nobody does so to a plant not seen awake
_NEAR = timedelta(days=60)  # a sign logged outdoors is that of this season within so many days of the day expected
_DAY = timedelta(days=1)


def was_outside(lot: Lot) -> bool:
    """Whether any of it has stood outside: then it goes by the year there, wherever it is now."""
    return "outside" in lot.steps


def rest_of(
    lot: Lot, as_of: date, years: Sequence[GrowingYear], signs: CropSigns, swelling: Swelling, late: timedelta
) -> Rest | None:
    """The rest that a lot is in; None while it is taken to grow.

    Args:
        lot: as the logbook leaves it
        as_of: the day
        years: the seasons round it
        signs: those of crops outdoors
        swelling: when a crop's buds swell, where no frost tells when plants wake
        late: how long one that was logged at rest in spring may go on resting
    """
    course = sorted(turns(lot, years, signs)) if was_outside(lot) else []
    since = lot.signs["resting"].day if "resting" in lot.signs else None
    if since and not any(lot.signs[name].day >= since for name in AWAKE if name in lot.signs):
        rest = _logged(lot, since, years, signs, swelling, late)
        lived = any(day >= rest.wakes for name in LIVING for day in lot.jobs.get(name, ()))
        anew = any(rests and rest.granted < day <= as_of for day, rests, _ in course)
        if not lived and not anew:
            return rest
    return _by_the_year(as_of, course) if lot.count("pot") or lot.count("outside") else None


def _by_the_year(as_of: date, course: Sequence[Turn]) -> Rest | None:
    """The rest of a lot of which nothing was logged: that which the site's year has begun, until it ends it."""
    begun = [turn for turn in course if turn[0] <= as_of]
    coming = [turn for turn in course if turn[0] > as_of]
    if not begun or not begun[-1][1] or not coming:
        return None
    ends = coming[0][0]
    return Rest(since=begun[-1][0], wakes=ends, granted=ends, by="frost_accepted", logged=False)


def _logged(
    lot: Lot, since: date, years: Sequence[GrowingYear], signs: CropSigns, swelling: Swelling, late: timedelta
) -> Rest:
    """One logged in spring, when others wake, may rest a while longer; any other until the next spring."""
    for year in years:
        if year.wakes is None or since >= year.longest:
            continue
        by: Granted = "frost_accepted" if year.safe else "longest_day"
        wakes = max(sign_day(signs, lot.crop, "buds_swelling", year.wakes), since)
        granted = max(year.safe or year.longest, wakes, *([since + late] if since >= year.wakes else []))
        return Rest(since=since, wakes=wakes, granted=granted, by=by, logged=True)
    early, likely, _ = swelling(lot.crop, since)
    return Rest(since=since, wakes=max(early, since), granted=max(likely, since), by="buds_swelling", logged=True)


def turns(lot: Lot, years: Sequence[GrowingYear], signs: CropSigns) -> Iterator[Turn]:
    """The days on which rest begins and ends for a lot outdoors."""
    woke = lot.signs["woke"].day if "woke" in lot.signs else None
    for year in years:
        if year.wakes:
            day = sign_day(signs, lot.crop, "buds_swelling", year.wakes)
            if woke and year.wakes - 2 * _NEAR <= woke <= day:
                day = woke
            yield day, False, "shortest_day"
        if year.rests:
            yield sign_day(signs, lot.crop, "leaf_fall", year.rests), True, "first_frost"


def sign_day(signs: CropSigns, crop: str, event: str, expected: date) -> date:
    """The day of a sign of the crop outdoors, where it was logged in that season; else as expected."""
    return next((seen for seen in reversed(signs.get((crop, event), ())) if abs(seen - expected) <= _NEAR), expected)
