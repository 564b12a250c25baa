"""What is asked for, as data: tasks and looks, and what is to change in those asked for before. Pure.

A programme may amend what plain rules propose: so a nursery that never weighs has the plan of the plain rules, entry
for entry.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date
from typing import assert_never

from almanac.plain import dataclass
from almanac.plan.derivation import Derivation
from almanac.plan.ids import EntryId
from almanac.plan.model import Look, PlanWarning, Task


@dataclass(frozen=True)
class Drop:
    """Take away the task or look of an id."""

    id: EntryId


@dataclass(frozen=True)
class Tell:
    """Let the task or look of an id say why a programme does not date it."""

    id: EntryId
    derivation: Derivation


@dataclass(frozen=True)
class Until:
    """Let the look of an id end by a day."""

    id: EntryId
    day: date


@dataclass(frozen=True)
class PutOff:
    """Let the look of an id begin only on a day, on which something else is done that it then counts from."""

    id: EntryId
    day: date
    after: str


Amendment = Drop | Tell | Until | PutOff


@dataclass(frozen=True, kw_only=True)
class Proposal:
    """Tasks and looks, and warnings of what cannot be; `amends` changes what was proposed before, in this order."""

    tasks: tuple[Task, ...] = ()
    looks: tuple[Look, ...] = ()
    amends: tuple[Amendment, ...] = ()
    warnings: tuple[PlanWarning, ...] = ()


NOTHING = Proposal()


def combined(proposals: Iterable[Proposal]) -> Proposal:
    """Several as one: in their order, each amends what those before it propose, then adds its own."""
    given = tuple(proposals)
    later: dict[EntryId, tuple[Amendment, ...]] = {}  # what is still to come of amendments, by id
    found = []
    for each in reversed(given):
        found.append((_tasks(each.tasks, later), _looks(each.looks, later)))
        for amendment in reversed(each.amends):
            later[amendment.id] = (amendment, *later.get(amendment.id, ()))
    return Proposal(
        tasks=tuple(task for tasks, _ in reversed(found) for task in tasks),
        looks=tuple(look for _, looks in reversed(found) for look in looks),
        amends=tuple(amendment for each in given for amendment in each.amends),
        warnings=tuple(warning for each in given for warning in each.warnings),
    )


def _tasks(tasks: Iterable[Task], amends: Mapping[EntryId, Iterable[Amendment]]) -> Sequence[Task]:
    return [left for task in tasks if (left := _amended_task(task, amends.get(task.id, ())))]


def _looks(looks: Iterable[Look], amends: Mapping[EntryId, Iterable[Amendment]]) -> Sequence[Look]:
    return [left for look in looks if (left := _amended_look(look, amends.get(look.id, ())))]


def _amended_task(task: Task, amends: Iterable[Amendment]) -> Task | None:
    for amendment in amends:
        match amendment:
            case Drop():
                return None
            case Tell():
                task = replace(task, derivation=amendment.derivation)
            case Until() | PutOff():
                pass  # a task has its own days
            case _:
                assert_never(amendment)
    return task


def _amended_look(look: Look, amends: Iterable[Amendment]) -> Look | None:
    """The look as amended; none where it would end before it begins."""
    for amendment in amends:
        match amendment:
            case Drop():
                return None
            case Tell():
                look = replace(look, derivation=amendment.derivation)
            case Until():
                look = replace(look, end=min(look.end, amendment.day))
            case PutOff():
                start = max(look.start, amendment.day)
                look = replace(look, start=start, counted_from=amendment.after, milestone=None)
            case _:
                assert_never(amendment)
        if look.wished(None) > look.end:
            return None
    return look
