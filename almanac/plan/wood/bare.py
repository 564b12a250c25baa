"""When a crop's wood is bare outdoors, from leaf fall to swelling buds, and when in between it may be cut. Pure.

A winter is named by its shortest day; its frosts are those of the freeze year round it. What opens a window counts from
the likely day, what closes it from the early one.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from almanac.forecast.model import Days
from almanac.plan.context.winters import Outdoors
from almanac.rulebook.programmes.store import Dormancy, Store
from almanac.site.freeze_year import DAYS_IN_FREEZE_YEAR, FreezeYear
from almanac.site.frost import FrostTable


@dataclass(frozen=True)
class Collecting:
    """When wood of a crop may be cut in a winter.

    `leaf_fall` and `buds_swell` are early, likely and late, all the same where logged; where leaves `hang`, no frost
    brings them down by the shortest day, and they are stripped. `killing_night` is the usual day of the first night
    that kills bare wood, below `killing_c`; None without one, or where the site's source cannot tell of such nights
    (`killing_known`). Wood that is `unprotected` from it would die before its leaves are down.
    """

    crop: str
    middle: date
    leaf_fall: Days
    leaf_fall_logged: bool
    hang: bool
    buds_swell: Days
    buds_logged: bool
    killing_c: float
    killing_night: date | None
    killing_known: bool
    freezes: bool
    best: str
    opens: date
    due: date
    closes: date

    @property
    def unprotected(self) -> bool:
        return self.killing_night is not None and self.killing_night <= self.opens

    @property
    def before_cold(self) -> bool:
        """Whether killing nights close it, not swelling buds."""
        return self.killing_night is not None and not self.unprotected and self.closes < self.killing_night


def collecting(crop: str, middle: date, outdoors: Outdoors) -> Collecting:
    """When wood of a crop may be cut in the winter round a shortest day."""
    book, frost = outdoors.around.book, outdoors.nights.frost
    store = book.programme(Store)
    dormancy = book.crops[crop].dormancy or store.dormancy
    fell, swelled = (outdoors.logged(crop, sign, middle) for sign in ("leaf_fall", "buds_swelling"))
    first_frosts = _frosts(frost, middle, autumn=True)
    falls = (fell,) * 3 if fell else _leaf_fall(dormancy, middle, first_frosts)
    swell = (swelled,) * 3 if swelled else _buds_swell(dormancy, middle, _frosts(frost, middle, autumn=False))
    killing_c = book.crops[crop].cold.dormant_wood_killed if dormancy.cut_before is None else dormancy.cut_before
    cold = outdoors.nights.at(killing_c)
    killing = _frosts(cold, middle, autumn=True)[1] if cold else None
    opens, closes = falls[1], max(swell[0], falls[1])
    if killing and opens < killing <= closes:
        closes = killing - timedelta(days=1)
    wait = timedelta(days=store.due)
    due = min(opens + wait, closes) if dormancy.best == "early" else max(closes - wait, opens)
    return Collecting(
        crop,
        middle,
        falls,
        fell is not None,
        fell is None and (first_frosts[1] is None or first_frosts[1] + _days(dormancy.leaves_fall) > middle),
        swell,
        swelled is not None,
        killing_c,
        killing,
        cold is not None,
        first_frosts[1] is not None,
        dormancy.best,
        opens,
        due,
        closes,
    )


def _days(number: float) -> timedelta:
    return timedelta(days=round(number))


def _leaf_fall(dormancy: Dormancy, middle: date, frosts: tuple[date | None, ...]) -> Days:
    """After the first frost, and by the shortest day where none comes."""
    soonest = middle + timedelta(days=dormancy.leaves_from)

    def falls(frost: date | None) -> date:
        return min(max(frost + _days(dormancy.leaves_fall), soonest), middle) if frost else middle

    early, likely, late = map(falls, frosts)
    return early, likely, late


def _buds_swell(dormancy: Dormancy, middle: date, frosts: tuple[date | None, ...]) -> Days:
    """Before the last frost, and so long after the shortest day where none comes."""
    soonest = middle + timedelta(days=dormancy.buds_from)

    def swell(frost: date | None) -> date:
        return max(frost - _days(dormancy.buds_swell), soonest) if frost else soonest

    early, likely, late = map(swell, frosts)
    return early, likely, late


def _frosts(frost: FrostTable, middle: date, *, autumn: bool) -> tuple[date | None, ...]:
    """Early, likely and late first frost of the autumn before a shortest day, or last one of the spring after it.

    None where so many years have none; the end of the freeze year where there is no summer without.
    """
    start = FreezeYear(frost.southern).start(middle)
    end = start + timedelta(days=DAYS_IN_FREEZE_YEAR - 1)

    def found(chance: float) -> date | None:
        dates = (
            (frost.date_for_autumn if autumn else frost.date_for_spring)(chance, year)
            for year in (start.year, start.year + 1)
        )
        inside = next((day for day in dates if day and start <= day <= end), None)
        if inside is None and (frost.chance_before(start) if autumn else frost.chance_after(end)) > chance:
            return start if autumn else end
        return inside

    return tuple(map(found, (0.1, 0.5, 0.9) if autumn else (0.9, 0.5, 0.1)))
