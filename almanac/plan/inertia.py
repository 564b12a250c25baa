"""How far off a published day may be before it moves: the one rule by which a calendar stays still. Pure.

A day that was told stays while it is good enough: inside its own window, and off by no more than a quarter of its 80 %
band, three days at least; where it comes within a week, by no more than one day. Instead of the nearest day each
morning: forecasts move by a day or two at every look, and people stop reading a calendar that moves as often. The
forecast itself is shown by `why`, lots and page. What waits for an act that is late stays while that act, done by now,
could still keep it (`Milestone.keeps`); of several entries that it no longer could one moves a morning, the first to
come first (`context.turns`). Only what hangs on a forecast is held: treatments, deadlines, days
away and frost move what they move at once.
"""

from __future__ import annotations

from datetime import date, timedelta

from almanac.forecast.model import Days

_SHARE, _LEAST = 0.25, timedelta(days=3)  # of the band, and at least
_SOON, _WHEN_SOON = timedelta(days=7), timedelta(days=1)


def may_be_off(published: date, band: Days | None, as_of: date) -> timedelta:
    """By how much a published day that hangs on a forecast may be off.

    Args:
        published: the day that was told
        band: the 10, 50 and 90 % days of what it hangs on
        as_of: the day it is thought of
    """
    if published - as_of <= _SOON:
        return _WHEN_SOON
    return max((band[2] - band[0]) * _SHARE, _LEAST) if band else _LEAST
