"""The months ahead to hang up, a page each: every entry of the calendar on its day, windows with their last day. Pure.

Weeks are rows as high as what falls in them. What a day's field cannot hold stands in full on the page after.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, time

from almanac.nursery.nursery import Nursery
from almanac.pictures.drawing import Drawing, Mark, box, line
from almanac.pictures.measure import wrapped
from almanac.pictures.pages import Block, Page, laid_out, paragraph
from almanac.pictures.style import INK, LEADING, PAPER, RULE, SOFT, TINT, fitted, hatch, sheet_size, words
from almanac.plain import dataclass
from almanac.words.dates import day, days_to, month_in_full, next_month, weekday, weekday_in_full

_MARGIN, _HEAD, _DAYS, _FOOT = 10.0, 15.0, 6.0, 6.0
_SIZES = (3.7, 3.4, 3.1, 2.8)  # the largest at which a month fits its page
_PAD = 1.4
_LEAST = 13.0  # the height of a week [mm]


@dataclass(frozen=True, kw_only=True)
class WallEntry:
    """One entry of the calendar: its day, its hour if it has one, and of a window its last day."""

    day: date
    title: str
    clock: time | None = None
    until: date | None = None
    round: bool = False


@dataclass(frozen=True)
class Month:
    """A month to hang up; `away` are its days on which the grower is not there."""

    first: date
    entries: tuple[WallEntry, ...]
    away: frozenset[date] = frozenset()

    @property
    def days(self) -> list[date]:
        return days_to(self.first, next_month(self.first))[:-1]

    def on(self, when: date) -> list[WallEntry]:
        """What falls on a day, rounds first."""
        return sorted((each for each in self.entries if each.day == when), key=lambda each: not each.round)


def months_of(entries: Sequence[WallEntry], nursery: Nursery, how_many: int) -> list[Month]:
    """So many months from today's on, those in which nothing falls too."""
    found: list[Month] = []
    for _ in range(how_many):
        first = next_month(found[-1].first) if found else nursery.as_of.replace(day=1)
        here = [each for each in entries if each.day.replace(day=1) == first]
        month = Month(first, tuple(sorted(here, key=lambda each: (each.day, each.title))))
        found.append(replace(month, away=frozenset(filter(nursery.settings.is_away, month.days))))
    return found


def entry_words(entry: WallEntry) -> str:
    """An entry as the wall has it: its hour, what it is, and until when it may be done."""
    at = f"{entry.clock:%H:%M} " if entry.clock else ""
    until = f" (until {day(entry.until, entry.day)})" if entry.until else ""
    return f"{at}{entry.title}{until}"


def wall_pages(months: Sequence[Month], nursery: Nursery) -> list[Drawing]:
    """A page a month, and after it one more for what its fields could not hold."""
    width, height = sheet_size(nursery.units, landscape=True)
    pages = []
    for month in months:
        sheet, over = _month(month, nursery, width, height)
        pages.append(sheet)
        pages += _rest(month, over, nursery, width, height) if over else []
    return pages


def _month(month: Month, nursery: Nursery, width: float, height: float) -> tuple[Drawing, list[date]]:
    start = 6 if nursery.units == "us" else 0  # weeks begin on Sunday there, elsewhere on Monday
    wide = (width - 2 * _MARGIN) / 7
    weeks = _weeks(month, start)
    room = height - 2 * _MARGIN - _HEAD - _DAYS - _FOOT
    size = next((size for size in _SIZES if sum(_wanted(month, weeks, wide, size)) <= room), _SIZES[-1])
    heights = _shared(_wanted(month, weeks, wide, size), room)
    title = f"{month_in_full(month.first)} {month.first.year}"
    marks: list[Mark] = [words(_MARGIN, _MARGIN + 8.6, title, 9.0, bold=True)]
    name = nursery.name
    marks.append(fitted(width - _MARGIN, _MARGIN + 8.4, name, width * 0.5, 4.0, ink=SOFT, anchor="end"))
    y = _MARGIN + _HEAD + _DAYS
    for column in range(7):
        text = weekday_in_full((start + column) % 7)
        marks.append(words(_MARGIN + column * wide + _PAD, y - 1.9, text, 3.2, ink=SOFT, bold=True))
    over: list[date] = []
    for week, high in zip(weeks, heights, strict=True):
        for column, when in enumerate(week):
            if when is not None:
                field, held = _field(month, when, nursery.as_of, (_MARGIN + column * wide, y, wide, high), size)
                marks += field
                over += [] if held else [when]
        y += high
    told = f"As planned on {day(nursery.as_of)} {nursery.as_of.year}; the phone has what is right since."
    more = " What did not fit is on the next page." if over else ""
    marks.append(fitted(_MARGIN, height - _MARGIN, told + more, width - 2 * _MARGIN, 3.0, ink=SOFT))
    sheet = Drawing(
        width=width,
        height=height,
        title=f"{name}: {title}",
        told=f"A month to hang up, with {len(month.entries)} entries of the calendar on their days.",
        marks=tuple(marks),
    )
    return sheet, over


