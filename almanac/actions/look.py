"""From a nursery's folder to its plan, with what was published before."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path

from almanac.feed.previous import Previous, read_previous
from almanac.nursery.load import load_nursery
from almanac.nursery.nursery import Nursery
from almanac.plan.build import build_plan
from almanac.plan.model import Plan

CALENDAR = "calendar"


@dataclass(frozen=True)
class Reading:
    """A nursery, its plan, and the calendar an earlier run left."""

    nursery: Nursery
    previous: Previous
    plan: Plan


def look(folder: Path, now: datetime, as_of: date | None = None, calendar: Path | None = None) -> Reading:
    """Read and plan; write nothing.

    Args:
        folder: the nursery's
        now: the real time, aware
        as_of: the day to stand for today
        calendar: where earlier runs left their feeds; the nursery's own `calendar/` if not said
    Raises:
        InputFaults, Refusal: as `load_nursery`
    """
    return plan_of(load_nursery(folder, now, as_of), calendar)


def plan_of(nursery: Nursery, calendar: Path | None = None) -> Reading:
    """The plan of a nursery that is loaded already."""
    file = (calendar or nursery.folder / CALENDAR) / "everything.ics"
    previous = read_previous(file.read_bytes() if file.is_file() else b"", nursery.place.zone)
    return Reading(nursery, previous, build_plan(nursery, previous.past(nursery.as_of)))


def plan_again(nursery: Nursery, before: Reading) -> Reading:
    """The plan of a nursery that has changed since it was read, its calendar not yet."""
    return Reading(nursery, before.previous, build_plan(nursery, before.previous.past(nursery.as_of)))
