"""What a plan is made of. Plain values."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from datetime import date, time, timedelta
from functools import cached_property
from typing import Literal

from almanac.forecast.model import Milestone
from almanac.nursery.events import Stage
from almanac.nursery.lots import Planned, lot_order
from almanac.nursery.settings import Weekday
from almanac.plain import dataclass
from almanac.plan.derivation import Derivation
from almanac.plan.ids import EntryId
from almanac.plan.rest import Rest
from almanac.plan.spaces import Lack, Place, Shortage, Space
from almanac.rulebook.models import Feed, TaskRule, Where

DEFAULT_FEED: Mapping[str, Feed] = {
    "look": "bench",
    "do": "bench",
    "treat": "bench",
    "window": "seasons",
    "deadline": "seasons",
}


@dataclass(frozen=True, kw_only=True)
class Task:
    """One thing to do, with an entry of its own or in a round.

    `milestone` is what it counts from, where that is a milestone; else `counted_from` alone names the day it counts
    from (a trouble, a job, a day of the site's year), which is `since`. `due` is the good day
    between `earliest` and `latest`. Where several lots share an entry, `parts` holds each lot's own task with its own
    window; the rest is that of the lot that dates it, between the days that suit them all. `step` tells tasks of one
    rule and lot apart, where a programme asks for it several times; `derivation` is what a programme came to its days
    by. Where a programme names a `group`, only lots of the same share an entry. `clock` is when it begins and ends on
    its day, by the local clock, where it has an hour; with `rings_back` its end is something to do as well. It is
    `to_come` if its lots are not stuck yet. `stage` is where those it is about stand, where its rule leaves that open;
    `part` what holds them, where the lot stands in several. `waits_for` names the act not logged yet without which
    there is nothing to do it to; `till` is the last day on which it is asked for once it is late, where that is known.
    `of_kind` is what its `bin` is: a tray or a bed, too.
    """

    id: EntryId
    rule: TaskRule
    lots: tuple[str, ...]
    earliest: date
    due: date
    latest: date
    counted_from: str
    since: date
    milestone: Milestone | None = None
    bin: str = ""
    crop: str = ""
    count: int = 0
    protected: tuple[str, ...] = ()
    parts: tuple[Task, ...] = ()
    step: str = ""
    derivation: Derivation | None = None
    group: str = ""
    clock: tuple[time, time] | None = None
    rings_back: bool = False
    to_come: bool = False
    stage: Stage | None = None
    part: str = ""
    waits_for: str = ""
    till: date | None = None
    of_kind: Where = "bin"

    @property
    def own(self) -> tuple[Task, ...]:
        """Each lot's own task: the task itself where no other lot shares its entry."""
        return self.parts or (self,)

    @property
    def guessed(self) -> bool:
        """Whether it hangs on something that was not seen yet and is not overdue."""
        return self.milestone is not None and self.milestone.known is None and not self.rule.overdue

    @property
    def feed(self) -> Feed:
        return self.rule.feed or DEFAULT_FEED[self.rule.kind]

    @property
    def in_round(self) -> bool:
        """Whether it is a line of a round instead of an entry of its own."""
        return self.rule.kind in ("do", "treat")


@dataclass(frozen=True, kw_only=True)
class Seen:
    """When a lot or bin was last looked at, as logged; and before today.

    `logs` says whether looks are logged there of late, so that a round not logged is one missed.
    """

    last: date | None = None
    before_today: date | None = None
    logs: bool = False


@dataclass(frozen=True, kw_only=True)
class Look:
    """A lot (or bin) to be looked at again and again, as often as wished, at the latest `longest_days` after the last.

    `count` is how many bags or pots are looked through; `derivation` says why a programme left it to looking; `part`
    what holds those looked through, where the lot stands in several.
    """

    id: EntryId
    rule: TaskRule
    lot: str
    bin: str
    start: date
    end: date
    counted_from: str
    milestone: Milestone | None = None
    seen: Seen = Seen()
    count: int = 1
    derivation: Derivation | None = None
    part: str = ""
    of_kind: Where = "bin"

    @property
    def every_days(self) -> int:
        assert self.rule.every_days is not None  # the model of a look demands it
        return self.rule.every_days

    @property
    def place(self) -> str:
        """What is looked at: the lot, or the bin as a whole."""
        return self.lot or self.bin

    @property
    def longest_days(self) -> int:
        """How long it may wait for a bench day."""
        return self.rule.longest_days or self.every_days

    @cached_property
    def opens(self) -> date:
        """The first day on which a visit counts as this look: less than an interval before its first latest day."""
        assert self.rule.first_day is not None
        if self.rule.first_day == 0:
            return self.start  # to be looked at on the very day, as when a trouble is seen
        return self.start + timedelta(days=max(self.rule.first_day - self.every_days, 0) + 1)

    @cached_property
    def _every(self) -> timedelta:
        return timedelta(days=self.every_days)

    @cached_property
    def _first(self) -> date:
        """The day by which the first look is wished."""
        assert self.rule.first_day is not None
        return self.start + timedelta(days=self.rule.first_day)

    @cached_property
    def _waits(self) -> timedelta:
        return timedelta(days=self.longest_days - self.every_days)

    def latest(self, last: date | None) -> date:
        """The latest day for the next look when the last was on a day."""
        latest = self.wished(last) + self._waits
        return max(latest, self.start + timedelta(days=self.longest_days)) if self._waits else latest

    def wished(self, last: date | None) -> date:
        """The day by which the next look is wished when the last was on a day."""
        return last + self._every if last is not None and last >= self.opens else self._first

    def is_open(self, day: date) -> bool:
        """Whether a visit on a day counts."""
        return self.opens <= day <= self.end


@dataclass(frozen=True, kw_only=True)
class Line:
    """One line of a round: what to look at or do, for which lot or bin."""

    id: EntryId
    rule: TaskRule
    bin: str
    lot: str = ""
    late_since: date | None = None
    task: Task | None = None
    look: Look | None = None

    @property
    def places(self) -> tuple[Place, ...]:
        """The bin, tray or bed that it is about; none where it stands elsewhere."""
        asked = self.task or self.look
        return (Place(asked.of_kind if asked else "bin", self.bin),) if self.bin else ()

    @property
    def part(self) -> str:
        """What holds those it is about, where their lot stands in several."""
        asked = self.task or self.look
        return asked.part if asked else ""

    @cached_property
    def walking_order(self) -> tuple[bool, str, tuple[int, int, str], bool]:
        """Bins first, then what stands elsewhere; in a bin its own lines, then lot by lot."""
        return not self.bin, self.bin, lot_order(self.lot) if self.lot else (0, 0, ""), self.look is None

    @property
    def minutes(self) -> float:
        """How long it takes: so much a bag or pot; for wood in store and for a bin as a whole, so much in all."""
        each = self.rule.scope == "lot" and self.rule.while_in != "store"
        count = self.look.count if self.look else self.task.count if self.task else 1
        return self.rule.minutes * (max(count, 1) if each else 1)


@dataclass(frozen=True, kw_only=True)
class Forced:
    """What cannot wait for the next bench day: a look or a job of a lot or bin, due by `latest`.

    `since` is the last look; None where there was none, or of a job. `treats` where something is wrong with them.
    """

    id: EntryId
    rule: TaskRule
    lot: str
    bin: str
    latest: date
    since: date | None
    treats: bool
    of_kind: Where = "bin"

    @property
    def places(self) -> tuple[Place, ...]:
        """The bin, tray or bed that it is about."""
        return (Place(self.of_kind, self.bin),) if self.bin else ()


@dataclass(frozen=True, kw_only=True)
class Round:
    """One visit to the bench; `makes_up` is what it carries of rounds that did not take place.

    `forced` is why it lies off the bench days. One longer than a person works in a day is on `also` as well, each day
    with a part of it, and so many lots as `wait` can do so until the next.
    """

    day: date
    lines: tuple[Line, ...]
    on_bench_day: bool = True
    away: bool = False
    makes_up: tuple[PlanWarning, ...] = ()
    forced: Forced | None = None
    also: tuple[date, ...] = ()
    wait: int = 0

    @property
    def id(self) -> EntryId:
        return EntryId.of_round(self.day)

    @property
    def is_part(self) -> bool:
        """Whether it looks at some lots alone, as all would take too long for a day."""
        return bool(self.also or self.wait)

    @property
    def done(self) -> bool:
        """Whether every lot it looks at has been looked at that day."""
        looks = [line.look for line in self.lines if line.look is not None]
        return bool(looks) and all(look.seen.last == self.day for look in looks)

    @property
    def minutes(self) -> float:
        """How long it takes; a bag looked at for several things is opened once."""
        looks: dict[tuple[str, str], float] = {}
        for line in self.lines:
            if line.look is not None:
                place = (line.bin, line.lot)
                looks[place] = max(looks.get(place, 0.0), line.minutes)
        return sum(looks.values()) + sum(line.minutes for line in self.lines if line.look is None)

    @property
    def lots(self) -> tuple[str, ...]:
        """The lots it is about, in the order of its lines."""
        named = (
            lot for line in self.lines for lot in ((line.lot,) if line.lot else line.task.lots if line.task else ())
        )
        return tuple(dict.fromkeys(named))


WarningKind = (
    Lack
    | Literal[
        "away", "missed", "never_safe", "standstill", "refused", "off_bench", "long_round", "never_stuck", "too_late"
    ]
)


@dataclass(frozen=True, kw_only=True)
class PlanWarning:
    """Something that cannot be kept or known, or was not, said instead of left out.

    `missed`: a look not logged on `day`, its round's or its latest, and carried to the day `carried_to`. `off_bench`:
    rounds on `days` that are no bench days, the first of them `forced`; with one of `would_do` as bench days too, none
    would be. `long_round`: one of so many `minutes`, more than a person works in a day.
    `derivation` is what a programme found that cannot be; `planned` are lots never stuck in their season. `too_late`:
    from `day` on plants not logged as set out have too few weeks left before autumn frost.
    """

    kind: WarningKind
    day: date
    lots: tuple[str, ...]
    places: tuple[Place, ...] = ()
    milestone: Milestone | None = None
    carried_to: date | None = None
    shortage: Shortage | None = None
    derivation: Derivation | None = None
    forced: Forced | None = None
    days: tuple[date, ...] = ()
    would_do: tuple[tuple[Weekday, ...], ...] = ()
    minutes: float = 0.0
    planned: tuple[Planned, ...] = ()

    @property
    def bins(self) -> tuple[str, ...]:
        """Its places by their names."""
        return tuple(place.name for place in self.places)


@dataclass(frozen=True, kw_only=True)
class Plan:
    """Everything to do from a day on; by an entry's id, `cautioned` are the cautions that it tells whole.

    `past_range` are lots of wood in store that no longer keep, by the last day that they did; `at_rest` what rests;
    `over` the rows of lots planned that were never stuck in their season.
    """

    as_of: date
    tasks: tuple[Task, ...]
    rounds: tuple[Round, ...]
    milestones: Mapping[str, Mapping[str, Milestone]]
    warnings: tuple[PlanWarning, ...] = ()
    looks: tuple[Look, ...] = ()
    space: Space
    cautioned: Mapping[EntryId, tuple[str, ...]] = field(default_factory=dict)
    past_range: Mapping[str, date] = field(default_factory=dict)
    at_rest: Mapping[str, Rest] = field(default_factory=dict)
    over: frozenset[str] = frozenset()

    def windows_open(self) -> list[Task]:
        """Tasks with an entry of their own that may be done now, the most pressing first."""
        now = [t for t in self.tasks if not t.in_round and t.earliest <= self.as_of <= t.latest]
        return sorted(now, key=lambda task: (task.latest, task.id))

    def overdue(self) -> list[Task]:
        """Tasks whose latest day has passed."""
        return sorted((t for t in self.tasks if t.latest < self.as_of), key=lambda task: (task.latest, task.id))

    def upcoming(self, days: int) -> list[Task]:
        """Tasks of their own that open within so many days."""
        until = date.fromordinal(self.as_of.toordinal() + days)
        later = [t for t in self.tasks if not t.in_round and self.as_of < t.earliest <= until]
        return sorted(later, key=lambda task: (task.due, task.id))
