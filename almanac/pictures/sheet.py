"""The round on paper: bins and lots in walking order with boxes to tick, what is due, cautions once. Pure.

Big type and no colour, for wet hands and poor light; what a letter means stands once at the head of each place.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date

from almanac.nursery.nursery import Nursery
from almanac.pictures.drawing import Drawing, Mark, box, line
from almanac.pictures.measure import width_of, wrapped
from almanac.pictures.pages import Block, Page, laid_out, paragraph
from almanac.pictures.sheet_rows import Due, Entry, LotLine, Place, Sheet
from almanac.pictures.style import INK, LEADING, PALE, PAPER, RULE, SOFT, TINT, fitted, sheet_size, words
from almanac.words.dates import day, weekday
from almanac.words.tasks import cautions

_MARGIN = 13.0
_TEXT, _SMALL, _ID = 3.9, 3.4, 6.6
_TICK = 5.2
_LOT_COLUMN = 50.0
_LOG_COLUMN = 27.0


def sheet_pages(sheets: Sequence[Sheet], nursery: Nursery) -> list[Drawing]:
    """The pages of these days, each day beginning one."""
    width, height = sheet_size(nursery.units)
    first = sheets[0].day
    page = Page(
        width=width,
        height=height,
        margin=_MARGIN,
        title=f"{nursery.name}: bench sheet for {weekday(first)} {first.year}",
        told="The bench round on paper: bins and lots in walking order, what to look for, boxes to tick, what is due.",
        foot=f"{nursery.name}: as planned on {day(nursery.as_of)} {nursery.as_of.year}. Log it after: "
        "the bench page shows this order.",
    )
    return laid_out([block for sheet in sheets for block in _day(sheet, nursery, page.room)], page)


def _day(sheet: Sheet, nursery: Nursery, room: float) -> Iterator[Block]:
    yield _head(sheet, nursery, room)
    for place in sheet.places:
        yield from _place(place, sheet.day, room)
    if sheet.due:
        yield heading("Due" if sheet.places else "Due, at any time of the day", room)
        for due in sheet.due:
            yield _due(due, sheet.day, room)
        yield Block(height=3, marks=())
    if not sheet.places and not sheet.due:
        yield Block(height=12, marks=(words(0, 8, "Nothing is due that day.", _TEXT),))
    yield from caution_blocks(sheet.cautions, nursery, room)
    yield _notes(room)


def _head(sheet: Sheet, nursery: Nursery, room: float) -> Block:
    round_words = f"Bench round, about {sheet.minutes} min" if sheet.places else "No round that day"
    marks = (
        fitted(0, 7.4, f"{weekday(sheet.day)} {sheet.day.year}", room * 0.55, 8.4, bold=True),
        fitted(0, 13.6, f"{round_words}, {nursery.name}", room * 0.68, _TEXT, ink=SOFT),
        words(room - 45, 13.6, "done by", _SMALL, ink=SOFT),
        line(room - 32, 14.0, room, 14.0, SOFT, 0.25),
        line(0, 17, room, 17, INK, 0.6),
    )
    return Block(height=20, marks=marks, new_page=True, keeps=True)


def heading(text: str, room: float, aside: str = "") -> Block:
    """The name of a part, on a tinted strip."""
    ground, name = box(0, 1.2, room, 8.6, fill=TINT), fitted(2, 7.5, text, room * 0.7, 5.4, bold=True)
    at_right = words(room - 2, 7.3, aside, _TEXT, ink=SOFT, anchor="end")
    return Block(height=12, marks=(ground, name, at_right), keeps=True)


def tick(x: float, y: float, about: str) -> Mark:
    """An empty box to tick, standing on a baseline."""
    return box(x, y - _TICK + 0.9, _TICK, _TICK, fill=PAPER, ink=INK, width=0.35, kind="tick", about=about)


def _due(due: Due, when: date, room: float) -> Block:
    left, right = _TICK + 3, 44.0
    lines = wrapped(due.title, room - left - right, _TEXT, bold=True)
    told = wrapped(due.how, room - left - right, _SMALL)
    marks: list[Mark] = [tick(0, 5.0, about=due.title), *paragraph(lines, left, 5.0, _TEXT, bold=True)]
    y = 5.0 + len(lines) * _TEXT * LEADING
    marks += paragraph(told, left, y - 0.3, _SMALL, ink=SOFT)
    marks.append(words(room, 5.0, f"by {day(due.latest, when)}", _TEXT, bold=True, anchor="end"))
    marks.append(words(room, 9.6, log_words(due.log), _SMALL, ink=SOFT, anchor="end"))
    height = max(y + len(told) * _SMALL * LEADING - 1.5, 11.5)
    return Block(height=height + 1.5, marks=(*_filled(marks), line(0, height, room, height, RULE, 0.2)))


def log_words(event: str) -> str:
    """What to log for it; nothing where a note would say no more than the tick."""
    return f"log: {event}" if event not in ("", "noted") else ""


def _filled(marks: Sequence[Mark]) -> list[Mark]:
    """Marks without words that say nothing."""
    return [mark for mark in marks if getattr(mark, "text", "-")]


def _place(place: Place, when: date, room: float) -> Iterator[Block]:
    yield heading(place.title, room, place.warmth)
    for entry in place.entries:
        yield entry_block(entry, room)
    yield Block(height=1.5, marks=(), keeps=True)
    if place.own:
        yield _line_block(LotLine(lot=place.title if place.bin else "All", boxes=place.own), when, room)
    for lot in place.lots:
        yield _line_block(lot, when, room)
    yield Block(height=4, marks=())


def entry_block(entry: Entry, room: float) -> Block:
    """What a letter means, with what to log at its right."""
    left = 9.0
    lines = wrapped(entry.title.rstrip("."), room - left - _LOG_COLUMN, _TEXT, bold=True)
    told = wrapped(entry.told, room - left - _LOG_COLUMN, _SMALL)
    marks: list[Mark] = [words(1.2, 4.4, entry.letter, 4.6, bold=True, kind="letter", about=entry.title)]
    marks += paragraph(lines, left, 4.2, _TEXT, bold=True)
    y = 4.2 + len(lines) * _TEXT * LEADING - 0.4
    marks += paragraph(told, left, y, _SMALL)
    marks.append(words(room, 4.2, log_words(entry.log), _SMALL, ink=SOFT, anchor="end"))
    return Block(height=y + len(told) * _SMALL * LEADING - 1.4, marks=tuple(_filled(marks)))


def _line_block(lot: LotLine, when: date, room: float) -> Block:
    """One lot: its name, a box for each letter, a field for a count, a line for notes."""
    marks: list[Mark] = [fitted(0, 6.6, lot.lot, _LOT_COLUMN - 24, _ID, bold=True, kind="lot", about=lot.lot)]
    marks.append(fitted(_LOT_COLUMN - 3, 6.4, lot.where, 21, _SMALL, ink=SOFT, anchor="end"))
    name = wrapped(lot.name, _LOT_COLUMN - 3, _SMALL, most=2)
    marks += paragraph(name, 0, 10.9, _SMALL)
    x, y, end = _LOT_COLUMN, 6.4, room
    for each in lot.boxes:
        label = each.letter + (f" by {day(each.until, when)}" if each.until else "")
        wide = _TICK + 1.4 + width_of(label, _TEXT, bold=True) + 4.2
        if x + wide - 3 > end:
            x, y = _LOT_COLUMN, y + _TICK + 2.2
        marks.append(tick(x, y, about=f"{lot.lot} {each.letter}"))
        marks.append(words(x + _TICK + 1.4, y, label, _TEXT, bold=True))
        x += wide
    y += 7.2
    of = f"of {lot.count}" if lot.count else ""
    marks.append(words(_LOT_COLUMN, y, "how many", _SMALL, ink=SOFT))
    marks.append(line(_LOT_COLUMN + 16, y + 0.6, _LOT_COLUMN + 30, y + 0.6, PALE, 0.25, kind="count", about=lot.lot))
    marks.append(words(_LOT_COLUMN + 31, y, of, _SMALL, ink=SOFT))
    marks.append(line(_LOT_COLUMN + 46, y + 0.6, room, y + 0.6, PALE, 0.25, kind="notes", about=lot.lot))
    height = max(y + 2.6, 10.9 + (len(name) - 1) * _SMALL * LEADING + 2.4)
    return Block(height=height, marks=(*_filled(marks), line(0, height, room, height, RULE, 0.2)))


def caution_blocks(names: Sequence[str], nursery: Nursery, room: float) -> Iterator[Block]:
    """Each caution whole, once, and who has the last word."""
    if not names:
        return
    yield heading("Take care", room)
    texts = cautions(names, nursery.book)
    for number, text in enumerate(texts):
        lines = wrapped(text, room - 4, _SMALL)
        marks = paragraph(lines, 4, 3.6, _SMALL)
        dot = words(0.6, 3.6, "!", _SMALL, bold=True)
        yield Block(height=len(lines) * _SMALL * LEADING + 1.6, marks=(dot, *marks), keeps=number == len(texts) - 2)


def _notes(room: float) -> Block:
    marks: list[Mark] = [words(0, 8, "Notes", _TEXT, bold=True)]
    marks += [line(0, 16 + 9 * n, room, 16 + 9 * n, RULE, 0.25) for n in range(4)]
    return Block(height=46, marks=tuple(marks), spare=True)
