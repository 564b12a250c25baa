"""The one account of dormant wood: until when it keeps, is sold, posted and worth sticking, and what ends each. Pure.

A lot in store and wood still on its mother plant are the same kind of thing: the lot was cut on a day, the other may be
cut until one. Every command and every entry that speaks of wood reads it here. Wood belongs to the winter nearest to
the day it was cut.

Selling ends when buds were seen to swell, when they likely do, when the wood is past what it keeps, or with the weeks
of the trade. From the early end of what it keeps and of swelling on, it is sold only if it was looked at of late.
Instead of one limit: wood that is looked at and sound sells to the late end, and wood nobody looks at does not.

Wood heeled in for a bed lies out of doors: the season holds it as it does its plant, and not the weeks of a cold store.

A store limit of one day was given up: growers tell ranges, and a look tells more than a date.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import replace
from datetime import date, timedelta
from functools import cache, cached_property
from typing import Literal

from almanac.forecast.history import surroundings
from almanac.forecast.milestones import milestones
from almanac.forecast.model import Days, Milestone, Surroundings
from almanac.forecast.supposed import lot_stored
from almanac.nursery.lots import Kept, Lot
from almanac.nursery.mothers import mothers_of
from almanac.nursery.nursery import Nursery
from almanac.nursery.settings import Mother
from almanac.plain import dataclass
from almanac.plan.context.day import Context
from almanac.plan.context.postdays import PostDays
from almanac.plan.context.winters import Outdoors
from almanac.plan.derivation import Derivation
from almanac.plan.wood.bare import Collecting, collecting
from almanac.plan.wood.ground import ground_for
from almanac.rulebook.models import TaskRule
from almanac.rulebook.programmes.dormant_sale import DormantSale
from almanac.rulebook.programmes.mothers import Mothers
from almanac.rulebook.programmes.store import Store
from almanac.worked_out import WorkedOut

# Why a step has no date here.
Hindrance = Literal["no_winter", "does_not_keep", "no_post_day", "never_safe", "standstill", "winter_kills"]
SaleEnd = Literal["season", "keeps", "buds", "swollen"]
Until = Literal["keeps", "growth", "swollen", "heeled"]
Seen = Literal["sound", "swelling", "mould", "shrivelled"]
_SHOWS: dict[str, Seen] = {"mould": "mould", "rot": "mould", "dry": "shrivelled"}
_DAY = timedelta(days=1)


@dataclass(frozen=True, kw_only=True)
class Wood(Derivation):
    """Wood of a crop, cut on a day; still on its mother plant where it names no `lot`, `cut` then the last day for it.

    It keeps no longer than some day in the range `keeps`, `swells` in store on early, likely and late days, and is
    worth sticking until `until`, `until_by` what ends that. It may be sold from `opens` to `closes`, `sale_ended_by`
    what ends that, if it was cut from `cut_from` on; from `look_first` on only if it was looked at of late. Where it
    cannot be sold in the weeks of the trade, `hindered` says why; a lot is then offered at once, as long as it keeps.
    """

    crop: str
    middle: date
    cut: date
    cut_from: date
    keeps: tuple[date, date]
    swells: Days | None
    until: date
    until_by: Until
    opens: date
    closes: date
    sale_ended_by: SaleEnd
    look_first: date
    hindered: Hindrance | None = None
    before_cold: bool = False
    lot: str = ""
    number: str = ""
    count: int = 0
    seen: Seen = "sound"
    seen_on: date | None = None
    known_at: date = date.min

    def past(self, day: date) -> bool:
        """Whether it is past its range: to be looked at, stuck at once or thrown out."""
        return day > self.until

    def to_look_at(self, day: date, within: timedelta) -> bool:
        """Whether it is so late that it has to be looked at before it is sold, and was not."""
        return day >= self.look_first and day - self.known_at > within

    @property
    def soundness(self) -> tuple[int, date, str]:
        """What is stuck first where nobody says which lot: sound wood, of that the one that keeps least long."""
        return ("sound", "swelling", "shrivelled", "mould").index(self.seen), self.keeps[1], self.lot


class Account:
    """The wood of a nursery.

    Args:
        outdoors, post: make what its winters are worked out from, and its post days, once they are asked for
        swelling: when the buds of a stored lot swell
        kept: plants kept as stock plants, of which wood is cut once they have grown
    """

    def __init__(
        self,
        *,
        outdoors: Callable[[], Outdoors],
        post: Callable[[], PostDays],
        swelling: Callable[[Lot], Milestone | None],
        kept: Sequence[Kept] = (),
    ) -> None:
        self._outdoors, self._post, self._swelling, self._kept = outdoors, post, swelling, kept
        self._collecting: WorkedOut[tuple[str, date, bool], Collecting] = WorkedOut()
        self._lots: WorkedOut[str, Wood] = WorkedOut()
        self._on_plant: WorkedOut[Collecting, Wood] = WorkedOut()
        self.sticking: WorkedOut[tuple[Collecting, str], object] = WorkedOut()  # by crop and method, for the day

    @cached_property
    def outdoors(self) -> Outdoors:
        """What its winters are worked out from."""
        return self._outdoors()

    @cached_property
    def post(self) -> PostDays:
        """On which days its parcels go."""
        return self._post()

    def mothers(self, number: str) -> list[Mother]:
        """The mother plants of a variety: those named, and those kept long enough ago to give wood."""
        around = self.outdoors.around
        wait = timedelta(days=round(around.book.programme(Mothers).first_wood))
        grown = [each for each in self._kept if each.number == number and each.day + wait <= around.as_of]
        return [each for each in mothers_of(around.settings, grown) if each.variety == number]

    def sheltered(self, numbers: Iterable[str]) -> bool:
        """Whether each of some varieties has a mother plant that nights outdoors do not reach, and that is not sick."""
        return all(any(each.sheltered and each.health != "sick" for each in self.mothers(n)) for n in numbers)

    def collecting(self, crop: str, middle: date, numbers: Collection[str] = ()) -> Collecting:
        """When wood of a crop may be cut in the winter round a shortest day; where said, of these varieties of it."""
        key = crop, middle, bool(numbers) and self.sheltered(numbers)
        return self._collecting.of(key, lambda: collecting(crop, middle, self.outdoors, sheltered=key[2]))

    def of_lot(self, lot: Lot) -> Wood:
        """A lot in store."""
        return self._lots.of(lot.id, lambda: self._of_lot(lot))

    def _of_lot(self, lot: Lot) -> Wood:
        middle = self.outdoors.winter_near(lot.cut_on)
        collect, buds = self.collecting(lot.crop, middle, (lot.number,)), self._swelling(lot)
        heeled = self._heeled(lot, collect)
        swollen = lot.signs["pushing"].day if "pushing" in lot.signs else None
        shown = max(((day, name) for name, day in lot.troubles.items() if name in _SHOWS), default=None)
        seen: Seen = "swelling" if swollen else _SHOWS[shown[1]] if shown else "sound"
        return self._wood(
            lot.crop,
            collect,
            lot.cut_on,
            collect.buds_swell if heeled else buds.days if buds and not buds.known else None,
            collect.buds_swell if heeled else self._swells(replace(lot, known_at=lot.started)),
            swollen,
            heeled,
            lot=lot.id,
            number=lot.number,
            count=stored(lot),
            seen=seen,
            seen_on=swollen or (shown[0] if shown else None),
            known_at=max(lot.known_at, lot.started),
        )

    def _heeled(self, lot: Lot, collect: Collecting) -> tuple[date, date] | None:
        """How long wood heeled in for a bed keeps: as on its plant, till buds swell there or its soil's last window."""
        book = self.outdoors.around.book
        if book.methods[lot.method].place != "bed" or lot.method not in book.crops[lot.crop].method:
            return None
        windows = ground_for(collect, lot.method, self.outdoors).windows
        last = windows[-1][1] if windows else lot.cut_on
        return (max(min(collect.buds_swell[0], last), lot.cut_on), last) if last > lot.cut_on else None

    def on_plant(self, crop: str, middle: date, numbers: Collection[str] = ()) -> Wood:
        """Wood to be cut in the winter round a shortest day, of some varieties, as the last of it would keep."""
        collect = self.collecting(crop, middle, numbers)
        return self._on_plant.of(collect, lambda: self._to_cut(crop, collect))

    def _to_cut(self, crop: str, collect: Collecting) -> Wood:
        around = self.outdoors.ahead
        lot = lot_stored(crop, around.book.programme(Store).lot, collect.closes, around.method_for(crop))
        swells = self._swells(lot)
        return self._wood(crop, collect, collect.closes, swells, swells, None)

    def _swells(self, lot: Lot) -> Days | None:
        """When its buds swell, for all that was known on the day it came into store."""
        buds = milestones(lot, self.outdoors.ahead).get("pushing")
        return buds.days if buds else None

    def _wood(
        self,
        crop: str,
        collect: Collecting,
        cut: date,
        swells: Days | None,
        unlooked: Days | None,
        swollen: date | None,
        heeled: tuple[date, date] | None = None,
        **lot: object,
    ) -> Wood:
        book, middle = self.outdoors.around.book, collect.middle
        numbers = book.programme(Store)
        keeps = heeled or book.crops[crop].store.keeps(cut)
        opens, closes = sale_weeks(book.task("offer"), middle)
        opens = max(opens, cut if lot else collect.opens)
        ends: list[tuple[date, SaleEnd]] = [(closes, "season"), (keeps[1], "keeps")]
        ends += [(swells[1], "buds")] if swells else []
        ends += [(swollen - _DAY, "swollen")] if swollen else []
        closes, ended_by = min(ends, key=lambda end: end[0])
        early = min([keeps[0], *([unlooked[0]] if unlooked else [])])
        until, until_by = self._until(cut, keeps, collect, round(numbers.in_leaf))
        if heeled:
            until, until_by = keeps[1], "heeled"
        if swollen:
            until, until_by = swollen + timedelta(days=round(numbers.swollen_keeps)), "swollen"
        hindered: Hindrance | None = None
        if self.outdoors.place.tropical and not collect.freezes:
            hindered = "no_winter"
        elif closes < opens and ended_by != "season":
            hindered = "does_not_keep"
        lasts = min([keeps[1], *([swells[1]] if swells else [])]) - cut
        return Wood(
            crop=crop,
            middle=middle,
            cut=cut,
            cut_from=cut if lot else max(collect.opens, closes - lasts),
            keeps=keeps,
            swells=swells,
            until=until,
            until_by=until_by,
            opens=cut if hindered and lot else opens,
            closes=closes,
            sale_ended_by=ended_by,
            look_first=early,
            hindered=hindered,
            before_cold=collect.before_cold,
            **lot,  # type: ignore[arg-type]  # what is known of a lot alone, by its own names
        )

    @staticmethod
    def _until(cut: date, keeps: tuple[date, date], collect: Collecting, in_leaf: int) -> tuple[date, Until]:
        """The last day to stick it: as long as it keeps, and no later than plants outdoors are in leaf."""
        grown = max(collect.buds_swell[1], cut) + timedelta(days=in_leaf)
        return (grown, "growth") if grown < keeps[1] else (keeps[1], "keeps")

    def soundest(self, wood: Iterable[Wood], day: date) -> list[Wood]:
        """Of some lots those of a day's winter that still keep, as they are stuck where nobody says which."""
        winter = self.outdoors.winter_near(day)
        return sorted(
            (each for each in wood if each.middle == winter and not each.past(day)), key=lambda each: each.soundness
        )

    def last_post(self, wood: Wood) -> date | None:
        """The last day on which a parcel goes that still arrives as it should; None where none goes."""
        ages = wood.sale_ended_by != "season"
        return self.post.last(wood.closes - timedelta(days=self.post.transit_days * ages), wood.opens)


