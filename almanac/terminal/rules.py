"""The rules in force as a list, and one rule with its numbers, what of it is a nursery's own, and its sources. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from math import exp, sqrt
from pathlib import Path
from typing import Any

from almanac.alike import together
from almanac.faults import Fact, Refusal, nearest
from almanac.plain import dataclass
from almanac.rulebook.book import Rulebook
from almanac.rulebook.changes import OWN, Change
from almanac.rulebook.fields import Table, as_data, declared
from almanac.rulebook.models import Chill, Duration, TaskRule
from almanac.terminal.encoded import Shape
from almanac.terminal.table import paragraph, table
from almanac.units import System, quantity
from almanac.words.milestones import chill
from almanac.words.rules import as_written, listed_title, when_due

_OF_WHEN = (  # what `when_due` says in a sentence
    *("kind", "after", "overdue", "once_logged", "opens_day", "due_day", "closes_day", "first_day", "every_days"),
    *("longest_days", "last_day", "slack_days", "again_days"),
)
_OF_DAYS = ("median", "spread", "between_lots", "between_varieties", "between_growers", "at")
_IN_SENTENCES: Mapping[type[Table], tuple[str, ...]] = {TaskRule: _OF_WHEN, Duration: _OF_DAYS}
_CITES = ("source", "taking_source")
_TENTH = 1.2816  # standard deviations from the median to the 10 and 90 % points of a normal


def rules_text(book: Rulebook) -> str:
    """Crops, methods, then tasks by the file they stand in."""
    lines = ["Crops", *table([(c.id, c.title, c.botanical) for c in book.crops.values()], indent=2), ""]
    lines += ["Methods", *table([(m.id, m.title) for m in book.methods.values()], indent=2), ""]
    for document, rules in together(book.tasks().values(), lambda task: task[1]).items():
        lines += [f"Tasks in {document}", *table([(r.id, r.kind, listed_title(r)) for r, _ in rules], indent=2), ""]
    lines += ["Supplies", *table([(name, s.measure, s.title) for name, s in book.supplies.supply.items()], indent=2)]
    lines += ["", "Law", *table([(name, law.ruling, law.where) for name, law in book.laws.items()], indent=2)]
    return "\n".join(lines).rstrip() + "\n"


_TASK = Shape(TaskRule, "id title kind", title=listed_title)


def rules_json(book: Rulebook) -> dict[str, Any]:
    tasks = [{**_TASK(rule), "file": file} for rule, file in book.tasks().values()]
    return {
        "crops": list(book.crops),
        "methods": list(book.methods),
        "care": list(book.cares),
        "tasks": tasks,
        "supplies": list(book.supplies.supply),
        "law": list(book.laws),
    }


@dataclass(frozen=True, kw_only=True)
class _Found:
    """One rule: its kind, what it is, the document it stands in and the way to it there."""

    kind: str
    model: Table
    document: str
    key: tuple[str, ...]

    def changes(self, book: Rulebook) -> dict[tuple[str, ...], Change]:
        """What of it is the nursery's own, by the way from the rule."""
        deep = len(self.key)
        there = (each for each in book.changes if each.document == self.document)
        return {each.key[deep:]: each for each in there if each.key[:deep] == self.key or not each.key}


def _find(name: str, book: Rulebook) -> _Found:
    tasks = book.tasks()
    if name in tasks:
        rule, document = tasks[name]
        return _Found(kind="task", model=rule, document=document, key=("task", name))
    known = list(tasks)
    for kind, document, found in (
        ("crop", f"crops/{name}", book.crops),
        ("method", f"methods/{name}", book.methods),
        ("care", f"care/{name}", book.cares),
        ("caution", "cautions", book.cautions),
        ("source", "sources", book.sources),
        ("supply", "supplies", book.supplies.supply),
        ("law", "law", book.laws),
    ):
        if name in found:
            key = () if kind in ("crop", "method", "care") else (kind, name)
            return _Found(kind=kind, model=found[name], document=document, key=key)
        known += found
    raise Refusal(Fact("no_rule", name=name, near=nearest(name, known)))


def rule_data(name: str, book: Rulebook, shipped: Path | None = None) -> dict[str, Any]:
    """One rule as an object, as it was read (SI units), and what of it is the nursery's own, as files have it."""
    found = _find(name, book)
    own = [{"key": list(key), "from": each.before, "to": each.after} for key, each in found.changes(book).items()]
    return {
        "kind": found.kind,
        "id": name,
        "files": list(book.files.get(found.document, ())),
        "shipped": str(_shipped(found.document, shipped) or "") or None,
        "own": own,
        "rule": as_data(found.model, said=True),
    }


