"""A grower's year kept in memory: rows logged day by day, plans published, and a grower who does all they ask for."""

from __future__ import annotations

import os
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from itertools import count

from almanac.feed.entries import entries_of
from almanac.feed.entry import Entry
from almanac.nursery.events import EVENTS
from almanac.nursery.logbook import Row, row_problems
from almanac.nursery.nursery import Nursery
from almanac.plan.agenda.cautioned import days_told
from almanac.plan.ids import EntryId
from almanac.plan.model import Plan, Task
from almanac.plan.past import Past
from almanac.words.tasks import how_to_log_task
from tests.kept_plans import kept_plan

WHOLE = os.environ.get("STICKDATE_YEAR") == "whole"
EVERYWHERE = WHOLE or os.environ.get("STICKDATE_YEAR") == "everywhere"


@dataclass
class Year:
    """A nursery kept in memory, its rows added as the year goes on; `past` is what earlier plans published."""

    base: Nursery
    rows: list[Row] = field(default_factory=list)
    published: dict[str, Entry] = field(default_factory=dict)
    numbers: Iterator[int] = field(default_factory=lambda: count(1))

    def log(self, day: date, what: str, lot: str = "", **more: object) -> None:
        row = Row(id=f"r{next(self.numbers)}", day=day, what=what, lot=lot, **more)  # type: ignore[arg-type]  # one row's cells
        assert row_problems(row) == []
        self.rows.append(row)

    def nursery(self, as_of: date) -> Nursery:
        dated = replace(self.base, as_of=as_of, every_row=tuple(self.rows))
        stock, faults = dated.replayed(self.rows)
        assert faults == []
        return replace(dated, stock=stock, rows=tuple(self.rows))

    def plan(self, as_of: date) -> tuple[Nursery, Plan]:
        nursery = self.nursery(as_of)
        return nursery, kept_plan(nursery, self.past(as_of))

    def past(self, as_of: date) -> Past:
        rounds = {entry.day: entry for entry in self.published.values() if entry.id.kind == "round"}
        holders: dict[EntryId, tuple[tuple[EntryId, date], ...]] = {}
        for entry in self.published.values():
            for own in () if entry.id.kind == "round" else entry.holds or (entry.id,):
                holders[own] = (*holders.get(own, ()), (entry.id, entry.day))
        return Past(
            entries={entry.id: entry.day for entry in self.published.values() if entry.day < as_of},
            rounds={day: frozenset(entry.holds) for day, entry in sorted(rounds.items()) if day < as_of},
            since=min(rounds, default=None),
            coming={day: frozenset(entry.holds) for day, entry in sorted(rounds.items()) if day >= as_of},
            holders=holders,
            cautioned=days_told((entry.day, entry.cautions) for entry in self.published.values() if entry.day < as_of),
            whole={entry.id: frozenset(entry.cautions) for entry in self.published.values() if entry.day >= as_of},
        )

    def publish(self, plan: Plan, nursery: Nursery) -> None:
        """Remember what a feed would hold: what is over stays, what is to come is replaced."""
        over = {name: entry for name, entry in self.published.items() if entry.day < plan.as_of}
        self.published = {entry.id: entry for entry in entries_of(plan, nursery)} | over


def log_what_is_asked(year: Year, nursery: Nursery, plan: Plan) -> None:
    """Look at every round and do what the plan asks for today; what looks look for is logged on its likely day.

    How many are well rooted is counted only when a round asks, and roots that came late when it asks for those.
    """
    today = plan.as_of
    done: set[tuple[str, str]] = set()
    before = list(year.rows)
    for name, found in plan.milestones.items():
        lot = nursery.stock.lots[name]
        counted = {rule.name for rule in nursery.book.milestones_for(lot.method) if rule.counted}
        for milestone in found.values():
            event = EVENTS.get(milestone.name)
            due = milestone.known is None and milestone.days is not None and milestone.days[1] <= today
            if not due or event is None or event.kind != "sign" or milestone.name in counted:
                continue
            if any(lot.count(stage) for stage in event.takes_from):
                year.log(today, milestone.name, name)
    for each in plan.rounds:
        if each.day == today:
            for name in each.lots:
                if name in nursery.stock.lots and not nursery.stock.lots[name].closed:
                    year.log(today, "looked", name)
            for line in each.lines:
                if line.task:
                    _do(year, nursery, line.task, today, done)
    for task in plan.tasks:
        once = task.rule.logged_as in ("", "noted")  # what nothing logged ends is done on its day
        if not task.in_round and task.due <= today <= task.latest and (task.due == today or not once):
            _do(year, nursery, task, today, done)
    if nursery.replayed(year.rows)[1]:  # a sign and a step of one day that do not agree: only the looks count
        year.rows[:] = before


def next_day_that_asks(plan: Plan) -> date:
    """The next day with a round, a task or a likely sign; never a week off. With STICKDATE_YEAR=whole, tomorrow."""
    if WHOLE:
        return plan.as_of + timedelta(days=1)
    asks = [each.day for each in plan.rounds] + [task.due for task in plan.tasks if not task.in_round]
    asks += [m.days[1] for found in plan.milestones.values() for m in found.values() if m.known is None and m.days]
    return min((day for day in asks if day > plan.as_of), default=plan.as_of + timedelta(days=7))


# What a grower writes where the command leaves the value to them.
FILLED_IN = {"HOURS": "14 h", "TEMPERATURE": "25 C", "PRODUCT": "larvicide, 5 ml a litre (invented)"}


def _do_of_bin(year: Year, task: Task, today: date, done: set[tuple[str, str]]) -> None:
    """Log what a bin's task asks for, by the command that it names."""
    command = how_to_log_task(task).split()[2:]
    if command and (task.bin, command[0]) not in done:
        done.add((task.bin, command[0]))
        value = " ".join(command[command.index("--value") + 1 :]).strip('"') if "--value" in command else ""
        year.log(today, command[0], bin=task.bin, value=FILLED_IN.get(value, value))


def _do(year: Year, nursery: Nursery, task: Task, today: date, done: set[tuple[str, str]]) -> None:
    event = task.rule.logged_as
    if task.rule.scope == "bin":
        _do_of_bin(year, task, today, done)
        return
    if not event:
        return  # there is nothing to log of it, as of an evening's look at the forecast
    for name in task.lots if task.rule.scope == "lot" else ():
        lot = nursery.stock.lots.get(name)
        stages = [stage for stage in EVENTS[event].takes_from if lot and lot.count(stage)] if event in EVENTS else []
        if lot is None or lot.closed or (name, event) in done:
            continue
        done.add((name, event))
        kind = EVENTS[event].kind
        if (kind == "sign" and stages) or (kind == "job" and event not in ("temperature", "weighed")):
            year.log(today, event, name)
        elif event in ("potted", "set_out", "outside") and stages:
            year.log(today, event, name, stage=stages[0])
        elif event in ("planted", "sold") and stages == ["outside"] and event not in lot.gone:
            year.log(today, event, name, count=max(lot.count("outside") // 2, 1), stage="outside")
        elif event == "stuck" and stages == ["store"]:
            year.log(today, event, name, bin="B")
        elif event in ("potted", "set_out", "outside", "planted", "sold", "stuck"):
            done.discard((name, event))
