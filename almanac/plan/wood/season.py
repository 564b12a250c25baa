"""The dormant season of a crop here: taking, keeping, selling and sticking wood, and what comes of it. Pure.

What opens a window counts from the likely day of what it hangs on, what closes it from the early one. A step that the
climate does not allow is named instead of given a date.

Windows belong to a crop and a winter (`fig.offer.2026`), not to the lots that they come to be about: a grower asks when
to sell before there is a lot. So the entry is there in summer with no lots, and goes on as that of the lots in store.
Leaf fall and swelling buds are forecast from frosts and the usual lows of nights, which every frost source tells or
lets be estimated, not from means of the day, which none does. Winters logged move later ones, never earlier ones.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from datetime import date, timedelta

from almanac.forecast.model import Days
from almanac.nursery.lots import Lot
from almanac.plain import dataclass
from almanac.plan.context.winters import Outdoors
from almanac.plan.derivation import Derivation
from almanac.plan.wood.account import Account, Hindrance, Wood, stored
from almanac.plan.wood.bare import Collecting
from almanac.plan.wood.sticking import LotToCome, Sticking, sticking_in, to_come
from almanac.rulebook.law import Law


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


def next_lots(season: CropSeason, as_of: date, outdoors: Outdoors) -> list[LotToCome]:
    """Lots stuck on the earliest, best and latest day that are still to come; none once all are over."""
    stick = season.stick
    if stick.latest < as_of:
        return []
    days = sorted({max(day, as_of) for day in (stick.earliest, stick.best, stick.latest)})
    if stick.ground:
        days = sorted({max(first, as_of) for first, last in stick.ground.windows if last >= as_of})
    return [to_come(season.collect, day, stick.bin, stick.count, outdoors, stick.method) for day in days]
