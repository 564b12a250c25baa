"""Acts that were not logged on their day: when they are taken to come, and what that which follows is planned by. Pure.

Shown is that an act comes within the week. What follows does not slip with the week: it stays until the act, done by
now, could no longer keep it; by now is up to a week ago, as it may have been done and not logged. Then it moves once,
by four weeks, so that three weeks can pass in silence before it does again; each kind of act on mornings of its own, as
all would else move on one and on the same four weeks later. Instead of slipping each Monday, which
moved a sixth of a calendar that nobody logged to.
"""

from __future__ import annotations

from datetime import date, timedelta

GRACE, AGAIN = timedelta(days=7), timedelta(days=28)

_KINDS = ("stuck", "potted", "set_out", "outdoors")


def turn(act: str, as_of: date) -> date:
    """The last morning, a day's own among them, on which what waits for a kind of act may move."""
    kind = _KINDS.index(act) if act in _KINDS else 0
    return as_of - timedelta(days=(as_of.toordinal() - kind) % len(_KINDS))


def end_of_week(day: date) -> date:
    """What a grower has not logged, they have not done yet; by the week, or the plan would slip a day every day."""
    return day + timedelta(days=6 - day.weekday())


def late_by(day: date, as_of: date) -> timedelta:
    """How much later than the day of an act that was not logged it is planned: a number of four weeks."""
    late = timedelta(0)
    while day + late + GRACE < as_of:
        late += AGAIN
    return late
