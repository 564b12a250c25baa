"""What a programme came to, in words: the values that its tasks' texts name, and its arithmetic line by line. Pure."""

from __future__ import annotations

from collections.abc import Mapping

from almanac.plan.model import Line, Task
from almanac.plan.worked import Shipment, Worked
from almanac.rulebook.book import VALUE
from almanac.rulebook.models import TaskRule
from almanac.units import System
from almanac.words import for_sale


def values(worked: Worked) -> Mapping[str, str]:
    """By name, each value that the texts of its tasks may name; temperatures in both scales, as in rule files."""
    match worked:
        case Shipment():
            return for_sale.values(worked)
        case _:
            return {}


def steps(worked: Worked, system: System) -> list[str]:
    """The arithmetic, line by line."""
    match worked:
        case Shipment():
            return for_sale.steps(worked)
        case _:
            return []


def rule_of(task: Task) -> TaskRule:
    """The rule of a task, its texts with the values that were worked out for it."""
    if task.worked is None:
        return task.rule
    known = values(task.worked)

    def filled(text: str) -> str:
        return VALUE.sub(lambda name: known.get(name[1], name[0]), text)

    rule = task.rule
    told = {name: filled(getattr(rule, name)) for name in ("title", "how", "log")}
    return rule.model_copy(update={**told, "checklist": [filled(item) for item in rule.checklist]})


def rule_of_line(line: Line) -> TaskRule:
    """The rule of a line of a round, likewise."""
    return rule_of(line.task) if line.task else line.rule
