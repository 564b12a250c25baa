"""A lot of cuttings and where they are now, as the logbook leaves it. Plain values; `replay` makes them. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from datetime import date
from typing import Literal

from almanac.nursery.events import READY, Stage
from almanac.plain import dataclass

# The furthest that cuttings have come since they were stuck; "" for those never stuck: in store, or come in as plants.
Reached = Literal["", "stuck", "rooted", "finished"]


@dataclass(frozen=True, kw_only=True)
class Cohort:
    """Cuttings of one lot that entered a stage together; `hardening_since` while they are carried out by day.

    `airing` is what was logged of bringing them to room air, in bag and pot: opened, wilt, all_clear, with its day.
    """

    stage: Stage
    since: date
    count: int
    hardening_since: date | None = None
    reached: Reached = ""
    airing: tuple[tuple[str, date], ...] = ()


@dataclass(frozen=True, kw_only=True)
class Sign:
    """A mark of development as logged: when, and on how many it showed where that was counted.

    `not_yet` is the last day before it on which the lot was looked at or logged. `first` is the sighting that this one
    follows, where part of the lot had gone on before those left behind showed it; `ahead` is how many had. `lately` is
    how many showed it when they were last counted, and of how many; `potted` how many of the lot were potted up since.
    """

    day: date
    count: int | None = None
    of: int = 0
    not_yet: date = date.min
    first: Sign | None = None
    potted: int = 0
    lately: tuple[int, int] | None = None
    ahead: int = 0


@dataclass(frozen=True)
class Sighting:
    """Gnats seen on a day: how many on the card where they were counted, and of which lot where one was named."""

    day: date
    count: int | None = None
    lot: str = ""


@dataclass(frozen=True, kw_only=True)
class Weighing:
    """One bag or pot of a lot on the scale [g], in the stage the lot was in.

    `run` is the day from which its water counts, as logged: the last watering before it, or new mix.
    """

    day: date
    grams: float
    stage: Stage
    run: date


@dataclass(frozen=True, kw_only=True)
class Lot:
    """Cuttings of one variety started together.

    `steps` holds the first day of each step, `signs` each sign as first logged, `jobs` the days of each job, `troubles`
    those not yet cleared, `places` the bins it stood in with the first day in each, `readings` of a probe in its own
    mix [°C], `weighings` those of a sample bag or pot, `left` how many left it by event and by how far they had come
    (below nothing: so many were found or cut), `joined` the lots put into it, `gnats` those seen while it stood in no
    bin. `known_at` is the last day it was looked at or logged, `known_before` the one before that. `wood` says of a lot
    stuck again when its wood was cut, and first stuck. `hardening` holds in order what says how its pots stood outside:
    carried out, brought in, scorched, over it; `hardened` is how many of its plants are hardened off. `mother` is
    the place of the plant its wood was cut from, `shelter` where its pots were last brought into, where it was logged.
    `none_yet` holds by sign the last day on which it was looked for and none of the cuttings showed it.
    """

    id: str
    number: str
    crop: str
    method: str
    protected: bool
    started: date
    origin: str
    parent: str = ""
    split_from: str = ""
    cohorts: tuple[Cohort, ...] = ()
    steps: Mapping[str, date] = field(default_factory=dict)
    signs: Mapping[str, Sign] = field(default_factory=dict)
    jobs: Mapping[str, tuple[date, ...]] = field(default_factory=dict)
    troubles: Mapping[str, date] = field(default_factory=dict)
    places: tuple[tuple[date, str], ...] = ()
    left: Mapping[tuple[str, Reached], int] = field(default_factory=dict)
    readings: tuple[tuple[date, float], ...] = ()
    weighings: tuple[Weighing, ...] = ()
    looked: date | None = None
    known_at: date = date.min
    known_before: date = date.min
    stuck_count: int = 0
    joined: tuple[str, ...] = ()
    wood: tuple[date, date] | None = None
    gnats: tuple[Sighting, ...] = ()
    hardening: tuple[tuple[date, str], ...] = ()
    hardened: int = 0
    mother: str = ""
    shelter: str = ""
    none_yet: Mapping[str, date] = field(default_factory=dict)

    @property
    def cut_on(self) -> date:
        """The day its wood was cut, or came where nobody knows that."""
        return self.wood[0] if self.wood else self.started

    @property
    def from_elsewhere(self) -> bool:
        """Whether it came from another's plants; wood in store of which nobody says so is taken to have."""
        return self.origin in ("post", "trade", "liner") or (not self.origin and "stored" in self.steps)

    @property
    def first_stuck_on(self) -> date:
        """The day its wood first left the cold; the day it was cut while it has not."""
        return self.wood[1] if self.wood else self.steps.get("stuck", self.started)

    @property
    def lifted(self) -> int:
        """How many plants of it are lifted out of their bed and wait there to be planted, potted or sold."""
        return sum(each.count for each in self.cohorts if each.stage == "rooting" and each.reached == "finished")

    @property
    def in_place(self) -> int:
        """How many of it take a place in a bin, tray or bed: those rooting, without what is lifted."""
        return self.count("rooting") - self.lifted

    @property
    def came_ready(self) -> bool:
        """Whether it came as plants with roots, which nobody struck here."""
        return self.origin in READY

    def count(self, stage: Stage) -> int:
        """How many of its cuttings are in a stage."""
        return sum([cohort.count for cohort in self.cohorts if cohort.stage == stage])

    @property
    def total(self) -> int:
        return sum([cohort.count for cohort in self.cohorts])

    @property
    def closed(self) -> bool:
        return self.total == 0

    @property
    def gone(self) -> dict[str, int]:
        """How many left it, by event."""
        found: dict[str, int] = {}
        for (what, _), count in self.left.items():
            found[what] = found.get(what, 0) + count
        return found

    def reached(self, cohort: Cohort) -> Reached:
        """How far a cohort has come; plants in pots are finished once all of them were logged as hardened."""
        sign = self.signs.get("hardened")
        if cohort.reached != "rooted" or cohort.stage != "pot" or sign is None or sign.day < cohort.since:
            return cohort.reached
        every = sign.count is None or sign.count >= max(sign.of, self.count("pot"))
        return "finished" if every else "rooted"

    @property
    def resting(self) -> bool:
        """Whether it has gone to rest and not woken since."""
        rest, woke = self.signs.get("resting"), self.signs.get("woke")
        return rest is not None and (woke is None or woke.day < rest.day)

    @property
    def bin(self) -> str:
        """The bin its rooting cuttings stand in, empty where there is none."""
        return self.places[-1][1] if self.places and self.count("rooting") else ""

    @property
    def potted_so_far(self) -> int:
        """How many of its cuttings were ever potted up, wherever they are now."""
        here = sum(cohort.count for cohort in self.cohorts if cohort.stage != "rooting" and _was_potted(cohort.reached))
        return here + sum(count for (_, reached), count in self.left.items() if _was_potted(reached))

    def water_since(self, stage: Stage) -> date:
        """The day from which the water in its bags or pots counts: the last watering, or fresh mix after it."""
        days = [self.steps.get("stuck" if stage == "rooting" else "potted", self.started)]
        days += [self.jobs[name][-1] for name in ("watered", "rebagged", "potted_on") if name in self.jobs]
        return max(days)

    def since(self, stage: Stage) -> date | None:
        """The day the first of those now in a stage came there."""
        return min((cohort.since for cohort in self.cohorts if cohort.stage == stage), default=None)

    @property
    def hardening_since(self) -> date | None:
        """The day the first of those now in pots was carried out."""
        days = [cohort.hardening_since for cohort in self.cohorts if cohort.hardening_since]
        return min(days, default=None)


