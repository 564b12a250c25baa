"""The entry that says what to mend, put into feeds that cannot be worked out at present. Pure."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date, datetime, timedelta
from uuid import NAMESPACE_URL, uuid5

from almanac.feed.publish import empty_calendar, no_controls

ID = "files.mend"
_UID = re.compile(rb"^UID:([0-9a-f-]+)", re.MULTILINE)
_MOST = 6  # faults told in full
_HINT = "Until then this calendar is the last good one. All faults: stickdate check"


def with_trouble(good: bytes, faults: Sequence[str], day: date, since: datetime) -> bytes:
    """A good feed with one more entry.

    Args:
        good: the feed as last written
        faults: what is wrong, a line each
        day: the day of the entry
        since: when the files were last touched, which is when the entry last changed
    """
    head, end, tail = good.rpartition(b"END:VCALENDAR")
    first = _UID.search(good)
    return head + _entry(faults, day, since, first[1].decode() if first else "") + end + tail


def feed_of_trouble(faults: Sequence[str], day: date, since: datetime) -> bytes:
    """A feed of that entry alone, where there never was a good one."""
    return with_trouble(empty_calendar("Stickdate"), faults, day, since)


def _entry(faults: Sequence[str], day: date, since: datetime, seed: str) -> bytes:
    from icalendar import Event

    event = Event()
    rest = len(faults) - _MOST
    more = [f"and {rest} more"] if rest > 0 else []
    event.add("summary", f"Calendar stands still: mend {_where(faults[0])}"[:75])
    event.add("description", no_controls("\n".join(["To mend:", *faults[:_MOST], *more, "", _HINT])))
    event.add("dtstart", day)
    event.add("dtend", day + timedelta(days=1))
    event.add("dtstamp", since)
    event.add("last-modified", since)
    event.add("uid", str(uuid5(NAMESPACE_URL, f"{seed}:{ID}:{day}")))
    event.add("sequence", max(int(since.timestamp()) // 60, 0))
    event.add("categories", ["Bench"])
    event.add("transp", "TRANSPARENT")
    event.add("x-stickdate-id", ID)
    written: bytes = event.to_ical()
    return written


def _where(fault: str) -> str:
    """`logbook.csv:41` of `logbook.csv:41: 'lefs' is not an event`."""
    return no_controls(fault.partition(": ")[0])
