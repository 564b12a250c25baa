"""What threads, spindles and signs mean, drawn with the very marks. Pure."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial

from almanac.nursery.events import STAGES, Stage
from almanac.pictures.drawing import Mark, box, line
from almanac.pictures.measure import width_of
from almanac.pictures.style import (
    INK,
    SMALL,
    SOFT,
    TINT,
    height_of,
    leaf_mark,
    root_mark,
    spindle,
    thread,
    words,
)  # fmt: skip
from almanac.words.lots import stage_words

_SAMPLE, _GAP, _LINE = 9.0, 4.0, 5.6
_Sample = Callable[[float, float], Iterator[Mark]]


def legend(x: float, y: float, room: float) -> Iterator[Mark]:
    """Samples with their words, in as many lines as the room asks for."""
    here, row = x, y
    for text, sample in _samples():
        wide = _SAMPLE + 1.6 + width_of(text, SMALL) + _GAP
        if here + wide - _GAP > x + room and here > x:
            here, row = x, row + _LINE
        yield from sample(here, row)
        yield words(here + _SAMPLE + 1.6, row + 0.9, text, SMALL, ink=SOFT)
        here += wide


def _samples() -> Iterator[tuple[str, _Sample]]:
    for stage in STAGES:
        yield stage_words(stage), partial(_thread, stage, known=True)
    yield "pale: forecast", partial(_thread, "pot", known=False)
    yield (
        "early, likely, late: roots below, leaves above, a move between",
        lambda x, y: spindle(x, x + _SAMPLE * 0.4, x + _SAMPLE, y, kind="", about=""),
    )
    yield "roots, leaves seen", _signs
    yield (
        "rounds to come",
        lambda x, y: iter([line(x + k, y - 1.2, x + k, y + 1.2, INK, 0.35) for k in (2.0, 4.5, 7.0)]),
    )
    yield (
        "frost likelier than accepted",
        lambda x, y: iter([box(x, y - 1.6, _SAMPLE, 3.2, fill=TINT, ink=SOFT, width=0.1)]),
    )


def _thread(stage: Stage, x: float, y: float, *, known: bool) -> Iterator[Mark]:
    foot = y - height_of(stage, 0.0)  # of a row whose thread of that stage lies at the y
    return thread(stage, x, x + _SAMPLE, foot, known=known)


def _signs(x: float, y: float) -> Iterator[Mark]:
    yield line(x, y, x + _SAMPLE, y, INK, 0.35)
    yield root_mark(x + 3, y)
    yield leaf_mark(x + 6.4, y)
