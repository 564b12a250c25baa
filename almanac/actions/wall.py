"""From a reading to the months ahead as the phone will show them. Writes nothing."""

from __future__ import annotations

from datetime import datetime

from almanac.actions.look import Reading
from almanac.feed.entries import entries_of
from almanac.pictures.drawing import Drawing
from almanac.pictures.wall import Month, WallEntry, months_of, wall_pages


def months_ahead(reading: Reading, how_many: int) -> list[Month]:
    """Every entry of the feeds by month, from today's month on."""
    plan, zone = reading.plan, reading.nursery.place.zone
    windows = {task.id: task.latest for task in plan.tasks if not task.in_round and task.latest > task.due}
    entries = [
        WallEntry(
            day=entry.day,
            title=entry.summary,
            clock=entry.start.astimezone(zone).time() if isinstance(entry.start, datetime) else None,
            until=windows.get(entry.id),
            round=entry.id.kind == "round",
        )
        for entry in entries_of(plan, reading.nursery)
        if entry.id.kind != "empty"
    ]
    return months_of(entries, reading.nursery, how_many)


def wall_calendar(reading: Reading, how_many: int) -> list[Drawing]:
    """The same as pages to hang up."""
    return wall_pages(months_ahead(reading, how_many), reading.nursery)
