"""The chapters of the guide as a list for a person and as JSON. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from almanac.actions.guide import Chapter
from almanac.terminal.encoded import Shape
from almanac.terminal.table import table


def chapters_text(chapters: Sequence[Chapter]) -> str:
    """Each chapter with the question it answers."""
    lines = table([(each.name, each.question) for each in chapters], indent=0)
    return "\n".join([*lines, "", "stickdate guide CHAPTER prints one."]) + "\n"


def chapters_json(chapters: Sequence[Chapter]) -> dict[str, Any]:
    return {"chapters": _CHAPTER(chapters)}


_CHAPTER = Shape(Chapter, "chapter=name question")
