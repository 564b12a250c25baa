"""One lot's year: its thread, and each sign as it came against the rule's days and this grower's own. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date, timedelta

from almanac.forecast.history import surroundings
from almanac.forecast.milestones import milestones
from almanac.forecast.model import Milestone, Surroundings
from almanac.nursery.lots import Lot
from almanac.nursery.nursery import Nursery
from almanac.pictures.chart_rows import season_of
from almanac.pictures.drawing import Drawing, Mark, Path, box, line
from almanac.pictures.plot import Field
from almanac.pictures.style import (
    BODY,
    INK,
    MARGIN,
    PALE,
    PAPER,
    RULE,
    SHADE,
    SMALL,
    SOFT,
    TITLE,
    fitted,
    thread,
    words,
)  # fmt: skip
from almanac.plan.model import Plan
from almanac.words.dates import day
from almanac.words.lots import place_and_count
from almanac.words.milestones import forecast

_LABEL, _ROW = 40.0, 12.0
_PASSED = ("stored", "stuck", "pushing")  # steps, and a sign of wood in store: no wait since the sticking
Three = tuple[date, date, date]


def lot_picture(lot: Lot, plan: Plan, nursery: Nursery, width: float = 250.0) -> Drawing:
    """From the lot's beginning to the last day foreseen."""
    found, rule = plan.milestones[lot.id], _by_the_rule(lot, nursery)
    shown = [each for name, each in found.items() if name not in _PASSED and (each.window or each.usual)]
    season = season_of(plan, nursery, lots=[lot.id])
    first, last = _ends(lot, shown, rule, plan.as_of)
    top = MARGIN + 19
    rows_from = top + 15
    foot = rows_from + _ROW * len(shown) + 2
    field = Field(
        left=MARGIN + _LABEL, top=top, right=width - MARGIN, foot=foot, first=first, last=last, low=0.0, high=1.0
    )  # fmt: skip
    marks: list[Mark] = [*_head(lot, nursery, width), *field.months()]
    marks += field.today(plan.as_of)
    for row in (row for _, rows in season.groups for row in rows):
        for stretch in row.stretches:
            begin, end = max(stretch.first, first), min(stretch.last, last)
            if begin < end:
                marks += thread(
                    stretch.stage, field.x(begin), field.x(end), top + 11, known=stretch.known, about=lot.id
                )  # fmt: skip
    marks.append(words(MARGIN, top + 8, "Where it was", BODY, bold=True))
    for number, each in enumerate(shown):
        marks += _sign(each, rule.get(each.name), field, rows_from + _ROW * number, plan.as_of, width)
    marks += field.today_words(plan.as_of)
    key = (
        "Open bar: by the rule alone. Tinted: with what your own lots taught. Tick: the likely day. Diamond: the day "
        "it was logged, or where it is open the day by which it must have come."
    )
    marks.append(fitted(MARGIN, foot + 12.5, key, width - 2 * MARGIN, SMALL, ink=SOFT))
    return Drawing(
        width=width,
        height=foot + 12.5 + MARGIN / 2 + 1,
        title=f"Lot {lot.id}: its year, {day(plan.as_of)} {plan.as_of.year}",
        told="When each sign of the lot came or is expected, against the days of the rule alone and those that this "
        "grower's own lots teach.",
        marks=tuple(marks),
    )


def _by_the_rule(lot: Lot, nursery: Nursery) -> Mapping[str, Milestone]:
    """The same milestones as if this grower had taught nothing."""
    around = surroundings(nursery)
    bare = Surroundings(
        book=around.book, settings=around.settings, frost=around.frost, bins=around.bins, as_of=around.as_of,
        striking=around.striking,
    )  # fmt: skip
    return milestones(lot, bare)


def _band(milestone: Milestone | None, as_of: date) -> Three | None:
    """The days on which it was, or is, expected."""
    if milestone is None:
        return None
    return milestone.usual if milestone.known else milestone.shown(as_of)


def _ends(lot: Lot, shown: list[Milestone], rule: Mapping[str, Milestone], as_of: date) -> tuple[date, date]:
    days = [lot.started, as_of]
    for each in shown:
        for band in (_band(each, as_of), _band(rule.get(each.name), as_of), (each.known,) if each.known else None):
            days += band or ()
    room = timedelta(days=7)
    return min(days) - room, max(max(days), min(days) + timedelta(days=28)) + room


def _head(lot: Lot, nursery: Nursery, width: float) -> Iterator[Mark]:
    name = nursery.varieties[lot.number].name
    room = width - 2 * MARGIN
    yield fitted(MARGIN, MARGIN + 4.8, f"{lot.id}  {name}", room, TITLE, bold=True)
    crop = nursery.book.crops[lot.crop].title
    told = f"{crop}, {place_and_count(lot)}; {nursery.name}, {day(nursery.as_of)} {nursery.as_of.year}"
    yield fitted(MARGIN, MARGIN + 10, told, room, BODY, ink=SOFT)


def _sign(
    each: Milestone, rule: Milestone | None, field: Field, top: float, as_of: date, width: float
) -> Iterator[Mark]:
    yield line(MARGIN, top, width - MARGIN, top, RULE, 0.12)
    yield fitted(MARGIN, top + 4.8, each.title, _LABEL - 3, BODY, bold=True)
    yield fitted(MARGIN, top + 8.8, forecast(each, as_of), _LABEL - 3, SMALL, ink=SOFT)
    for band, fill, y, kind in (
        (_band(rule, as_of), PAPER, top + 4.0, "rule"),
        (_band(each, as_of), SHADE, top + 8.4, "own"),
    ):
        if band is not None:
            yield from _range(band, field, y, fill, f"{kind} {each.name}")
    if each.known:
        x, y = field.x(each.known), top + 8.4
        points = ((x, y - 1.6), (x + 1.6, y), (x, y + 1.6), (x - 1.6, y))
        seen = each.logged is not None
        yield Path(
            points=points, closed=True, fill=INK if seen else PAPER, ink=INK, width=0.4, kind=f"seen {each.name}"
        )  # fmt: skip


def _range(band: Three, field: Field, y: float, fill: str, kind: str) -> Iterator[Mark]:
    """From early to late, with a tick at the likely day."""
    x1, x2, x3 = (field.x(when) for when in band)
    x3 = max(x3, x1 + 0.3)
    yield box(x1, y - 0.9, x3 - x1, 1.8, fill=fill, ink=PALE if fill == PAPER else INK, width=0.25, kind=kind)
    yield line(x2, y - 1.3, x2, y + 1.3, INK, 0.45, kind=f"likely {kind}")
