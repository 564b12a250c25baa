"""A lot's milestones as the forecast gives them, and the surroundings they depend on. Pure."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import field
from datetime import date, timedelta
from functools import cached_property
from typing import Any

from almanac.forecast.durations import EVERY, Normal
from almanac.forecast.learning import Learned
from almanac.forecast.outcomes import Aim
from almanac.forecast.strike import Rate
from almanac.forecast.striking import Striking
from almanac.forecast.sums import Sum
from almanac.nursery.lots import BinLog, Lot
from almanac.nursery.settings import Settings
from almanac.nursery.ways import method_for
from almanac.nursery.workdays import Workdays
from almanac.plain import dataclass
from almanac.rulebook.book import Rulebook
from almanac.rulebook.models import Clock, Duration, MilestoneRule
from almanac.site.frost import FrostTable
from almanac.site.nights import Nights
from almanac.site.place import Place
from almanac.site.sun import shortest_day
from almanac.worked_out import WorkedOut

Experience = Mapping[tuple[str, str, str], Learned]
Days = tuple[date, date, date]
_TWO_YEARS = 731


def later(one: Days, other: Days | None) -> Days:
    """The later of each."""
    early, likely, late = (max(pair) for pair in zip(one, other or one, strict=True))
    return early, likely, late


def each_of(days: Days, to: Callable[[date], date]) -> Days:
    """Early, likely and late day, each as another."""
    early, likely, late = map(to, days)
    return early, likely, late


def all_three(days: Iterable[date | None]) -> Days | None:
    """Early, likely and late day; None where one of them is not known."""
    early, likely, late = days
    return (early, likely, late) if early and likely and late else None


@dataclass(frozen=True, kw_only=True)
class Basis:
    """What a forecast was worked out from, for those who ask why.

    `rest` is the share of the rule's days left to buds whose rest has begun to give way; `learned` what the grower's
    own lots say of the interval, and `offset` what they say of this lot, in log days. `waits_for_nights` is the day
    from which nights are usually as warm as the crop wants, where it waits for that longer than for frost;
    `nights_too_cold_c` is how warm they would have to be where they never are. `rooted` is the share of cuttings that
    may show it, `summed` the sum of intervals since sticking that it was forecast by, `passed_over` whether this grower
    seldom logs it. It comes `ahead_days` before the day that waits.
    """

    duration: Duration
    after: str
    after_day: date | None
    of: int
    share: float | None
    counted: float
    rate: float
    known_at: date
    clock: Clock
    waits_for_frost: date | None = None
    rest: float = 1.0
    learned: Learned | None = None
    offset: Normal | None = None
    waits_for_nights: date | None = None
    nights_too_cold_c: float | None = None
    rooted: float = 1.0
    summed: Sum | None = None
    passed_over: bool = False
    ahead_days: int = 0


@dataclass(frozen=True, kw_only=True)
class Showing:
    """How many of a lot's cuttings showed a sign when it was logged, and of how many."""

    count: int
    of: int


@dataclass(frozen=True, kw_only=True)
class Milestone:
    """A step or a sign of a lot as a date.

    `logged` is its own date; `settled` the date of a later event that implies it. Else `days` are the 10, 50 and 90 %
    days as known at the lot's last look or event; None where it stands still or frost never lets it come. `usual` are
    those of a logged one, as they were expected when what it counts from was known; `showing` where its cuttings were
    counted. An act that is late has `days` within this week, and `held` are those by which what follows is planned: it
    does not slip with the week; `planned` are those it had. `soonest` are the days of what hangs on an act that is late
    if that was done by now. `was_likely` is the likely day that it had before.
    """

    name: str
    title: str
    logged: date | None = None
    settled: date | None = None
    settled_by: str = ""
    days: Days | None = None
    usual: Days | None = None
    overdue_on: date | None = None
    basis: Basis | None = None
    showing: Showing | None = None
    often_missed: bool = False
    held: Days | None = None
    planned: Days | None = None
    soonest: Days | None = None
    was_likely: date | None = None

    @property
    def known(self) -> date | None:
        """The date where it is no forecast."""
        return self.logged or self.settled

    @property
    def window(self) -> Days | None:
        """Its three dates: all the same where it is known."""
        return (self.known, self.known, self.known) if self.known else self.days

    @property
    def next(self) -> Days | None:
        """The days by which what is done to the same plants next is planned: no sooner than it still can be."""
        return later(self.window, self.held) if self.window else None

    @property
    def follows(self) -> Days | None:
        """The days by which what is done after it is planned: those of an act that is late do not slip."""
        return self.held or self.window

    def keeps(self, told: date, planned: date) -> bool:
        """Whether a day that was told can be kept if an act that is late is done by now.

        Args:
            told: a day of what hangs on it
            planned: the day for which the same is planned by its likely day
        """
        if not self.soonest or not self.days or self.planned:
            return False
        return told >= planned - (self.days[1] - self.soonest[1])

    def shown(self, as_of: date) -> Days | None:
        """Its three dates as told on a day: a forecast is never in the past."""
        if self.known or self.days is None:
            return self.window
        return each_of(self.days, lambda day: max(day, as_of))

    def overdue(self, as_of: date) -> bool:
        """Whether 95 lots in 100 would have shown it by now."""
        return self.known is None and self.overdue_on is not None and as_of > self.overdue_on


