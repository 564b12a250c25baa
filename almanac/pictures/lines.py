"""Lines of text as pages to print, for what there is no drawing of. Pure."""

from __future__ import annotations

from collections.abc import Sequence

from almanac.nursery.nursery import Nursery
from almanac.pictures.drawing import Drawing
from almanac.pictures.measure import wrapped
from almanac.pictures.pages import Block, Page, laid_out, paragraph
from almanac.pictures.style import LEADING, sheet_size
from almanac.words.dates import day

_MARGIN, _TEXT = 15.0, 3.6  # [mm]


def pages_of_lines(lines: Sequence[str], title: str, nursery: Nursery) -> list[Drawing]:
    """Lines one under another; those that are indented stand so, and one that is not is a heading."""
    width, height = sheet_size(nursery.units)
    foot = f"{nursery.name}: printed {day(nursery.as_of)} {nursery.as_of.year}"
    page = Page(width=width, height=height, margin=_MARGIN, title=title, told=title, foot=foot)
    return laid_out([_block(text, page.room) for text in lines], page)


def _block(text: str, room: float) -> Block:
    indent = len(text) - len(text.lstrip())
    head = not indent
    parts = wrapped(text.strip(), room - 2 * indent, _TEXT, bold=head) if text.strip() else [""]
    marks = paragraph(parts, 2.0 * indent, 4.4, _TEXT, bold=head)
    return Block(height=len(parts) * _TEXT * LEADING + 0.8, marks=tuple(marks))
