"""What tasks are worked out from: the nursery on its day, and the conditions of a rule. Pure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import field, replace
from datetime import date, timedelta
from functools import cached_property

from almanac.alike import gathered
from almanac.forecast.milestones import milestones
from almanac.forecast.model import Days, Milestone, Surroundings
from almanac.forecast.remaining import left_behind, remaining
from almanac.nursery.lots import Lot, Stock
from almanac.nursery.workdays import Workdays
from almanac.plain import dataclass
from almanac.plan.context.asked import Asked, Shipment
from almanac.plan.context.growing import GrowingYear, growing_years
from almanac.plan.context.looked import Walked, walked
from almanac.plan.context.postdays import PostDays
from almanac.plan.context.site_days import site_day
from almanac.plan.context.winters import Outdoors
from almanac.plan.past import Past
from almanac.plan.rest import Rest
from almanac.rulebook.book import Rulebook
from almanac.rulebook.models import TaskRule
from almanac.rulebook.programmes.dormant_sale import DormantSale
from almanac.site.nights import Nights
from almanac.site.place import Place
from almanac.site.sun import day_length_h
from almanac.worked_out import WorkedOut

LOOKS_GO_ON = timedelta(days=60)  # looks go on so long after the last word of a lot with no end in sight


@dataclass(frozen=True, kw_only=True)
class Context:
    """All that tasks are worked out from; of the `crops` grown, `sellable` have a variety that may be sold.

    `numbers` are those of each crop's varieties, `asked` what is asked of each one's wood; `at_rest` is the
    rest that a lot is in; `planned_till` by its row the last day of each lot planned whose day has gone by.
    """

    stock: Stock
    place: Place
    around: Surroundings
    milestones: Mapping[str, Mapping[str, Milestone]]
    past: Past
    crops: tuple[str, ...]
    nights: Nights
    sellable: frozenset[str]
    shipments: tuple[Shipment, ...] = ()
    numbers: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    asked: Mapping[str, Asked] = field(default_factory=dict)
    at_rest: Mapping[str, Rest] = field(default_factory=dict)
    planned_till: Mapping[str, date] = field(default_factory=dict)
    _unlooked: WorkedOut[str, Mapping[str, Milestone]] = field(
        init=False, default_factory=WorkedOut, compare=False, repr=False
    )
    _left: WorkedOut[str, tuple[Lot, Mapping[str, Milestone]]] = field(
        init=False, default_factory=WorkedOut, compare=False, repr=False
    )

    @cached_property
    def bags(self) -> Mapping[str, int]:
        """By bin, how many bags stand in it now."""
        return {name: sum(lot.count("rooting") for lot in lots) for name, lots in self.in_bins.items()}

    @cached_property
    def in_bins(self) -> Mapping[str, Sequence[Lot]]:
        """By bin, the lots that stand in it now."""
        return gathered((lot.bin, lot) for lot in self.stock.lots.values() if lot.bin)

    @cached_property
    def of_number(self) -> Mapping[str, Sequence[Lot]]:
        """By variety, all its lots."""
        return gathered((lot.number, lot) for lot in self.stock.lots.values())

    @cached_property
    def stood_in(self) -> Mapping[str, Sequence[Lot]]:
        """By bin, the lots that ever stood in it."""
        lots = self.stock.lots.values()
        return gathered((name, lot) for lot in lots for name in dict.fromkeys(name for _, name in lot.places))

    @cached_property
    def walked(self) -> Walked:
        """By bin and day, how many of its lots were looked at."""
        return walked(self.stock)

    @cached_property
    def outdoors(self) -> Outdoors:
        """What the seasons of crops are worked out from."""
        return Outdoors(place=self.place, nights=self.nights, signs=self.stock.crop_signs, around=self.around)

    @cached_property
    def years(self) -> tuple[GrowingYear, ...]:
        """What the seasons round the day bring to plants in pots."""
        around = self.around
        return growing_years(around.book, self.place, around.frost, around.settings.frost.accept, self.as_of)

    @cached_property
    def post(self) -> PostDays:
        """On which days a parcel goes."""
        rule = self.around.book.programme(DormantSale)
        return PostDays(settings=self.around.settings, place=self.place, nights=self.nights, rule=rule)

    @property
    def book(self) -> Rulebook:
        return self.around.book

    @property
    def workdays(self) -> Workdays:
        return self.around.workdays

    @property
    def as_of(self) -> date:
        return self.around.as_of

    def rule(self, name: str, crop: str, method: str = "") -> TaskRule:
        """A rule of a task, with the crop's own values in its text."""
        return self.book.told_for(self.book.task(name), crop, method)

    def found(self, lot: Lot, stage: str | None) -> Mapping[str, Milestone]:
        """A lot's milestones; in the bags those of what is left there, where others of the lot were potted already.

        Of what is left without roots for longer than it is waited for nothing is forecast any more.
        """
        whole = self.stock.lots.get(lot.id, lot)
        if stage != "rooting" or not _in_part(whole):
            return self.milestones[lot.id]
        left, found = self._in_bags(whole)
        return {name: each for name, each in found.items() if each.known} if self._given_up(left) else found

    def _given_up(self, left: Lot) -> bool:
        stuck = left.steps.get("stuck")
        rules = self.around.book.tasks_for(left.method)
        gives_up = next((rule for rule in rules if rule.after == "stuck" and "roots" in rule.without), None)
        if stuck is None or gives_up is None or left.signs.keys() & set(gives_up.without):
            return False
        return self.as_of >= stuck + timedelta(days=gives_up.opens_day or 0)

    def unlooked(self, lot: Lot) -> Mapping[str, Milestone]:
        """Its milestones as if nobody had looked, of a lot whose looks name no sign at all: they say nothing of any."""
        stuck = lot.steps.get("stuck")
        left = _in_part(self.stock.lots.get(lot.id, lot)) and self._given_up(lot)
        if stuck is None or left or lot.none_yet or lot.signs.keys() - {"pushing"}:
            return self.found(lot, "rooting")
        return self._unlooked.of(lot.id, lambda: milestones(replace(lot, known_at=stuck), self.around))

    def part(self, lot: Lot, stage: str | None) -> Lot:
        """A lot as a rule of a stage knows it: in the bags what is left there, with what that showed itself."""
        return self._in_bags(lot)[0] if stage == "rooting" and _in_part(lot) else lot

    def _in_bags(self, lot: Lot) -> tuple[Lot, Mapping[str, Milestone]]:
        def left() -> tuple[Lot, Mapping[str, Milestone]]:
            bags = tuple(cohort for cohort in lot.cohorts if cohort.stage == "rooting")
            return left_behind(lot, bags, self.around), remaining(lot, bags, self.milestones[lot.id], self.around)

        return self._left.of(lot.id, left)

    def open_lots(self, bin_name: str = "") -> Sequence[Lot]:
        """Those with cuttings left, all or of a bin; one that rests wants nothing until it wakes."""
        if bin_name:
            return [lot for lot in self.in_bins.get(bin_name, ()) if not self.asleep(lot)]
        return self._open_lots

    def asleep(self, lot: Lot) -> bool:
        """Whether it was logged at rest, and nobody can think it awake yet."""
        rest = self.at_rest.get(lot.id)
        return rest is not None and rest.logged and rest.sleeps(self.as_of)

    def unsure(self, lot: Lot) -> bool:
        """Whether it is only taken to be awake: fit for water and sun, not yet for feed, a bigger pot or a buyer."""
        rest = self.at_rest.get(lot.id)
        return rest is not None and rest.unsure(self.as_of)

    def trouble(self, lot: Lot, name: str) -> date | None:
        """The last day of a trouble of a lot or of its bin that is not over."""
        in_bin = self.stock.bins[lot.bin].troubles.get(name) if lot.bin else None
        return max((day for day in (in_bin, lot.troubles.get(name)) if day), default=None)

    def too_wet(self, lot: Lot) -> bool:
        """Whether its bags were found too wet, and neither cleared nor put into fresh mix nor watered since."""
        day, rebagged, watered = self.trouble(lot, "wet"), last_logged(lot, "rebagged"), last_logged(lot, "watered")
        return day is not None and not (rebagged and rebagged >= day) and not (watered and watered > day)

    def too_dry(self, lot: Lot) -> bool:
        """Whether its bags were found too dry, and neither cleared nor watered since."""
        day, watered = self.trouble(lot, "dry"), last_logged(lot, "watered")
        return day is not None and not (watered and watered >= day)

    @cached_property
    def _open_lots(self) -> Sequence[Lot]:
        return [lot for lot in self.stock.lots.values() if not lot.closed and not self.asleep(lot)]


