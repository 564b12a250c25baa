"""The entry that says what to mend, put into feeds that cannot be worked out at present. Pure."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date, datetime, timedelta
from hashlib import sha256
from uuid import NAMESPACE_URL, UUID, uuid5

from almanac.faults import Fact, Fault
from almanac.feed.previous import DIGEST
from almanac.feed.publish import empty_calendar, no_controls
from almanac.words.faults import in_short, told_all

ID = "files.mend"
_UID = re.compile(rb"^UID:([0-9a-f-]+)", re.MULTILINE)
_EVENT = re.compile(rb"^BEGIN:VEVENT\r\n.*?^END:VEVENT\r\n", re.DOTALL | re.MULTILINE)
_MOST = 6  # faults told in full
_HINT = "Until then this calendar is the last good one. All faults: stickdate check"


def with_trouble(
    good: bytes, faults: Sequence[Fault | Fact], day: date, since: datetime, nursery_id: str | None = None
) -> bytes:
    """A good feed with one more entry.

    Args:
        good: the feed as last written
        faults: what is wrong
        day: the day of the entry
        since: when the files were last touched, which is when the entry last changed
        nursery_id: its uuid, if the files still tell it
    """
    head, end, tail = good.rpartition(b"END:VCALENDAR")
    first = _UID.search(good)
    seed = first[1].decode() if first else ""
    uid = uid_of_trouble(nursery_id, day) if nursery_id else str(uuid5(NAMESPACE_URL, f"{seed}:{ID}:{day}"))
    return head + _entry(faults, day, since, uid) + end + tail


def feed_of_trouble(faults: Sequence[Fault | Fact], day: date, since: datetime, nursery_id: str | None = None) -> bytes:
    """A feed of that entry alone, where there never was a good one."""
    return with_trouble(empty_calendar("Stickdate"), faults, day, since, nursery_id)


def without_trouble(feed: bytes) -> bytes:
    """A feed without that entry."""
    return _EVENT.sub(lambda event: b"" if f"\nX-STICKDATE-ID:{ID}\r".encode() in event[0] else event[0], feed)


def uid_of_trouble(nursery_id: str, day: date) -> str:
    """Another each day, so that the entry of the day before goes and is not moved."""
    return str(uuid5(UUID(nursery_id), f"{ID}.{day}"))


def _entry(faults: Sequence[Fault | Fact], day: date, since: datetime, uid: str) -> bytes:
    from icalendar import Event

    event = Event()
    rest = len(faults) - _MOST
    more = [f"and {rest} more"] if rest > 0 else []
    event.add("summary", f"Calendar stands still: mend {no_controls(in_short(faults[0]))}"[:75])
    body = no_controls("\n".join(["To mend:", *told_all(faults)[:_MOST], *more, "", _HINT]))
    event.add("description", body)
    event.add("dtstart", day)
    event.add("dtend", day + timedelta(days=1))
    event.add("dtstamp", since)
    event.add("last-modified", since)
    event.add("uid", uid)
    event.add("sequence", max(int(since.timestamp()) // 60, 0))
    event.add("categories", ["Bench"])
    event.add("transp", "TRANSPARENT")
    event.add("x-stickdate-id", ID)
    event.add(DIGEST, sha256(body.encode()).hexdigest()[:16])
    written: bytes = event.to_ical()
    return written
