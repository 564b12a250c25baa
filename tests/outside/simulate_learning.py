"""Nurseries drawn from the model's own levels, and how well their own lots make the forecast of the next one.

`python -m tests.outside.simulate_learning [NURSERIES]` prints a table; `test_simulated_learning.py` asserts a part of
it. Each nursery has a drawn grower, three drawn varieties and eight finished lots of 6, 12 or 24 cuttings, whose first
root was seen at the first of looks every four days. Four more lots are then forecast: by the rule alone; by what the
program learned; by the exact posterior of the same draws (`exact_learning`); and by an oracle who knows the grower's
and the variety's offsets and all true spreads, though not the lot's offset. Everything is seeded.
"""

from __future__ import annotations

import math
import sys
from dataclasses import dataclass, field
from datetime import date

import numpy as np
from scipy.special import log_ndtr

from almanac.forecast.durations import Normal, arrival, believed
from almanac.forecast.learning import learn
from almanac.forecast.thermal import plain_days
from almanac.forecast.timing import Timing
from almanac.rulebook.models import Duration
from tests.outside.exact_learning import MEDIAN_DAYS, Array, Exact, Spreads, rule_with

RULE = Spreads()  # 20 % within a lot, 15 % between lots, 10 % between varieties, 30 % between growers
FINISHED, NEXT, VARIETIES, SIZES, LOOK_DAYS = 8, 4, 3, (6, 12, 24), 4
CHANCES = (0.1, 0.5, 0.9)
_DAY = date(2027, 1, 5)
_DURATION = rule_with(RULE)
_GRID = {"low": -3.0, "high": 3.0, "step": 0.02}


@dataclass
class Score:
    """How one way of forecasting did: errors of the likely day, whether the 80 % band held it, its width [days].

    A lot without a forecast is one that no band held; of its error and width nothing can be said.
    """

    errors: list[float] = field(default_factory=list)
    inside: list[bool] = field(default_factory=list)
    widths: list[float] = field(default_factory=list)

    def add(self, early: float, likely: float, late: float, truth: float) -> None:
        self.errors.append(abs(likely - truth))
        self.inside.append(early <= truth <= late)
        self.widths.append(late - early)

    @property
    def error(self) -> float:
        return float(np.nanmean(self.errors))

    @property
    def covered(self) -> float:
        return float(np.mean(self.inside))

    @property
    def width(self) -> float:
        return float(np.nanmean(self.widths))


@dataclass
class Shed:
    """A drawn grower."""

    rng: np.random.Generator
    truth: Spreads
    offset: float
    varieties: Array

    def lot(self) -> tuple[int, int, float]:
        """A lot's variety, its size and the days to its first root."""
        variety, of = int(self.rng.integers(VARIETIES)), int(self.rng.choice(SIZES))
        offset = self.varieties[variety] + self.rng.normal(0, self.truth.lots)
        return variety, of, MEDIAN_DAYS * math.exp(offset + self.truth.within * self.rng.normal(size=of).min())


def shed(rng: np.random.Generator, truth: Spreads) -> Shed:
    offset = rng.normal(0, truth.growers)
    return Shed(rng, truth, offset, offset + rng.normal(0, truth.varieties, VARIETIES))


def seen_at_a_look(lot: str, variety: int, of: int, days: float) -> Timing:
    """The first root, found at the first look after it came."""
    look = math.ceil(days / LOOK_DAYS) * LOOK_DAYS
    low = math.log((look - LOOK_DAYS) / MEDIAN_DAYS) if look > LOOK_DAYS else -math.inf
    return Timing(lot=lot, variety=str(variety), low=low, high=math.log(look / MEDIAN_DAYS), of=of)


def forecast(offset: Normal | None, of: int, rule: Duration = _DURATION) -> tuple[float, float, float]:
    """Early, likely and late days as the program gives them, before they are rounded to dates."""
    comes = arrival(believed(rule, 1.0, offset), of, None, plain_days(_DAY), _DAY)
    early, likely, late = (comes.counted(chance) for chance in CHANCES)
    return early, likely, late


class ExactForecast:
    """Early, likely and late days by the exact posterior, on a grid of offsets and times."""

    def __init__(self) -> None:
        self.grid = Exact([], RULE, **_GRID).grid
        self.times = self.grid[::2]
        away = (self.grid[None, :] - self.times[:, None]) / RULE.within
        self.come = {of: 1 - np.exp(of * log_ndtr(away)) for of in SIZES}

    def __call__(self, density: Array, of: int) -> tuple[float, float, float]:
        come = self.come[of] @ density
        early, likely, late = (MEDIAN_DAYS * math.exp(np.interp(chance, come, self.times)) for chance in CHANCES)
        return early, likely, late


