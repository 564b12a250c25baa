"""Blocks one under another over as many pages as they need, each page with its head and its number. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from almanac.pictures.drawing import Drawing, Mark, Path, line
from almanac.pictures.style import BODY, INK, LEADING, SOFT, fitted, words
from almanac.plain import dataclass


@dataclass(frozen=True, kw_only=True)
class Block:
    """Marks drawn as if the block began at the top of a sheet; `keeps` holds it together with the one after it.

    A `spare` one is left out where it would begin a page.
    """

    height: float
    marks: tuple[Mark, ...]
    keeps: bool = False
    spare: bool = False
    new_page: bool = False


@dataclass(frozen=True, kw_only=True)
class Page:
    """The sheet that blocks are laid on, what it is, and what stands small at its foot."""

    width: float
    height: float
    margin: float
    title: str
    told: str
    foot: str

    @property
    def room(self) -> float:
        return self.width - 2 * self.margin


def moved(mark: Mark, right: float, down: float) -> Mark:
    """A mark elsewhere."""
    if isinstance(mark, Path):
        return replace(mark, points=tuple((x + right, y + down) for x, y in mark.points))
    return replace(mark, x=mark.x + right, y=mark.y + down)


def paragraph(
    lines: Sequence[str], x: float, y: float, size: float = BODY, *, ink: str = INK, bold: bool = False
) -> list[Mark]:
    """Lines of text from a first baseline on."""
    return [
        words(x, y + n * size * LEADING, text, size, ink=ink, bold=bold) for n, text in enumerate(lines) if text
    ]  # fmt: skip


def laid_out(blocks: Sequence[Block], page: Page) -> list[Drawing]:
    """The pages. A block higher than a page is begun on one of its own and runs off it: none of ours is."""
    sheets: list[list[Mark]] = [[]]
    last = page.height - page.margin - 6
    y = page.margin
    for number, block in enumerate(blocks):
        together, following = block.height, number
        while blocks[following].keeps and following + 1 < len(blocks):
            following += 1
            together += blocks[following].height
        if block.spare and y + block.height > last:
            continue
        if sheets[-1] and (block.new_page or y + together > last):
            sheets.append([])
            y = page.margin
        sheets[-1] += [moved(mark, page.margin, y) for mark in block.marks]
        y += block.height
    return [_sheet(marks, page, number, len(sheets)) for number, marks in enumerate(sheets, 1)]


def _sheet(marks: list[Mark], page: Page, number: int, of: int) -> Drawing:
    y = page.height - page.margin
    foot: list[Mark] = [line(page.margin, y - 4.6, page.width - page.margin, y - 4.6, SOFT, 0.15)]
    foot.append(fitted(page.margin, y, page.foot, page.room - 28, 3.0, ink=SOFT))
    foot.append(words(page.width - page.margin, y, f"page {number} of {of}", 3.0, ink=SOFT, anchor="end"))
    return Drawing(width=page.width, height=page.height, title=page.title, told=page.told, marks=(*marks, *foot))
