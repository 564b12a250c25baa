"""What a picture is made of: paths, words and links on a sheet measured in millimetres. Plain values.

Pictures give these, and `svg` and `paper` write them; so a picture is drawn once for every kind of file.

SVG is a page of our own code, PDF by fpdf2, PNG by showing that PDF; instead of a plotting library, which draws axes
well and a page of lots badly. Widths of words come from a table (`widths.tsv`), so that an SVG needs no font.
"""

from __future__ import annotations

from typing import Literal

from almanac.plain import dataclass

Anchor = Literal["start", "middle", "end"]
Point = tuple[float, float]


@dataclass(frozen=True, kw_only=True)
class Path:
    """A line through points, or an area where it is closed or filled; `dash` are lengths of stroke and gap [mm].

    `kind` says what it stands for and `about` of whom (a lot, a day): an SVG carries both, for readers and tests.
    """

    points: tuple[Point, ...]
    closed: bool = False
    fill: str = ""
    ink: str = ""
    width: float = 0.25
    dash: tuple[float, float] | None = None
    kind: str = ""
    about: str = ""


@dataclass(frozen=True, kw_only=True)
class Words:
    """A line of text; `y` is its baseline and `size` its height [mm]."""

    x: float
    y: float
    text: str
    size: float
    ink: str
    bold: bool = False
    anchor: Anchor = "start"
    kind: str = ""
    about: str = ""


@dataclass(frozen=True, kw_only=True)
class Link:
    """A field of the sheet that leads somewhere; `label` says where to."""

    x: float
    y: float
    width: float
    height: float
    to: str
    label: str


@dataclass(frozen=True, kw_only=True)
class Cells:
    """Black runs of a pattern of square cells: row, first column and length of each; `cell` is the side of one [mm]."""

    x: float
    y: float
    cell: float
    runs: tuple[tuple[int, int, int], ...]
    kind: str = ""
    about: str = ""


Mark = Path | Words | Link | Cells


@dataclass(frozen=True, kw_only=True)
class Drawing:
    """One sheet; title and description say what it shows to those who cannot see it."""

    width: float
    height: float
    title: str
    told: str
    marks: tuple[Mark, ...]


def line(x1: float, y1: float, x2: float, y2: float, ink: str, width: float = 0.25, **more: object) -> Path:
    return Path(points=((x1, y1), (x2, y2)), ink=ink, width=width, **more)  # type: ignore[arg-type]  # its own fields


def box(x: float, y: float, wide: float, high: float, **more: object) -> Path:
    """A rectangle; without `ink` it has no outline, without `fill` it is open."""
    corners = ((x, y), (x + wide, y), (x + wide, y + high), (x, y + high))
    return Path(points=corners, closed=True, **more)  # type: ignore[arg-type]  # its own fields
