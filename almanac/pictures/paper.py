"""Drawings as a PDF or a PNG. The libraries are an extra, imported only when asked for.

fpdf2 writes the PDF: text stays text, and of the font only the letters used are embedded. Roboto is that font, as it
comes with pip and has Latin, Greek and Cyrillic letters. A PNG is that PDF as pypdfium2 shows it, so both are the same.
"""

from __future__ import annotations

import io
import logging
from collections.abc import Callable, Sequence
from datetime import UTC, date, datetime
from functools import cache
from pathlib import Path as File
from typing import TYPE_CHECKING, assert_never

from almanac.faults import Fact, Refusal
from almanac.pictures.drawing import Cells, Drawing, Link, Path, Words
from almanac.pictures.style import BLACK

if TYPE_CHECKING:
    from fpdf import FPDF

_FAMILY = "Roboto"
_DOTS_PER_MM = 150 / 25.4
_MOST_DOTS = 16_000_000
Progress = Callable[[int, int], None]  # sheets done, of how many


def pdf(drawings: Sequence[Drawing], made: date, progress: Progress | None = None) -> bytes:
    """Each drawing as a page of its own size.

    Args:
        drawings: at least one
        made: the day it is told to be of: the same drawings give the same file
        progress: called after each sheet
    Raises:
        Refusal: the libraries are not there
    """
    try:
        from font_roboto import font_directory
        from fpdf import FPDF
    except ImportError:
        raise Refusal(Fact("no_pictures")) from None
    for noisy in ("fpdf", "fontTools"):
        logging.getLogger(noisy).setLevel(logging.ERROR)  # what they say of making a subset is for nobody here
    sheet = FPDF(unit="mm")
    sheet.set_auto_page_break(False)
    sheet.set_margin(0)
    sheet.c_margin = 0
    for weight, file in (("", "Roboto-Regular.ttf"), ("B", "Roboto-Bold.ttf")):
        sheet.add_font(_FAMILY, weight, File(font_directory) / file)
    sheet.set_title(drawings[0].title)
    sheet.set_subject(drawings[0].told)
    sheet.set_lang("en")
    sheet.set_creation_date(datetime(made.year, made.month, made.day, tzinfo=UTC))
    for number, drawing in enumerate(drawings, 1):
        sheet.add_page(format=(drawing.width, drawing.height))
        _draw(sheet, drawing)
        if progress:
            progress(number, len(drawings))
    return bytes(sheet.output())


def png(drawing: Drawing, made: date) -> bytes:
    """A drawing in greys, at 150 dots an inch where that makes no file too large to show.

    Raises:
        Refusal: the libraries are not there
    """
    written = pdf([drawing], made)
    try:
        import pypdfium2
    except ImportError:
        raise Refusal(Fact("no_pictures")) from None
    dots_per_mm = min(_DOTS_PER_MM, (_MOST_DOTS / (drawing.width * drawing.height)) ** 0.5)
    document = pypdfium2.PdfDocument(written)
    shown = document[0].render(scale=dots_per_mm * 25.4 / 72, grayscale=True).to_pil()
    document.close()
    buffer = io.BytesIO()
    shown.convert("L").save(buffer, "PNG", dpi=(dots_per_mm * 25.4,) * 2)
    return buffer.getvalue()


def _draw(sheet: FPDF, drawing: Drawing) -> None:
    for mark in drawing.marks:
        if isinstance(mark, Path):
            _path(sheet, mark)
        elif isinstance(mark, Words):
            _words(sheet, mark)
        elif isinstance(mark, Cells):
            sheet.set_fill_color(BLACK)
            for row, column, long in mark.runs:
                at = mark.x + column * mark.cell, mark.y + row * mark.cell
                sheet.rect(*at, long * mark.cell, mark.cell, style="F")
        elif isinstance(mark, Link):
            if mark.to[:4] == "http":  # what leads to a page of ours has no place on paper
                sheet.link(mark.x, mark.y, mark.width, mark.height, mark.to)
        else:
            assert_never(mark)


def _path(sheet: FPDF, mark: Path) -> None:
    style = ("D" if mark.ink else "") + ("F" if mark.fill else "")
    if not style:
        return
    if mark.ink:
        sheet.set_draw_color(mark.ink)
        sheet.set_line_width(mark.width)
    if mark.fill:
        sheet.set_fill_color(mark.fill)
    if mark.dash:
        sheet.set_dash_pattern(*mark.dash)
    if mark.closed:
        sheet.polygon(mark.points, style=style)
    else:
        sheet.polyline(mark.points, style=style)
    if mark.dash:
        sheet.set_dash_pattern()


@cache
def _letters() -> frozenset[int]:
    """What the font can show."""
    from font_roboto import font_directory
    from fontTools.ttLib import TTFont

    with TTFont(File(font_directory) / "Roboto-Regular.ttf", lazy=True) as font:
        return frozenset(font.getBestCmap())


def _shown(text: str) -> str:
    """The text with a question mark for each letter that the font lacks: a gap would not be noticed."""
    return "".join(letter if ord(letter) in _letters() else "?" for letter in text)


def _words(sheet: FPDF, mark: Words) -> None:
    text = _shown(mark.text)
    sheet.set_font(_FAMILY, "B" if mark.bold else "", mark.size * 72 / 25.4)
    sheet.set_text_color(mark.ink)
    width = sheet.get_string_width(text) if mark.anchor != "start" else 0.0
    x = mark.x - {"start": 0.0, "middle": width / 2, "end": width}[mark.anchor]
    sheet.text(x, mark.y, text)
