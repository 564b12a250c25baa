"""What programmes came to: the figures behind a date that was worked out, for those who ask why. Plain values."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True)
class Worked:
    """The figures of one task; each programme has its own. `words.worked` tells them."""


@dataclass(frozen=True)
class PottedDay(Worked):
    """A day of a pot's year: `days` after the day `since` (before it where below nothing); `of` is what that day is.

    `chances` are the frosts of that season: by chance that frost has come (in spring: is still to come), the day. They
    are nights at or below `threshold_c`, by the word of `source`.
    """

    of: str
    since: date
    day: date
    chances: tuple[tuple[float, date], ...]
    spring: bool
    threshold_c: float
    source: str
    roots_killed_c: float
