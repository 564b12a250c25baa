"""Lots that do not exist yet: one stuck on a day in a bin, or put into store, and what would come of it. Pure.

`if_stuck` takes `before_all(around)`, in which no day has come yet, or acts of a lot to come would be put off to the
end of this week, and in which mats that are off for the summer are on.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date

from almanac.forecast.milestones import milestones
from almanac.forecast.model import Milestone, Surroundings
from almanac.nursery.lots import BinLog, Cohort, Lot
from almanac.nursery.settings_places import Bin

_LONG_AGO = date.min


def lot_stuck(
    crop: str,
    count: int,
    day: date,
    bin_name: str,
    method: str,
    *,
    number: str = "",
    protected: bool = False,
    cut: date | None = None,
    potted: date | None = None,
) -> Lot:
    """A lot as it would be on the day it is stuck, or on the day it is potted where that is given.

    Args:
        crop, count: what, and how many cuttings
        day: when it is stuck
        bin_name: where; empty for no bin, where all is as warm as the crop's rule says
        method: how it is rooted
        number, protected: of its variety
        cut: when its wood was cut, if not on the same day
        potted: when all of it was potted up
    """
    cohort = (
        Cohort(stage="pot", since=potted, count=count, reached="rooted")
        if potted
        else Cohort(stage="rooting", since=day, count=count)
    )
    return Lot(
        id=number,
        number=number,
        crop=crop,
        method=method,
        protected=protected,
        started=cut or day,
        origin="",
        cohorts=(cohort,),
        steps={"stuck": day} | ({"potted": potted} if potted else {}),
        places=((day, bin_name),) if bin_name else (),
        known_at=potted or day,
        stuck_count=count,
    )


def lot_stored(crop: str, count: int, day: date, method: str) -> Lot:
    """A lot as it would be on the day its wood is cut and put into store."""
    cohorts = (Cohort(stage="store", since=day, count=count),)
    return Lot(
        id="",
        number="",
        crop=crop,
        method=method,
        protected=False,
        started=day,
        origin="own_wood",
        cohorts=cohorts,
        steps={"stored": day},
        known_at=day,
    )


def if_stuck(
    crop: str,
    count: int,
    day: date,
    bin_name: str,
    around: Surroundings,
    cut: date | None = None,
    method: str = "",
    upto: str = "",
) -> Mapping[str, Milestone]:
    """The milestones of a lot stuck on a day in a bin, what the grower's own lots teach counted in.

    Args:
        crop, count, day, bin_name, cut, method: as `lot_stuck`; no method stands for the crop's usual one here
        around: what they depend on; best as `before_all` makes it, or forecasts are cut off at its day
        upto: the last that is asked for, where not all are
    """
    lot = lot_stuck(crop, count, day, bin_name, method or around.method_for(crop), cut=cut)
    return milestones(lot, around, upto=upto)


def before_all(around: Surroundings) -> Surroundings:
    """The same with every bin as it usually is, whatever day it is: what is off for the summer is on again by then."""
    bins = {item.name: _usual(item, around.bins[item.name]) for item in around.settings.places}
    return replace(around, as_of=_LONG_AGO, bins=bins)


def _usual(item: Bin, log: BinLog) -> BinLog:
    """A bin as warm as it last was with its mat on, or as the settings have it."""
    base_c = item.mat if log.mat_off and item.heated else log.base_c[-1][1]
    return BinLog(name=item.name, base_c=((_LONG_AGO, base_c),), air_c=((_LONG_AGO, log.air_c[-1][1]),))
