"""From a nursery's folder to its plan, with what was published before."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path

from almanac.feed.previous import Previous, read_previous
from almanac.nursery.load import load_nursery
from almanac.nursery.nursery import Nursery
from almanac.plain import dataclass
from almanac.plan.build import build_plan
from almanac.plan.model import Plan

CALENDAR = "calendar"
NAMES = ("everything", "bench", "seasons", "sales")


@dataclass(frozen=True)
class Reading:
    """A nursery, its plan, and the calendar an earlier run left."""

    nursery: Nursery
    previous: Previous
    plan: Plan


def look(folder: Path, now: datetime, as_of: date | None = None, calendar: Path | None = None) -> Reading:
    """Read and plan; write nothing.

    Args:
        calendar: where earlier runs left their feeds; the nursery's own `calendar/` if not said
    Raises:
        InputFaults, Refusal: as `load_nursery`
    """
    return plan_of(load_nursery(folder, now, as_of), calendar)


def plan_of(nursery: Nursery, calendar: Path | None = None, handed: Iterable[bytes] = ()) -> Reading:
    """The plan of a nursery that is loaded already; `handed` are feeds as others have them."""
    previous = previous_of(nursery, calendar or nursery.folder / CALENDAR, handed)
    return _read(nursery, previous)


def previous_of(nursery: Nursery, calendar: Path, handed: Iterable[bytes] = ()) -> Previous:
    """The calendar an earlier run left in a folder, or as others have it."""
    memory, *copies = _feeds(calendar)
    return read_previous(memory, nursery.place.zone, nursery.settings.nursery.id, (*copies, *handed))


def plan_again(nursery: Nursery, before: Reading) -> Reading:
    """The plan of a nursery that has changed since it was read, its calendar not yet."""
    return _read(nursery, before.previous)


def _read(nursery: Nursery, previous: Previous) -> Reading:
    """The plan, and the nursery as it knows it: what was planned and never stuck is over."""
    plan = build_plan(nursery, previous.past(nursery.as_of))
    seen = replace(nursery, stock=replace(nursery.stock, over=plan.over)) if plan.over else nursery
    return Reading(seen, previous, plan)


def _feeds(folder: Path) -> list[bytes]:
    """The feeds an earlier run left, the memory first; empty where there is none."""
    paths = [folder / f"{name}.ics" for name in NAMES]
    return [path.read_bytes() if path.is_file() else b"" for path in paths]
