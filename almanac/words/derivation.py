"""What a programme came to, in words: the values that its tasks' texts name, and its arithmetic line by line. Pure."""

from __future__ import annotations

from collections.abc import Mapping

from almanac.plan.care.programmes.fungus_gnats.derivation import GnatDays
from almanac.plan.care.programmes.hardening import Ramp
from almanac.plan.care.programmes.light.derivation import LampHours
from almanac.plan.care.programmes.potted.windows import PottedDay
from almanac.plan.care.programmes.potting import Pots
from almanac.plan.care.programmes.watering import Weighed
from almanac.plan.care.programmes.weaning.derivation import Aired, OffMat, ToLamp
from almanac.plan.context.shipment import Shipment
from almanac.plan.derivation import Derivation
from almanac.plan.model import Line, Task
from almanac.plan.wood.bare import Collecting
from almanac.plan.wood.season import Posting, Sticking
from almanac.rulebook.book import VALUE
from almanac.rulebook.models import TaskRule
from almanac.units import System
from almanac.words import for_sale
from almanac.words.programmes import fungus_gnats, hardening, light, potted, potting, watering, weaning
from almanac.words.season import bare, collecting_steps, killing_nights, posting_steps, posting_values, sticking_steps


def values(derivation: Derivation) -> Mapping[str, str]:
    """By name, each value that the texts of its tasks may name; temperatures in both scales, as in rule files."""
    match derivation:
        case GnatDays():
            return fungus_gnats.values(derivation)
        case LampHours():
            return light.values(derivation)
        case Aired() | OffMat():
            return weaning.values(derivation)
        case Pots():
            return potting.values(derivation)
        case PottedDay():
            return potted.values(derivation)
        case Weighed():
            return watering.values(derivation)
        case Ramp():
            return hardening.values(derivation)
        case Collecting():
            return {"bare": bare(derivation), "nights": killing_nights(derivation)}
        case Posting():
            return posting_values(derivation)
        case Shipment():
            return for_sale.values(derivation)
        case _:
            return {}


def steps(derivation: Derivation, system: System) -> list[str]:
    """The arithmetic, line by line."""
    match derivation:
        case GnatDays():
            return fungus_gnats.steps(derivation, system)
        case LampHours():
            return light.steps(derivation)
        case Aired():
            return weaning.steps_to_air(derivation)
        case OffMat():
            return weaning.steps_off_mat(derivation, system)
        case ToLamp():
            return weaning.steps_to_lamp(derivation)
        case Pots():
            return potting.steps(derivation, system)
        case PottedDay():
            return potted.steps(derivation, system)
        case Weighed():
            return watering.steps(derivation, system)
        case Ramp():
            return hardening.steps(derivation)
        case Collecting():
            return collecting_steps(derivation, system)
        case Sticking():
            return sticking_steps(derivation, system)
        case Posting():
            return posting_steps(derivation, system)
        case Shipment():
            return for_sale.steps(derivation)
        case _:
            return []


def rule_of(task: Task) -> TaskRule:
    """The rule of a task, its texts with the values that were worked out for it."""
    if task.derivation is None:
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
        for name, value in (values(own.derivation) if own.derivation else {}).items():
            lots.setdefault(name, {}).setdefault(value, []).extend(own.lots)
    return {
        name: next(iter(told)) if len(told) == 1 else ", ".join(f"{value} ({', '.join(told[value])})" for value in told)
        for name, told in lots.items()
    }


def rule_of_line(line: Line) -> TaskRule:
    """The rule of a line of a round, likewise."""
    return rule_of(line.task) if line.task else line.rule
