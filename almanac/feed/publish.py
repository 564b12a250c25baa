"""From entries and the previous file to the feeds: unchanged entries as the bytes they were, the others written anew.

`publication` is pure; `write_feeds` puts files in place whole, so that no reader ever sees half a calendar.

No stamp falls, and no byte handed out changes without one. SEQUENCE counts seconds, so the clock alone is above what a
lost file had; of an entry that several copies hold the newest counts. A whole folder put back where no copy is at hand
cannot be seen: `calendar --renew` is for that. Links are bytes of their entry, to one address: that of the settings,
else of the last `serve`, remembered in the head of `everything.ics`, which is taken off what is handed out.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import field
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from almanac.disk import clear_leftovers, write_whole
from almanac.feed.entry import CATEGORY, FEEDS, Entry, plain
from almanac.feed.previous import AS_OF, CAUTIONS, PAGE, Previous, Published
from almanac.feed.whole import DIGEST, HOLDS, ID, unescaped, unfolded
from almanac.plain import dataclass
from almanac.plan.changes import Changes, Moved
from almanac.plan.ids import EntryId

KEPT_DAYS = 120
CHANGES = "X-STICKDATE-CHANGES"  # marks a file of changes, the only kind of file that another one may replace
_UNESCAPED_SOMEWHERE = str.maketrans("\\,;", "   ")  # not all programs take the escapes of a calendar's older name back
_COUNTED_FROM = datetime(2025, 1, 1, tzinfo=UTC)
_ASK_AGAIN = "REFRESH-INTERVAL;VALUE=DURATION"
_HEAD = {
    "BEGIN": "VCALENDAR",
    "PRODID": "-//stickdate//almanac//EN",
    "VERSION": "2.0",
    _ASK_AGAIN: "PT1H",
    "X-PUBLISHED-TTL": "PT1H",
}
# No folded line starts like these. What is memory alone would make every entry new to a synchroniser that copies the
# head of a feed into each of its items.
_MEMORY = re.compile(rf"^(?:{AS_OF}|{PAGE}):.*\r\n(?:[ \t].*\r\n)*".encode(), re.MULTILINE)
_LINK = re.compile(rb"^URL:.*\r\n", re.MULTILINE)


@dataclass(frozen=True, kw_only=True)
class Publication:
    """The feeds as bytes; which entries are new, moved or gone, and which changed in words only.

    `for_import` holds only what changed, empty where nothing did; `titles` are those of what is new, moved or gone.
    """

    feeds: Mapping[str, bytes]
    entries: int
    changes: Changes
    reworded: tuple[EntryId, ...]
    for_import: bytes
    titles: Mapping[EntryId, str] = field(default_factory=dict)


def publication(
    entries: Sequence[Entry],
    previous: Previous,
    name: str,
    nursery_id: str,
    now: datetime,
    as_of: date,
    *,
    page: str = "",
    renew: bool = False,
) -> Publication:
    """Work out the feeds.

    Args:
        entries: what the plan asks for
        previous: what the last run wrote; entries of it that are over are kept as they are, 120 days long
        name: the nursery's name, for the calendars' names
        nursery_id: its uuid, from which the ids of entries derive
        now: the real time, aware: DTSTAMP and LAST-MODIFIED of what changes
        as_of: the day the plan was made for
        page: the address of the bench page that entries lead to, to be remembered
        renew: give every entry a new stamp, those that are over too
    """
    over = _over(previous, as_of)
    written = list(_in_feeds(entries, over, previous, nursery_id, now, renew=renew))
    wanted = over.keys() | {entry.id for entry in entries}
    gone = [each for each in previous.entries.values() if each.id not in wanted and each.first >= as_of]
    changed = [each.data for each in written if each.anew] + [_cancelled(each, now) for each in gone]
    day = as_of if changed or previous.as_of is None else previous.as_of
    in_order = sorted(written, key=lambda each: (each.day, each.id))
    memory = {AS_OF: day.isoformat(), PAGE: page}
    return Publication(
        feeds=feeds_of([(each.category, each.data) for each in in_order], name, memory, previous.heads),
        entries=len(written),
        changes=_changes(written, gone),
        reworded=tuple(each.id for each in written if each.anew and each.before and each.before.first == each.day),
        for_import=_calendar(f"{name}: changes", changed, {CHANGES: as_of.isoformat()}) if changed else b"",
        titles={each.id: unescaped(each.summary) for each in gone} | {entry.id: entry.summary for entry in entries},
    )


@dataclass(frozen=True, kw_only=True)
class _Written:
    """An entry as it goes into the feeds, and what stood there `before`; `anew` says that its bytes changed."""

    id: EntryId
    day: date
    category: str
    data: bytes
    before: Published | None
    anew: bool


def _over(previous: Previous, as_of: date) -> dict[EntryId, Published]:
    """The entries that are over, and still kept."""
    first = as_of - timedelta(days=KEPT_DAYS)
    every = previous.entries.values()
    return {each.id: each for each in every if first <= each.first < as_of and each.id.kind != "empty"}


def _in_feeds(
    entries: Sequence[Entry],
    over: Mapping[EntryId, Published],
    previous: Previous,
    nursery_id: str,
    now: datetime,
    *,
    renew: bool,
) -> Iterator[_Written]:
    """What is over as it was, then each entry asked for: as it was where it says the same, else written anew."""
    for old in over.values():
        yield _carried(old, now, renew=renew)
    for entry in (each for each in entries if each.id not in over):
        before = previous.entries.get(entry.id)
        if before and ((before.digest, before.url) == (entry.digest(), entry.url) or entry.id.kind == "empty"):
            yield _carried(before, now, renew=renew)
        else:
            data = event(entry, entry.uid(nursery_id), now, before)
            kind = CATEGORY[entry.feed]
            yield _Written(id=entry.id, day=entry.day, category=kind, data=data, before=before, anew=True)


def _changes(written: Sequence[_Written], gone: Sequence[Published]) -> Changes:
    stood = [(each, each.before) for each in written if each.before]
    moved = [Moved(id=each.id, before=old.first, after=each.day) for each, old in stood if old.first != each.day]
    added = tuple(each.id for each in written if each.before is None)
    return Changes(moved=tuple(moved), added=added, removed=tuple(sorted(each.id for each in gone)))


def _carried(old: Published, now: datetime, *, renew: bool) -> _Written:
    """An entry as it was; with a new stamp, where all are renewed."""
    data = _stamped(old, now) if renew else old.data
    return _Written(id=old.id, day=old.first, category=old.category, data=data, before=old, anew=renew)


def feeds_of(
    entries: Sequence[tuple[str, bytes]],
    name: str,
    memory: Mapping[str, str] | None = None,
    heads: Sequence[bytes] = (),
) -> dict[str, bytes]:
    """The four feeds of entries, each with its category; what is to be remembered stands in the first.

    Of `heads` that stood before the entries so far, those that still say the same are kept.
    """
    feeds = {"everything": _calendar(name, [data for _, data in entries], memory, heads)}
    for feed in FEEDS:
        chosen = [data for category, data in entries if category == CATEGORY[feed]]
        feeds[feed] = _calendar(f"{name}: {CATEGORY[feed].lower()}", chosen, heads=heads)
    return feeds


def handed_out(feed: bytes) -> bytes:
    """A feed as others get it, without what is memory alone: its bytes change with its entries' stamps and its name."""
    return _MEMORY.sub(b"", feed)