def _weeks(month: Month, start: int) -> list[list[date | None]]:
    weeks: list[list[date | None]] = []
    for when in month.days:
        column = (when.weekday() - start) % 7
        if not weeks or column == 0:
            weeks.append([None] * 7)
        weeks[-1][column] = when
    return weeks


def _wanted(month: Month, weeks: Sequence[Sequence[date | None]], wide: float, size: float) -> list[float]:
    """Each week as high as its fullest day asks for."""
    return [
        max([_LEAST, *(7.6 + len(_lines(month.on(when), wide, size)) * size * LEADING for when in week if when)])
        for week in weeks
    ]


def _shared(wanted: Sequence[float], room: float) -> list[float]:
    """Heights that fill the room: what is left is shared, what is lacking taken from what is above the least."""
    spare = room - sum(wanted)
    if spare >= 0:
        return [each + spare / len(wanted) for each in wanted]
    share = (room - _LEAST * len(wanted)) / sum(each - _LEAST for each in wanted)
    return [_LEAST + (each - _LEAST) * share for each in wanted]


def _lines(entries: Sequence[WallEntry], wide: float, size: float) -> list[tuple[str, bool]]:
    """The lines of a day's field, each with whether it is of a round."""
    return [
        (text, entry.round)
        for entry in entries
        for text in wrapped(entry_words(entry), wide - 2 * _PAD, size, bold=entry.round)
    ]


def _field(
    month: Month, when: date, as_of: date, place: tuple[float, float, float, float], size: float
) -> tuple[list[Mark], bool]:
    """The field of a day, and whether it holds all of it."""
    x, y, wide, high = place
    over = when < as_of
    marks: list[Mark] = [box(x, y, wide, high, fill=TINT if over else PAPER, ink=RULE, width=0.25)]
    if when in month.away:
        marks += hatch(x, x + wide, y, y + high, 3.0)
        marks.append(box(x + 0.6, y + 0.6, wide - 1.2, 5.4, fill=PAPER))
        marks.append(words(x + wide - _PAD, y + 4.7, "away", 2.8, ink=SOFT, anchor="end"))
    number = words(x + _PAD, y + 4.9, str(when.day), 4.6, bold=True, kind="day", about=when.isoformat())
    marks.append(number)
    if when == as_of:
        marks.append(line(x + _PAD, y + 5.7, x + _PAD + 6, y + 5.7, INK, 0.7))
    lines = _lines(month.on(when), wide, size)
    fit = int((high - 7.0) / (size * LEADING) + 0.02)
    held = len(lines) <= fit
    shown = lines if held else lines[: max(fit - 1, 0)]
    if when in month.away and shown:
        marks.append(box(x + 0.6, y + 6.2, wide - 1.2, len(shown) * size * LEADING + 0.6, fill=PAPER))
    for number_of, (text, of_round) in enumerate(shown):
        at = y + 6.2 + size + number_of * size * LEADING
        marks.append(words(x + _PAD, at, text, size, bold=of_round, kind="entry", about=when.isoformat()))
    if not held:
        at = y + 6.2 + size + len(shown) * size * LEADING
        marks.append(words(x + _PAD, at, "more on the next page", size, ink=SOFT))
    return marks, held


def _rest(month: Month, over: Sequence[date], nursery: Nursery, width: float, height: float) -> list[Drawing]:
    """The days in full that their fields could not hold."""
    title = f"{month_in_full(month.first)} {month.first.year}, in full"
    page = Page(
        width=width,
        height=height,
        margin=_MARGIN,
        title=title,
        told="The days that did not fit on the page before, in full.",
        foot=f"{nursery.name}: {title}",
    )
    blocks = [Block(height=11, marks=(words(0, 7, title, 6.0, bold=True),), keeps=True)]
    for when in over:
        blocks.append(Block(height=6.4, marks=(words(0, 4.6, weekday(when), 3.8, bold=True),), keeps=True))
        for entry in month.on(when):
            lines = wrapped(entry_words(entry), page.room - 6, 3.3, bold=entry.round)
            marks = paragraph(lines, 4, 3.2, 3.3, bold=entry.round)
            blocks.append(Block(height=len(lines) * 3.3 * LEADING + 0.6, marks=tuple(marks)))
    return laid_out(blocks, page)
