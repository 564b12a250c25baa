"""A feed as a phone reads it: its entries, and by what the program calls each."""

from __future__ import annotations

from pathlib import Path

from icalendar import Calendar, Component


def entries_in(feed: bytes | Path) -> list[Component]:
    """The entries of a feed, in the order written."""
    return Calendar.from_ical(feed.read_bytes() if isinstance(feed, Path) else feed).walk("VEVENT")


def by_id(feed: bytes | Path) -> dict[str, Component]:
    """The same by their ids."""
    return {str(entry["X-STICKDATE-ID"]): entry for entry in entries_in(feed)}