def _in_part(lot: Lot) -> bool:
    """Whether some of a lot are left in their bags, where others were potted already."""
    return "potted" in lot.steps and lot.count("rooting") > 0


@dataclass(frozen=True)
class Anchor:
    """What a rule counts from for a lot, bin or crop: three dates, all the same where nothing is forecast."""

    name: str
    days: Days
    milestone: Milestone | None = None

    @classmethod
    def on(cls, name: str, day: date) -> Anchor:
        """One whose day is known."""
        return cls(name, (day, day, day))

    @property
    def known(self) -> bool:
        return self.milestone is None or self.milestone.known is not None


def last_logged(lot: Lot, event: str) -> date | None:
    """The last day a job was logged of a lot, or the day of a sign."""
    if event in lot.jobs:
        return lot.jobs[event][-1]
    return lot.signs[event].day if event in lot.signs else None


def day_of_site(context: Context, name: str, near: date, *, nearest: bool) -> date | None:
    """A day of the site's year: the nearest to a day, or the first from it on; None where the year has none."""
    around = context.around
    return site_day(name, near, context.place, around.frost, around.settings, on_or_after=not nearest)


def holds(context: Context, rule: TaskRule, day: date, protected: bool) -> bool:
    """Whether the conditions of a rule hold for a variety on a day."""
    only, settings = rule.only_if, context.around.settings
    if only.protected is not None and only.protected != protected:
        return False
    if only.sells and not settings.sale.sells(only.sells):
        return False
    if only.frost_chance_at_most is not None:
        accepted = only.frost_chance_at_most
        chance = settings.frost.accept if accepted == "accepted" else accepted
        if context.around.frost.chance_after(day) > chance:
            return False
    if only.frost_free_days is not None and context.around.safe_day(day, only.frost_free_days) != day:
        return False
    length = day_length_h(context.place.latitude_deg, day)
    if only.day_length_below is not None and length >= only.day_length_below:
        return False
    return only.day_length_at_least is None or length >= only.day_length_at_least
