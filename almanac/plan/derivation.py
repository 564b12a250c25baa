"""What a programme came to: the figures behind a date that was worked out, for those who ask why. Plain values."""

from __future__ import annotations

from dataclasses import field

from almanac.plain import dataclass
from almanac.plan.ids import EntryId


@dataclass(frozen=True)
class Derivation:
    """The figures of one task; each programme has its own, and `words.programmes` tells them.

    Where they come to no task, `about` is the id that it would have, for those who ask why there is none.
    """

    about: EntryId | None = field(default=None, kw_only=True)