def stored(lot: Lot) -> int:
    """How many dormant cuttings it has in store; what was stuck and put back, or came with roots, is none."""
    if lot.came_ready:
        return 0
    return sum(each.count for each in lot.cohorts if each.stage == "store" and not each.reached)


def sale_weeks(offer: TaskRule, middle: date) -> tuple[date, date]:
    """The weeks of the trade round a shortest day, whatever the wood."""
    return middle + timedelta(days=offer.opens_day or 0), middle + timedelta(days=offer.closes_day or 0)


def account_in(context: Context) -> Account:
    """The account of the day that is planned from."""
    return Account(
        outdoors=lambda: context.outdoors,
        post=lambda: context.post,
        swelling=lambda lot: context.milestones[lot.id].get("pushing"),
        kept=context.stock.kept,
    )


def account_of(nursery: Nursery, known: Surroundings | None = None) -> Account:
    """The account of a nursery that is not planned; `known` are its surroundings, where they are at hand."""
    around = cache(lambda: known or surroundings(nursery))
    place, nights, signs = nursery.place, nursery.nights, nursery.stock.crop_signs
    rule = nursery.book.programme(DormantSale)
    return Account(
        outdoors=lambda: Outdoors(place=place, nights=nights, signs=signs, around=around()),
        post=lambda: PostDays(settings=nursery.settings, place=place, nights=nights, rule=rule),
        swelling=lambda lot: milestones(lot, around()).get("pushing"),
        kept=nursery.stock.kept,
    )
