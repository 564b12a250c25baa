"""What twelve values, one a month, come to on a day. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta


def on_day(by_month: Sequence[float], day: date) -> float:
    """The value of a day, on a straight line from the middle of one month to that of the next; January first."""
    middle = day.replace(day=15)
    earlier = middle if day >= middle else (middle.replace(day=1) - timedelta(days=1)).replace(day=15)
    later = (earlier.replace(day=28) + timedelta(days=4)).replace(day=15)
    part = (day - earlier) / (later - earlier)
    return by_month[earlier.month - 1] * (1 - part) + by_month[later.month - 1] * part