@dataclass(frozen=True, kw_only=True)
class Surroundings:
    """What a lot's milestones depend on besides the lot itself.

    `experience` is what the grower's lots say of each interval, `sums` of several in a row from sticking on;
    `unlogged` are signs that this grower passes over, and `striking` what is known of the shares that root. When a crop
    is bare outdoors say `nights`, the site's, and `signs`, what was logged of crops.
    """

    book: Rulebook
    settings: Settings
    frost: FrostTable
    bins: Mapping[str, BinLog]
    as_of: date
    experience: Experience = field(default_factory=dict)
    sums: Mapping[tuple[str, str, str], Sum] = field(default_factory=dict)
    unlogged: frozenset[str] = frozenset()
    striking: Striking = field(default_factory=Striking, compare=False)
    nights: Nights | None = field(default=None, compare=False)
    signs: Mapping[tuple[str, str], tuple[date, ...]] = field(default_factory=dict, compare=False)
    # What site, rules and settings settle: the same for what is supposed beside it, as `replace` makes it.
    ramps: WorkedOut[object, Any] = field(default_factory=WorkedOut, compare=False, repr=False)
    _safe_days: WorkedOut[int, list[tuple[date, date]]] = field(default_factory=WorkedOut, compare=False, repr=False)

    @cached_property
    def workdays(self) -> Workdays:
        """The days on which this grower works."""
        return Workdays(self.settings, self.place)

    @cached_property
    def place(self) -> Place:
        """The site as the sun sees it."""
        return self.settings.place()

    def method_for(self, crop: str, place: str = "") -> str:
        """How a crop is rooted here where nobody says: in a place by one of its methods for that kind of place."""
        return method_for(self.book, self.settings, crop, place)

    def duration(self, lot: Lot, rule: MilestoneRule) -> Duration | None:
        """How long a milestone of a lot takes by the rule; None where no rule says."""
        return self.book.duration(lot.crop, rule, lot.method)

    def learned(self, lot: Lot, rule: MilestoneRule) -> Learned | None:
        """What the grower's own lots say of a milestone of a lot."""
        return self.experience.get((lot.crop, lot.method, rule.name))

    def rooting(self, crop: str, method: str) -> tuple[float, ...]:
        """The shares of a lot's cuttings that may root, each as likely as the others."""
        return self.striking.rooting(crop, method, self.book.crops[crop].strike_by(method))

    def rooting_of(self, lot: Lot, rule: MilestoneRule) -> tuple[float, ...]:
        """The same for a sign that only cuttings with roots show; of others every cutting is taken to show it."""
        return self.rooting(lot.crop, lot.method) if self.needs_roots(rule) else EVERY

    def needs_roots(self, rule: MilestoneRule) -> bool:
        """Whether only cuttings with roots show it."""
        return not {"potted", "lifted"}.isdisjoint(rule.settled_by) and not rule.often_missed

    def rate(self, aim: Aim, lot: Lot) -> Rate:
        """What is believed of the share of a lot's cuttings that roots, or that finishes."""
        return self.striking.rate(
            aim, lot.crop, lot.method, self.book.crops[lot.crop].strike_by(lot.method), lot.number
        )

    def sum_to(self, lot: Lot, milestone: str) -> Sum | None:
        """The sum by which a milestone of a lot is forecast that was only stuck; None: its intervals are known."""
        own = self.sums.get((lot.crop, lot.method, milestone))
        if own:
            return own
        longer = (
            each
            for (crop, method, _), each in self.sums.items()
            if (crop, method) == (lot.crop, lot.method) and milestone in self.unlogged
        )
        return next((each for each in longer if milestone in [item.name for item in each.parts[1:]]), None)

    def safe_day(self, day: date, frost_free_days: int) -> date | None:
        """The first day from one on when frost is no likelier than accepted.

        Kept with the days that wait for it: every lot asks for the same few.
        """
        waits = self._safe_days.of(frost_free_days, list)
        known = next((safe for first, safe in waits if first <= day <= safe), None)
        if known:
            return known
        found = self.frost.first_safe_day(day, self.settings.frost.accept, frost_free_days)
        if found:
            waits.append((day, found))
        return found

    def warm_day(self, day: date, rule: MilestoneRule, crop: str) -> date | None:
        """The first safe day from one on whose nights are usually as warm as a crop wants; so far as they are known.

        Then, and as many days later as the rule says.
        """
        last, night_c = day + timedelta(days=_TWO_YEARS), self.book.crops[crop].cold.lowest_night
        safe = self.safe_day(day, rule.frost_free_days)
        while safe and not all(self._warm(safe + timedelta(days=n), night_c) for n in (0, rule.warm_days)):
            following = safe + timedelta(days=1)
            safe = self.safe_day(following, rule.frost_free_days) if following < last else None
        return safe

    def _warm(self, day: date, night_c: float) -> bool:
        usual = self.frost.usual_low_c(day)
        return usual is None or usual >= night_c

    def shortest_day(self, near: date) -> date | None:
        """The shortest day nearest to a date; None in the tropics, where it is the middle of no winter."""
        if self.place.tropical:
            return None
        years = range(near.year - 1, near.year + 2)
        return min((shortest_day(self.place, year) for year in years), key=lambda day: abs(day - near))
