"""Grower, varieties and lots on a fine grid: what timings say of each, by SciPy's normal alone. For tests.

Exact but for the grid, and sharing no line with the program: each lot's likelihood is carried up to its variety and its
grower, and down again to the next lot, by the transition of a normal with the spread of that level.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.special import log_ndtr, ndtr

from almanac.forecast.timing import Timing
from almanac.rulebook.models import Duration
from tests.documents import read

Array = NDArray[np.float64]
MEDIAN_DAYS = 22.0  # made up, as are the spreads


@dataclass(frozen=True)
class Spreads:
    """Standard deviations of the log of days: within a lot, and between lots, varieties and growers."""

    within: float = 0.2
    lots: float = 0.15
    varieties: float = 0.1
    growers: float = 0.3


def rule_with(spreads: Spreads) -> Duration:
    """The rule that says the same."""
    found = {
        "median": f"{MEDIAN_DAYS:g} d",
        "spread": spreads.within,
        "between_lots": spreads.lots,
        "between_varieties": spreads.varieties,
        "between_growers": spreads.growers,
        "source": "made up",
    }
    return read(Duration, found)


class Exact:
    """What is believed after some timings. `low` and `high` are the ends of the grid [log days]."""

    def __init__(
        self, timings: Sequence[Timing], spreads: Spreads, low: float = -2.5, high: float = 2.5, step: float = 0.01
    ) -> None:
        self.grid = grid_of(low, high, step)
        self._to_lot = transition(low, high, step, spreads.lots)
        self._to_variety = transition(low, high, step, spreads.varieties)
        self._prior = np.exp(-(self.grid**2) / (2 * spreads.growers**2))
        self._said: dict[str, Array] = {}
        for timing in timings:
            of_lot = likelihood(timing, self.grid, spreads.within) @ self._to_lot
            said = self._said.get(timing.variety, np.ones_like(self.grid)) * of_lot
            self._said[timing.variety] = said / said.max()

    def grower(self, without: str = "") -> Array:
        """The density of the grower's offset, leaving out one variety's lots if wanted."""
        found = self._prior.copy()
        for name, said in self._said.items():
            if name != without:
                found = found * (said @ self._to_variety)
        return normed(found)

    def variety(self, name: str) -> Array:
        """The density of a variety's offset, also of one never met."""
        said = self._said.get(name)
        came_down = self._to_variety @ self.grower(without=name)
        return normed(came_down if said is None else came_down * said)

    def next_lot(self, variety: str) -> Array:
        """The density of the offset of the next lot of a variety."""
        return normed(self._to_lot @ self.variety(variety))

    def moments(self, density: Array) -> tuple[float, float]:
        """Mean and standard deviation of an offset."""
        mean = float(density @ self.grid)
        return mean, math.sqrt(float(density @ (self.grid - mean) ** 2))


def grid_of(low: float, high: float, step: float) -> Array:
    return np.arange(low, high + step / 2, step)


@lru_cache(maxsize=8)
def transition(low: float, high: float, step: float, spread: float) -> Array:
    """From an offset to one that differs from it by a normal; column by column it sums to one."""
    grid = grid_of(low, high, step)
    if spread == 0:
        return np.eye(len(grid))
    found = np.exp(-((grid[:, None] - grid[None, :]) ** 2) / (2 * spread**2))
    return found * step / (spread * math.sqrt(2 * math.pi))


def normed(density: Array) -> Array:
    found: Array = density / density.sum()
    return found


def likelihood(timing: Timing, offset: Array, within: float) -> Array:
    """How likely what was seen is at each offset, its highest set to 1."""
    low, high, of = (timing.low - offset) / within, (timing.high - offset) / within, timing.of
    with np.errstate(divide="ignore"):
        if timing.low == timing.high:  # the density of a minimum
            found = -low * low / 2 + (of - 1) * log_ndtr(-low)
        elif timing.count is not None:  # so many of them in between, the others later
            between = np.where(low > 0, ndtr(-low) - ndtr(-high), ndtr(high) - ndtr(low))
            found = timing.count * np.log(between) + (of - timing.count) * log_ndtr(-high)
        else:  # the survival of a minimum at the one less that at the other
            before, after = of * log_ndtr(-low), of * log_ndtr(-high)
            found = before + np.log(-np.expm1(after - before))
    scaled: Array = np.exp(found - found.max())
    return scaled


def predicted(density: Array, grid: Array, of: int, within: float, chances: Sequence[float]) -> list[float]:
    """Quantiles of the time of the first of some cuttings of a lot, given a density of its offset [log days]."""
    times = grid[::2]
    come = 1 - np.exp(of * log_ndtr((grid[None, :] - times[:, None]) / within)) @ density
    return [float(np.interp(chance, come, times)) for chance in chances]
