"""Plain columns that fit a width: no colour, no frame, the last column wrapped under itself. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
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
        return [line for text in texts for line in paragraph(text, indent, width, hang=2)]
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


def paragraphs(texts: Iterable[str], indent: int = 0, lead: str = "") -> list[str]:
    """Texts one under another, each wrapped, and begun with the same sign."""
    return [line for text in texts for line in paragraph(lead + text, indent)]


def clipped(text: str, most: int) -> str:
    """As many letters as its column holds, so that the others keep their place."""
    return text if len(text) <= most else f"{text[: most - 1]}…"
