"""The rules in force as a list, and one rule with its numbers and sources. Pure."""

from __future__ import annotations

from typing import Any

from pydantic import BaseModel

from almanac.faults import Refusal, suggestion
from almanac.rulebook.book import Rulebook
from almanac.rulebook.models import TaskRule
from almanac.terminal.table import paragraph, table


def rules_text(book: Rulebook) -> str:
    """Crops, methods, then tasks by the file they stand in."""
    lines = ["Crops", *table([(c.id, c.title, c.botanical) for c in book.crops.values()], indent=2), ""]
    lines += ["Methods", *table([(m.id, m.title) for m in book.methods.values()], indent=2), ""]
    by_file: dict[str, list[TaskRule]] = {}
    for rule, document in book.tasks().values():
        by_file.setdefault(document, []).append(rule)
    for document, rules in by_file.items():
        lines += [f"Tasks in {document}", *table([(r.id, r.kind, r.title) for r in rules], indent=2), ""]
    return "\n".join(lines).rstrip() + "\n"


def rules_json(book: Rulebook) -> dict[str, Any]:
    """The same as one object."""
    tasks = [{"id": r.id, "title": r.title, "kind": r.kind, "file": file} for r, file in book.tasks().values()]
    return {"crops": list(book.crops), "methods": list(book.methods), "care": list(book.cares), "tasks": tasks}


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
    ):
        if name in found:
            document = f"{folder}/{name}" if folder else f"{kind}s"
            return kind, found[name], book.files.get(document, ())
    known = [*tasks, *book.crops, *book.methods, *book.cares, *book.cautions, *book.sources]
    raise Refusal(f"there is no rule '{name}'{suggestion(name, known)}; all of them: stickdate rules")


def rule_data(name: str, book: Rulebook) -> dict[str, Any]:
    """One rule as an object, as it was read (SI units)."""
    kind, model, files = _find(name, book)
    return {
        "kind": kind,
        "id": name,
        "files": list(files),
        "rule": model.model_dump(mode="json", exclude_defaults=True),
    }


def rule_text(name: str, book: Rulebook) -> str:
    """One rule, a line a value; values in °C, cm, litres and days."""
    data = rule_data(name, book)
    lines = [f"{data['kind']} {name} ({', '.join(data['files'])})", ""]
    lines += _told(data["rule"], book, 0)
    return "\n".join(lines) + "\n"


def _told(value: Any, book: Rulebook, indent: int) -> list[str]:
    lines: list[str] = []
    for key, inner in value.items():
        if isinstance(inner, dict):
            lines += [" " * indent + key, *_told(inner, book, indent + 2)]
        elif isinstance(inner, list) and inner and isinstance(inner[0], dict):
            for item in inner:
                lines += [" " * indent + f"{key}: {item.get('id') or item.get('name') or item.get('what')}"]
                lines += _told({k: v for k, v in item.items() if k not in ("id", "name", "what")}, book, indent + 4)
        else:
            text = ", ".join(map(str, inner)) if isinstance(inner, list) else _number(inner)
            if key in ("source", "taking_source") and text in book.sources:
                text = f"{text}: {book.sources[text]}"
            lines += paragraph(f"{key}: {text}", indent)
    return lines


def _number(value: Any) -> str:
    return f"{value:.4g}" if isinstance(value, float) else str(value)
