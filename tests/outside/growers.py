"""Growers whose truth shares little with the program's model, and what five of them would log of it. Everything seeded.

A share of each lot's cuttings never roots; some die on the way and are thrown out; days of cuttings are gamma, not
log-normal, and lots differ by a Student t, not a normal. Harsher kinds add bins off their dial, a season's effect,
spreads twice the rule's, or heavier tails. The days are those of fig in a sealed bag (`rules/crops/fig.toml`), as are
the spreads; shares that die or differ by bin and season are made up. A grower looks every fourth day; a lot is potted
some days after half of what will ever root is well rooted; what has no roots on day 90 is thrown out.

The five ways to log: `everything`; `sparse` (sticking, potting and losses alone); `looks` (looks, potting and losses,
no sign of any kind); `half` (every other visit at random is logged, with what it saw); `late` (signs and potting
entered three days after they were seen, with that day's date).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import ceil
from string import ascii_lowercase

import numpy as np
from numpy.typing import NDArray

from almanac.nursery.lots import Lot, Sign

Array = NDArray[np.float64]
HABITS = ("everything", "sparse", "looks", "half", "late")
SIZES, VARIETIES, LOOK_DAYS, GIVEN_UP, LATE_DAYS = (6, 12, 24), 3, 4, 90, 3
ROOTED, CONCENTRATION, ROT = 0.62, 6.0, 0.06
# Median days, and spreads of cuttings, lots, varieties and growers, of the way to roots, to well rooted, to the pot.
ROOTS, GROWN, WAIT = (22.0, 0.2, 0.15, 0.1, 0.3), (28.0, 0.2, 0.15, 0.1, 0.2), (4.0, 0.6, 0.0, 0.0, 0.4)


@dataclass(frozen=True)
class Kind:
    """What a drawn grower's lots are like: degrees of freedom of how lots differ, and what is added to the base."""

    name: str
    tails: float = 8.0
    wider: float = 1.0
    season: float = 0.0
    bins: float = 0.0
    rooted: float | None = None  # the grower's mean share; None: drawn from the rule's own prior


BASE = Kind("base")
HARSHER = (
    Kind("heavy tails", tails=2.2),
    Kind("spreads doubled", wider=2.0),
    Kind("two bins off their dial", bins=0.2),
    Kind("a season's effect", season=0.15),
)


@dataclass(frozen=True)
class Truth:
    """What became of one lot, in days from sticking: nan where nothing rooted, or nothing was potted."""

    variety: str
    of: int
    bin: str
    stuck: date
    first_root: float
    half_grown: float
    potted: float
    rooted: int
    rots: tuple[float, ...]

    @property
    def potted_day(self) -> int | None:
        return ceil(self.potted) if self.potted < GIVEN_UP + 30 else None


