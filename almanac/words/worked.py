"""What a programme came to, in words: the values that its tasks' texts name, and its arithmetic line by line. Pure."""

from __future__ import annotations

from collections.abc import Mapping

from almanac.plan.derivation import (
    Aired,
    Derivation,
    GnatsWorked,
    LampWorked,
    OffMat,
    Pots,
    PottedDay,
    Ramp,
    Shipment,
    ToLamp,
    Weighed,
)
from almanac.plan.model import Line, Task
from almanac.plan.wood.bare import Collecting
from almanac.plan.wood.season import Posting, Sticking
from almanac.rulebook.book import VALUE
from almanac.rulebook.models import TaskRule
from almanac.units import System
from almanac.words import for_sale
from almanac.words.programmes import fungus_gnats, hardening, light, potted, potting, watering, weaning
from almanac.words.season import bare, collecting_steps, killing_nights, posting_steps, posting_values, sticking_steps


def values(worked: Derivation) -> Mapping[str, str]:
    """By name, each value that the texts of its tasks may name; temperatures in both scales, as in rule files."""
    match worked:
        case GnatsWorked():
            return fungus_gnats.values(worked)
        case LampWorked():
            return light.values(worked)
        case Aired() | OffMat():
            return weaning.values(worked)
        case Pots():
            return potting.values(worked)
        case PottedDay():
            return potted.values(worked)
        case Weighed():
            return watering.values(worked)
        case Ramp():
            return hardening.values(worked)
        case Collecting():
            return {"bare": bare(worked), "nights": killing_nights(worked)}
        case Posting():
            return posting_values(worked)
        case Shipment():
            return for_sale.values(worked)
        case _:
            return {}


def steps(worked: Derivation, system: System) -> list[str]:
    """The arithmetic, line by line."""
    match worked:
        case GnatsWorked():
            return fungus_gnats.steps(worked, system)
        case LampWorked():
            return light.steps(worked)
        case Aired():
            return weaning.steps_to_air(worked)
        case OffMat():
            return weaning.steps_off_mat(worked, system)
        case ToLamp():
            return weaning.steps_to_lamp(worked)
        case Pots():
            return potting.steps(worked, system)
        case PottedDay():
            return potted.steps(worked, system)
        case Weighed():
            return watering.steps(worked, system)
        case Ramp():
            return hardening.steps(worked)
        case Collecting():
            return collecting_steps(worked, system)
        case Sticking():
            return sticking_steps(worked, system)
        case Posting():
            return posting_steps(worked, system)
        case Shipment():
            return for_sale.steps(worked)
        case _:
            return []


def rule_of(task: Task) -> TaskRule:
    """The rule of a task, its texts with the values that were worked out for it."""
    if task.worked is None:
        return task.rule
    known = _of_all(task)

    def filled(text: str) -> str:
        return VALUE.sub(lambda name: known.get(name[1], name[0]), text)

    rule = task.rule
    told = {name: filled(getattr(rule, name)) for name in ("title", "how", "log")}
    return rule.model_copy(update={**told, "checklist": [filled(item) for item in rule.checklist]})


def _of_all(task: Task) -> Mapping[str, str]:
    """The values of a task; where lots that share it have others, each with its lot: `330 g (7a), 415 g (7b)`."""
    lots: dict[str, dict[str, list[str]]] = {}
    for own in task.own:
        for name, value in (values(own.worked) if own.worked else {}).items():
            lots.setdefault(name, {}).setdefault(value, []).extend(own.lots)
    return {
        name: next(iter(told)) if len(told) == 1 else ", ".join(f"{value} ({', '.join(told[value])})" for value in told)
        for name, told in lots.items()
    }


def rule_of_line(line: Line) -> TaskRule:
    """The rule of a line of a round, likewise."""
    return rule_of(line.task) if line.task else line.rule