def simulate(nurseries: int, truth: Spreads = RULE, seed: int = 5) -> dict[str, Score]:
    """Scores of each way of forecasting, over four next lots of each nursery."""
    rng, exactly, knows = np.random.default_rng(seed), ExactForecast(), rule_with(truth)
    scores = {name: Score() for name in ("rule alone", "learned", "exact posterior", "oracle")}
    for _ in range(nurseries):
        grower = shed(rng, truth)
        timings = [seen_at_a_look(str(number), *grower.lot()) for number in range(FINISHED)]
        learned, exact = learn(timings, _DURATION), Exact(timings, RULE, **_GRID)
        densities = {variety: exact.next_lot(str(variety)) for variety in range(VARIETIES)}
        for _ in range(NEXT):
            variety, of, days = grower.lot()
            scores["rule alone"].add(*forecast(None, of), days)
            scores["learned"].add(*forecast(learned.offset("next", str(variety)), of), days)
            scores["exact posterior"].add(*exactly(densities[variety], of), days)
            offset = Normal(mean=float(grower.varieties[variety]), var=truth.lots**2)
            scores["oracle"].add(*forecast(offset, of, knows), days)
    return scores


@dataclass(frozen=True)
class Season:
    """A season in progress: by how much the forecast of the next lot is off on average [share of its days].

    Args:
        with_waiting: with the lots that still wait
        finished_only: by the finished lots alone
        still_waiting: what share of all lots that is
    """

    with_waiting: float
    finished_only: float
    still_waiting: float


def season_in_progress(nurseries: int, seed: int = 6, lots: int = 12, stuck_over: int = 24, today: int = 26) -> Season:
    """Lots stuck on different days, learned from on one day: those slow so far have told only that they are."""
    rng = np.random.default_rng(seed)
    both: list[float] = []
    finished_only: list[float] = []
    waiting = 0
    for _ in range(nurseries):
        grower = shed(rng, RULE)
        timings = []
        for number in range(lots):
            variety, of, days = grower.lot()
            looked = (today - int(rng.integers(stuck_over))) // LOOK_DAYS * LOOK_DAYS
            if days <= looked:
                timings.append(seen_at_a_look(str(number), variety, of, days))
            elif looked:
                # As the program has it: no wait counts beyond the day by which nine lots in ten show it.
                waited = min(float(looked), forecast(None, of)[2])
                timings.append(
                    Timing(
                        lot=str(number), variety=str(variety), low=math.log(waited / MEDIAN_DAYS), high=math.inf, of=of
                    )
                )
        done = [timing for timing in timings if timing.finished]
        waiting += len(timings) - len(done)
        both.append(learn(timings, _DURATION).grower.mean - grower.offset)
        finished_only.append(learn(done, _DURATION).grower.mean - grower.offset)
    return Season(float(np.mean(both)), float(np.mean(finished_only)), waiting / (nurseries * lots))


def times(spreads: Spreads, factor: float) -> Spreads:
    """All spreads times a factor."""
    return Spreads(*(factor * each for each in (spreads.within, spreads.lots, spreads.varieties, spreads.growers)))


def main(nurseries: int) -> None:
    lots = nurseries * (FINISHED + NEXT)
    print(f"{nurseries} nurseries, {lots} lots, {nurseries * NEXT} forecasts after {FINISHED} finished lots; days")
    for name, factor in (("as the rule says", 1.0), ("half the rule's", 0.5), ("double the rule's", 2.0)):
        scores = simulate(nurseries, times(RULE, factor))
        print(f"spreads {name}:")
        for way, score in scores.items():
            print(
                f"  {way:16} error {score.error:5.2f}  80 % band holds {score.covered:6.1%}  width {score.width:5.1f}"
            )
        ratios = (scores["learned"].error / scores[way].error for way in ("exact posterior", "oracle"))
        print("  learned to exact posterior {:.4f}, to oracle {:.3f}".format(*ratios))
    season = season_in_progress(nurseries)
    print(
        f"season in progress, {season.still_waiting:.0%} of lots waiting: the grower's offset is off by "
        f"{season.with_waiting:+.1%} on average, by {season.finished_only:+.1%} without the waiting lots"
    )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 2500)
