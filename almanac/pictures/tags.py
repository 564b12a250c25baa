"""Tags on label sheets and rolls: the lot large on bags, the variety on plants that leave; a test page. Pure.

A QR code leads to the lot on the bench page of the own network and carries no key: it opens only on a phone let in.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Sequence
from functools import cache, lru_cache
from itertools import groupby
from pathlib import Path as File

from almanac.pictures.drawing import Cells, Drawing, Mark, box, line
from almanac.pictures.measure import width_of, wrapped
from almanac.pictures.pages import moved, paragraph
from almanac.pictures.style import INK, LEADING, PALE, SOFT, fitted, words
from almanac.pictures.tag_rows import BagTag, BuyerTag, protected_words
from almanac.plain import dataclass
from almanac.words.dates import day

_FILE = File(__file__).parent / "labels.toml"
_LEAST_MODULE = 0.33  # of a QR code [mm]: what a phone's camera tells apart at a hand's breadth
_QUIET = 4  # modules of white round a code (ISO/IEC 18004, 9.1)
_SMALLEST, _LARGEST = 10.0, 300.0


@dataclass(frozen=True, kw_only=True)
class Labels:
    """One kind of label [mm]; on a roll each label is a page of its own."""

    name: str
    page: tuple[float, float]
    label: tuple[float, float]
    grid: tuple[int, int] = (1, 1)
    first: tuple[float, float] = (0.0, 0.0)
    step: tuple[float, float] = (0.0, 0.0)

    @property
    def on_a_page(self) -> int:
        return self.grid[0] * self.grid[1]

    def corner(self, number: int) -> tuple[float, float]:
        """The upper left corner of one of a page's labels, row by row."""
        row, column = divmod(number % self.on_a_page, self.grid[0])
        return self.first[0] + column * self.step[0], self.first[1] + row * self.step[1]


@cache
def known_labels() -> dict[str, Labels]:
    """The sheets and rolls there are, by name."""
    with _FILE.open("rb") as stream:
        tables = tomllib.load(stream)
    # Of a roll the page is the label.
    return {
        name: Labels(name=name, **{key: tuple(sides) for key, sides in ({"page": each["label"]} | each).items()})
        for name, each in tables.items()
    }


def roll(width: float, height: float) -> Labels | None:
    """A roll of any size [mm]; None where no label is so large or so small."""
    if not all(_SMALLEST <= side <= _LARGEST for side in (width, height)):
        return None
    return Labels(name=f"roll-{width:g}x{height:g}", page=(width, height), label=(width, height))


def tag_pages(
    tags: Sequence[BagTag | BuyerTag], labels: Labels, title: str, *, skip: int = 0, trim: bool = False
) -> list[Drawing]:
    """The pages.

    Args:
        tags: at least one
        labels: what they are printed on
        title: of the file
        skip: labels already used on the first sheet
        trim: draw marks to cut by, for plain paper
    """
    pages: list[list[Mark]] = []
    for number, tag in enumerate(tags, skip % labels.on_a_page):
        if number // labels.on_a_page == len(pages):
            pages.append([])
        x, y = labels.corner(number)
        marks = _bag(tag, *labels.label) if isinstance(tag, BagTag) else _buyer(tag, *labels.label)
        pages[-1] += [moved(mark, x, y) for mark in marks]
        if trim:
            pages[-1] += [moved(mark, x, y) for mark in _trim(*labels.label)]
    told = f"{len(tags)} tags on {labels.name}."
    return [
        Drawing(width=labels.page[0], height=labels.page[1], title=title, told=told, marks=tuple(m)) for m in pages
    ]  # fmt: skip


def _bag(tag: BagTag, wide: float, high: float) -> Iterator[Mark]:
    """The lot as large as there is room, under it since when and how many."""
    pad = min(2.5, high * 0.1)
    side = min(high - 2 * pad, wide * 0.38)
    code = _code(tag.address, side) if tag.address else None
    room = wide - 2 * pad - (side + pad if code else 0)
    text = f"{day(tag.day)} {tag.day.year} ({tag.count})"
    small = min(high * 0.16, 4.2, room / width_of(text, 1.0))
    above = high - 2 * pad - small * 1.2
    large = min(above / 0.95, room / width_of(tag.lot, 1.0, bold=True))
    y = pad + large * 0.74 + (above - large * 0.95) / 2
    yield words(pad, y, tag.lot, large, bold=True, kind="lot", about=tag.lot)
    yield words(pad, high - pad - small * 0.22, text, small, kind="when", about=tag.lot)
    if code:
        yield moved(code, wide - pad - side, (high - side) / 2)