@dataclass(frozen=True, kw_only=True)
class BinLog:
    """What a bin went through by date: warmth of base and air [°C], lamp hours (0 is off); troubles not yet cleared.

    `base_c` follows mats, power cuts and probe readings; `mat_off` while the base has only the air's warmth, `mat_set`
    when the mat was last turned and `probed` when a probe was last read. One `outdoors` is a bed, as warm as the site's
    year on the days before and to come. `gnats` are those seen in it and on the lots
    in it, since the last all clear.
    """

    name: str
    base_c: tuple[tuple[date, float], ...]
    air_c: tuple[tuple[date, float], ...]
    mat_off: bool = False
    mat_set: date | None = None
    probed: date | None = None
    lamp_h: tuple[tuple[date, float], ...] = ()
    troubles: Mapping[str, date] = field(default_factory=dict)
    looked: date | None = None
    gnats: tuple[Sighting, ...] = ()
    outdoors: bool = False


@dataclass(frozen=True, kw_only=True)
class Kept:
    """Plants of a lot kept as stock plants on a day; `place` is where they stand, or which lot they came from."""

    row: str
    lot: str
    number: str
    crop: str
    count: int
    day: date
    place: str


@dataclass(frozen=True, kw_only=True)
class Planned:
    """A lot to come: `day` is when it is to be stuck, `bin` where; empty where that is left open."""

    row: str
    number: str
    count: int
    day: date
    note: str = ""
    protected: bool = False
    crop: str = ""
    bin: str = ""


@dataclass(frozen=True, kw_only=True)
class Stock:
    """Everything the logbook says, replayed: lots, bins by name, signs of crops outdoors, lots planned, plants kept.

    `planned` are all that no lot has settled yet, as they stand in the logbook; `over` are the rows of those that were
    never stuck in their season, which the logbook cannot know: it is said of a nursery on a day (`plan.wood.to_come`).
    """

    lots: Mapping[str, Lot]
    bins: Mapping[str, BinLog]
    crop_signs: Mapping[tuple[str, str], tuple[date, ...]]
    planned: tuple[Planned, ...] = ()
    kept: tuple[Kept, ...] = ()
    over: frozenset[str] = frozenset()

    @property
    def to_come(self) -> tuple[Planned, ...]:
        """The lots planned that may still be stuck."""
        return tuple(each for each in self.planned if each.row not in self.over) if self.over else self.planned

    @property
    def never_stuck(self) -> tuple[Planned, ...]:
        """The lots planned whose season went by."""
        return tuple(each for each in self.planned if each.row in self.over)


def _was_potted(reached: Reached) -> bool:
    return reached in ("rooted", "finished")


def lot_order(lot_id: str) -> tuple[int, int, str]:
    """The order lots stand in on a bench: by number, then letter (7a … 7z, 7aa)."""
    digits = lot_id.rstrip("abcdefghijklmnopqrstuvwxyz")
    letters = lot_id[len(digits) :]
    return (int(digits or 0), len(letters), letters)


def next_letter(letters: str) -> str:
    """The letter after: a → b, z → aa, az → ba."""
    number = 0
    for letter in letters:
        number = number * 26 + ord(letter) - ord("a") + 1
    number += 1
    out = ""
    while number:
        number, rest = divmod(number - 1, 26)
        out = chr(ord("a") + rest) + out
    return out
