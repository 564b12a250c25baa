"""How wide text is, and where it breaks: before any font is there. Pure.

`widths.tsv` has the wider of two fonts for each letter, so that a page shown in either has room; letters that it lacks
are taken to be as wide as they are high.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from pathlib import Path

_FILE = Path(__file__).parent / "widths.tsv"
_WIDEST = 1000


@cache
def _widths() -> Mapping[str, tuple[int, int]]:
    """By letter, its width plain and bold in thousandths of the size."""
    rows = (row.split("\t") for row in _FILE.read_text(encoding="utf-8").splitlines() if row[:1] != "#")
    return {chr(int(code)): (int(plain), int(bold)) for code, plain, bold in rows}


def width_of(text: str, size: float, *, bold: bool = False) -> float:
    """The width of a line of text of a size, in the unit of the size."""
    known = _widths()
    return size * sum(known.get(letter, (_WIDEST, _WIDEST))[bold] for letter in text) / 1000


def clipped_to(text: str, room: float, size: float, *, bold: bool = False) -> str:
    """The text, or as much of it as there is room for, with an ellipsis."""
    if width_of(text, size, bold=bold) <= room:
        return text
    while text and width_of(f"{text}…", size, bold=bold) > room:
        text = text[:-1]
    return f"{text.rstrip()}…" if text else ""


def wrapped(text: str, room: float, size: float, *, bold: bool = False, most: int = 0) -> list[str]:
    """The text in lines no wider than the room, broken between words; the last of the `most` lines is cut.

    A word wider than the room is broken where it must be.
    """
    lines, line = [], ""
    for word in text.split():
        longer = f"{line} {word}" if line else word
        if width_of(longer, size, bold=bold) <= room:
            line = longer
            continue
        if line:
            lines.append(line)
        line = word
        while width_of(line, size, bold=bold) > room and len(line) > 1:
            fits = next(n for n in range(len(line), 0, -1) if n == 1 or width_of(line[:n], size, bold=bold) <= room)
            lines.append(line[:fits])
            line = line[fits:]
    lines += [line] if line else []
    if most and len(lines) > most:
        lines = [*lines[: most - 1], clipped_to(" ".join(lines[most - 1 :]), room, size, bold=bold)]
    return lines
