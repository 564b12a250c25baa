"""From a lot, the rules and the site to its milestones: logged, settled by a later event, or forecast. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date, timedelta

from almanac.forecast.durations import Arrival, after, arrival, prior, typical_from
from almanac.forecast.thermal import Pace, lot_pace, plain_days
from almanac.nursery.events import EVENTS
from almanac.nursery.lots import BinLog, Lot
from almanac.nursery.settings import Settings
from almanac.rulebook.book import Rulebook
from almanac.rulebook.models import Clock, Duration, MilestoneRule
from almanac.site.frost import FrostTable

Days = tuple[date, date, date]


@dataclass(frozen=True)
class Basis:
    """What a forecast was worked out from, for those who ask why."""

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


@dataclass(frozen=True)
class Milestone:
    """A step or a sign of a lot as a date.

    `logged` is its own date; `settled` the date of a later event that implies it. Else `days` are the 10, 50 and 90 %
    days as known at the lot's last look or event; None where it stands still or frost never lets it come.
    """

    name: str
    title: str
    logged: date | None = None
    settled: date | None = None
    settled_by: str = ""
    days: Days | None = None
    overdue_on: date | None = None
    basis: Basis | None = None
    seen: str = ""
    often_missed: bool = False

    @property
    def known(self) -> date | None:
        """The date where it is no forecast."""
        return self.logged or self.settled

    @property
    def window(self) -> Days | None:
        """Its three dates: all the same where it is known."""
        return (self.known, self.known, self.known) if self.known else self.days

    def shown(self, as_of: date) -> Days | None:
        """Its three dates as told on a day: a forecast is never in the past."""
        if self.known or self.days is None:
            return self.window
        early, likely, late = (max(day, as_of) for day in self.days)
        return early, likely, late

    def overdue(self, as_of: date) -> bool:
        """Whether 95 lots in 100 would have shown it by now."""
        return self.known is None and self.overdue_on is not None and as_of > self.overdue_on


@dataclass(frozen=True)
class Surroundings:
    """What a lot's milestones depend on besides the lot itself."""

    book: Rulebook
    settings: Settings
    frost: FrostTable
    bins: Mapping[str, BinLog]
    as_of: date
    air_c: Mapping[str, float] = field(init=False)
    _safe_days: dict[tuple[date, int], date | None] = field(init=False, default_factory=dict, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "air_c", {item.name: item.air for item in self.settings.bin})

    def safe_day(self, day: date, frost_free_days: int) -> date | None:
        """The first day from one on when frost is no likelier than accepted, kept: every lot asks for the same few."""
        key = day, frost_free_days
        if key not in self._safe_days:
            accept = self.settings.frost.accept
            self._safe_days[key] = self.frost.first_safe_day(day, accept, frost_free_days)
        return self._safe_days[key]


def milestones(lot: Lot, around: Surroundings) -> dict[str, Milestone]:
    """Every milestone of a lot that is known or can be forecast, in the order they come."""
    steps = _steps(lot).items()
    found = {name: Milestone(name, name.replace("_", " ").capitalize(), logged=day) for name, day in steps}
    for rule in around.book.milestones_for(lot.method):
        milestone = _known(lot, rule, found) or (None if lot.closed else _forecast(lot, rule, found, around))
        if milestone:
            found[rule.name] = milestone
            for earlier in rule.after:
                if earlier in found:
                    found[earlier] = _no_later(found[earlier], milestone)
    return found


def _no_later(earlier: Milestone, milestone: Milestone) -> Milestone:
    """A sign that is often missed, shown no later than what follows it, which is forecast apart from it."""
    if not earlier.often_missed or earlier.days is None or milestone.days is None:
        return earlier
    early, likely, late = (min(pair) for pair in zip(earlier.days, milestone.days, strict=True))
    return replace(earlier, days=(early, likely, late))


def _end_of_week(day: date) -> date:
    """What a grower has not logged, they have not done yet; by the week, or the plan would slip a day every day."""
    return day + timedelta(days=6 - day.weekday())


def _steps(lot: Lot) -> dict[str, date]:
    """The first day of each step, the lot's start among them; being carried out counts only while it lasts."""
    days = {"started": lot.started, **lot.steps}
    if lot.count("pot") and "set_out" in days:
        del days["set_out"]
        if lot.hardening_since:
            days["set_out"] = lot.hardening_since
    if "outside" in days and not lot.count("outside"):
        del days["outside"]
    return {name: day for name, day in days.items() if name in EVENTS}


def _known(lot: Lot, rule: MilestoneRule, found: Mapping[str, Milestone]) -> Milestone | None:
    if rule.name in found:
        return Milestone(rule.name, rule.title, logged=found[rule.name].logged)
    if rule.name in lot.signs:
        sign = lot.signs[rule.name]
        return Milestone(
            rule.name, rule.title, logged=sign.day, seen=f"{sign.count} of {sign.of}" if sign.count else ""
        )
    for event in rule.settled_by:
        sign_day = lot.signs[event].day if event in lot.signs else None
        job_day = lot.jobs[event][0] if event in lot.jobs else None
        day = sign_day or job_day or (found[event].known if event in found else None)
        if day:
            return Milestone(rule.name, rule.title, settled=day, settled_by=event)
    return None


