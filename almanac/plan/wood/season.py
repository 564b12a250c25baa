"""The dormant season of a crop here: taking, keeping, selling and sticking wood, and what comes of it. Pure.

What opens a window counts from the likely day of what it hangs on, what closes it from the early one. A step that the
climate does not allow is named instead of given a date.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal

from almanac.forecast.milestones import milestones
from almanac.forecast.model import Milestone
from almanac.forecast.supposed import if_stuck, lot_stored
from almanac.plan.context.postdays import PostDays
from almanac.plan.context.winters import Outdoors
from almanac.plan.derivation import Derivation
from almanac.plan.room.placing import seats, stand_in_bins
from almanac.plan.wood.bare import Collecting, collecting
from almanac.rulebook.models import TaskRule
from almanac.rulebook.programmes.dormant_sale import DormantSale
from almanac.rulebook.programmes.store import Store

# Why a step has no date here.
Hindrance = Literal["no_winter", "does_not_keep", "no_post_day", "never_safe", "standstill"]
EndedBy = Literal["season", "store_limit", "buds"]
SHOWN = ("leaves", "roots", "potted", "set_out", "outside", "hardened")  # what a lot to come is told of


@dataclass(frozen=True)
class Selling:
    """When dormant wood of a crop may be sold in a winter; `ended_by` says what ends it.

    `last_post` is the last day that post goes; for it wood is cut from `cut_from` on, as older wood does not keep so
    long. `before_cold`: it is cut before nights that kill it. Where it cannot be sold, `hindered` says why and the rest
    is what would be.
    """

    crop: str
    middle: date
    opens: date
    closes: date
    ended_by: EndedBy
    last_post: date | None
    cut_from: date
    hindered: Hindrance | None = None
    before_cold: bool = False


@dataclass(frozen=True)
class Posting(Derivation):
    """How dormant wood is posted: weekdays (Monday as 0), days of transit, cold and heat that hold it [°C], its end."""

    weekdays: tuple[int, ...]
    transit_days: int
    hold_below_c: float
    hold_above_c: float
    ended_by: EndedBy


@dataclass(frozen=True)
class LotToCome:
    """A lot stuck on a day, its wood cut on another, and its milestones."""

    stuck: date
    cut: date
    bin: str
    milestones: Mapping[str, Milestone]


@dataclass(frozen=True)
class Sticking(Derivation):
    """When wood of a crop may be stuck: from the first wood on, best on a day, not later than another.

    From the `best` day on plants need not wait under the lamps for frost to pass, and wood best taken late is there.
    The latest is the last on which wood still keeps, or, `by_autumn`, from which nine lots in ten still harden and take
    hold before frost comes back.
    """

    crop: str
    middle: date
    earliest: date
    best: date
    latest: date
    by_autumn: bool
    bin: str
    count: int
    hindered: Hindrance | None = None


@dataclass(frozen=True)
class CropSeason:
    """The dormant season of one crop."""

    collect: Collecting
    keeps_days: int
    sell: Selling
    stick: Sticking

    @property
    def crop(self) -> str:
        return self.collect.crop

    @property
    def over(self) -> date:
        """The last day of any of its windows."""
        return max(self.collect.closes, self.stick.latest, *([self.sell.closes] if not self.sell.hindered else []))


def season_of(crop: str, middle: date, outdoors: Outdoors, post: PostDays) -> CropSeason:
    """The season of a crop round a shortest day."""
    collect = collecting(crop, middle, outdoors)
    keeps = _keeps(crop, outdoors)
    return CropSeason(collect, keeps.days, selling(collect, outdoors, post), sticking(collect, outdoors))


def _keeps(crop: str, outdoors: Outdoors) -> timedelta:
    return timedelta(days=round(outdoors.around.book.crops[crop].store.limit))


def selling(collect: Collecting, outdoors: Outdoors, post: PostDays) -> Selling:
    """When dormant wood may be sold: in the weeks of the trade, while it is there, keeps and is far from pushing."""
    book = outdoors.around.book
    offer, margin = book.task("offer"), round(book.programme(DormantSale).margin)
    opens, closes = sale_weeks(offer, collect.middle)
    opens = max(opens, collect.opens)
    keeps, what = _sells_for(collect, outdoors, margin)
    ended_by: EndedBy = "season"
    if collect.closes + keeps < closes:
        closes, ended_by = collect.closes + keeps, what
    last = post.last(closes, opens) if closes >= opens else None
    hindered: Hindrance | None = None
    if outdoors.place.tropical and not collect.freezes:
        hindered = "no_winter"
    elif closes < opens:
        hindered = "does_not_keep"
    elif last is None:
        hindered = "no_post_day"
    cut_from = max(collect.opens, closes - keeps)
    return Selling(collect.crop, collect.middle, opens, closes, ended_by, last, cut_from, hindered, collect.before_cold)


def _sells_for(collect: Collecting, outdoors: Outdoors, margin: int) -> tuple[timedelta, EndedBy]:
    """How long after it is cut wood may be posted, and what ends that: its store limit, or buds that may swell."""
    book = outdoors.around.book
    keeps = _keeps(collect.crop, outdoors)
    method = outdoors.around.settings.nursery.method
    stored = lot_stored(collect.crop, book.programme(Store).lot, collect.closes, method)
    pushing = milestones(stored, outdoors.ahead).get("pushing")
    if pushing is None or pushing.days is None:
        return keeps, "store_limit"
    dormant = pushing.days[0] - collect.closes - timedelta(days=margin)
    return (dormant, "buds") if dormant < keeps else (keeps, "store_limit")


def sale_weeks(offer: TaskRule, middle: date) -> tuple[date, date]:
    """The weeks of the trade round a shortest day, whatever the wood."""
    return middle + timedelta(days=offer.opens_day or 0), middle + timedelta(days=offer.closes_day or 0)


def sticking(collect: Collecting, outdoors: Outdoors) -> Sticking:
    """When wood may be stuck so that plants are ready in the coming summer."""
    crop, count = collect.crop, outdoors.around.book.programme(Store).lot
    name = usual_bin(crop, outdoors)
    first, keeps_until = collect.opens, collect.closes + _keeps(crop, outdoors)
    days = [first + timedelta(days=number) for number in range((keeps_until - first).days + 1)]
    known: dict[date, Mapping[str, Milestone]] = {}

    def ahead(day: date) -> Mapping[str, Milestone]:
        if day not in known:
            known[day] = to_come(collect, day, name, count, outdoors).milestones
        return known[day]

    hindered = _hindrance(ahead(first))
    latest = days[-1]
    if hindered is None and not _in_time(ahead(latest), collect, outdoors):
        latest = days[max(_first(days, lambda day: not _in_time(ahead(day), collect, outdoors)) - 1, 0)]
    best = collect.due if collect.best == "late" else first
    if hindered is None and _waits(ahead(best)):
        best = days[min(_first(days, lambda day: not _waits(ahead(day))), len(days) - 1)]
    best = min(best, latest)
    return Sticking(crop, collect.middle, first, best, latest, latest < keeps_until, name, count, hindered)


def _first(days: list[date], holds: Callable[[date], bool]) -> int:
    """The number of the first day on which something holds that holds ever after."""
    return bisect_left(days, True, key=holds)


def _hindrance(found: Mapping[str, Milestone]) -> Hindrance | None:
    """Why a lot would never be ready, if it would not."""
    for milestone in found.values():
        if milestone.known is None and milestone.days is None and milestone.basis:
            return "standstill" if milestone.basis.rate <= 0 else "never_safe"
    return None


def _in_time(found: Mapping[str, Milestone], collect: Collecting, outdoors: Outdoors) -> bool:
    """Whether nine lots in ten harden before the winter after; where frost never makes them wait all do."""
    ready = found.get("hardened")
    days = ready.days if ready else None
    if days is None:
        return False
    return days[2] < collect.middle.replace(year=collect.middle.year + 1) or not collect.freezes


def _waits(found: Mapping[str, Milestone]) -> bool:
    """Whether plants would stand ready under the lamps until frost is past."""
    out = found.get("set_out")
    return bool(out and out.basis and out.basis.waits_for_frost)


def usual_bin(crop: str, outdoors: Outdoors) -> str:
    """The bin whose mat suits a crop best, full or not; empty where lots stand in none."""
    around = outdoors.ahead
    settings = around.settings
    if not settings.bin or not stand_in_bins(around.book, settings.nursery.method):
        return ""
    return seats(settings.bin, around.bins, around.book.crops[crop].base, lambda _: 0)[0].bin


def to_come(collect: Collecting, day: date, bin_name: str, count: int, outdoors: Outdoors) -> LotToCome:
    """A lot stuck on a day, from the earliest wood that still keeps until then.

    Args:
        collect: when its wood may be cut
        day: when it is stuck
        bin_name: where; empty for no bin
        count: how many cuttings
        outdoors: what its milestones depend on
    """
    cut = min(max(collect.opens, day - _keeps(collect.crop, outdoors)), day)
    found = if_stuck(collect.crop, count, day, bin_name, outdoors.ahead, cut)
    return LotToCome(day, cut, bin_name, found)


def next_lots(season: CropSeason, as_of: date, outdoors: Outdoors) -> list[LotToCome]:
    """Lots stuck on the earliest, best and latest day that are still to come; none once all are over."""
    stick = season.stick
    if stick.latest < as_of:
        return []
    days = sorted({max(day, as_of) for day in (stick.earliest, stick.best, stick.latest)})
    return [to_come(season.collect, day, stick.bin, stick.count, outdoors) for day in days]
