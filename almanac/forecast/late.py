"""Acts that were not logged on their day: when they are taken to come, and what that which follows is planned by. Pure.

Shown is that an act comes within the week. What follows does not slip with the week: until three days after the week
of the day planned nothing moves, as the act may have been done and not logged, or come in time; then all moves once by
four weeks, so that three weeks can pass in silence before it does again. Instead of slipping each Monday, which moved
a sixth of a calendar that nobody logged to.
"""

from __future__ import annotations

from datetime import date, timedelta

_GRACE, _AGAIN = timedelta(days=3), timedelta(days=28)


def end_of_week(day: date) -> date:
    """What a grower has not logged, they have not done yet; by the week, or the plan would slip a day every day."""
    return day + timedelta(days=6 - day.weekday())


def late_by(day: date, as_of: date) -> timedelta:
    """How much later than the day of an act that was not logged what follows is planned: a number of four weeks."""
    late = timedelta(0)
    while end_of_week(day + late) + _GRACE < as_of:
        late += _AGAIN
    return late
