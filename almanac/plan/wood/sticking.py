"""When wood may be stuck so that plants are ready in time, under cover or in a bed; and lots to come of it. Pure."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Mapping
from datetime import date, timedelta

from almanac.forecast.model import Milestone
from almanac.forecast.supposed import if_stuck
from almanac.plain import dataclass
from almanac.plan.context.winters import Outdoors
from almanac.plan.room.placing import places_for, seats, stand_in_bins
from almanac.plan.wood.account import Account, Hindrance
from almanac.plan.wood.bare import Collecting
from almanac.plan.wood.ground import Ground, ground_for
from almanac.rulebook.models import Where
from almanac.rulebook.programmes.store import Store

_IN_BED = ("leaves", "roots", "lifted")  # what a lot to come in a bed is told of
_UNDER_COVER = ("leaves", "roots", "potted", "set_out", "outside", "hardened")


@dataclass(frozen=True, kw_only=True)
class LotToCome:
    """A lot stuck on a day, its wood cut on another, and its milestones."""

    stuck: date
    cut: date
    bin: str
    milestones: Mapping[str, Milestone]
    in_bed: bool = False

    @property
    def shown(self) -> tuple[str, ...]:
        """The milestones that it is told of."""
        return _IN_BED if self.in_bed else _UNDER_COVER


@dataclass(frozen=True, kw_only=True)
class Sticking:
    """When wood of a crop may be stuck: from the first wood on, best on a day, not later than another.

    From the `best` day on plants need not wait under the lamps for frost to pass, and wood best taken late is there.
    The latest is the last on which wood still keeps, or, `by_autumn`, from which nine lots in ten still harden and take
    hold before frost comes back. `method` is how, in a `kind` of place; `ground` of a bed when its soil lets sticks in.
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
    method: str = ""
    kind: Where = "bin"
    ground: Ground | None = None


def sticking_in(account: Account, collect: Collecting, method: str = "") -> Sticking:
    """The same for the account of a day, worked out once."""
    found = account.sticking.of((collect, method), lambda: sticking(collect, account.outdoors, method))
    assert isinstance(found, Sticking)
    return found


def sticking(collect: Collecting, outdoors: Outdoors, method: str = "") -> Sticking:
    """When wood may be stuck so that plants are ready in the coming summer; by a method, or the crop's usual one."""
    crop, count = collect.crop, outdoors.around.book.programme(Store).lot
    method = method or outdoors.around.method_for(crop)
    if outdoors.around.book.methods[method].place == "bed":
        return _in_bed(collect, outdoors, method)
    name = usual_bin(crop, outdoors, method)
    in_leaf = collect.buds_swell[1] + timedelta(days=round(outdoors.around.book.programme(Store).in_leaf))
    first = collect.opens
    keeps_until = max(min(collect.closes + _keeps(crop, outdoors), in_leaf), collect.closes)
    days = [first + timedelta(days=number) for number in range((keeps_until - first).days + 1)]
    known: dict[date, Mapping[str, Milestone]] = {}

    def ahead(day: date) -> Mapping[str, Milestone]:
        if day not in known:
            known[day] = to_come(collect, day, name, count, outdoors, method).milestones
        return known[day]

    def waits(day: date) -> bool:
        out = known.get(day) or to_come(collect, day, name, count, outdoors, method, upto="set_out").milestones
        return _waits(out)

    hindered = _hindrance(ahead(first))
    latest = days[-1]
    if hindered is None and not _in_time(ahead(latest), collect, outdoors):
        latest = days[max(_first(days, lambda day: not _in_time(ahead(day), collect, outdoors)) - 1, 0)]
    best = collect.due if collect.best == "late" else first
    if hindered is None and waits(best):
        best = days[min(_first(days, lambda day: not waits(day)), len(days) - 1)]
    best = min(best, latest)
    return Sticking(
        crop=crop,
        middle=collect.middle,
        earliest=first,
        best=best,
        latest=latest,
        by_autumn=latest < keeps_until,
        bin=name,
        count=count,
        hindered=hindered,
        method=method,
        kind=outdoors.around.book.methods[method].place,
    )


def _in_bed(collect: Collecting, outdoors: Outdoors, method: str) -> Sticking:
    """Sticks outdoors: in autumn if soil lets them settle, else at winter's end; none where the winter kills them."""
    crop, count = collect.crop, outdoors.around.book.programme(Store).lot
    found, name = ground_for(collect, method, outdoors), usual_bin(crop, outdoors, method)
    windows = found.windows or ((collect.opens, collect.closes),)
    first, last = windows[0][0], windows[-1][1]
    best = min(first + timedelta(days=round(outdoors.around.book.programme(Store).due)), windows[0][1])
    return Sticking(
        crop=crop,
        middle=collect.middle,
        earliest=first,
        best=best,
        latest=last,
        by_autumn=False,
        bin=name,
        count=count,
        hindered=found.refused,
        method=method,
        kind="bed",
        ground=found,
    )


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


def usual_bin(crop: str, outdoors: Outdoors, method: str = "") -> str:
    """The bin whose mat suits a crop best, full or not; empty where lots stand in none."""
    around = outdoors.ahead
    settings = around.settings
    method = method or around.method_for(crop)
    places = places_for(settings, around.book, method)
    if not places or not stand_in_bins(around.book, method):
        return ""
    return seats(places, around.bins, around.book.crops[crop].base, lambda _: 0)[0].bin


def to_come(
    collect: Collecting,
    day: date,
    bin_name: str,
    count: int,
    outdoors: Outdoors,
    method: str = "",
    upto: str = "",
) -> LotToCome:
    """A lot stuck on a day, from the earliest wood that still keeps until then.

    Args:
        collect: when its wood may be cut
        day: when it is stuck
        bin_name: where; empty for no bin
        count: how many cuttings
        outdoors: what its milestones depend on
        method: how it is rooted; the crop's usual one here if none is named
        upto: the last milestone that is asked for, where not all are
    """
    cut = min(max(collect.opens, day - _keeps(collect.crop, outdoors)), day)
    found = if_stuck(collect.crop, count, day, bin_name, outdoors.ahead, cut, method, upto)
    around = outdoors.around
    in_bed = around.book.methods[method or around.method_for(collect.crop)].place == "bed"
    return LotToCome(stuck=day, cut=cut, bin=bin_name, milestones=found, in_bed=in_bed)


def _keeps(crop: str, outdoors: Outdoors) -> timedelta:
    return timedelta(days=round(outdoors.around.book.crops[crop].store.keeps_high))
