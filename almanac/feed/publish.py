"""From entries and the previous file to the feeds: unchanged entries as the bytes they were, the others written anew.

`publication` is pure; `write_feeds` puts files in place whole, so that no reader ever sees half a calendar.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from almanac.disk import clear_leftovers, write_whole
from almanac.feed.entries import CATEGORY, FEEDS, Entry
from almanac.feed.previous import AS_OF, CAUTIONS, DIGEST, HOLDS, ID, Previous, Published
from almanac.plan.changes import Changes, Moved
from almanac.plan.ids import EntryId

KEPT_DAYS = 120
CHANGES = "X-STICKDATE-CHANGES"  # marks a file of changes, the only kind of file that another one may replace
_COUNTED_FROM = datetime(2025, 1, 1, tzinfo=UTC)
_CONTROL = re.compile(r"[\x00-\x08\x0b-\x1f\x7f]")
_PRODID = "-//stickdate//almanac//EN"


@dataclass(frozen=True)
class Publication:
    """The feeds as bytes; which entries are new, moved or gone, and which changed in words only.

    `for_import` holds only what changed, empty where nothing did.
    """

    feeds: dict[str, bytes]
    entries: int
    changes: Changes
    reworded: tuple[EntryId, ...]
    for_import: bytes


def publication(
    entries: Sequence[Entry], previous: Previous, name: str, nursery_id: str, now: datetime, as_of: date
) -> Publication:
    """Work out the feeds.

    Args:
        entries: what the plan asks for
        previous: what the last run wrote; entries of it that are over are kept as they are, 120 days long
        name: the nursery's name, for the calendars' names
        nursery_id: its uuid, from which the ids of entries derive
        now: the real time, aware: DTSTAMP and LAST-MODIFIED of what changes
        as_of: the day the plan was made for
    """
    kept = [
        old
        for old in previous.entries.values()
        if old.last < as_of and old.last >= as_of - timedelta(days=KEPT_DAYS) and old.id.kind != "empty"
    ]
    over = {old.id for old in kept}
    added, moved, reworded, changed = [], [], [], []
    blocks = [(old.first, old.id, old.category, old.data) for old in kept]
    for entry in entries:
        if entry.id in over:
            continue
        old = previous.entries.get(entry.id)
        if old and (old.digest == entry.digest() or entry.id.kind == "empty"):
            blocks.append((old.first, old.id, old.category, old.data))
            continue
        data = _event(entry, nursery_id, now, old)
        blocks.append((entry.day, entry.id, CATEGORY[entry.feed], data))
        changed.append(data)
        if old is None:
            added.append(entry.id)
        elif old.first != entry.day:
            moved.append(Moved(entry.id, old.first, entry.day))
        else:
            reworded.append(entry.id)
    wanted = over | {entry.id for entry in entries}
    gone = [old for old in previous.entries.values() if old.id not in wanted and old.last >= as_of]
    removed = tuple(sorted(old.id for old in gone))
    anything = bool(changed or removed)
    day = as_of if anything or previous.as_of is None else previous.as_of
    blocks.sort(key=lambda block: block[:2])
    feeds = {"everything": _calendar(name, day, [block[3] for block in blocks])}
    for feed in FEEDS:
        chosen = [block[3] for block in blocks if block[2] == CATEGORY[feed]]
        feeds[feed] = _calendar(f"{name}: {CATEGORY[feed].lower()}", None, chosen)
    cancelled = [_cancelled(old, now) for old in gone]
    return Publication(
        feeds,
        len(blocks),
        Changes(tuple(moved), tuple(added), removed),
        tuple(reworded),
        _calendar(f"{name}: changes", as_of, [*changed, *cancelled], CHANGES) if anything else b"",
    )


def _sequence(now: datetime, old: Published | None) -> int:
    """Higher than before, and than that of any earlier file that may have been lost."""
    minutes = int((now - _COUNTED_FROM).total_seconds() // 60)
    return max(minutes, old.sequence + 1 if old else 0)


def _stamp(now: datetime, old: Published | None) -> datetime:
    """The moment of a change, whole seconds in UTC: later than that of the one before, or phones pass it over."""
    stamp = now.astimezone(UTC).replace(microsecond=0)
    return max(stamp, old.modified + timedelta(seconds=1)) if old else stamp


def no_controls(text: str) -> str:
    """Without control characters, which RFC 5545 (3.3.11) forbids and a note in a spreadsheet may hold."""
    return _CONTROL.sub(" ", text.replace("\r\n", "\n"))


def _event(entry: Entry, nursery_id: str, now: datetime, old: Published | None) -> bytes:
    from icalendar import Alarm, Event

    stamp = _stamp(now, old)
    event = Event()
    event.add("summary", no_controls(entry.summary))
    event.add("dtstart", entry.start)
    event.add("dtend", entry.end)
    event.add("dtstamp", stamp)
    event.add("uid", entry.uid(nursery_id))
    event.add("sequence", _sequence(now, old))
    event.add("last-modified", stamp)
    event.add("description", no_controls(entry.description))
    event.add("categories", [CATEGORY[entry.feed]])
    event.add("transp", "TRANSPARENT")
    event.add(ID, entry.id)
    event.add(DIGEST, entry.digest())
    if entry.holds:
        event.add(HOLDS, " ".join(entry.holds))
    if entry.cautions:
        event.add(CAUTIONS, " ".join(entry.cautions))
    if entry.alarm is not None:
        alarm = Alarm()
        alarm.add("action", "DISPLAY")
        alarm.add("description", no_controls(entry.summary))
        alarm.add("trigger", entry.alarm)
        event.add_component(alarm)
    data: bytes = event.to_ical()
    return data


def _cancelled(old: Published, now: datetime) -> bytes:
    """An entry that went away, for those who import changes by hand (RFC 5545, 3.8.1.11)."""
    stamp = _stamp(now, old).strftime("%Y%m%dT%H%M%SZ").encode()
    data = re.sub(rb"^(DTSTAMP|LAST-MODIFIED):\w+", rb"\1:" + stamp, old.data, flags=re.MULTILINE)
    data = re.sub(rb"^SEQUENCE:\d+", b"SEQUENCE:%d" % _sequence(now, old), data, flags=re.MULTILINE)
    data = re.sub(rb"^BEGIN:VALARM\r\n.*?^END:VALARM\r\n", b"", data, flags=re.DOTALL | re.MULTILINE)
    return data.replace(b"BEGIN:VEVENT\r\n", b"BEGIN:VEVENT\r\nSTATUS:CANCELLED\r\n", 1)


def empty_calendar(name: str) -> bytes:
    """A calendar without an entry, to put one into."""
    return _calendar(name, None, [])


def _calendar(name: str, as_of: date | None, events: Iterable[bytes], mark: str = AS_OF) -> bytes:
    from icalendar import Calendar

    calendar = Calendar()
    calendar.add("prodid", _PRODID)
    calendar.add("version", "2.0")
    calendar.add("name", no_controls(name))
    calendar.add("x-wr-calname", no_controls(name).replace("\\", " ").replace(",", " ").replace(";", " "))
    calendar.add("refresh-interval", timedelta(hours=1), parameters={"VALUE": "DURATION"})
    calendar.add("x-published-ttl", "PT1H")
    if as_of is not None:
        calendar.add(mark, as_of.isoformat())
    whole: bytes = calendar.to_ical()
    head, _, tail = whole.partition(b"END:VCALENDAR")
    return head + b"".join(events) + b"END:VCALENDAR" + tail


def write_feeds(folder: Path, feeds: dict[str, bytes]) -> list[Path]:
    """Put each feed in place whole; the memory, `everything.ics`, last. A feed that is the same is left untouched."""
    folder.mkdir(parents=True, exist_ok=True)
    clear_leftovers(folder, [f"{name}.ics" for name in feeds])
    written = []
    for name in (*FEEDS, "everything"):
        path = folder / f"{name}.ics"
        written.append(path)
        if not path.is_file() or path.read_bytes() != feeds[name]:
            write_whole(path, feeds[name])
    return written