def draw_growers(number: int, lots: int, kind: Kind, seed: int) -> list[list[Truth]]:
    """For each grower so many lots, over winters of eight lots each, all random draws made at once."""
    rng = np.random.default_rng(seed)
    sizes = rng.choice(SIZES, (number, lots))
    variety = rng.integers(VARIETIES, size=(number, lots))
    in_b = rng.random((number, lots)) < 0.5
    most = max(SIZES)
    mean = rng.beta(ROOTED * CONCENTRATION, (1 - ROOTED) * CONCENTRATION, number)
    mean = np.clip(mean if kind.rooted is None else np.full(number, kind.rooted), 0.02, 0.98)
    share = rng.beta(mean[:, None] * CONCENTRATION, (1 - mean[:, None]) * CONCENTRATION, (number, lots))
    will = rng.random((number, lots, most)) < share[..., None]
    there = np.arange(most) < sizes[..., None]
    rot = np.where(rng.random((number, lots, most)) < ROT, rng.uniform(5, 40, (number, lots, most)), np.inf)
    season = np.arange(lots) // 8
    dial = rng.normal(0, 1, (number, 2)) * kind.bins
    winters = rng.normal(0, 1, (number, lots // 8 + 1)) * kind.season
    shared = np.where(in_b, dial[:, 1:], dial[:, :1]) + winters[:, season]
    roots = _days(rng, ROOTS, kind, variety, most, shared)
    grown = _days(rng, GROWN, kind, variety, most, shared)
    wait = _days(rng, WAIT, kind, variety, 1, np.zeros((number, lots)))[..., 0]
    lives = will & there & (rot > roots)
    first = np.where(lives, roots, np.inf).min(axis=2)
    full = np.sort(np.where(lives, roots + grown, np.inf), axis=2)
    count = lives.sum(axis=2)
    half = np.take_along_axis(full, (np.maximum(count + 1, 2) // 2 - 1)[..., None], axis=2)[..., 0]
    start = rng.integers(0, 45, (number, lots))
    return [
        [
            Truth(
                f"{variety[g, n] + 7}",
                int(sizes[g, n]),
                "AB"[int(in_b[g, n])],
                date(2020 + int(season[n]), 1, 1) + timedelta(days=int(start[g, n])),
                float(first[g, n]) if count[g, n] else float("nan"),
                float(half[g, n]) if count[g, n] else float("nan"),
                float(half[g, n] + wait[g, n]) if count[g, n] else float("nan"),
                int(count[g, n]),
                tuple(sorted(float(day) for day in rot[g, n][there[g, n]] if np.isfinite(day))),
            )
            for n in range(lots)
        ]
        for g in range(number)
    ]


def _days(
    rng: np.random.Generator,
    rule: tuple[float, float, float, float, float],
    kind: Kind,
    variety: NDArray[np.int64],
    of: int,
    shared: Array,
) -> Array:
    """Days of each cutting: gamma about its lot, with the median and the spread of the rule."""
    median, within, between, varieties, growers = rule
    within, between, varieties = within * kind.wider, between * kind.wider, varieties * kind.wider
    number, lots = variety.shape
    own = rng.normal(0, 1, (number, VARIETIES)) * varieties + rng.normal(0, 1, (number, 1)) * growers
    heavy = rng.standard_t(kind.tails, (number, lots))
    quartile = np.quantile(np.abs(np.random.default_rng(1).standard_t(kind.tails, 20001)), 0.5) / 0.6745
    offset = np.take_along_axis(own, variety, axis=1) + shared + np.clip(heavy / quartile, -8, 8) * between
    shape = 1 / within**2
    middle = shape * (1 - 1 / (9 * shape)) ** 3  # of a gamma, Wilson & Hilferty 1931
    days: Array = median * np.exp(offset)[..., None] * rng.gamma(shape, 1.0, (number, lots, of)) / middle
    return days


def logged(truth: Truth, habit: str, lot: str, rng: np.random.Generator) -> Lot:
    """A lot as a grower of a habit leaves it in the logbook, all of it over."""
    left: dict[tuple[str, str], int] = {}
    end = truth.potted_day or GIVEN_UP
    shows = _shows(truth, end)
    visits = list(range(3, end, LOOK_DAYS))
    if habit == "half":
        visits = [day for day in visits if rng.random() < 0.5]
    late = LATE_DAYS if habit == "late" else 0
    looks = visits if habit != "sparse" else []
    signs: dict[str, Sign] = {}
    if habit in ("everything", "half", "late"):
        for name, came in shows.items():
            seen = next((day for day in visits if day >= came), None)
            if seen is not None:
                before = max([0, *(day for day in visits if day < seen)])
                signs[name] = Sign(day=_on(truth, seen + late), count=None, of=truth.of, not_yet=_on(truth, before))
    steps = {"stuck": truth.stuck}
    rotten = sum(day < end for day in truth.rots)
    if rotten:
        left["died", "stuck"] = rotten
    if truth.potted_day:
        steps["potted"] = _on(truth, truth.potted_day + late)
        left["planted", "finished"] = truth.rooted
    lost = truth.of - rotten - (truth.rooted if truth.potted_day else 0)
    if lost > 0:
        left["discarded", "stuck"] = lost
    last = _on(truth, max(end + late, GIVEN_UP if lost > 0 else end + late))
    return Lot(
        id=lot,
        number=truth.variety,
        crop="fig",
        method="sealed_bag",
        protected=False,
        started=truth.stuck,
        origin="own_wood",
        steps=steps,
        signs=signs,
        jobs={"looked": tuple(_on(truth, day) for day in looks)},
        places=((truth.stuck, truth.bin),),
        left=left,  # type: ignore[arg-type]  # the stages are those of a lot
        known_at=last,
        known_before=last,
        stuck_count=truth.of,
    )


def _shows(truth: Truth, end: float) -> dict[str, float]:
    found = {"roots": truth.first_root, "well_rooted": truth.half_grown}
    return {name: day for name, day in found.items() if day <= end}


def _on(truth: Truth, day: float) -> date:
    return truth.stuck + timedelta(days=round(day))


def stock(truths: Sequence[Truth], habit: str, seed: int) -> list[Lot]:
    """All of a grower's lots as logged."""
    rng = np.random.default_rng(seed)
    return [
        logged(truth, habit, f"{truth.variety}{ascii_lowercase[number]}", rng) for number, truth in enumerate(truths)
    ]
