"""What lies behind and round the threads of a season: months, frost, absence, today, rounds. Pure."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from itertools import groupby, pairwise

from almanac.pictures.chart_rows import Season
from almanac.pictures.drawing import Mark, Path, box, line
from almanac.pictures.style import BODY, INK, PALE, PAPER, RULE, SHADE, SMALL, SOFT, TINT, hatch, words
from almanac.plain import dataclass
from almanac.words.dates import day, days_to, month, next_month
from almanac.words.sentences import percent_asked

ROW, FROST, ROUNDS = 8.8, 9.0, 5.5  # heights of a row, of the hill of frost over them and of the rounds below [mm]
_CLOSE_DAY_MM = 1.0  # from so much room a day on, weeks have ticks of their own


@dataclass(frozen=True, kw_only=True)
class Frame:
    """Where things stand on a sheet: threads from `left` to `right`, and the days between."""

    season: Season
    width: float
    margin: float
    label: float

    @property
    def narrow(self) -> bool:
        return self.label == 0

    @property
    def left(self) -> float:
        return self.margin + self.label

    @property
    def right(self) -> float:
        return self.width - self.margin

    @property
    def row(self) -> float:
        return ROW + 3.6 if self.narrow else ROW

    def x(self, when: date) -> float:
        """The x of a day's beginning, within the sheet."""
        first, last = self.season.first, self.season.last
        share = (min(max(when, first), last) - first).days / (last - first).days
        return self.left + share * (self.right - self.left)

    def shows(self, when: date) -> bool:
        return self.season.first <= when <= self.season.last


def behind(frame: Frame, top: float, foot: float) -> Iterator[Mark]:
    """Days on which frost is likelier than accepted, and days away."""
    season = frame.season
    days = days_to(season.first, season.last)
    for frosty, stretch in groupby(days, key=lambda when: season.risk(when) > season.accept):
        if frosty:
            alike = list(stretch)
            x1, x2 = frame.x(alike[0]), frame.x(min(alike[-1] + timedelta(days=1), season.last))
            yield box(x1, top, x2 - x1, foot - top, fill=TINT, kind="frost")
    for begin, end in season.away:
        x1, x2 = frame.x(begin), frame.x(end + timedelta(days=1))
        yield box(x1, top, x2 - x1, foot - top, fill=PAPER, kind="away", about=begin.isoformat())
        yield from hatch(x1, x2, top, foot)
        yield line(x1, top, x1, foot, PALE, 0.2)
        yield line(x2, top, x2, foot, PALE, 0.2)


def axis(frame: Frame, top: float, foot: float) -> Iterator[Mark]:
    """Months with the chance of frost under them as a small hill."""
    season = frame.season
    base, high = top - 1.2, FROST - 3.2
    risky = days_to(season.first, season.last)[::2]
    hill = [(frame.x(when), base - high * season.risk(when)) for when in risky]
    if any(season.risk(when) > 0.005 for when in risky):
        shape = ((hill[0][0], base), *hill, (hill[-1][0], base))
        yield Path(points=shape, closed=True, fill=SHADE, kind="frost-risk")
        yield Path(points=tuple(hill), ink=SOFT, width=0.25)
        if not frame.narrow:
            yield words(frame.left - 2, base - 0.4, "chance of frost", SMALL, ink=SOFT, anchor="end")
    yield line(frame.left, base, frame.right, base, SOFT, 0.2)
    when = season.first.replace(day=1)
    while when <= season.last:
        after = next_month(when)
        x = frame.x(when)
        if frame.shows(when):
            yield line(x, top - FROST - 4.2, x, foot + 1.2, RULE, 0.2, kind="month", about=when.isoformat())
        room = frame.x(after) - x
        name = month(when) + (f" {when.year}" if when.month == 1 and room > 15 else "")
        if room > 6.5:
            yield words(x + 1.0, top - FROST - 1.2, name, BODY, ink=SOFT)
        when = after
    yield from _accepted(frame, base, high)
    if (frame.right - frame.left) / (season.last - season.first).days >= _CLOSE_DAY_MM:
        for monday in (when for when in days_to(season.first, season.last) if when.weekday() == 0):
            yield line(frame.x(monday), foot - 0.6, frame.x(monday), foot + 0.6, PALE, 0.2)


def _accepted(frame: Frame, base: float, high: float) -> Iterator[Mark]:
    """The day from which a later frost is no likelier than the grower accepts."""
    season = frame.season
    for before, when in pairwise(days_to(season.first, season.last)):
        if season.risk(before) > season.accept >= season.risk(when):
            x = frame.x(when)
            said = f"{percent_asked(season.accept)} from {day(when)}"
            yield line(x, base - high, x, base, INK, 0.3, kind="frost-accepted", about=when.isoformat())
            if x + 28 < frame.right:
                yield box(x + 0.6, base - high + 0.2, 27, 3.0, fill=PAPER)
                yield words(x + 1, base - high + 2.4, said, SMALL, ink=INK)
            return


def rounds(frame: Frame, foot: float) -> Iterator[Mark]:
    y = foot + 3.4
    yield line(frame.left, foot, frame.right, foot, SOFT, 0.2)
    if not frame.narrow:
        yield words(frame.left - 2, y + 1.0, "rounds", SMALL, ink=SOFT, anchor="end")
    for when in frame.season.rounds:
        yield line(frame.x(when), y - 1.3, frame.x(when), y + 1.1, INK, 0.35, kind="round", about=when.isoformat())
    for begin, end in frame.season.away:
        if frame.x(end) - frame.x(begin) > 2:
            middle, today = (frame.x(begin) + frame.x(end)) / 2, frame.x(frame.season.as_of)
            x = today + 16 if abs(middle - today) < 16 else middle  # beside the word under today
            yield words(min(x, frame.right - 4), foot + ROUNDS + 2.0, "away", SMALL, ink=SOFT, anchor="middle")


def today(frame: Frame, top: float, bottom: float) -> Iterator[Mark]:
    season = frame.season
    if not frame.shows(season.as_of):
        return
    x = frame.x(season.as_of)
    yield line(x, top - 1.2, x, bottom, INK, 0.45, kind="today", about=season.as_of.isoformat())
    edge = min(max(x, frame.left + 9), frame.right - 9)
    yield words(edge, bottom + 2.0, f"today, {day(season.as_of)}", SMALL, bold=True, anchor="middle")
