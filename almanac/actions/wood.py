"""From a nursery's folder to its wood plan: what to cut of each variety, from which plant, and what lies in store."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path

from almanac.nursery.load import load_nursery
from almanac.nursery.nursery import Nursery
from almanac.plain import dataclass
from almanac.plan.context.asked import asked_of
from almanac.plan.wood.account import Wood, account_of, stored
from almanac.plan.wood.cuts import Cut, cut_of
from almanac.plan.wood.to_come import in_season


@dataclass(frozen=True, kw_only=True)
class WoodReading:
    """A nursery and its wood of the winter round the shortest day `middle`, by number; `older` lies there of others."""

    nursery: Nursery
    middle: date
    cuts: tuple[Cut, ...]
    older: tuple[Wood, ...]


def read_wood(folder: Path, now: datetime, as_of: date | None = None) -> WoodReading:
    """Read, and work it out; write nothing. Once buds swell outdoors and none is in store it is the next winter.

    Raises:
        InputFaults, Refusal: as `load_nursery`
    """
    return wood_of(load_nursery(folder, now, as_of))


def wood_of(nursery: Nursery) -> WoodReading:
    """The wood plan of a nursery as read."""
    account, asked = account_of(nursery), asked_of(nursery)
    lots, planned = nursery.stock.lots.values(), in_season(nursery).stock.to_come
    _, middle, coming = account.outdoors.winters(nursery.as_of)

    def cuts(winter: date) -> tuple[Cut, ...]:
        return tuple(
            cut_of(asked[number], nursery.varieties[number].crop, winter, lots, planned, account)
            for number in sorted(nursery.varieties, key=int)
        )

    found = cuts(middle)
    if found and not any(each.kept or each.collect.buds_swell[1] >= nursery.as_of for each in found):
        middle, found = coming, cuts(coming)
    here = {kept.wood.lot for each in found for kept in each.kept}
    older = tuple(account.of_lot(lot) for lot in lots if stored(lot) and lot.id not in here)
    return WoodReading(nursery=nursery, middle=middle, cuts=found, older=older)
