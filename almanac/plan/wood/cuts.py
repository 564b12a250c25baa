"""How many cuttings of a variety are to be cut in a winter, what for and from which plant; what its stored wood is for.

What was decided first comes first: lots planned, then open orders, then what the grower wants of it all told. Wood with
swelling buds serves what is planned here alone, as it cannot be posted. Pure.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import field
from datetime import date, timedelta
from math import ceil

from almanac.forecast.model import Days
from almanac.nursery.lots import Lot, Planned, lot_order
from almanac.nursery.settings import Mother
from almanac.plain import dataclass
from almanac.plan.context.asked import Asked
from almanac.plan.derivation import Derivation
from almanac.plan.wood.account import Account, Wood, stored
from almanac.plan.wood.bare import Collecting
from almanac.plan.wood.season import taking_days
from almanac.plan.wood.sticking import sticking_in
from almanac.rulebook.programmes.store import Store


@dataclass(frozen=True, kw_only=True)
class Uses:
    """What cuttings are for: lots planned, open orders, sale, and to spare."""

    planned: int = 0
    orders: int = 0
    sale: int = 0
    spare: int = 0

    @property
    def total(self) -> int:
        return self.planned + self.orders + self.sale + self.spare


@dataclass(frozen=True)
class Kept:
    """A lot in store and what its cuttings are for."""

    wood: Wood
    uses: Uses


@dataclass(frozen=True, kw_only=True)
class Cut:
    """What is to be cut of a variety in a winter; `count` None where nobody says how many.

    `uses` says what for, `shares` how many from which mother plant, where any are named; `sick` that all of those are.
    `taken` says that some of the nursery's own wood was cut this winter.
    `had` is how many there were this winter so far, cut or received, `kept` the lots of them in store.
    """

    number: str
    crop: str
    collect: Collecting
    days: Days
    later: date | None
    count: int | None
    uses: Uses
    shares: tuple[tuple[Mother, int], ...]
    kept: tuple[Kept, ...]
    had: int
    taken: bool = False
    sick: bool = False

    def open_on(self, day: date) -> bool:
        """Whether wood may still be cut on a day: its last day is to come, and no buds were seen to swell outdoors."""
        return self.days[2] >= day and not self.collect.buds_logged

    @property
    def left(self) -> bool:
        """Whether any is still to be cut: as many as are wanted or, where nobody says, some once."""
        return not self.sick and (not self.taken if self.count is None else self.count > 0)


@dataclass(frozen=True, kw_only=True)
class Taking(Derivation):
    """What is left to take of a crop: the numbers, where some are taken; empty where none is.

    `later` says until when wood of some may be cut for longer, as their mother plants are sheltered; `cuts` what is to
    be cut of each, where somebody says how many.
    """

    collect: Collecting
    left: tuple[str, ...]
    later: Mapping[str, date] = field(default_factory=dict)
    cuts: tuple[Cut, ...] = ()


def cut_of(
    asked: Asked, crop: str, middle: date, lots: Iterable[Lot], planned: Iterable[Planned], account: Account
) -> Cut:
    """What is to be cut of a variety in the winter round a shortest day.

    Args:
        asked: how many are wanted and on order
        crop: what it is
        middle: the shortest day
        lots, planned: all of the nursery's, or those of the variety at least
        account: that of its wood
    """
    near = account.outdoors.winter_near
    of_winter = [lot for lot in lots if lot.number == asked.number and near(lot.cut_on) == middle and not lot.parent]
    had = sum(_cuttings(lot) for lot in of_winter if "stored" in lot.steps)
    wood = sorted((account.of_lot(lot) for lot in of_winter if stored(lot)), key=lambda each: lot_order(each.lot))
    to_come = sorted(
        (each.day, each.count) for each in planned if each.number == asked.number and near(each.day) == middle
    )
    to_stick = sum(count for _, count in to_come)
    kept, (no_plan, no_order) = _put_to_use(wood, to_stick, asked, account.outdoors.around.as_of)
    spare = account.outdoors.around.book.programme(Store).spare
    count = _to_cut(asked, had, no_plan + no_order, expected=to_stick + asked.orders > 0, spare=spare)
    mothers = account.mothers(asked.number)
    fit = _fit(mothers)
    uses = _uses(count or 0, no_plan, no_order, asked, sells=asked.sells and not _in_doubt(fit))
    collect, days, later, fit = _window(asked, crop, middle, fit, account, sold=uses.orders + uses.sale > 0)
    if no_plan:
        wait = timedelta(days=round(account.outdoors.around.book.programme(Store).due))
        days = _in_time(days, _first_without(to_come, to_stick - no_plan) - wait)
    return Cut(
        number=asked.number,
        crop=crop,
        collect=collect,
        days=days,
        later=later,
        count=count,
        uses=uses,
        shares=tuple(zip(fit, _evenly(count or 0, len(fit)), strict=True)),
        kept=tuple(kept),
        had=had,
        taken=any(lot.origin == "own_wood" for lot in of_winter),
        sick=bool(mothers) and not fit,
    )


def _to_cut(asked: Asked, had: int, lacking: int, *, expected: bool, spare: float) -> int | None:
    """How many are to be cut: what is wanted of a winter or, where nobody says, what is lacking and some to spare.

    None where nobody says, nothing is expected of it, and none of its crop is counted.
    """
    if asked.wanted is not None:
        return max(asked.wanted - had, lacking, 0)
    return lacking + ceil(lacking * spare) if asked.crop_counted or expected else None


def _fit(mothers: Sequence[Mother]) -> list[Mother]:
    """The mother plants to cut from: sound ones, else those that are not known to be sick."""
    sound = [each for each in mothers if each.health == "sound"]
    return sound or [each for each in mothers if each.health != "sick"]


def _in_doubt(mothers: Sequence[Mother]) -> bool:
    return any(each.health == "doubtful" for each in mothers)


def _window(
    asked: Asked, crop: str, middle: date, mothers: list[Mother], account: Account, *, sold: bool
) -> tuple[Collecting, Days, date | None, list[Mother]]:
    """When wood of some mother plants is taken, until when that of sheltered ones, and which can be cut still.

    Where some stand outdoors and some sheltered, the window ends with those outdoors, and then goes on for the others.
    """
    outside = account.collecting(crop, middle)
    days = _days(outside, asked, account, sold=sold)
    sheltered = [each for each in mothers if each.sheltered]
    if not sheltered:
        return outside, days, None, mothers
    inside = account.collecting(crop, middle, (asked.number,))
    longer = _days(inside, asked, account, sold=sold)
    if len(sheltered) == len(mothers) or days[2] < account.outdoors.around.as_of:
        return inside, longer, None, sheltered
    return outside, days, longer[2] if longer[2] > days[2] else None, mothers


def _days(collect: Collecting, asked: Asked, account: Account, *, sold: bool) -> Days:
    """When wood is taken; that which is to be sold some days before the sale opens."""
    wood = account.on_plant(collect.crop, collect.middle, (asked.number,) if collect.sheltered else ())
    sells = asked.sells and not wood.hindered
    opens, due, closes = collect.opens, collect.due, collect.closes
    if collect.best == "late" or not sells or wood.closes < closes:  # else it is sold for as long as it may be cut
        opens, due, closes = taking_days(collect, sticking_in(account, collect), wood.closes if sells else None)
    if sold and sells:
        wait = timedelta(days=round(account.outdoors.around.book.programme(Store).due))
        due = max(min(due, wood.opens - wait), opens)
    return opens, due, closes


def _first_without(to_come: Sequence[tuple[date, int]], there: int) -> date:
    """The first day on which a lot is planned that the wood in store does not suffice for."""
    for day, count in to_come:
        there -= count
        if there < 0:
            return day
    raise AssertionError("some have no wood")


def _in_time(days: Days, wanted: date) -> Days:
    """Wood that is to be had by a day is taken by then, if it can be."""
    opens, due, closes = days
    return opens, min(due, max(wanted, opens)), closes


def _cuttings(lot: Lot) -> int:
    """How many a lot has had in all, wherever they are now."""
    return lot.total + sum(count for (what, _), count in lot.left.items() if what != "joined")


def _put_to_use(wood: Sequence[Wood], to_stick: int, asked: Asked, day: date) -> tuple[list[Kept], tuple[int, int]]:
    """Stored lots and what each is for; how many planned and ordered have no wood yet."""
    no_plan, no_order, found = to_stick, asked.orders, {}
    for each in sorted(wood, key=lambda each: each.seen != "swelling"):
        sound, there = each.seen == "sound", 0 if each.past(day) else each.count
        plan = min(no_plan, there)
        order = min(no_order, there - plan) if sound else 0
        rest = there - plan - order
        for_sale = rest if sound and asked.sells else 0
        found[each.lot] = Kept(each, Uses(planned=plan, orders=order, sale=for_sale, spare=rest - for_sale))
        no_plan, no_order = no_plan - plan, no_order - order
    return [found[each.lot] for each in wood], (no_plan, no_order)


def _uses(count: int, no_plan: int, no_order: int, asked: Asked, *, sells: bool) -> Uses:
    rest = max(count - no_plan - no_order, 0)
    for_sale = rest if sells and asked.wanted is not None else 0
    return Uses(planned=no_plan, orders=no_order, sale=for_sale, spare=rest - for_sale) if count else Uses()


def _evenly(count: int, among: int) -> list[int]:
    """A count shared out, the first getting what does not divide."""
    return [count // among + (number < count % among) for number in range(among)]
