"""From a nursery's folder to the dormant season that is running or comes next, crop by crop."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime
from pathlib import Path

from almanac.actions.strike import no_such_way
from almanac.faults import Fact, Refusal, nearest
from almanac.nursery.load import load_nursery
from almanac.nursery.nursery import Nursery
from almanac.plain import dataclass
from almanac.plan.context.postdays import PostDays
from almanac.plan.wood.account import account_of
from almanac.plan.wood.season import CropSeason, next_lots, season_of
from almanac.plan.wood.sticking import LotToCome


@dataclass(frozen=True, kw_only=True)
class SeasonReading:
    """A nursery, its season round the shortest day `middle`, and of each crop the lots that may still be stuck."""

    nursery: Nursery
    middle: date
    crops: tuple[CropSeason, ...]
    lots: Mapping[str, tuple[LotToCome, ...]]
    post: PostDays


def read_season(
    folder: Path, now: datetime, as_of: date | None = None, crop: str | None = None, method: str = ""
) -> SeasonReading:
    """Read, and work the season out; write nothing. Once all of a winter is over it is the next one.

    Args:
        crop: one crop alone
        method: a way of rooting, and then of the crops that it suits
    Raises:
        InputFaults, Refusal: as `load_nursery`; no such crop is grown, or there is no such method
    """
    return season_on(load_nursery(folder, now, as_of), crop, method)


def season_on(nursery: Nursery, crop: str | None = None, method: str = "") -> SeasonReading:
    """The season on a nursery's day; of one crop alone, if it is grown (else Refusal)."""
    grown: dict[str, list[str]] = {}
    for variety in sorted(nursery.varieties.values(), key=lambda each: (each.crop, int(each.number))):
        grown.setdefault(variety.crop, []).append(variety.number)
    if crop is not None and crop not in grown:
        raise Refusal(Fact("crop_not_grown", crop=crop, near=nearest(crop, grown)))
    if method:
        suited = {name: numbers for name, numbers in grown.items() if method in nursery.book.crops[name].methods}
        if method not in nursery.book.methods or not (suited if crop is None else crop in suited):
            raise Refusal(no_such_way(nursery, crop, method))
        grown = suited
    account = account_of(nursery)
    outdoors, lots = account.outdoors, nursery.stock.lots.values()
    _, middle, coming = outdoors.winters(nursery.as_of)
    found = [season_of(each, middle, account, lots, numbers, method) for each, numbers in grown.items()]
    if found and all(each.over < nursery.as_of for each in found):
        middle = coming
        found = [season_of(each, middle, account, lots, numbers, method) for each, numbers in grown.items()]
    chosen = tuple(each for each in found if crop in (None, each.crop))
    to_stick = {each.crop: tuple(next_lots(each, nursery.as_of, outdoors)) for each in chosen}
    return SeasonReading(nursery=nursery, middle=middle, crops=chosen, lots=to_stick, post=account.post)
