"""One day as it is read: everything that `today` and the feed say on it, each thing with the rule that asks for it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from functools import cached_property
from typing import Literal

from almanac.actions.season import season_on
from almanac.feed.entry import Entry
from almanac.nursery.logbook import Row
from almanac.nursery.lots import Lot
from almanac.nursery.nursery import Nursery
from almanac.plan.model import Line, Look, Plan, Round, Task
from almanac.plan.wood.forsale import offers
from almanac.terminal.forsale import forsale_text
from almanac.terminal.lots import lots_text
from almanac.terminal.season import season_text
from almanac.words.derivation import rule_of, rule_of_line
from tests.journeys.reading.climates import Climate
from tests.journeys.reading.habits import Habit
from tests.journeys.reading.plants import Batch

Told = Literal["look", "job", "late", "entry", "open"]


@dataclass(frozen=True)
class Ask:
    """One thing asked for on a day: a look, a job or a reminder of its round, an entry of its own, one still open."""

    rule: str
    told: Told
    lots: tuple[str, ...]
    bin: str
    words: str
    task: Task | None = None
    look: Look | None = None

    @property
    def fresh(self) -> bool:
        """Whether it is asked for now: neither a reminder nor a window that merely stands open."""
        return self.told in ("look", "job", "entry")

    @property
    def stage(self) -> str:
        """Where those it is about stand; nothing where it is about a whole lot."""
        if self.task:
            return self.task.stage or self.task.rule.while_in or ""
        return (self.look.rule.while_in or "") if self.look else ""


@dataclass(frozen=True)
class Read:
    """A day of a walk before its grower did anything; `batches` is what really grows, `rows` what was logged before."""

    day: date
    nursery: Nursery
    plan: Plan
    entries: tuple[Entry, ...]
    printed: str
    batches: Mapping[str, Batch]
    rows: tuple[Row, ...]

    @cached_property
    def round(self) -> Round | None:
        return next((each for each in self.plan.rounds if each.day == self.day), None)

    @cached_property
    def asks(self) -> tuple[Ask, ...]:
        return tuple(self._asks())

    def _asks(self) -> Iterator[Ask]:
        for line in self.round.lines if self.round else ():
            yield _of_line(line)
        for task in self.plan.tasks:
            if not task.in_round and (task.due == self.day or task.earliest <= self.day <= task.latest):
                rule = rule_of(task)
                lots = tuple(lot for lot in task.lots if lot in self.nursery.stock.lots)
                told: Told = "entry" if task.due == self.day else "open"
                yield Ask(task.rule.id, told, lots, task.bin, f"{rule.title}\n{rule.how}", task)

    def asked(self, *rules: str) -> Iterator[Ask]:
        """What these rules ask for."""
        return (each for each in self.asks if each.rule in rules)

    def of_lot(self, lot: str) -> Iterator[Ask]:
        return (each for each in self.asks if lot in each.lots)

    def lot(self, name: str) -> Lot:
        return self.nursery.stock.lots[name]

    @property
    def open_lots(self) -> Iterator[Lot]:
        return (lot for lot in self.nursery.stock.lots.values() if not lot.closed)

    @cached_property
    def said(self) -> str:
        """All words of the day: what `today` prints and what the entries of the coming week say."""
        soon = self.day + timedelta(days=7)
        told = [f"{each.summary}\n{each.description}" for each in self.entries if self.day <= each.day <= soon]
        return "\n".join([self.printed, *told])

    @cached_property
    def shown(self) -> str:
        """What is shown to who asks further: lots, the season of dormant wood, what is for sale."""
        season = season_on(self.nursery)
        told = season_text(season)
        return "\n".join([lots_text(self.plan, self.nursery), told, forsale_text(offers(self.nursery), self.nursery)])


def _of_line(line: Line) -> Ask:
    rule = rule_of_line(line)
    told: Told = "late" if line.late_since else "look" if line.look else "job"
    lots = (line.lot,) if line.lot else line.task.lots if line.task else ()
    words = "\n".join([rule.title, rule.how, *rule.checklist])
    return Ask(line.rule.id, told, lots, line.bin, words, line.task, line.look)


@dataclass(frozen=True)
class Walk:
    """A season read at one place, of a grower of one habit."""

    climate: Climate
    habit: Habit
    base: Nursery
    reads: list[Read] = field(default_factory=list)

    def __iter__(self) -> Iterator[Read]:
        return iter(self.reads)

    def spring_safe(self, near: date) -> date | None:
        """The accepted date of the last frost nearest to a day; None where it never freezes."""
        accept = self.base.settings.frost.accept
        days = [self.base.frost.date_for_spring(accept, near.year + more) for more in (-1, 0, 1)]
        return min((day for day in days if day), key=lambda day: abs(day - near), default=None)

    def first_frost(self, near: date) -> date | None:
        """The day by which a first frost is as likely as accepted, the first on or after a day."""
        accept = self.base.settings.frost.accept
        days = [self.base.frost.date_for_autumn(accept, near.year + more) for more in (-1, 0, 1, 2)]
        return min((day for day in days if day and day >= near), default=None)
