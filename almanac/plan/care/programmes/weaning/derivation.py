"""What the steps of weaning come to: the figures behind them, for those who ask why. Plain values."""

from __future__ import annotations

from dataclasses import field
from datetime import date

from almanac.plain import dataclass
from almanac.plan.derivation import Derivation


@dataclass(frozen=True, kw_only=True)
class Aired(Derivation):
    """A step from closed bag or covered pot to room air.

    Step `number` of `of` comes `between` days after the one before and may be `late` by so much. It was counted from
    `after` (roots, leaves, opened, all_clear or potted) on `since`, `lead` days on, or back from it where that is the
    likely day of potting (potting_likely); `done` steps stand; `weeks` is how often it was asked for in vain.
    `closed_back` is the day it was set back a step for wilting. `stage` says which part of the lot it is about, where
    others of it stand elsewhere.
    """

    number: int
    of: int
    between: int
    late: int
    after: str
    since: date
    lead: int
    done: int
    weeks: int = 0
    closed_back: date | None = None
    stage: str = ""


@dataclass(frozen=True)
class ToLamp(Derivation):
    """Out of the shade: `in_shade` days after potting on `potted`, and not before `opened`, when the cover is off."""

    in_shade: int
    potted: date
    opened: date | None = field(default=None, kw_only=True)


@dataclass(frozen=True, kw_only=True)
class OffMat(Derivation):
    """Open bags with roots through to a cooler `bin` and its base, with room for `free` more; empty where none is.

    `base_c` is the warmth they stand on now, `counted_from` the day by which they were to be potted.
    """

    base_c: float
    counted_from: date
    bin: str = ""
    bin_c: float = 0.0
    free: int = 0
