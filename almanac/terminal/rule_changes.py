"""What own rules say otherwise than the shipped ones, value by value. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby
from pathlib import PurePath
from typing import Any

from almanac.faults import Fact, Refusal, nearest
from almanac.rulebook.book import Rulebook
from almanac.rulebook.changes import Change
from almanac.terminal.encoded import Shape
from almanac.terminal.table import table
from almanac.words.rules import as_written


def of_document(book: Rulebook, name: str | None) -> list[Change]:
    """All changes, or those of the documents of a name.

    Raises:
        Refusal: there is no such document
    """
    stems = {document: PurePath(document).name for document in book.files}
    if name is not None and name not in stems.values():
        raise Refusal(Fact("no_rule", name=name, near=nearest(name, stems.values())))
    return [each for each in book.changes if name is None or stems[each.document] == name]


def changes_text(changes: Sequence[Change]) -> str:
    """File by file, each value with what ships and what is said instead."""
    lines: list[str] = []
    for file, made in groupby(changes, key=lambda each: each.file):
        rows = [
            (", ".join(each.key), _shipped(each), as_written(each.after))
            for each in made
            if each.key and each.after != ""
        ]
        lines += [file, *table(rows, header=("", "shipped", "yours"), indent=2)] if rows else [f"{file}: new"]
        lines += [""]
    return "\n".join(lines).rstrip() + "\n" if lines else "Your own rules change nothing.\n"


def _shipped(change: Change) -> str:
    return "-" if change.before is None else as_written(change.before)


def changes_json(changes: Sequence[Change]) -> dict[str, Any]:
    """The same as one object; an empty key stands for the whole of a new file."""
    return {"changes": _CHANGE(changes)}


_CHANGE = Shape(Change, "file document key from=before to=after")
