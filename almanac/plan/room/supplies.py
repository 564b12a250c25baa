"""The buying list: what the lots to come and those to be potted will use up, from when on, less what is in hand. Pure.

Lots that are planned to be stuck count in full; of what is in bags, then or now, so many are potted as usually strike.
Wood in store that nobody plans to stick does not count. Pots and mix are for whole plants in the mean, and beside them
what suffices nine times in ten.

It is counted in what is used, not in packs. Pots are whole plants over the whole season, so they are a few less than
the sum of the weeks that `space` rounds up each by itself. A bag's mix comes from its width and fill
(`rulebook.lay_flat`), settling counted once. A larvicide is counted in litres of drench: the rate is its label's to
tell. In hand is what `nursery.toml` says: nothing is taken off it by logging, as nobody logs a spilt sack.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from datetime import date, timedelta
from math import ceil
from typing import Literal

from almanac.alike import gathered
from almanac.forecast.outcomes import outcomes
from almanac.forecast.striking import Striking
from almanac.nursery.in_hand import in_hand
from almanac.nursery.lots import Lot, Planned, lot_order
from almanac.nursery.nursery import Nursery
from almanac.nursery.ways import method_for
from almanac.plain import dataclass
from almanac.plan.demand import Stay
from almanac.plan.model import Plan
from almanac.plan.room.pots import to_pot, together
from almanac.plan.spaces import Room
from almanac.rulebook.models import Bag, Cell, Method
from almanac.rulebook.programmes.potting import Potting
from almanac.rulebook.supplies import Drench, Hung, Supply, Use, shares

_JUST = 1e-6  # so that a sum of chances that is nine but for rounding is nine


@dataclass(frozen=True, kw_only=True)
class Amount:
    """So much of a supply [pieces or litres] from a day on: in the mean, and what suffices nine times in ten.

    `reserve` is what of it is only kept in hand.
    """

    day: date
    expected: float
    up_to: float
    reserve: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Need:
    """What a season takes of one supply, pieces or litres, and when it is ordered for its first use."""

    id: str
    rule: Supply
    expected: float
    up_to: float
    in_hand: float
    needed_by: date
    reserve: float = 0.0

    @property
    def to_buy(self) -> float:
        return max(self.expected - self.in_hand, 0.0)

    @property
    def to_buy_up_to(self) -> float:
        """What must be bought to have enough nine times in ten."""
        return max(self.up_to - self.in_hand, 0.0)

    @property
    def only_reserve(self) -> bool:
        """Whether nothing of it is used for sure."""
        return self.reserve >= self.expected > 0

    @property
    def order_by(self) -> date:
        return self.needed_by - timedelta(days=ceil(self.rule.lead))


@dataclass(frozen=True, kw_only=True)
class BuyingList:
    """What to buy, what must be ordered first at the head, and what it was counted from.

    `pots` and `pots_up_to` are plants to be potted from `potted_from` on; `in_store` is wood that nobody plans to
    stick, by lot, and `unforeseen` are lots in bags whose potting nobody can date: neither is counted. Of those to
    stick so many go `in_bags` and `in_cells`; `bag` and `cell` are None where nothing is rooted in them.
    `pots_of_store` is how many pots the wood in store would come to.
    """

    as_of: date
    needs: tuple[Need, ...]
    planned: tuple[Planned, ...]
    pots: int
    pots_up_to: int
    potted_from: date | None
    bag: Bag | None
    pot: Potting
    in_store: tuple[tuple[Lot, int], ...]
    pots_of_store: int
    unforeseen: tuple[str, ...]
    in_bags: int = 0
    in_cells: int = 0
    cell: Cell | None = None

    @property
    def to_stick(self) -> int:
        """Cuttings of all lots to come."""
        return sum(planned.count for planned in self.planned)

    @property
    def bag_mix_l(self) -> float:
        """Mix for the bags to come [litres]."""
        return self.in_bags * self.bag.mix_l if self.bag else 0.0

    @property
    def cell_mix_l(self) -> float:
        """Mix for the cells to come [litres]."""
        return self.in_cells * self.cell.mix_l if self.cell else 0.0


def buying_list(nursery: Nursery, plan: Plan) -> BuyingList:
    """Everything to buy from the nursery's day on.

    Args:
        nursery: as its files say
        plan: its plan, for the room lots take and the treatments asked for
    """
    season = _Season(nursery, plan)
    store = _in_store(nursery)
    striking, crops = Striking(known=outcomes(nursery.stock.lots)), nursery.book.crops
    rooted = sum(
        count * striking.rate("rooted", lot.crop, lot.method, crops[lot.crop].strike_by(lot.method), lot.number).mean
        for lot, count in store
    )
    hand, _ = in_hand(nursery.settings.supplies, nursery.book.supplies.supply)
    needs = [
        Need(
            id=name,
            rule=nursery.book.supplies.supply[name],
            expected=sum(amount.expected for amount in amounts),
            up_to=sum(amount.up_to for amount in amounts),
            in_hand=hand.get(name, 0.0),
            needed_by=min(amount.day for amount in amounts),
            reserve=sum(amount.reserve for amount in amounts),
        )
        for name, amounts in gathered(season.amounts()).items()
    ]
    order = list(nursery.book.supplies.supply)
    needs.sort(key=lambda need: (need.to_buy_up_to <= 0, need.only_reserve, need.order_by, order.index(need.id)))
    return BuyingList(
        as_of=plan.as_of,
        needs=tuple(needs),
        planned=season.planned,
        pots=season.pots,
        pots_up_to=season.pots_up_to,
        potted_from=season.potted_from,
        bag=season.bag,
        pot=season.pot,
        in_store=store,
        pots_of_store=ceil(rooted - _JUST),
        unforeseen=season.unforeseen(),
        in_bags=season.held("bag"),
        in_cells=season.held("cell"),
        cell=season.cell,
    )


class _Season:
    """What is to come, and what it takes."""

    def __init__(self, nursery: Nursery, plan: Plan) -> None:
        self.nursery, self.plan, self.book = nursery, plan, nursery.book
        self.pot, self.planned = self.book.programme(Potting), nursery.stock.to_come
        self.ways = {each.row: self._way(each) for each in self.planned}
        # Where nothing is planned the usual way says what wood in store would take.
        usual = [self.book.methods[nursery.settings.nursery.method]] if not self.ways else []
        self.methods = tuple(dict.fromkeys([*(way.id for way in self.ways.values()), *(each.id for each in usual)]))
        ways = [self.book.methods[name] for name in self.methods]
        self.bag = next((each.bag for each in ways if each.bag), None)
        self.cell = next((each.cell for each in ways if each.cell), None)
        self.potting = to_pot(plan.space)
        expected, self.pots_up_to = together([stay.number for stay in self.potting])
        self.pots = ceil(expected - _JUST)
        self.potted_from = min(map(_first_day, self.potting), default=None)

    def held(self, container: Literal["bag", "cell"]) -> int:
        """How many of the cuttings to come root in bags, or in cells."""
        ways = ((each, self.ways[each.row]) for each in self.planned)
        return sum(each.count for each, way in ways if (way.bag if container == "bag" else way.cell))

    def _way(self, planned: Planned) -> Method:
        crop = self.nursery.varieties[planned.number].crop
        return self.book.methods[method_for(self.book, self.nursery.settings, crop, planned.bin)]

    def amounts(self) -> Iterator[tuple[str, Amount]]:
        """Every use of every supply."""
        for planned in self.planned:
            yield from self._stuck(planned)
        yield from self._potted()
        for name, hung in self.book.supplies.in_bin.items():
            yield from ((name, amount) for amount in self._hung(hung))
        if self.nursery.settings.gnats.way == "larvicide":
            for name, drench in self.book.supplies.drench.items():
                yield from ((name, amount) for amount in self._drenched(drench))

    def _stuck(self, planned: Planned) -> Iterator[tuple[str, Amount]]:
        day, rules, way = max(planned.day, self.plan.as_of), self.book.supplies, self.ways[planned.row]
        takes = [*_takes(rules.stuck, (way.id,))]
        held = way.bag or way.cell
        if held:
            mix = shares(rules.mix.bag if way.bag else rules.mix.cell)
            takes += ((name, held.mix_l * share) for name, share in mix.items())
        for name, each in takes:
            yield name, Amount(day=day, expected=planned.count * each, up_to=planned.count * each)

    def _potted(self) -> Iterator[tuple[str, Amount]]:
        if self.potted_from is None:
            return
        rules = self.book.supplies
        mix = ((name, self.pot.mix_l * share) for name, share in shares(rules.mix.pot).items())
        for name, each in (*_takes(rules.potted, self.methods), *mix):
            yield name, Amount(day=self.potted_from, expected=self.pots * each, up_to=self.pots_up_to * each)

    def _hung(self, hung: Hung) -> Iterator[Amount]:
        """For each bin, from the first day on which bags are expected there until the last."""
        for room in self.plan.space.rooms:
            under_cover = room.place == "bin" and room.kind != "bed"
            days = _days_taken(room, self.plan.as_of) if under_cover else set()
            if days:
                many = ceil(len(days) / hung.lasts) * hung.each
                yield Amount(day=date.fromordinal(min(days)), expected=many, up_to=many)

    def _drenched(self, drench: Drench) -> Iterator[Amount]:
        """The turns that are planned; and where they come to less, as many for every pot as are kept in reserve."""
        turns = [task for task in self.plan.tasks if task.rule.id == "gnat_drench" and task.latest >= self.plan.as_of]
        asked = sum(task.count for task in turns) * drench.each
        here = sum(lot.count("pot") for lot in self.nursery.stock.lots.values())
        kept = [drench.each * drench.reserve * (here + pots) for pots in (self.pots, self.pots_up_to)]
        expected, up_to = (max(asked, litres) for litres in kept)
        days = [max(min(task.due for task in turns), self.plan.as_of)] if turns else []
        days += [self.plan.as_of] if here and not turns else []
        days += [self.potted_from] if self.potted_from else []
        if expected > 0 and days:
            yield Amount(day=days[0], expected=expected, up_to=up_to, reserve=expected - asked)

    def unforeseen(self) -> tuple[str, ...]:
        """Lots in bags whose potting nobody can date."""
        dated = {stay.lot for stay in self.potting if not stay.planned}
        lots = self.nursery.stock.lots.values()
        here = (lot for lot in lots if lot.count("rooting") and self.book.methods[lot.method].ends == "potted")
        return tuple(sorted((lot.id for lot in here if lot.id not in dated), key=lot_order))


def _takes(uses: Mapping[str, Use], methods: Collection[str]) -> Iterator[tuple[str, float]]:
    """What each cutting or plant takes of each supply that is used by any of some methods."""
    return ((name, use.each) for name, use in uses.items() if not use.methods or any(m in methods for m in use.methods))


def _first_day(stay: Stay) -> date:
    """The day by which one lot in ten like it would be potted."""
    assert stay.comes is not None
    return date.fromordinal(max(stay.comes.early, stay.comes.not_before))


def _days_taken(room: Room, as_of: date) -> set[int]:
    """The days, as ordinals, on which bags are likely in a bin; of bags that nobody can date the end of, the first."""
    days: set[int] = set()
    for stay in room.demand.stays:
        first = stay.comes.likely if stay.comes else as_of.toordinal()
        days |= set(range(first, max(stay.goes.likely if stay.goes else 0, first) + 1))
    return days


def _in_store(nursery: Nursery) -> tuple[tuple[Lot, int], ...]:
    """Wood in store beyond what is planned of its number, lot by lot."""
    planned: dict[str, int] = {}
    for each in nursery.stock.to_come:
        planned[each.number] = planned.get(each.number, 0) + each.count
    found = []
    for lot in sorted(nursery.stock.lots.values(), key=lambda lot: lot_order(lot.id)):
        taken = min(lot.count("store"), planned.get(lot.number, 0))
        planned[lot.number] = planned.get(lot.number, 0) - taken
        if lot.count("store") > taken:
            found.append((lot, lot.count("store") - taken))
    return tuple(found)
