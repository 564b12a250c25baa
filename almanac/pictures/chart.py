"""The season as a picture: one row a lot, its thread climbing from store to outside, frost and absence behind. Pure.

`chart_sheets` lays it out on pages, `chart_long` as one sheet as long as it needs, with labels beside the threads or,
where there is little room, above them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from almanac.pictures.chart_ground import FROST, ROUNDS, ROW, Frame, axis, behind, rounds, today
from almanac.pictures.chart_rows import Band, Row, Season
from almanac.pictures.drawing import Drawing, Link, Mark, Path, box, line
from almanac.pictures.legend import legend
from almanac.pictures.style import (
    BODY,
    INK,
    LARGE,
    MARGIN,
    PAPER,
    RULE,
    SMALL,
    SOFT,
    TITLE,
    fitted,
    height_of,
    leaf_mark,
    riser,
    root_mark,
    spindle,
    thread,
    words,
)  # fmt: skip
from almanac.words.dates import day, span, weekday

_GROUP, _AXIS, _LEGEND = 6.6, 6.0, 13.0
_LABEL = 58.0
_NARROW = 160.0  # a sheet of less has its labels above the threads


def chart_sheets(season: Season, width: float, height: float) -> list[Drawing]:
    """Pages of a size [mm]; a group that does not fit goes on, its name said again."""
    frame = Frame(season=season, width=width, margin=MARGIN, label=_LABEL)
    above = MARGIN + 13 + _AXIS + FROST
    room = height - above - ROUNDS - _LEGEND - MARGIN
    pages: list[list[tuple[str, list[Row]]]] = [[]]
    left = room
    for place, rows in season.groups:
        title = place
        for row in rows:
            here = pages[-1]
            begins = not here or here[-1][0] != title
            if left < ROW + (_GROUP if begins else 0):
                title, left, begins = f"{place}, continued", room, True
                pages.append(here := [])
            if begins:
                here.append((title, []))
                left -= _GROUP
            here[-1][1].append(row)
            left -= ROW
    return [_sheet(frame, groups, height, (number, len(pages))) for number, groups in enumerate(pages, 1)]


def chart_long(season: Season, width: float, base: str | None = None) -> Drawing:
    """One sheet as long as it needs; with `base`, an address, each row leads to its lot."""
    narrow = width < _NARROW
    frame = Frame(season=season, width=width, margin=2.0 if narrow else 5.0, label=0.0 if narrow else _LABEL)
    return _sheet(frame, [(place, list(rows)) for place, rows in season.groups], None, (1, 1), base)


def _sheet(
    frame: Frame, groups: Sequence[tuple[str, list[Row]]], height: float | None, page: tuple[int, int],
    base: str | None = None,
) -> Drawing:  # fmt: skip
    season = frame.season
    top = frame.margin + (11 if frame.narrow else 13) + _AXIS + FROST
    rows_high = sum(_GROUP + frame.row * len(rows) for _, rows in groups)
    foot = top + max(rows_high, frame.row)
    bottom = foot + ROUNDS
    legend_marks = list(legend(frame.margin, bottom + 6, frame.width - 2 * frame.margin))
    ends = max(map(_low, legend_marks)) + 3 + frame.margin / 2
    marks: list[Mark] = [*behind(frame, top, foot), *_head(frame, page), *axis(frame, top, foot)]
    y = top
    marks += today(frame, top, bottom)
    for place, rows in groups:
        marks += _strip(frame, y + 0.6, _GROUP - 0.8)
        marks.append(fitted(frame.margin, y + 4.7, place, frame.width / 2, LARGE * 0.9, bold=True))
        y += _GROUP
        for row in rows:
            marks += _row(frame, row, y, base)
            y += frame.row
    if not groups:
        marks.append(words(frame.left, top + 6, "No lots to show yet.", BODY, ink=SOFT))
    marks += rounds(frame, foot)
    marks += legend_marks
    return Drawing(
        width=frame.width,
        height=height or ends,
        title=f"{season.nursery}: the season on {day(season.as_of)} {season.as_of.year}",
        told=_told(season),
        marks=tuple(marks),
    )


def _strip(frame: Frame, y: float, high: float) -> Iterator[Mark]:
    """Clear ground under words that stand over the threads, where the sheet is narrow."""
    if frame.narrow:
        yield box(0, y, frame.width, high, fill=PAPER)


def _low(mark: Mark) -> float:
    return max(y for _, y in mark.points) if isinstance(mark, Path) else mark.y


def _told(season: Season) -> str:
    lots = sum(len(rows) for _, rows in season.groups)
    between = f"{day(season.first)} {season.first.year} to {day(season.last)} {season.last.year}"
    return (
        f"{lots} lots from {between}, one row each by place. A thread climbs from store over rooting and pots to "
        "outside; what is logged is dark, what is forecast pale. Spindles reach from the early to the late day of what "
        "is to come, widest at the likely one. Above, the chance of frost; below, the rounds to come."
    )


def _head(frame: Frame, page: tuple[int, int]) -> Iterator[Mark]:
    season, y = frame.season, frame.margin
    room = frame.right - frame.margin
    yield fitted(frame.margin, y + 4.6, season.nursery, room * (1 if frame.narrow else 0.62), TITLE * 0.9, bold=True)
    told = (
        f"Lots from {span(season.first, season.last, season.as_of)}, as of {weekday(season.as_of)} {season.as_of.year}"
    )
    if page[1] > 1:
        told += f", page {page[0]} of {page[1]}"
    yield fitted(frame.margin, y + 9.3, told, room, BODY, ink=SOFT)


def _row(frame: Frame, row: Row, y: float, base: str | None) -> Iterator[Mark]:
    foot = y + frame.row - 1.2
    about = row.lot
    yield line(frame.margin, y + frame.row, frame.right, y + frame.row, RULE, 0.12)
    bold = row.heading if row.to_come else row.lot
    rest = "" if row.to_come else row.heading
    if frame.narrow:
        yield from _strip(frame, y + 0.5, 4.6)
        yield words(frame.margin, y + 3.9, bold, BODY * 1.1, bold=True, about=about)
        text = f"{rest}, {row.name}" if rest and row.name else rest or row.name
        yield fitted(
            frame.margin + 12 + (8 if row.to_come else 0), y + 3.9, text, frame.width - 18, SMALL * 1.12, ink=SOFT
        )
    else:
        yield words(frame.margin, y + 4.0, bold, LARGE * 0.92, bold=True, about=about)
        x = frame.margin + (24 if row.to_come else 13)
        yield fitted(x, y + 4.0, rest, frame.label - (x - frame.margin) - 2, SMALL * 1.08, ink=SOFT)
        yield fitted(frame.margin, y + 7.5, row.name, frame.label - 3, SMALL * 1.08, ink=INK)
    yield from row_marks(frame, row, foot)
    if base is not None and not row.to_come:
        label = f"Lot {row.lot}, {row.name}: {row.heading}"
        yield Link(x=0, y=y, width=frame.width, height=frame.row, to=f"{base}/lot/{row.lot}", label=label)


def row_marks(frame: Frame, row: Row, foot: float) -> Iterator[Mark]:
    """A lot's thread, its risers, what was seen and what is to come."""
    season, about = frame.season, row.lot
    for stretch in row.stretches:
        if stretch.last < season.first or stretch.first > season.last:
            continue
        x1, x2 = frame.x(stretch.first), frame.x(stretch.last)
        yield from thread(stretch.stage, x1, max(x2, x1 + 0.3), foot, known=stretch.known, about=about)
    yield from _risers(frame, row, foot)
    for band in row.bands:
        yield from _band(frame, band, foot, about)
    for name, when in row.signs:
        if frame.shows(when):
            mark = root_mark if name == "roots" else leaf_mark
            yield mark(frame.x(when), height_of("rooting", foot), kind=f"sign {name}", about=about)


def _risers(frame: Frame, row: Row, foot: float) -> Iterator[Mark]:
    for later in row.stretches:
        if later.known or later.first > frame.season.as_of:
            below = [one for one in row.stretches if one.stage != later.stage and one.last >= later.first > one.first]
            if below and frame.shows(later.first):
                yield riser(below[0].stage, later.stage, frame.x(later.first), foot, known=later.known)


def _band(frame: Frame, band: Band, foot: float, about: str) -> Iterator[Mark]:
    if band.late < frame.season.first or band.early > frame.season.last:
        return
    rooting, pot, outside = (height_of(stage, foot) for stage in ("rooting", "pot", "outside"))
    y = {
        "pushing": height_of("store", foot),
        "roots": rooting + 0.95,
        "leaves": rooting - 1.9,
        "potted": (rooting + pot) / 2,
        "outside": (pot + outside) / 2,
    }[band.name]
    days = (frame.x(band.early), frame.x(band.likely), frame.x(band.late))
    yield from spindle(*days, y, kind=band.name, about=about)
