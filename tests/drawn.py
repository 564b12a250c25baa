"""Pictures as a reader finds them: an SVG's shapes and words, its axis by the ticks it draws, whether words overlap.

Nothing here asks the program: files are parsed, and widths come from the font that a reader would use.
"""

from __future__ import annotations

import io
import xml.etree.ElementTree as ET
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache
from pathlib import Path

from font_roboto import font_directory
from PIL import ImageFont
from pypdf import PageObject, PdfReader

_NS = "{http://www.w3.org/2000/svg}"
_MM = 25.4 / 72
Box = tuple[float, float, float, float]


@dataclass(frozen=True)
class Shape:
    kind: str
    about: str
    points: tuple[tuple[float, float], ...]
    attributes: dict[str, str]

    @property
    def left(self) -> float:
        return min(x for x, _ in self.points)

    @property
    def right(self) -> float:
        return max(x for x, _ in self.points)


@dataclass(frozen=True)
class Text:
    words: str
    box: Box
    attributes: dict[str, str]


class Picture:
    """An SVG, read."""

    def __init__(self, text: str) -> None:
        self.root = ET.fromstring(text)
        self.shapes = [
            Shape(each.get("class", ""), each.get("data-about", ""), _points(each), dict(each.attrib))
            for each in self.root.iter()
            if each.tag in (f"{_NS}polygon", f"{_NS}polyline")
        ]
        self.texts = [
            Text(each.text or "", _box(each), dict(each.attrib)) for each in self.root.iter(f"{_NS}text") if each.text
        ]
        self.links = [each.get("href", "") for each in self.root.iter(f"{_NS}a")]

    @property
    def size(self) -> tuple[float, float]:
        _, _, width, height = map(float, self.root.get("viewBox", "").split())
        return width, height

    def told(self, name: str) -> str:
        return self.root.findtext(f"{_NS}{name}", "")

    def of(self, kind: str, about: str = "") -> list[Shape]:
        return [each for each in self.shapes if each.kind == kind and about in ("", each.about)]

    def days(self) -> Callable[[float], date]:
        """From an x to its day, by the first and the last of the ticks for months."""
        ticks = sorted((each.left, date.fromisoformat(each.about)) for each in self.of("month"))
        (x1, first), (x2, last) = ticks[0], ticks[-1]

        def day(x: float) -> date:
            return first + timedelta(days=round((x - x1) * (last - first).days / (x2 - x1)))

        return day

    def crossing(self) -> list[tuple[str, str]]:
        """Words that stand on one another, or run off the sheet."""
        width, height = self.size
        off = [
            (each.words, "the edge")
            for each in self.texts
            if each.box[0] < -0.1 or each.box[2] > width + 0.1 or each.box[1] < 0 or each.box[3] > height
        ]
        return off + crossing([(each.words, each.box) for each in self.texts])


def crossing(boxes: Iterable[tuple[str, Box]]) -> list[tuple[str, str]]:
    """Pairs of words whose boxes overlap."""
    found, near = [], sorted(boxes, key=lambda item: item[1][1])
    for number, (one, a) in enumerate(near):
        for other, b in near[number + 1 :]:
            if b[1] >= a[3]:
                break
            if a[0] < b[2] - 0.05 and b[0] < a[2] - 0.05:
                found.append((one, other))
    return found


def on_paper(page: PageObject) -> list[tuple[str, Box]]:
    """The words of a page of a PDF with what they cover [mm], from the top left."""
    found: list[tuple[str, Box]] = []
    height = float(page.mediabox.height)

    def see(words: str, _: object, matrix: list[float], font: object, size: float) -> None:
        if words.strip():
            bold = isinstance(font, dict) and "Bold" in str(font.get("/BaseFont", ""))
            x, y, size = matrix[4] * _MM, (height - matrix[5]) * _MM, size * _MM
            width = width_mm(words.strip("\n"), size, bold=bold)
            found.append((words.strip(), (x, y - 0.72 * size, x + width, y + 0.2 * size)))

    page.extract_text(visitor_text=see)
    return found


def pieces(paper: bytes) -> list[str]:
    """Each line of text of a PDF, in the order in which it was written."""
    return [words for page in PdfReader(io.BytesIO(paper)).pages for words, _ in on_paper(page)]


def off_paper(page: PageObject) -> list[tuple[str, str]]:
    """Words of a page that stand on one another, or run off it."""
    words = on_paper(page)
    width, height = float(page.mediabox.width) * _MM, float(page.mediabox.height) * _MM
    off = [(told, "the edge") for told, b in words if b[0] < 0 or b[2] > width or b[1] < 0 or b[3] > height]
    return off + crossing(words)


def contrast(one: str, other: str) -> float:
    """The contrast ratio of two colours (WCAG 2.2, definitions of relative luminance and contrast ratio)."""

    def luminance(colour: str) -> float:
        parts = [int(colour[n : n + 2], 16) / 255 for n in (1, 3, 5)]
        linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def width_mm(words: str, size: float, *, bold: bool = False) -> float:
    """How wide words are in the font that papers embed."""
    return _font("Bold" if bold else "Regular").getlength(words) * size / 100


@cache
def _font(weight: str) -> ImageFont.FreeTypeFont:
    return ImageFont.truetype(Path(font_directory) / f"Roboto-{weight}.ttf", 100)


def _points(element: ET.Element) -> tuple[tuple[float, float], ...]:
    pairs = (pair.split(",") for pair in element.get("points", "").split())
    return tuple((float(x), float(y)) for x, y in pairs)


def _box(element: ET.Element) -> Box:
    """What its letters cover: from the ascent of a capital to a little under the line."""
    x, y, size = (float(element.get(name, "0")) for name in ("x", "y", "font-size"))
    width = width_mm(element.text or "", size, bold=element.get("font-weight") == "700")
    left = x - {"start": 0.0, "middle": width / 2, "end": width}[element.get("text-anchor", "start")]
    return left, y - 0.72 * size, left + width, y + 0.2 * size