def _forecast(lot: Lot, rule: MilestoneRule, found: Mapping[str, Milestone], around: Surroundings) -> Milestone | None:
    duration = around.book.duration(lot.crop, rule)
    sources = [found.get(name) or (_started(lot) if name == "started" else None) for name in rule.after]
    if duration is None or not sources or any(source is None for source in sources):
        return None
    if any(source.overdue(lot.known_at) for source in sources if source):
        return None  # looked for in vain past its time: of what hangs on it nothing can be said until it is seen
    latest = max((source for source in sources if source), key=lambda source: (source.window or _NEVER)[1])
    comes = None
    known_at = max(lot.known_at, latest.known or date.min)
    if latest.known:
        origin = _typical_origin(lot, rule, latest, found, around)
        pace = _pace(lot, rule, duration, origin, around)
        comes = _arrival(lot, rule, duration, pace, known_at)
    elif latest.days:
        ends, start = _ends_of(lot, rule, latest, found, around) or (latest.days, known_at)
        pace = _pace(lot, rule, duration, start, around)
        comes = after(ends, _arrival(lot, rule, duration, pace, known_at))
    days = _three(comes) if comes else None
    waits = None
    if days and (rule.name not in EVENTS or EVENTS[rule.name].kind == "step"):
        early, likely, late = (max(day, _end_of_week(around.as_of)) for day in days)
        days = early, likely, late
    if days and rule.not_before == "frost_accepted":
        safe = _safe(days, rule, around)
        waits = safe[1] if safe and safe[1] > days[1] else None
        days = safe
    basis = Basis(
        duration,
        latest.name,
        latest.known,
        _of(lot, rule),
        rule.share,
        comes.pace.counted(known_at) if comes and latest.known else 0.0,
        pace.rate if latest.window else 1.0,
        known_at,
        rule.clock if duration.at is not None else "days",
        waits,
    )
    overdue = comes.overdue() if comes and latest.known and _told_when_overdue(lot, rule, around) else None
    return Milestone(rule.name, rule.title, days=days, overdue_on=overdue, basis=basis, often_missed=rule.often_missed)


def _told_when_overdue(lot: Lot, rule: MilestoneRule, around: Surroundings) -> bool:
    """Whether a task exists that says what to look for when it is late; of other signs lateness says nothing."""
    return any(task.overdue and task.after == rule.name for task in around.book.tasks_for(lot.method))


_NEVER: Days = (date.max, date.max, date.max)


def _started(lot: Lot) -> Milestone:
    return Milestone("started", "started", logged=lot.started)


def _of(lot: Lot, rule: MilestoneRule) -> int:
    """How many cuttings race to be first: an act is done to the lot as one."""
    if rule.name in EVENTS and EVENTS[rule.name].kind == "step":
        return 1
    return lot.stuck_count or lot.total


def _arrival(lot: Lot, rule: MilestoneRule, duration: Duration, pace: Pace, known_at: date) -> Arrival:
    return arrival(prior(duration), _of(lot, rule), rule.share, pace, known_at)


def _pace(lot: Lot, rule: MilestoneRule, duration: Duration, origin: date, around: Surroundings) -> Pace:
    if rule.clock == "days" or duration.at is None:
        return plain_days(origin)
    crop = around.book.crops[lot.crop]
    if rule.clock == "air":
        return lot_pace(lot, origin, crop.air, duration.at, around.bins, around.air_c)
    return lot_pace(lot, origin, crop.base, duration.at, around.bins, None)


def _three(comes: Arrival) -> Days | None:
    early, likely, late = comes.day(0.1), comes.day(0.5), comes.day(0.9)
    return (early, likely, late) if early and likely and late else None


def _rule_of(name: str, lot: Lot, around: Surroundings) -> MilestoneRule | None:
    return next((rule for rule in around.book.milestones_for(lot.method) if rule.name == name), None)


def _typical_origin(
    lot: Lot, rule: MilestoneRule, latest: Milestone, found: Mapping[str, Milestone], around: Surroundings
) -> date:
    """The day from which a share of the lot counts: when that share, not only the first, showed what came before."""
    assert latest.known is not None
    earlier = _rule_of(latest.name, lot, around)
    origin = _origin_of(earlier, found) if earlier else None
    duration = around.book.duration(lot.crop, earlier) if earlier else None
    if rule.share is None or latest.logged is None or origin is None or duration is None:
        return latest.known
    sign = lot.signs.get(latest.name)
    seen = (sign.count if sign else None) or 1
    within = prior(duration).within
    return typical_from(latest.known, origin, seen, lot.stuck_count or lot.total, rule.share, within)


def _ends_of(
    lot: Lot, rule: MilestoneRule, latest: Milestone, found: Mapping[str, Milestone], around: Surroundings
) -> tuple[Days, date] | None:
    """When the milestone before ends, and the day to count from, where that is not simply its own forecast.

    That is so for a share of the lot instead of the first cutting, and for a sign so often missed that its not being
    logged says nothing.
    """
    earlier = _rule_of(latest.name, lot, around)
    origin = _origin_of(earlier, found) if earlier else None
    duration = around.book.duration(lot.crop, earlier) if earlier else None
    if earlier is None or origin is None or duration is None or not (rule.share or earlier.often_missed):
        return None
    not_by = origin if earlier.often_missed else max(lot.known_at, origin)
    pace = _pace(lot, earlier, duration, origin, around)
    days = _three(arrival(prior(duration), _of(lot, earlier), rule.share, pace, not_by))
    return (days, not_by) if days else None


def _origin_of(rule: MilestoneRule, found: Mapping[str, Milestone]) -> date | None:
    days = [found[name].known for name in rule.after if name in found]
    known = [day for day in days if day]
    return max(known) if known and len(known) == len(rule.after) else None


def _safe(days: Days, rule: MilestoneRule, around: Surroundings) -> Days | None:
    early, likely, late = (around.safe_day(day, rule.frost_free_days) for day in days)
    return (early, likely, late) if early and likely and late else None
