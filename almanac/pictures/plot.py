"""A field with days along its foot and values up its side: lines, steps, areas and months in the one style. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, timedelta

from almanac.pictures.drawing import Mark, Path, Point, box, line
from almanac.pictures.measure import width_of
from almanac.pictures.style import BODY, INK, PAPER, RULE, SMALL, SOFT, words
from almanac.plain import dataclass
from almanac.words.dates import day, month, next_month

Series = Sequence[tuple[date, float]]


@dataclass(frozen=True, kw_only=True)
class Field:
    """Where it stands on the sheet, the days from left to right, the values from foot to top."""

    left: float
    top: float
    right: float
    foot: float
    first: date
    last: date
    low: float
    high: float

    def x(self, when: date) -> float:
        """The x of a day's beginning."""
        return self.left + (when - self.first).days / (self.last - self.first).days * (self.right - self.left)

    def y(self, value: float) -> float:
        return self.foot - (value - self.low) / (self.high - self.low) * (self.foot - self.top)

    def title(self, text: str) -> Mark:
        return words(self.left, self.top - 2.2, text, BODY, bold=True)

    def months(self) -> Iterator[Mark]:
        """A tick for each month, named where there is room."""
        yield line(self.left, self.foot, self.right, self.foot, SOFT, 0.2)
        when = self.first.replace(day=1)
        while when <= self.last:
            after = next_month(when)
            if when >= self.first:
                x = self.x(when)
                yield line(x, self.top, x, self.foot + 1.2, RULE, 0.2, kind="month", about=when.isoformat())
                name = month(when) + (f" {when.year}" if when.month == 1 else "")
                if min(self.x(min(after, self.last)), self.right) - x > width_of(name, SMALL) + 1.2:
                    yield words(x + 0.8, self.foot + 3.4, name, SMALL, ink=SOFT)
            when = after

    def values(self, marks: Sequence[tuple[float, str]]) -> Iterator[Mark]:
        """Values up the side, each with a light line across."""
        for value, text in marks:
            yield line(self.left, self.y(value), self.right, self.y(value), RULE, 0.12)
            yield words(self.left - 1.2, self.y(value) + 0.9, text, SMALL, ink=SOFT, anchor="end")

    def curve(self, series: Series, *, kind: str, width: float = 0.45, dash: tuple[float, float] | None = None) -> Path:
        """A line through values on days."""
        points = tuple((self.x(when), self.y(value)) for when, value in series)
        return Path(points=points, ink=INK, width=width, dash=dash, kind=kind)

    def steps(self, series: Series, *, kind: str) -> Path:
        """A line that holds each day's value until the next."""
        return Path(points=tuple(self._stairs(series)), ink=INK, width=0.45, kind=kind)

    def area(self, series: Series, fill: str, *, kind: str) -> Path:
        """What lies under such a line."""
        stairs = list(self._stairs(series))
        points = ((stairs[0][0], self.foot), *stairs, (stairs[-1][0], self.foot))
        return Path(points=points, closed=True, fill=fill, kind=kind)

    def _stairs(self, series: Series) -> Iterator[Point]:
        for when, value in series:
            yield self.x(when), self.y(value)
            yield min(self.x(when + timedelta(days=1)), self.right), self.y(value)

    def level(self, value: float, text: str, *, kind: str) -> Iterator[Mark]:
        """A bold line across with its words over its right end, on clear ground."""
        y = self.y(value)
        yield line(self.left, y, self.right, y, INK, 0.35, dash=(1.6, 0.9), kind=kind, about=f"{value:g}")
        yield from self.label(self.right - 1, y - 1.0, text, anchor="end")

    def label(self, x: float, y: float, text: str, anchor: str = "start") -> Iterator[Mark]:
        """Words on clear ground."""
        wide = width_of(text, SMALL) + 0.8
        left = {"start": x - 0.4, "middle": x - wide / 2, "end": x - wide + 0.4}[anchor]
        yield box(left, y - SMALL * 0.85, wide, SMALL * 1.15, fill=PAPER)
        yield words(x, y, text, SMALL, anchor=anchor)

    def today(self, when: date) -> Iterator[Mark]:
        """A line where the day is, if it lies between."""
        if self.first <= when <= self.last:
            yield line(self.x(when), self.top, self.x(when), self.foot, INK, 0.4, dash=(0.5, 0.8), kind="today")

    def today_words(self, when: date) -> Iterator[Mark]:
        """The same in words, under the names of the months."""
        if self.first <= when <= self.last:
            x = min(max(self.x(when), self.left + 10), self.right - 10)
            yield words(x, self.foot + 7.2, f"today, {day(when)}", SMALL, bold=True, anchor="middle")


def nice_steps(high: float) -> list[float]:
    """Values to mark from nothing to a height: whole, evenly apart, three to six of them."""
    step = 1.0
    for factor in (2, 2.5, 2, 2, 2.5, 2, 2, 2.5, 2):
        if high / step <= 5:
            break
        step *= factor
    return [n * step for n in range(int(high / step) + 1)]
