"""The one search by halving: over whole numbers and days, and over real numbers. Pure.

Not `bisect`, which asks of the first number too: what is known of an end need not be worked out.
"""

from __future__ import annotations

from collections.abc import Callable


def last_true(holds: Callable[[int], bool], low: int, high: int) -> int:
    """The last whole number before `high` for which something holds that holds for all before it.

    `low` where it holds for none after that; neither end is asked.
    """
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if holds(middle) else (low, middle)
    return low


def first_true(holds: Callable[[int], bool], low: int, high: int) -> int:
    """The first whole number after `low` for which something holds that holds ever after; `high` where none before."""
    return last_true(lambda number: not holds(number), low, high) + 1


def between(before: Callable[[float], bool], low: float, high: float, times: int) -> tuple[float, float]:
    """Where a condition that holds at first ceases to: that stretch of low to high, halved so many times."""
    for _ in range(times):
        middle = (low + high) / 2
        low, high = (middle, high) if before(middle) else (low, middle)
    return low, high
