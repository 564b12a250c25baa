"""Plain columns that fit a width: no colour, no frame, the last column wrapped under itself. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from textwrap import wrap

WIDTH = 80


def table(rows: Sequence[Sequence[str]], header: Sequence[str] = (), width: int = WIDTH, indent: int = 0) -> list[str]:
    """Rows in columns as wide as they need, the last one wrapped to what is left of the width."""
    every = [list(header), *map(list, rows)] if header else [list(row) for row in rows]
    if not rows:
        return []
    widths = [max(len(row[column]) for row in every) for column in range(len(every[0]) - 1)]
    left = indent + sum(widths) + 2 * len(widths)
    if left > width - min(20, max(len(row[-1]) for row in every)):  # long names leave no room for columns
        texts = ["  ".join(filter(None, row)) for row in every]
        first, rest = " " * indent, " " * (indent + 2)
        each = (
            wrap(text, width, initial_indent=first, subsequent_indent=rest, break_on_hyphens=False) for text in texts
        )
        return [line for lines in each for line in lines]
    lines = []
    for row in every:
        start = " " * indent + "".join(cell.ljust(size) + "  " for cell, size in zip(row, widths, strict=False))
        parts = wrap(row[-1], width - left, break_on_hyphens=False, break_long_words=False) or [""]
        lines += [(start + parts[0]).rstrip(), *(" " * left + part for part in parts[1:])]
    return lines


def paragraph(text: str, indent: int = 0, width: int = WIDTH, hang: int = 0) -> list[str]:
    """Text wrapped to the width, its own line breaks kept; lines after the first hang so far in."""
    space = " " * indent
    lines = []
    for line in text.splitlines():
        rest = space + " " * (2 if line.startswith("- ") else hang)
        lines += wrap(line, width, initial_indent=space, subsequent_indent=rest, break_on_hyphens=False) or [""]
    return lines
