"""The plan as it was last written into the calendar: what the bench goes by while its own rules are at fault."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path

from almanac.actions.look import CALENDAR, previous_of
from almanac.faults import Fault, InputFaults
from almanac.feed.entry import Entry
from almanac.feed.whole import entry_of
from almanac.nursery.load import load_nursery
from almanac.nursery.nursery import Nursery
from almanac.plain import dataclass


@dataclass(frozen=True, kw_only=True)
class LastPlan:
    """What was written last, and why nothing newer can be.

    `entries` are all of the calendar by their day in the nursery, `written_for` the day they were last changed for.
    """

    nursery: Nursery
    entries: tuple[tuple[date, Entry], ...]
    written_for: date | None
    faults: tuple[Fault, ...]


def last_plan(folder: Path, now: datetime, as_of: date | None = None) -> LastPlan | None:
    """The last plan of a nursery whose own rules are at fault; None where they are not, or more is at fault."""
    try:
        nursery = load_nursery(folder, now, as_of, whatever_rules=True)
    except InputFaults:
        return None
    if not nursery.rules_wrong:
        return None
    previous = previous_of(nursery, folder / CALENDAR)
    there = ((each.first, entry_of(each.data)) for each in previous.entries.values())
    entries = sorted(((day, found[0]) for day, found in there if found), key=lambda each: (each[0], each[1].id))
    return LastPlan(
        nursery=nursery,
        entries=tuple(entries),
        written_for=previous.as_of,
        faults=InputFaults(nursery.rules_wrong).faults,
    )
