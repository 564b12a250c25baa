"""What the plain rules have asked for, for a programme that knows better to change. Changes the lists it is given."""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import dataclass, replace
from datetime import date

from almanac.nursery.lots import Lot
from almanac.plan.care.lot_tasks import add_for_lot
from almanac.plan.context.day import Context
from almanac.plan.derivation import Derivation
from almanac.plan.model import Look, Task
from almanac.rulebook.models import TaskRule


@dataclass
class Asked:
    """All that is asked for so far, which a programme adds to and takes from, lot by lot."""

    context: Context
    tasks: list[Task]
    looks: list[Look]

    def add(self, lot: Lot, rule: str) -> None:
        add_for_lot(self.context, lot, self.rule(lot, rule), self.tasks, self.looks)

    def drop(self, lot: Lot, *rules: str) -> None:
        """Take away a lot's tasks and looks of some rules."""
        names = {f"{lot.id}.{rule}" for rule in rules}
        self.tasks[:] = [task for task in self.tasks if task.id not in names]
        self.looks[:] = [look for look in self.looks if look.id not in names]

    def tell(self, lot: Lot, derivation: Derivation, *rules: str) -> None:
        """Let a lot's plain tasks and looks say why a programme does not date them."""
        names = {f"{lot.id}.{rule}" for rule in rules}
        self.tasks[:] = [replace(task, derivation=derivation) if task.id in names else task for task in self.tasks]
        self._change(lot, rules, lambda look: replace(look, derivation=derivation))

    def put_off(self, lot: Lot, day: date, after: str, *rules: str) -> None:
        """Let a lot's looks begin only on a day, on which something else is done that they then count from."""

        def later(look: Look) -> Look:
            return replace(look, start=max(look.start, day), counted_from=after, milestone=None)

        self._change(lot, rules, later)

    def until(self, lot: Lot, day: date, rule: str) -> None:
        """Let a lot's look end by a day."""
        self._change(lot, (rule,), lambda look: replace(look, end=min(look.end, day)))

    def _change(self, lot: Lot, rules: Collection[str], change: Callable[[Look], Look]) -> None:
        """Change a lot's looks of some rules, and leave out those that end before they begin."""
        names = {f"{lot.id}.{rule}" for rule in rules}
        changed = [(look.id, change(look) if look.id in names else look) for look in self.looks]
        self.looks[:] = [look for name, look in changed if name not in names or look.latest(None) <= look.end]

    def rule(self, lot: Lot, name: str) -> TaskRule:
        book = self.context.around.book
        return book.told_for(book.task(name), lot.crop)
