"""The rest that a lot is in, as a value: since when, until when. Made by `context.rest`."""

from __future__ import annotations

from datetime import date
from typing import Literal

from almanac.plain import dataclass
from almanac.plan.derivation import Derivation

Granted = Literal["frost_accepted", "longest_day", "buds_swelling"]


@dataclass(frozen=True, kw_only=True)
class Rest(Derivation):
    """A rest: from `wakes` on waking is asked for, from `granted` on it is taken for granted; `by` is what that day is.

    `logged` says that it was logged; another goes by the year and ends on the day that it does.
    """

    since: date
    wakes: date
    granted: date
    by: Granted
    logged: bool

    def sleeps(self, day: date) -> bool:
        """Whether it still rests on a day, as far as anybody knows."""
        return day < self.granted

    def unsure(self, day: date) -> bool:
        """Whether it should be awake by now, and nobody has said so."""
        return self.logged and day >= self.granted
