"""A straight line by ordinary least squares, and where it comes down to a level, with its spread. Pure.

Own code, not SciPy (see `shares`): `tests/outside/test_drying.py` holds the line against certified results of the NIST
and Student's t against SciPy.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from math import atan, cos, fsum, pi, sin, sqrt

from almanac.halving import between
from almanac.plain import dataclass

Point = tuple[float, float]


@dataclass(frozen=True, kw_only=True)
class FittedLine:
    """A fitted line `y = mean_y + slope * (x - mean_x)`.

    `scatter` is the residual standard deviation, `sxx` the sum of squares of x about its mean, `free` how many degrees
    of freedom are left.
    """

    slope: float
    mean_x: float
    mean_y: float
    scatter: float
    sxx: float
    free: int

    @property
    def intercept(self) -> float:
        return self.mean_y - self.slope * self.mean_x

    @property
    def slope_error(self) -> float:
        """Standard error of the slope."""
        return self.scatter / sqrt(self.sxx)

    def error_at(self, x: float) -> float:
        """Standard error of the line's height at x."""
        return self.scatter * sqrt(1 / (self.free + 2) + (x - self.mean_x) ** 2 / self.sxx)

    def at(self, x: float) -> float:
        """The line's height at x."""
        return self.mean_y + self.slope * (x - self.mean_x)


def fitted(points: Sequence[Point]) -> FittedLine | None:
    """The line through points by ordinary least squares; None for fewer than three, or where all have the same x.

    Source: Draper & Smith 1998, Applied Regression Analysis, 3rd ed., ch. 1.
    """
    count = len(points)
    if count < 3:
        return None
    mean_x, mean_y = fsum(x for x, _ in points) / count, fsum(y for _, y in points) / count
    sxx = fsum((x - mean_x) ** 2 for x, _ in points)
    if sxx <= 0:
        return None
    slope = fsum((x - mean_x) * (y - mean_y) for x, y in points) / sxx
    squares = fsum((y - mean_y - slope * (x - mean_x)) ** 2 for x, y in points)
    return FittedLine(
        slope=slope, mean_x=mean_x, mean_y=mean_y, scatter=sqrt(squares / (count - 2)), sxx=sxx, free=count - 2
    )


def crossing(
    line: FittedLine, level: float, chance: float, share: float = 0.0, at: float | None = None
) -> tuple[float, float, float] | None:
    """Where a falling line comes down to a level.

    Args:
        line: through the points
        level: the height looked for
        chance: of lying before the early, and behind the late one (0.1 for 10 and 90 %)
        share: where the level is this share of the height of one point like those of the line (0: it is exact)
        at: that point's x, where it is one of the line's
    Returns:
        the early, the likely and the late x; None where it is not sure that the line falls at all
    """
    count = line.free + 2
    shared, lever = (0.0, 0.0) if at is None else (share, share * (at - line.mean_x) / line.sxx)
    found = _fieller(line, level - line.mean_y, 1 / count + share**2 - 2 * shared / count, lever, chance)
    return _moved(found, line.mean_x)


def crossing_share(line: FittedLine, share: float, of: float, chance: float) -> tuple[float, float, float] | None:
    """Where a falling line comes down to a share of its own height at an x; the rest as for `crossing`."""
    lost = 1 - share
    found = _fieller(line, -lost * line.mean_y, lost**2 / (line.free + 2), 0.0, chance)
    return _moved(found, share * of + lost * line.mean_x)


def _fieller(
    line: FittedLine, drop: float, fixed: float, lever: float, chance: float
) -> tuple[float, float, float] | None:
    """The u at which `slope * u` is `drop`; the difference has variance `scatter^2 (fixed + u^2/sxx - 2 lever u)`.

    It is a sum of the points, each with the same error; within t times its own error of nothing it may be nothing.

    Source:
        Fieller 1954, Journal of the Royal Statistical Society B 16:175-185; Draper & Smith 1998, section 3.2.
    """
    error = (student(1 - chance, line.free) * line.scatter) ** 2
    sure = line.slope**2 - error / line.sxx
    if line.slope >= 0 or sure <= 0:
        return None
    half = line.slope * drop - error * lever
    root = sqrt(max(half**2 - sure * (drop**2 - error * fixed), 0.0))
    likely = drop / line.slope
    return min((half - root) / sure, likely), likely, max((half + root) / sure, likely)


def _moved(found: tuple[float, float, float] | None, by: float) -> tuple[float, float, float] | None:
    return (found[0] + by, found[1] + by, found[2] + by) if found else None


@lru_cache(maxsize=256)
def student(chance: float, free: int) -> float:
    """The quantile of Student's t for a chance over one half; by Abramowitz & Stegun 1964, 26.7.3 and 26.7.4."""
    low, high = 0.0, 1.0
    while _student_below(high, free) < chance:
        high *= 2
    return sum(between(lambda t: _student_below(t, free) < chance, low, high, times=80)) / 2


def _student_below(t: float, free: int) -> float:
    """The chance that Student's t is less than t [t not negative]."""
    angle = atan(t / sqrt(free))
    odd = free % 2
    term = cos(angle) if odd else 1.0
    series = term if free > 1 else 0.0
    for n in range(2 + odd, free, 2):
        term *= cos(angle) ** 2 * (n - 1) / n
        series += term
    within = (angle + sin(angle) * series) * 2 / pi if odd else sin(angle) * series
    return (1 + within) / 2