def _buyer(tag: BuyerTag, wide: float, high: float) -> Iterator[Mark]:
    """Number and name, crop, how hardy, and what a protected plant must say."""
    pad = min(2.5, high * 0.1)
    room, left = wide - 2 * pad, high - 2 * pad
    told = [text for text in (tag.crop, tag.hardy, protected_words(tag)) if text]
    size = min(left * 0.16, 4.4)
    while True:
        name = wrapped(f"{tag.number} {tag.name}".rstrip(), room, size * 1.45, bold=True)
        lines = [part for text in told for part in wrapped(text, room, size)]
        high_now = len(name) * size * 1.45 * LEADING + len(lines) * size * LEADING
        if high_now <= left or size < 1.2:
            break
        size *= 0.94
    y = pad + size * 1.45 * 0.8
    yield from paragraph(name, pad, y, size * 1.45, bold=True)
    yield from paragraph(lines, pad, y + len(name) * size * 1.45 * LEADING - size * 0.45, size, ink=SOFT)


@lru_cache(maxsize=256)
def _code(address: str, side: float) -> Cells | None:
    """The address as a QR code of a side with its quiet zone; None where its modules would be too small to be read."""
    import segno

    rows = [bytes(row) for row in segno.make(address, micro=False, error="m").matrix]
    module = side / (len(rows) + 2 * _QUIET)
    if module < _LEAST_MODULE:
        return None
    runs = []
    for y, row in enumerate(rows):
        x = 0
        for dark, cells in groupby(row):
            long = len(list(cells))
            runs += [(y, x, long)] if dark else []
            x += long
    return Cells(x=_QUIET * module, y=_QUIET * module, cell=module, runs=tuple(runs), kind="code", about=address)


def _trim(wide: float, high: float) -> Iterator[Mark]:
    """A short angle in each corner."""
    reach = 2.0
    for x, y, dx, dy in ((0, 0, 1, 1), (wide, 0, -1, 1), (0, high, 1, -1), (wide, high, -1, -1)):
        yield line(x, y, x + dx * reach, y, PALE, 0.15, kind="trim")
        yield line(x, y, x, y + dy * reach, PALE, 0.15, kind="trim")


def scale_page(labels: Labels, title: str) -> Drawing:
    """Outlines of all labels and a rule with millimetres, to see whether the printer keeps the scale."""
    marks: list[Mark] = []
    wide, high = labels.label
    for number in range(labels.on_a_page):
        x, y = labels.corner(number)
        marks.append(
            box(x + 0.1, y + 0.1, wide - 0.2, high - 0.2, ink=SOFT, width=0.2, kind="label", about=str(number))
        )
    long = min(100.0, 10 * int((labels.page[0] - labels.first[0] - 6) // 10))
    x0, y0 = labels.first[0] + 3, labels.first[1] + high * 0.55
    marks.append(line(x0, y0, x0 + long, y0, INK, 0.25, kind="rule", about=f"{long:g}"))
    for mm in range(int(long) + 1):
        tall = 2.6 if mm % 10 == 0 else 1.7 if mm % 5 == 0 else 1.0
        marks.append(line(x0 + mm, y0, x0 + mm, y0 - tall, INK, 0.15))
    for text, at in ((f"{long:g} mm: measure it.", 0.75), ("If it differs, print at 100%, not fitted.", 0.92)):
        marks.append(fitted(x0, labels.first[1] + high * at, text, min(long, wide - 6), min(3.0, high * 0.13)))
    return Drawing(
        width=labels.page[0], height=labels.page[1], title=title, told=f"Outlines of {labels.name} and a rule.",
        marks=tuple(marks),
    )  # fmt: skip
