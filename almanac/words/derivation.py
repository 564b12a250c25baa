"""What a programme came to, in words: the values that its tasks' texts name, and its arithmetic line by line. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Any

from almanac.by_stem import modules_in
from almanac.plain import replace
from almanac.plan.derivation import Derivation
from almanac.plan.model import Line, Task
from almanac.rulebook.book import VALUE
from almanac.rulebook.models import TaskRule
from almanac.units import System
from almanac.words import programmes
from almanac.words.programmes import DerivationWords
from almanac.words.sentences import is_sentence


@cache
def derivation_words() -> Mapping[type[Derivation], DerivationWords[Any]]:
    """By the kind of derivation, its words, from the files of `words/programmes`; there are some of every kind."""
    return {each.of: each for module in modules_in(programmes.__name__).values() for each in module.WORDS}


def values(derivation: Derivation) -> Mapping[str, str]:
    """By name, each value that the texts of its tasks may name."""
    return derivation_words()[type(derivation)].values(derivation)


def steps(derivation: Derivation, system: System) -> list[str]:
    """The arithmetic, line by line."""
    return derivation_words()[type(derivation)].steps(derivation, system)


def warning_of(derivation: Derivation, where: str, lots: str) -> str:
    """What cannot be, and what is done instead; `where` are the bins as they are named, empty where in none."""
    told = derivation_words()[type(derivation)].warning
    assert told is not None  # a programme that warns of it says it
    return told(derivation, where, lots)


def rule_of(task: Task) -> TaskRule:
    """The rule of a task, its texts with the values that were worked out for it."""
    if task.derivation is None:
        return task.rule
    known = _of_all(task)

    def filled(text: str) -> str:
        return VALUE.sub(lambda name: known.get(name[1], name[0]), text)

    rule = task.rule
    told: dict[str, Any] = {name: filled(getattr(rule, name)) for name in ("title", "short", "how", "log")}
    return replace(rule, **told, checklist=tuple(filled(item) for item in rule.checklist))


def _of_all(task: Task) -> Mapping[str, str]:
    """The values of a task; where lots that share it have others, each with its lot: `330 g (7a), 415 g (7b)`.

    Where they are sentences: `1a: Buds likely swell. 6a: The season is over.`
    """
    lots: dict[str, dict[str, list[str]]] = {}
    for own in task.own:
        for name, value in (values(own.derivation) if own.derivation else {}).items():
            lots.setdefault(name, {}).setdefault(value, []).extend(own.lots)
    return {name: next(iter(told)) if len(told) == 1 else _each_with_its_lots(told) for name, told in lots.items()}


def _each_with_its_lots(told: Mapping[str, list[str]]) -> str:
    if all(map(is_sentence, told)):
        return " ".join(f"{', '.join(lots)}: {value}" for value, lots in told.items())
    return ", ".join(f"{value} ({', '.join(lots)})" for value, lots in told.items())


def rule_of_line(line: Line) -> TaskRule:
    """The rule of a line of a round, likewise."""
    return rule_of(line.task) if line.task else line.rule
