"""The dormant season of a crop here: taking, keeping, selling and sticking wood, and what comes of it. Pure.

What opens a window counts from the likely day of what it hangs on, what closes it from the early one. A step that the
climate does not allow is named instead of given a date.

Windows belong to a crop and a winter (`fig.offer.2026`), not to the lots that they come to be about: a grower asks when
to sell before there is a lot. So the entry is there in summer with no lots, and goes on as that of the lots in store.
Leaf fall and swelling buds are forecast from frosts and the usual lows of nights, which every frost source tells or
lets be estimated, not from means of the day, which none does. Winters logged move later ones, never earlier ones.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from datetime import date, timedelta

from almanac.forecast.model import Days, Milestone
from almanac.forecast.supposed import if_stuck
from almanac.nursery.lots import Lot
from almanac.plain import dataclass
from almanac.plan.context.winters import Outdoors
from almanac.plan.derivation import Derivation
from almanac.plan.room.placing import places_for, seats, stand_in_bins
from almanac.plan.wood.account import Account, Hindrance, Wood, stored
from almanac.plan.wood.bare import Collecting
from almanac.plan.wood.ground import Ground, ground_for
from almanac.rulebook.law import Law
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
    hold before frost comes back. `method` is how; `ground` of a bed when its soil lets sticks in.
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
    ground: Ground | None = None


@dataclass(frozen=True, kw_only=True)
class Posting(Derivation):
    """How wood is posted: weekdays (Monday as 0), days of transit, cold and heat that hold it [°C], its last day.

    `laws` are those that its parcels may meet.
    """

    weekdays: tuple[int, ...]
    transit_days: int
    hold_below_c: float
    hold_above_c: float
    wood: Wood
    last_post: date | None
    laws: tuple[Law, ...] = ()


@dataclass(frozen=True, kw_only=True)
class CropSeason:
    """The dormant season of one crop: when wood is cut, the `wood` still on its plant, lots in `store`, sticking.

    `last_post` is the last day on which post goes for wood still to be cut; `hindered` why none of it can be sold.
    """

    collect: Collecting
    wood: Wood
    last_post: date | None
    stick: Sticking
    store: tuple[StoredWood, ...] = ()

    @property
    def crop(self) -> str:
        return self.collect.crop

    def take(self, *, sellable: bool = True) -> Days:
        """From when, on which good day and until when its wood is taken."""
        return taking_days(self.collect, self.stick, self.wood.closes if sellable and not self.hindered else None)

    def sale(self, *, sellable: bool = True) -> tuple[date, date, date | None] | None:
        """When dormant wood is sold, and its last post: lots in store where there are any, else wood to be cut."""
        if not sellable:
            return None
        lots = [each for each in self.store if each.wood.opens <= each.wood.closes]
        if self.store:
            posts = [each.last_post for each in lots if each.last_post]
            last = max(posts, default=None)
            return (min(e.wood.opens for e in lots), max(e.wood.closes for e in lots), last) if lots else None
        return None if self.hindered else (self.wood.opens, self.wood.closes, self.last_post)

    def sticks(self, as_of: date) -> tuple[date, date, date]:
        """From when, on which good day and until when wood is stuck, by the lot in store that is first to end."""
        return stuck_together(self.stick, [each for each in self.store if not each.wood.past(as_of)])

    @property
    def hindered(self) -> Hindrance | None:
        return self.wood.hindered or (None if self.last_post else "no_post_day")

    @property
    def over(self) -> date:
        """The last day of any of its windows."""
        return max(self.collect.closes, self.stick.latest, *([] if self.hindered else [self.wood.closes]))


@dataclass(frozen=True)
class StoredWood:
    """A lot in store, until when it is posted, and when it is best stuck."""

    wood: Wood
    last_post: date | None
    stick: tuple[date, date, date]


@dataclass(frozen=True)
class StickingLeft(Derivation):
    """What is left to stick of a crop: the numbers, where some are stuck, and the lots of them in store."""

    window: Sticking
    left: tuple[str, ...]
    lots: tuple[StoredWood, ...]


def season_of(
    crop: str,
    middle: date,
    account: Account,
    lots: Iterable[Lot] = (),
    numbers: Collection[str] = (),
    method: str = "",
) -> CropSeason:
    """The season of a crop round a shortest day, with those of some lots that lie in store of it.

    `numbers` are its varieties: where all stand sheltered, nights outdoors close nothing. It is stuck by `method`,
    where one is named.
    """
    collect, wood = account.collecting(crop, middle, numbers), account.on_plant(crop, middle, numbers)
    stick = sticking_in(account, collect, method)
    here = [account.of_lot(lot) for lot in lots if lot.crop == crop and stored(lot)]
    store = tuple(
        StoredWood(each, account.last_post(each), stick_days(each, stick)) for each in here if each.middle == middle
    )
    return CropSeason(collect=collect, wood=wood, last_post=account.last_post(wood), stick=stick, store=store)


def taking_days(collect: Collecting, stick: Sticking, sold_until: date | None) -> Days:
    """From when, on which good day and until when wood is taken: none that can neither be stuck in time nor sold.

    Args:
        collect: when it is bare and fit
        stick: when it may be stuck
        sold_until: the last day it is sold dormant; None where none is
    """
    if stick.hindered:
        return collect.opens, collect.due, collect.closes
    before = collect.closes - collect.due if collect.best == "late" else timedelta()
    closes = max(min(collect.closes, max(stick.latest, sold_until or stick.latest)), collect.opens)
    return collect.opens, min(collect.due, max(stick.latest - before, collect.opens), closes), closes


def stick_days(wood: Wood, stick: Sticking) -> tuple[date, date, date]:
    """From when, on which good day and until when a lot in store is stuck; swollen wood at once."""
    if stick.ground:  # heeled in, it waits for soil to open
        windows = [each for each in stick.ground.windows if each[1] >= wood.cut]
        if windows:
            first = max(windows[0][0], wood.cut)
            return first, max(first, min(stick.best, windows[0][1])), windows[-1][1]
    last = min(wood.until, stick.latest) if stick.latest > wood.cut and wood.until_by != "swollen" else wood.until
    best = wood.seen_on if wood.seen == "swelling" and wood.seen_on else max(stick.best, wood.cut)
    return wood.cut, min(best, last), last


def stuck_together(window: Sticking, lots: Sequence[StoredWood]) -> tuple[date, date, date]:
    """The days of sticking: those of wood to be cut, or those of lots in store, by the first of them to end."""
    if not lots:
        return window.earliest, window.best, window.latest
    best, last = (min(each.stick[number] for each in lots) for number in (1, 2))
    return min(window.earliest, best), min(best, last), last


def _keeps(crop: str, outdoors: Outdoors) -> timedelta:
    return timedelta(days=round(outdoors.around.book.crops[crop].store.keeps_high))


def sticking_in(account: Account, collect: Collecting, method: str = "") -> Sticking:
    """The same for the account of a day, worked out once."""
    if (collect, method) not in account.sticking:
        account.sticking[collect, method] = sticking(collect, account.outdoors, method)
    found = account.sticking[collect, method]
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

    hindered = _hindrance(ahead(first))
    latest = days[-1]
    if hindered is None and not _in_time(ahead(latest), collect, outdoors):
        latest = days[max(_first(days, lambda day: not _in_time(ahead(day), collect, outdoors)) - 1, 0)]
    best = collect.due if collect.best == "late" else first
    if hindered is None and _waits(ahead(best)):
        best = days[min(_first(days, lambda day: not _waits(ahead(day))), len(days) - 1)]
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
    collect: Collecting, day: date, bin_name: str, count: int, outdoors: Outdoors, method: str = ""
) -> LotToCome:
    """A lot stuck on a day, from the earliest wood that still keeps until then.

    Args:
        collect: when its wood may be cut
        day: when it is stuck
        bin_name: where; empty for no bin
        count: how many cuttings
        outdoors: what its milestones depend on
        method: how it is rooted; the crop's usual one here if none is named
    """
    cut = min(max(collect.opens, day - _keeps(collect.crop, outdoors)), day)
    found = if_stuck(collect.crop, count, day, bin_name, outdoors.ahead, cut, method)
    around = outdoors.around
    in_bed = around.book.methods[method or around.method_for(collect.crop)].place == "bed"
    return LotToCome(stuck=day, cut=cut, bin=bin_name, milestones=found, in_bed=in_bed)


def next_lots(season: CropSeason, as_of: date, outdoors: Outdoors) -> list[LotToCome]:
    """Lots stuck on the earliest, best and latest day that are still to come; none once all are over."""
    stick = season.stick
    if stick.latest < as_of:
        return []
    days = sorted({max(day, as_of) for day in (stick.earliest, stick.best, stick.latest)})
    if stick.ground:
        days = sorted({max(first, as_of) for first, last in stick.ground.windows if last >= as_of})
    return [to_come(season.collect, day, stick.bin, stick.count, outdoors, stick.method) for day in days]
