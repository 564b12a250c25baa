"""From the weighings of a lot to the day by which a share of its water is gone, or why that cannot be said. Pure.

A run is what was weighed since one watering. The full weight of a run is its heaviest weighing, as a rule the first, or
what the line says of the day of the watering where that came later: so bag, pot, mix and plant need not be weighed dry,
and whatever the scale's unit, the day is the same.

Half of the available water is gone at a share of the *full* weight. Instead of grams of water from the volume of the
mix: nobody tells how big the bag is, and a share holds for any pot, scale and unit. The line is ordinary least squares,
its window Fieller's 10 to 90 % with the full weight's own error in it (`straight`), cut where too much would be gone. A
line that does not fall for sure, a weighing off all others, or one too light for anything alive gives no day: a wrong
date would be worse than lifting the bag. Rates of earlier runs only date the next weighing, as leaves grow between
them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta
from math import floor, sqrt
from typing import Literal

from almanac.forecast.straight import FittedLine, crossing, crossing_share, fitted
from almanac.nursery.lots import Weighing
from almanac.plain import dataclass
from almanac.rulebook.programmes.watering import Water, Watering

_CHANCE = 0.1  # early and late days are those of 10 and 90 %, as of every forecast
_SLIP = 4.0  # standard errors of prediction by which a weighing misses the line of all others
_NEXT_TO_NOTHING = 1e-6  # of a day: what rounding alone may take from a whole day
_DAY = timedelta(days=1)

# Why no day is given: too few weighings; no weight lost for sure; one off the line of all others; one lighter than
# anything alive; so slow that the day is too far; weighed too long ago.
Doubt = Literal["few", "unsure", "odd", "impossible", "slow", "stale"]


@dataclass(frozen=True, kw_only=True)
class Drying:
    """What the weighings since the last watering say.

    `began` is the day of that watering (or new mix), `rose` the weighing that it was told by where nobody logged it.
    `used` are those in `line` (grams by days since the first of them), `full` the full weight (`full_on` the day where
    the line says it, and nobody weighed), `target` the weight at which to water [g], `days` the early, likely and late
    days of that. Without `days` there is a `doubt`, and `odd` is the weighing it is about. `rate` is what the run
    before this one lost [g/d], as a first guess.
    """

    began: date
    weighings: tuple[Weighing, ...] = ()
    rose: Weighing | None = None
    used: tuple[Weighing, ...] = ()
    line: FittedLine | None = None
    full: float = 0.0
    full_on: date | None = None
    target: float = 0.0
    days: tuple[date, date, date] | None = None
    doubt: Doubt | None = None
    odd: Weighing | None = None
    rate: float | None = None

    @property
    def last(self) -> Weighing | None:
        return self.weighings[-1] if self.weighings else None


@dataclass
class _Run:
    began: date
    weighings: list[Weighing]
    rose: bool


def drying(
    weighings: Sequence[Weighing], began: date, drinks_from: date, water: Water, rules: Watering, as_of: date
) -> Drying:
    """What a lot's weighings say.

    Args:
        weighings: those of its bags, or of its pots, by day
        began: the day from which its water counts, as logged
        drinks_from: the day from which it can draw any; what was weighed before says nothing of how fast
        water: of its bags, or of its pots
        rules: how many weighings make a line, and the like
        as_of: today, past which weighings grow stale
    """
    runs = _runs(weighings, rules.rise)
    if not runs or (began > runs[-1].began and not _same_watering(runs[-1], began)):
        runs.append(_Run(began, [], rose=False))
    run = runs[-1]
    found = _of_run(run, drinks_from, water, rules)
    if found.doubt == "few":
        found = replace(found, rate=_rate_before(runs[:-1], drinks_from, rules))
    newest = max([item.day for item in weighings] + ([found.days[2]] if found.days else []), default=began)
    return replace(found, doubt="stale", days=None) if as_of - newest > _days(rules.stale) else found


def _days(number: float) -> timedelta:
    return timedelta(days=round(number))


def _runs(weighings: Sequence[Weighing], rise: float) -> list[_Run]:
    """Weighings from one watering to the next, whether it was logged or the weight rose by more than noise."""
    runs: list[_Run] = []
    for item in weighings:
        run = runs[-1] if runs else None
        if run is None or (item.run > run.weighings[-1].run and not _same_watering(run, item.run)):
            runs.append(_Run(item.run, [item], rose=False))
        elif item.grams > run.weighings[-1].grams * (1 + rise):
            runs.append(_Run(item.day, [item], rose=True))
        else:
            run.weighings.append(item)
    return runs


def _same_watering(run: _Run, logged: date) -> bool:
    """Whether a watering logged after a weighing is the one that this weighing, by its rise, told the same day."""
    return run.rose and run.began == logged


def _of_run(run: _Run, drinks_from: date, water: Water, rules: Watering) -> Drying:
    items = tuple(run.weighings)
    found = Drying(began=run.began, weighings=items, rose=items[0] if run.rose else None, doubt="few")
    if not items:
        return found
    heaviest = max(items, key=lambda item: item.grams)  # the first such
    drinking = tuple(item for item in items if item.day >= drinks_from)
    drawn = tuple(item for item in items[items.index(heaviest) :] if item.day >= drinks_from)
    used, full = drawn[-rules.last :], heaviest.grams
    line, gap = _line(used), heaviest.day - run.began
    full_on: date | None = None
    if line and line.slope < 0 and run.began >= drinks_from and timedelta(0) < gap <= _days(rules.back):
        full, full_on = line.at((run.began - used[0].day).days), run.began
    found = replace(found, full=full, full_on=full_on, target=water.weighs(full, water.gone), used=used)
    light = next((item for item in items if item.grams < found.full * water.driest), None)
    if light:
        return replace(found, doubt="impossible", odd=light)
    if line is None or len(drawn) < rules.least:
        return replace(found, doubt="unsure") if len(drinking) >= rules.least else found
    odd = _odd(drawn, rules.rise * heaviest.grams)
    if odd:
        return replace(found, doubt="odd", odd=odd)
    return _dated(replace(found, line=line), line, water, rules)


def _dated(found: Drying, line: FittedLine, water: Water, rules: Watering) -> Drying:
    """The days on which the line comes down to the target."""
    first, last = found.used[0].day, found.used[-1].day
    reached = _reached(found, line, found.target / found.full)
    if reached is None:
        return replace(found, doubt="unsure")
    horizon = (last - first).days + round(rules.ahead)
    if reached[1] > horizon:
        return replace(found, doubt="slow")
    at_most = (water.weighs(found.full, water.gone_at_most) - line.intercept) / line.slope
    ends = reached[0], reached[1], max(reached[1], min(reached[2], at_most))
    early, likely, late = (max(first + _DAY * floor(min(end, horizon) + _NEXT_TO_NOTHING), last) for end in ends)
    return replace(found, days=(early, likely, late), doubt=None)


def _reached(found: Drying, line: FittedLine, share: float) -> tuple[float, float, float] | None:
    """When a share of the full weight is left, in days since the first weighing of the line."""
    first = found.used[0]
    if found.full_on:
        return crossing_share(line, share, (found.full_on - first.day).days, _CHANCE)
    of_line = 0.0 if first.grams == found.full else None  # the full weight is the first of the line, or from before
    return crossing(line, found.target, _CHANCE, share, of_line)


def _line(items: Sequence[Weighing]) -> FittedLine | None:
    return fitted([((item.day - items[0].day).days, item.grams) for item in items])


def _odd(items: Sequence[Weighing], slip: float) -> Weighing | None:
    """The weighing farthest off the line of all others, if that is more than a slip and than they scatter."""
    found = []
    for number, item in enumerate(items):
        line = _line([*items[:number], *items[number + 1 :]])
        if line is None:
            continue
        start = items[1].day if number == 0 else items[0].day
        x = (item.day - start).days
        off = abs(item.grams - line.at(x))
        if off > slip and off > _SLIP * sqrt(line.scatter**2 + line.error_at(x) ** 2):
            found.append((off, item))
    return max(found, key=lambda pair: pair[0])[1] if found else None


def _rate_before(runs: Sequence[_Run], drinks_from: date, rules: Watering) -> float | None:
    """What was lost a day in the last run before this one whose weighings say it."""
    for run in reversed(runs):
        items = [item for item in run.weighings if item.day >= drinks_from][-rules.last :]
        line = _line(items)
        if line and line.slope < 0 and len(items) >= rules.least:
            return -line.slope
    return None
