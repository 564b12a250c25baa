"""A lot that is not there yet, as it will be on the day it is stuck: for forecasts of lots to come. Pure."""

from __future__ import annotations

from datetime import date

from almanac.nursery.lots import Cohort, Lot


def imagined_lot(
    number: str,
    crop: str,
    method: str,
    count: int,
    day: date,
    bin_name: str = "",
    *,
    potted: date | None = None,
    protected: bool = False,
) -> Lot:
    """So many cuttings of a variety, stuck on a day in a bin (in none where that is empty); its number is its id.

    With a day `potted` all of them were potted up then.
    """
    steps = {"stuck": day} | ({"potted": potted} if potted else {})
    cohort = (
        Cohort("pot", potted, count, reached="rooted") if potted else Cohort("rooting", day, count, reached="stuck")
    )
    return Lot(
        number,
        number,
        crop,
        method,
        protected,
        day,
        "",
        cohorts=(cohort,),
        steps=steps,
        places=((day, bin_name),) if bin_name else (),
        known_at=potted or day,
        stuck_count=count,
    )