def rule_text(name: str, book: Rulebook, system: System, shipped: Path | None = None) -> str:
    """One rule, a line a value, in the grower's units; its sources and files at the end.

    Args:
        name: its id
        book: all rules
        system: the units to show values in
        shipped: the folder of the files that ship, to name the rule's own there
    """
    found = _find(name, book)
    page = _Page(book=book, system=system, own=found.changes(book))
    lines = [f"{found.kind} {name}", "", *page.told(found.model, (), 0)]
    if page.cited:
        lines += ["", "Sources", *table([(key, str(book.sources[key])) for key in page.cited], indent=2)]
    there, files = _shipped(found.document, shipped), book.files.get(found.document, ())
    mine = sorted({each.file for each in page.own.values()})
    files = tuple(each for each in files if not there and each not in mine)
    named = [("shipped", str(there))] * bool(there) + [("shipped", each) for each in files]
    lines += ["", "Files", *table([*named, *(("yours", each) for each in mine)], indent=2)]
    return "\n".join(lines) + "\n"


def _shipped(document: str, folder: Path | None) -> Path | None:
    """The file of a document that ships, where there is one."""
    path = folder / f"{document}.toml" if folder else None
    return path if path and path.is_file() else None


@dataclass(kw_only=True)
class _Page:
    """A rule as it is told, with the sources cited on the way."""

    book: Rulebook
    system: System
    own: dict[tuple[str, ...], Change]
    cited: dict[str, None] = field(default_factory=dict)

    def told(self, model: Table, key: tuple[str, ...], indent: int, skip: tuple[str, ...] = ()) -> list[str]:
        """The lines of a table's values, that of a duration or of a task's days in one sentence."""
        lines: list[str] = []
        for name, each in declared(type(model)).items():
            value = getattr(model, name)
            if name == "kind" and isinstance(model, TaskRule):
                lines += self._line("when", when_due(model), key, _OF_WHEN, indent)
            elif name == "median" and isinstance(model, Duration):
                lines += self._line("days", self._days(model), key, _OF_DAYS, indent)
            elif name not in (*skip, *_IN_SENTENCES.get(type(model), ())) and value != each.default:
                lines += self._field(name, value, each.quantity, (*key, name), indent)
        return lines

    def _field(self, name: str, value: Any, kind: str, key: tuple[str, ...], indent: int) -> list[str]:
        if isinstance(value, Chill):
            lines = paragraph(f"{name}: {chill(value)}", indent)
            told = self.told(value, key, indent + 2, ("deep_until", "a_week", "in_store", "least"))
            return [*lines, *self._marks(key, ("deep_until", "a_week", "in_store", "least"), indent + 2), *told]
        if isinstance(value, Mapping):
            tables = {each: item for each, item in value.items() if isinstance(item, Table)}
            lines = [" " * indent + name]
            for each, item in tables.items():
                lines += [" " * (indent + 2) + each, *self.told(item, (*key, each), indent + 4)]
            return lines
        if isinstance(value, Table):
            return [" " * indent + name, *self.told(value, key, indent + 2)]
        if isinstance(value, tuple) and value and isinstance(value[0], Table):
            lines = []
            for item in value:
                each = next(getattr(item, part) for part in ("id", "name", "what") if hasattr(item, part))
                lines += [" " * indent + f"{name}: {each}"]
                lines += self.told(item, (*key, each), indent + 4, ("id", "name", "what"))
            return lines
        if name in _CITES and value in self.book.sources:
            self.cited[value] = None
            before = self.own[key].before if key in self.own else None
            if value == OWN and isinstance(before, str):
                self.cited[before] = None
                return paragraph(f"{name}: own for what is marked, else {before}", indent)
        return self._line(name, _value(value, kind, self.system), key[:-1], (name,), indent)

    def _line(self, name: str, text: str, key: tuple[str, ...], keys: tuple[str, ...], indent: int) -> list[str]:
        return [*(paragraph(f"{name}: {text}", indent) if text else []), *self._marks(key, keys, indent + 2)]

    def _marks(self, key: tuple[str, ...], keys: tuple[str, ...], indent: int) -> list[str]:
        """What of a line is the nursery's own, and what ships instead."""
        lines = []
        for name in keys:
            found = self.own.get((*key, name))
            if found and not found.cites:
                instead = f"shipped: {as_written(found.before)}" if found.before is not None else "nothing ships for it"
                lines += paragraph(f"own {name} = {as_written(found.after)}; {instead}", indent)
        return lines

    def _days(self, rule: Duration) -> str:
        """A duration as days: half of all cuttings, then the middle eight of ten, those of one lot and of all."""
        own = _range(rule.median, rule.spread)
        every = (rule.spread, rule.between_lots, rule.between_varieties, rule.between_growers)
        told = f"half of all cuttings in {rule.median:.4g}; 8 in 10 of one lot {own}"
        wide = _range(rule.median, sqrt(sum(each**2 for each in every)))
        told += f", of any lot and grower {wide}" if wide != own else ""
        return told + (f"; at {quantity(rule.at, 'temperature', self.system)}" if rule.at is not None else "")


def _range(median: float, spread: float) -> str:
    low, high = (f"{median * exp(sign * _TENTH * spread):.0f}" for sign in (-1, 1))
    return f"in {low} to {high} days" if low != high else f"in {low} days"


def _value(value: Any, kind: str, system: System) -> str:
    if kind:
        return quantity(value, kind, system)
    if isinstance(value, tuple):
        return ", ".join(map(str, value))
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:.4g}" if isinstance(value, float) else str(value)