def without_links(feed: bytes) -> bytes:
    """A feed for those who may be where the bench page cannot be reached."""
    return _LINK.sub(b"", feed)


def _sequence(now: datetime, old: Published | None) -> int:
    """Higher than before, and than that of any earlier file that was lost: no entry changes twice a second."""
    return max(int((now - _COUNTED_FROM).total_seconds()), old.sequence + 1 if old else 0)


def _stamp(now: datetime, old: Published | None) -> datetime:
    """The moment of a change, whole seconds in UTC: later than that of the one before, or phones pass it over."""
    stamp = now.astimezone(UTC).replace(microsecond=0)
    return max(stamp, old.modified + timedelta(seconds=1)) if old else stamp


def event(entry: Entry, uid: str, now: datetime, old: Published | None) -> bytes:
    """An entry as bytes, newer than it was."""
    from icalendar import Alarm, Event

    stamp = _stamp(now, old)
    made = Event()
    made.add("summary", plain(entry.summary))
    made.add("dtstart", entry.start)
    made.add("dtend", entry.end)
    made.add("dtstamp", stamp)
    made.add("uid", uid)
    made.add("sequence", _sequence(now, old))
    made.add("last-modified", stamp)
    made.add("description", plain(entry.description))
    made.add("categories", [CATEGORY[entry.feed]])
    made.add("transp", "TRANSPARENT")
    if entry.url:
        made.add("url", entry.url)
    made.add(ID, entry.id)
    made.add(DIGEST, entry.digest())
    if entry.holds:
        made.add(HOLDS, " ".join(entry.holds))
    if entry.cautions:
        made.add(CAUTIONS, " ".join(entry.cautions))
    for rings in (each for each in (entry.alarm, entry.alarm_back) if each is not None):
        alarm = Alarm()
        alarm.add("action", "DISPLAY")
        alarm.add("description", plain(entry.summary))
        alarm.add("trigger", rings)
        made.add_component(alarm)
    data: bytes = made.to_ical()
    return data


