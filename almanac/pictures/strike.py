"""How varieties strike: for each the share that roots and that finishes, with its range. Pure.

A disc is the mean, larger with more cuttings behind it; the bar where the share over many lots lies in 80 cases of 100,
the thin line where that of a single lot lies; the open mark above is what was to be expected before these lots.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from math import cos, pi, sin, sqrt

from almanac.forecast.outcomes import AIMS, Aim
from almanac.forecast.strike import Rate, RatePart, Rates
from almanac.nursery.nursery import Nursery
from almanac.pictures.drawing import Drawing, Mark, Path, line
from almanac.pictures.style import (
    BODY,
    INK,
    LARGE,
    MARGIN,
    PALE,
    PAPER,
    RULE,
    SMALL,
    SOFT,
    fitted,
    head,
    words,
)  # fmt: skip
from almanac.words.dates import day
from almanac.words.sentences import so_many

_LABEL, _ROW, _HEAD, _GAP = 62.0, 8.4, 9.0, 14.0
_TITLES: Mapping[Aim, str] = {"rooted": "Rooted of stuck", "finished": "Ready to plant or sell, of stuck"}


def strike_picture(found: Rates, nursery: Nursery, width: float = 260.0) -> Drawing:
    """A row for each crop and method, and under it one for each of its varieties with a settled lot."""
    name, as_of = nursery.name, nursery.as_of
    wide = (width - 2 * MARGIN - _LABEL - _GAP) / 2
    lefts = {"rooted": MARGIN + _LABEL, "finished": MARGIN + _LABEL + wide + _GAP}
    marks = [*head(f"{name}: what strikes", f"as of {day(as_of)} {as_of.year}", width)]
    y = MARGIN + 17
    for aim in AIMS:
        marks.append(words(lefts[aim], y, _TITLES[aim], BODY, bold=True))
    top = y + 3
    y = top + 5
    for part, rates in _rows(found):
        if part == part.whole:
            y += 3
        marks += _label(part, rates, nursery, y)
        for aim in AIMS:
            marks += _rate(rates[aim], part, aim, lefts[aim], wide, y)
        y += _ROW
    foot = y + 1
    for aim in AIMS:
        marks = [*_scale(lefts[aim], wide, top, foot), *marks]
    key = (
        "Disc: the mean, larger with more cuttings. Bar: the mean over many lots, 80 cases of 100. Thin line: a single "
        "lot. Open mark: expected before, by the rule and, of a variety, by the others."
    )
    marks.append(fitted(MARGIN, foot + 9, key, width - 2 * MARGIN, SMALL, ink=SOFT))
    return Drawing(
        width=width,
        height=foot + 9 + MARGIN / 2 + 2,
        title=f"{name}: what strikes, {day(as_of)} {as_of.year}",
        told="For each variety the share of cuttings that roots and that finishes, with the range it lies in, beside "
        "what the rule alone would say.",
        marks=tuple(marks),
    )


def _rows(found: Rates) -> list[tuple[RatePart, Mapping[Aim, Rate]]]:
    """Wholes with a method, and of their varieties those with anything settled."""
    return [
        (part, rates)
        for part, rates in found.items()
        if part.method and part.season is None and (part == part.whole or any(rates[aim].lots for aim in AIMS))
    ]


def _label(part: RatePart, rates: Mapping[Aim, Rate], nursery: Nursery, y: float) -> Iterator[Mark]:
    if part == part.whole:
        crop = nursery.book.crops[part.crop].title
        text = f"{crop}, {nursery.book.methods[part.method].title.lower()}"
        yield fitted(MARGIN, y + 1.2, text, _LABEL - 4, LARGE * 0.85, bold=True)
        return
    yield words(MARGIN + 3, y + 0.2, part.number, BODY, bold=True)
    yield fitted(MARGIN + 12, y + 0.2, nursery.varieties[part.number].name, _LABEL - 15, BODY)
    rooted = rates["rooted"]
    lots = so_many(rooted.lots, "lot")
    yield words(MARGIN + 12, y + 3.4, f"{rooted.struck} of {rooted.of} rooted, {lots}", SMALL * 0.92, ink=SOFT)


def _rate(rate: Rate, part: RatePart, aim: Aim, left: float, wide: float, y: float) -> Iterator[Mark]:
    about = part.number or part.crop

    def x(share: float) -> float:
        return left + share * wide

    low, high = rate.next_range
    yield line(x(low), y, x(high), y, PALE, 0.3, kind=f"next {aim}", about=about)
    low, high = rate.mean_range
    yield line(x(low), y, x(high), y, INK, 1.3 if rate.lots else 0.6, kind=f"range {aim}", about=about)
    radius = 0.8 + min(sqrt(rate.of) / 9, 1.5)
    yield _disc(x(rate.mean), y, radius, filled=bool(rate.lots), kind=f"mean {aim}", about=about)
    prior = x(rate.prior)
    points = ((prior, y - 1.9), (prior - 0.8, y - 3.3), (prior + 0.8, y - 3.3))
    yield Path(points=points, closed=True, fill=PAPER, ink=INK, width=0.2, kind=f"rule {aim}", about=about)


def _disc(x: float, y: float, radius: float, *, filled: bool, kind: str, about: str) -> Path:
    points = tuple((x + radius * cos(n * pi / 12), y + radius * sin(n * pi / 12)) for n in range(24))
    return Path(points=points, closed=True, fill=INK if filled else PAPER, ink=INK, width=0.3, kind=kind, about=about)


def _scale(left: float, wide: float, top: float, foot: float) -> Iterator[Mark]:
    """From none to all."""
    for percent in (0, 25, 50, 75, 100):
        x = left + wide * percent / 100
        yield line(x, top, x, foot, RULE, 0.15, kind="share", about=f"{percent}")
        yield words(x, foot + 3.4, f"{percent}%", SMALL, ink=SOFT, anchor="middle")
