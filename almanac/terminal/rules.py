"""The rules in force as a list, and one rule with its numbers and sources. Pure."""

from __future__ import annotations

from typing import Any

from pydantic import BaseModel

from almanac.faults import Fact, Refusal, nearest
from almanac.rulebook.book import Rulebook
from almanac.rulebook.fields import kind_of
from almanac.rulebook.models import Chill, TaskRule
from almanac.terminal.table import paragraph, table
from almanac.units import System, quantity
from almanac.words.milestones import chill

_FILES = {"caution": "cautions", "source": "sources", "supply": "supplies", "law": "law"}


def rules_text(book: Rulebook) -> str:
    """Crops, methods, then tasks by the file they stand in."""
    lines = ["Crops", *table([(c.id, c.title, c.botanical) for c in book.crops.values()], indent=2), ""]
    lines += ["Methods", *table([(m.id, m.title) for m in book.methods.values()], indent=2), ""]
    by_file: dict[str, list[TaskRule]] = {}
    for rule, document in book.tasks().values():
        by_file.setdefault(document, []).append(rule)
    for document, rules in by_file.items():
        lines += [f"Tasks in {document}", *table([(r.id, r.kind, r.title) for r in rules], indent=2), ""]
    lines += ["Supplies", *table([(name, s.measure, s.title) for name, s in book.supplies.supply.items()], indent=2)]
    lines += ["", "Law", *table([(name, law.ruling, law.where) for name, law in book.laws.items()], indent=2)]
    return "\n".join(lines).rstrip() + "\n"


def rules_json(book: Rulebook) -> dict[str, Any]:
    """The same as one object."""
    tasks = [{"id": r.id, "title": r.title, "kind": r.kind, "file": file} for r, file in book.tasks().values()]
    return {
        "crops": list(book.crops),
        "methods": list(book.methods),
        "care": list(book.cares),
        "tasks": tasks,
        "supplies": list(book.supplies.supply),
        "law": list(book.laws),
    }


def _find(name: str, book: Rulebook) -> tuple[str, BaseModel, tuple[str, ...]]:
    tasks = book.tasks()
    if name in tasks:
        rule, document = tasks[name]
        return "task", rule, book.files.get(document, ())
    for kind, folder, found in (
        ("crop", "crops", book.crops),
        ("method", "methods", book.methods),
        ("care", "care", book.cares),
        ("caution", "", book.cautions),
        ("source", "", book.sources),
        ("supply", "", book.supplies.supply),
        ("law", "", book.laws),
    ):
        if name in found:
            document = f"{folder}/{name}" if folder else _FILES[kind]
            return kind, found[name], book.files.get(document, ())
    known = [
        *tasks,
        *book.crops,
        *book.methods,
        *book.cares,
        *book.cautions,
        *book.sources,
        *book.supplies.supply,
        *book.laws,
    ]
    raise Refusal(Fact("no_rule", name=name, near=nearest(name, known)))


def rule_data(name: str, book: Rulebook) -> dict[str, Any]:
    """One rule as an object, as it was read (SI units)."""
    kind, model, files = _find(name, book)
    return {
        "kind": kind,
        "id": name,
        "files": list(files),
        "rule": model.model_dump(mode="json", exclude_defaults=True),
    }


def rule_text(name: str, book: Rulebook, system: System) -> str:
    """One rule, a line a value, in the grower's units."""
    kind, model, files = _find(name, book)
    return "\n".join([f"{kind} {name} ({', '.join(files)})", "", *_told(model, book, system, 0)]) + "\n"


def _told(model: BaseModel, book: Rulebook, system: System, indent: int, *, named: bool = True) -> list[str]:
    lines: list[str] = []
    for key, field in type(model).model_fields.items():
        value = getattr(model, key)
        if value == field.get_default() or (not named and key in ("id", "name", "what")):
            continue
        if isinstance(value, dict):
            value = {name: item for name, item in value.items() if isinstance(item, BaseModel)}
            lines += [" " * indent + key]
            for name, item in value.items():
                lines += [" " * (indent + 2) + name, *_told(item, book, system, indent + 4)]
        elif isinstance(value, Chill):
            lines += paragraph(f"{key}: {chill(value)}", indent)
            lines += _of_source({"source": value.source, "note": value.note}, book, indent + 2)
        elif isinstance(value, BaseModel):
            lines += [" " * indent + key, *_told(value, book, system, indent + 2)]
        elif isinstance(value, list) and value and isinstance(value[0], BaseModel):
            for item in value:
                name = next(getattr(item, part) for part in ("id", "name", "what") if hasattr(item, part))
                lines += [" " * indent + f"{key}: {name}", *_told(item, book, system, indent + 4, named=False)]
        else:
            lines += _of_source({key: _value(value, kind_of(field), system)}, book, indent)
    return lines


def _of_source(texts: dict[str, str], book: Rulebook, indent: int) -> list[str]:
    """Lines of texts; a source by its key and its title."""
    lines = []
    for key, text in texts.items():
        told = f"{text}: {book.sources[text]}" if key in ("source", "taking_source") and text in book.sources else text
        lines += paragraph(f"{key}: {told}", indent) if told else []
    return lines


def _value(value: Any, kind: str, system: System) -> str:
    if kind:
        return quantity(value, kind, system)
    if isinstance(value, list):
        return ", ".join(map(str, value))
    return f"{value:.4g}" if isinstance(value, float) else str(value)