def _stamped(old: Published, now: datetime) -> bytes:
    """An entry as it was, with a new stamp."""
    stamp = _stamp(now, old).strftime("%Y%m%dT%H%M%SZ").encode()
    data = re.sub(rb"^(DTSTAMP|LAST-MODIFIED):\w+", rb"\1:" + stamp, old.data, flags=re.MULTILINE)
    return re.sub(rb"^SEQUENCE:\d+", b"SEQUENCE:%d" % _sequence(now, old), data, flags=re.MULTILINE)


def _cancelled(old: Published, now: datetime) -> bytes:
    """An entry that went away, for those who import changes by hand (RFC 5545, 3.8.1.11)."""
    data = re.sub(rb"^BEGIN:VALARM\r\n.*?^END:VALARM\r\n", b"", _stamped(old, now), flags=re.DOTALL | re.MULTILINE)
    return data.replace(b"BEGIN:VEVENT\r\n", b"BEGIN:VEVENT\r\nSTATUS:CANCELLED\r\n", 1)


def _calendar(
    name: str, entries: Iterable[bytes], memory: Mapping[str, str] | None = None, heads: Iterable[bytes] = ()
) -> bytes:
    name = " ".join(plain(name).split()) or "Stickdate"
    said = _HEAD | {"NAME": name, "X-WR-CALNAME": name.translate(_UNESCAPED_SOMEWHERE)}
    said |= {key: value for key, value in (memory or {}).items() if value}
    head = next((head for head in heads if _says(head) == said), None) or _head(said)
    return head + b"".join(entries) + b"END:VCALENDAR\r\n"


def _head(said: Mapping[str, str]) -> bytes:
    from icalendar import Calendar, vText  # a morning on which no head changes does without

    calendar = Calendar()
    for name, value in said.items():
        if name == _ASK_AGAIN:
            calendar.add("refresh-interval", timedelta(hours=1), {"VALUE": "DURATION"})
        elif name != "BEGIN":
            calendar.add(name, vText(value) if name == "NAME" else value)
    head: bytes = calendar.to_ical()
    return head.removesuffix(b"END:VCALENDAR\r\n")


def _says(head: bytes) -> dict[str, str]:
    """Property by property; nothing where a line is no property of ours, or stands there twice."""
    lines = [line.partition(":") for line in unfolded(head).splitlines()]
    said = {name: value for name, _, value in lines}
    try:
        return said | {"NAME": unescaped(said["NAME"])} if len(said) == len(lines) else {}
    except (KeyError, ValueError):
        return {}


def write_feeds(folder: Path, feeds: Mapping[str, bytes]) -> list[Path]:
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
