"""Programs that are broken on purpose, to see that each sentence finds it: wrong things asked for, right ones left out.

A breakage holds for some days, counted from the middle of winter; rules may be misspelt besides.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection
from dataclasses import dataclass, replace
from datetime import date, time, timedelta
from typing import Any

from almanac.nursery.nursery import Nursery
from almanac.plan.ids import EntryId
from almanac.plan.model import Line, Look, Plan, Round, Task
from almanac.rulebook.models import TaskRule

Breaks = Callable[[Plan, Nursery], Plan]


@dataclass(frozen=True, kw_only=True)
class Asked:
    """A rule's task that is asked for on certain days of a lot, whatever its state; `times` on each."""

    rule: str
    lot: str = ""
    days: Collection[int]
    times: int = 1
    count: int = 0
    crop: str = ""
    clock: tuple[time, time] | None = None
    closes: int = 0

    def apply(self, plan: Plan, nursery: Nursery, middle: date) -> Plan:
        day, lot = plan.as_of, nursery.stock.lots.get(self.lot)
        if (day - middle).days not in self.days or (self.lot and lot is None):
            return plan
        rule = nursery.book.task(self.rule)
        lots, place = ((self.lot,), lot.bin) if lot else ((), "")
        for number in range(self.times):
            name = EntryId(self.lot or self.crop, self.rule, f"broken{number}")
            plan = _with_asked(plan, rule, self, name, lots, place)
        return plan


def _with_asked(plan: Plan, rule: TaskRule, asked: Asked, name: EntryId, lots: tuple[str, ...], place: str) -> Plan:
    day = plan.as_of
    closes = day + timedelta(days=asked.closes)
    task = Task(
        id=name,
        rule=rule,
        lots=lots,
        earliest=day,
        due=day,
        latest=closes,
        counted_from=rule.after,
        since=day,
        bin=place,
        crop=asked.crop,
        count=asked.count,
    )
    task = replace(task, clock=asked.clock)
    if rule.kind in ("window", "deadline"):
        return replace(plan, tasks=(*plan.tasks, task))
    if rule.kind == "look":
        line = Line(
            id=name,
            rule=rule,
            bin=place,
            lot=lots[0],
            look=Look(id=name, rule=rule, lot=lots[0], bin=place, start=day, end=closes, counted_from=rule.after),
        )
    else:
        line = Line(id=name, rule=rule, bin=place, lot=lots[0] if lots else "", task=task)
    return _with_line(plan, line)


def _with_line(plan: Plan, line: Line) -> Plan:
    """In today's round, or one made for it off the bench days."""
    today = next((each for each in plan.rounds if each.day == plan.as_of), None)
    if today is None:
        return replace(plan, rounds=(Round(day=plan.as_of, lines=(line,), on_bench_day=False), *plan.rounds))
    fuller = replace(today, lines=(*today.lines, line))
    return replace(plan, rounds=tuple(fuller if each is today else each for each in plan.rounds))


@dataclass(frozen=True, kw_only=True)
class Unsaid:
    """What is left out on certain days: all of a lot, certain rules, or whatever has certain words."""

    days: Collection[int]
    lot: str = ""
    rules: Collection[str] = ()
    words: str = ""

    def apply(self, plan: Plan, nursery: Nursery, middle: date) -> Plan:
        if (plan.as_of - middle).days not in self.days:
            return plan
        rounds = [
            replace(each, lines=tuple(line for line in each.lines if not self._line(line))) for each in plan.rounds
        ]
        return replace(
            plan,
            tasks=tuple(task for task in plan.tasks if not self._hides(task.rule, task.lots)),
            rounds=tuple(each for each in rounds if each.lines),
            looks=tuple(look for look in plan.looks if not self._hides(look.rule, (look.lot,))),
        )

    def _line(self, line: Line) -> bool:
        return self._hides(line.rule, (line.lot,) if line.lot else line.task.lots if line.task else ())

    def _hides(self, rule: TaskRule, lots: tuple[str, ...]) -> bool:
        about = not self.lot or self.lot in lots
        named = not self.rules or rule.id in self.rules
        said = f"{rule.title} {rule.how} {rule.checklist}"
        return about and named and (not self.words or re.search(self.words, said, re.IGNORECASE) is not None)


def misspelt(base: Nursery, rule: str, **fields: Any) -> Nursery:
    """The nursery with a rule's texts replaced."""

    def spoilt(tasks: tuple[TaskRule, ...]) -> tuple[TaskRule, ...]:
        return tuple(replace(each, **fields) if each.id == rule else each for each in tasks)

    book = base.book
    cares = {name: replace(each, task=spoilt(each.task)) for name, each in book.cares.items()}
    methods = {name: replace(each, task=spoilt(each.task)) for name, each in book.methods.items()}
    return replace(base, book=replace(book, cares=cares, methods=methods))


def miscounted(base: Nursery, care: str, **fields: Any) -> Nursery:
    """The nursery with numbers of a programme replaced."""
    found = base.book.cares[care]
    assert found.programme is not None
    wrong = replace(found, programme=replace(found.programme, **fields))
    return replace(base, book=replace(base.book, cares={**base.book.cares, care: wrong}))


def every(*breakages: Asked | Unsaid, middle: date) -> Breaks:
    """All of them, one after the other."""

    def apply(plan: Plan, nursery: Nursery) -> Plan:
        for each in breakages:
            plan = each.apply(plan, nursery, middle)
        return plan

    return apply
