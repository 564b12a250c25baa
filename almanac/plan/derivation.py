"""What programmes came to: the figures behind a date that was worked out, for those who ask why. Plain values."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, time
from typing import Literal

from almanac.forecast.drying import Drying
from almanac.forecast.hardening import KnownLamp
from almanac.forecast.ramp import Light, Step
from almanac.nursery.order_rows import Form
from almanac.rulebook.programmes.watering import Water, Watering
from almanac.site.lamp import Daylight, Lamp, LightAim, Setting
from almanac.units import System


@dataclass(frozen=True)
class Derivation:
    """The figures of one task; each programme has its own. `words.worked` tells them.

    Where they come to no task, `about` is the id that it would have, for those who ask why there is none.
    """

    about: str = field(default="", kw_only=True)


@dataclass(frozen=True)
class GnatsWorked(Derivation):
    """What the days against gnats in a place come to.

    The sighting acted on with its count, the last adult, and the end (`cold`: by the bound, as the mix is too cold);
    the warmest and coldest mix [°C] with the days from egg to adult there, by the fast clock and by the slow one, and
    the degree-days these ask for above the threshold. Of a treatment also the days a larva lives in its warmest mix,
    how many days on it comes again, and at the latest, and the mix it bears where its rule says so.
    """

    seen: date
    count: int | None
    act_at: int
    last: date
    end: date
    cold: bool
    threshold_c: float
    warmest_c: float
    coldest_c: float
    fast_days: float
    slow_days: float
    fast_sum: float
    slow_sum: float
    larva_days: float | None = None
    every: int | None = None
    gap: int | None = None
    bears_c: tuple[float, float] | None = None


@dataclass(frozen=True)
class Refused(Derivation):
    """Mix that a treatment does not bear: the warmest or coldest of it, and what it does bear [°C]."""

    mix_c: float
    low_c: float
    high_c: float


@dataclass(frozen=True)
class LampWorked(Derivation):
    """What a lamp is set to and why: for crops in leaf, `raised` once one of them has roots; `before` in hours a day.

    `day` is the daylight of that week where the lamp adds to it, of which the `share` reaches the leaves; `place` is
    what such a place asks for.
    """

    setting: Setting
    wanted: LightAim
    lamp: Lamp
    day: Daylight | None
    share: float | None
    crops: tuple[str, ...]
    raised: bool
    before: float
    place: str


@dataclass(frozen=True)
class Aired(Derivation):
    """A step from closed bag or covered pot to room air.

    Step `number` of `of` comes `between` days after the one before and may be `late` by so much. It was counted from
    `after` (ready_to_wean, roots, opened, all_clear or potted) on `since`, `lead` days on; `done` steps stand; `weeks`
    is how often it was asked for in vain. `closed_back` is the day it was set back a step for wilting. `stage` says
    which part of the lot it is about, where others of it stand elsewhere.
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
    opened: date | None = None


@dataclass(frozen=True)
class OffMat(Derivation):
    """Rooted, open bags to a cooler place: `bin` and its base, with room for `free` more; empty where none is.

    `base_c` is the warmth they stand on now, `counted_from` the day of the last step.
    """

    base_c: float
    counted_from: date
    bin: str = ""
    bin_c: float = 0.0
    free: int = 0


@dataclass(frozen=True)
class Pots(Derivation):
    """Pots and mix for what a lot likely comes to: `expected` of the `bags`, by `share`, those `seen` rooted apart.

    `up_to` suffice nine times in ten; a pot holds `pot_l` and takes the share `settling` more of mix [litres]. They are
    due `lead` days before the lot is well rooted, on `ready`. `others` are lots likely potted in the same week, the one
    of `ready`, that come to `week_expected` pots with it, and to `week_up_to` nine times in ten.
    """

    bags: int
    seen: int
    share: float
    expected: float
    up_to: int
    pot_l: float
    settling: float
    lead: int
    ready: date
    others: tuple[str, ...] = ()
    week_expected: float = 0.0
    week_up_to: int = 0

    def mix_l(self, pots: float) -> float:
        """Mix for so many pots [litres]."""
        return pots * self.pot_l * (1 + self.settling)


@dataclass(frozen=True)
class PottedDay(Derivation):
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


@dataclass(frozen=True)
class Weighed(Derivation):
    """What weighing a lot's bag or pot came to, by which rules, and the nursery's units."""

    drying: Drying
    water: Water
    rules: Watering
    stage: Literal["pot", "rooting"]
    units: System


@dataclass(frozen=True)
class Ramp(Derivation):
    """How a group of plants comes from its lamp to the sun.

    `step` is the one a task is about, None for what comes after the last; `until` the last day before the next, and
    `noon` when the sun stands highest, by the local clock. `wall` is the side of a wall that no sun reaches, empty in
    the tropics, where there is none. `nights_known` says whether the site's usual nights are.
    """

    steps: tuple[Step, ...]
    step: Step | None
    until: date | None
    noon: time
    lamp: KnownLamp
    used_to: Light
    resumed: bool
    raise_a_day: float
    wall: str
    nights_known: bool


@dataclass(frozen=True)
class Shipment(Derivation):
    """An order still open: what of it is to be sent, where to, by when; `sendable` of that kind can be sent now."""

    order: str
    ordered: date
    number: str
    crop: str
    form: Form
    count: int
    of: int
    country: str
    region: str
    ship_by: date
    sendable: int
