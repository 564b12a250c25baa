"""The one drawing style: inks, sizes, and how each stage, sign and guess is drawn.

Decision: a lot is a thread that climbs. Each stage has its own height in the row and its own texture, so that a
photocopy, or an eye that sees no colour, tells them apart: wood in store is a row of dots at the foot; a rooting lot a
line with root hairs under it; potted plants a heavy bar; those outside two lines at the top. What is logged is drawn
full and dark, what is forecast open and pale. A date that is not known is a spindle from its early day to its late one,
widest at the likely one. There is no colour, and no text is paler than `SOFT` (7 : 1 on white). All lengths are in mm.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import assert_never

from almanac.nursery.events import STAGES, Stage
from almanac.pictures.drawing import Mark, Path, Point, Words, box, line
from almanac.pictures.measure import clipped_to, width_of

PAPER = "#ffffff"
BLACK = "#000000"  # of codes alone
INK = "#161a14"
SOFT = "#4c5348"
PALE = "#878d80"  # lines of what is forecast: 3.4 : 1 on white
RULE = "#c9cdc2"
TINT = "#eeefe9"
SHADE = "#dcdfd6"

SMALL, BODY, LARGE, TITLE = 2.6, 3.1, 4.0, 5.6
LEADING = 1.32  # baseline to baseline, in heights of the text
MARGIN = 12.0

CLIMB = 1.35  # from one stage to the next
_FOOT: dict[Stage, int] = {stage: number for number, stage in enumerate(STAGES)}


def sheet_size(units: str, *, landscape: bool = False) -> tuple[float, float]:
    """Width and height of a page: letter where units are US ones, else A4."""
    size = (215.9, 279.4) if units == "us" else (210.0, 297.0)
    return (size[1], size[0]) if landscape else size


def words(x: float, y: float, text: str, size: float = BODY, **more: object) -> Words:
    """A line of text in the usual ink."""
    return Words(**{"x": x, "y": y, "text": text, "size": size, "ink": INK, **more})  # type: ignore[arg-type]


def fitted(x: float, y: float, text: str, room: float, size: float = BODY, **more: object) -> Words:
    """The same in no more room than there is: set smaller by up to a fifth, then cut with an ellipsis."""
    bold = bool(more.get("bold"))
    natural = width_of(text, size, bold=bold)
    size = max(size * 0.8, size * room / natural) if natural > room else size
    return words(x, y, clipped_to(text, room, size, bold=bold), size, **more)


def head(title: str, told: str, width: float) -> Iterator[Mark]:
    """What a picture is, large, and of when."""
    yield fitted(MARGIN, MARGIN + 4.6, title, width - 2 * MARGIN, TITLE * 0.9, bold=True)
    yield fitted(MARGIN, MARGIN + 9.4, told, width - 2 * MARGIN, BODY, ink=SOFT)


def height_of(stage: Stage, foot: float) -> float:
    """The y of a stage's thread in a row whose foot is at a y."""
    return foot - CLIMB * _FOOT[stage] - 1.3


def thread(stage: Stage, x1: float, x2: float, foot: float, *, known: bool, about: str = "") -> Iterator[Mark]:
    """A stage of a lot from one x to another; its first mark reaches from end to end."""
    y, kind = height_of(stage, foot), f"{stage} {'logged' if known else 'forecast'}"
    ink = INK if known else PALE
    match stage:
        case "store":
            yield line(x1, y, x2, y, ink, 0.7 if known else 0.5, dash=(0.5, 1.0), kind=kind, about=about)
        case "rooting":
            yield line(x1, y, x2, y, ink, 0.35, kind=kind, about=about)
            yield from _hairs(x1, x2, y, ink)
        case "pot" if known:
            yield line(x1, y, x2, y, ink, 1.15, kind=kind, about=about)
        case "pot":
            yield box(x1, y - 0.45, x2 - x1, 0.9, fill=PAPER, ink=ink, width=0.25, kind=kind, about=about)
        case "outside":
            yield line(x1, y - 0.42, x2, y - 0.42, ink, 0.32, kind=kind, about=about)
            yield line(x1, y + 0.42, x2, y + 0.42, ink, 0.32)
        case _:
            assert_never(stage)


def _hairs(x1: float, x2: float, y: float, ink: str) -> Iterator[Mark]:
    """Short strokes down from a thread, as one line that goes back on itself: a lot has a hundred of them."""
    points: list[Point] = []
    x = x1 + 0.8
    while x < x2 - 0.3:
        points += [(x, y), (x - 0.35, y + 0.95), (x, y)]
        x += 2.2
    if points:
        yield Path(points=tuple(points), ink=ink, width=0.22)


def riser(stage: Stage, onto: Stage, x: float, foot: float, *, known: bool) -> Mark:
    """The thread climbing from one stage to a later one."""
    return line(x, height_of(stage, foot), x, height_of(onto, foot), INK if known else PALE, 0.3)


def spindle(early: float, likely: float, late: float, y: float, *, kind: str, about: str) -> Iterator[Mark]:
    """A date not known yet: from early to late, widest where it is likely; its first mark holds the three."""
    half, least = 0.75, 0.25
    early, late = min(early, likely - least), max(late, likely + least)
    points = ((early, y), (likely, y - half), (late, y), (likely, y + half))
    yield Path(points=points, closed=True, fill=SHADE, ink=INK, width=0.2, kind=f"band {kind}", about=about)
    yield line(likely, y - half, likely, y + half, INK, 0.3)


def root_mark(x: float, y: float, **more: object) -> Path:
    """Roots seen: a filled drop under the thread."""
    points = ((x, y + 1.9), (x - 0.7, y + 0.35), (x + 0.7, y + 0.35))
    return Path(points=points, closed=True, fill=INK, **more)  # type: ignore[arg-type]  # its own fields


def leaf_mark(x: float, y: float, **more: object) -> Path:
    """Leaves seen: a filled leaf standing above the thread."""
    points = ((x, y - 0.3), (x - 0.55, y - 1.25), (x - 0.1, y - 2.5), (x + 0.75, y - 1.5))
    return Path(points=points, closed=True, fill=INK, **more)  # type: ignore[arg-type]  # its own fields


def hatch(x1: float, x2: float, top: float, foot: float, step: float = 2.4, ink: str = RULE) -> Iterator[Mark]:
    """Slanting lines over a field: days on which something is not as it should be, or nobody is there."""
    height, start = foot - top, x1 - (foot - top)
    while start < x2:
        left, right = max(start, x1), min(start + height, x2)
        if right > left:
            yield line(left, foot - (left - start), right, foot - (right - start), ink, 0.15)
        start += step
