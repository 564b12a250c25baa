"""From a nursery's folder to the dormant season that is running or comes next, crop by crop."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path

from almanac.faults import Fact, Refusal, nearest
from almanac.forecast.history import surroundings
from almanac.nursery.load import load_nursery
from almanac.nursery.nursery import Nursery
from almanac.plan.context.postdays import PostDays
from almanac.plan.context.winters import Outdoors
from almanac.plan.wood.season import CropSeason, LotToCome, next_lots, season_of
from almanac.rulebook.programmes.dormant_sale import DormantSale


@dataclass(frozen=True)
class SeasonReading:
    """A nursery, its season round the shortest day `middle`, and of each crop the lots that may still be stuck."""

    nursery: Nursery
    middle: date
    crops: tuple[CropSeason, ...]
    lots: Mapping[str, tuple[LotToCome, ...]]
    post: PostDays


def read_season(folder: Path, now: datetime, as_of: date | None = None, crop: str | None = None) -> SeasonReading:
    """Read, and work the season out; write nothing. Once all of a winter is over it is the next one.

    Args:
        folder: the nursery's
        now: the real time, aware
        as_of: the day to stand for today
        crop: one crop alone
    Raises:
        InputFaults, Refusal: as `load_nursery`; no such crop is grown
    """
    nursery = load_nursery(folder, now, as_of)
    grown = sorted({variety.crop for variety in nursery.varieties.values()})
    if crop is not None and crop not in grown:
        raise Refusal(Fact("crop_not_grown", crop=crop, near=nearest(crop, grown)))
    outdoors = outdoors_of(nursery)
    post = post_days_of(nursery)
    _, middle, coming = outdoors.winters(nursery.as_of)
    found = [season_of(each, middle, outdoors, post) for each in grown]
    if found and all(each.over < nursery.as_of for each in found):
        middle = coming
        found = [season_of(each, middle, outdoors, post) for each in grown]
    chosen = tuple(each for each in found if crop in (None, each.crop))
    lots = {each.crop: tuple(next_lots(each, nursery.as_of, outdoors)) for each in chosen}
    return SeasonReading(nursery, middle, chosen, lots, post)


def outdoors_of(nursery: Nursery) -> Outdoors:
    """What the seasons of a nursery's crops are worked out from."""
    return Outdoors(nursery.place, nursery.nights, nursery.stock.crop_signs, surroundings(nursery))


def post_days_of(nursery: Nursery) -> PostDays:
    """On which days a nursery's parcels go."""
    return PostDays(nursery.settings, nursery.place, nursery.nights, nursery.book.programme(DormantSale))
