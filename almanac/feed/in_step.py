"""From the feed and what stands in a calendar elsewhere to what must be written and deleted there. Pure.

Ours is an entry whose id and whose UID, which follows from the id and the nursery's own, are both ours; all else in
that calendar is the grower's and is never touched.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from uuid import UUID, uuid5

from almanac.feed.previous import DIGEST, ID
from almanac.feed.trouble import ID as MEND
from almanac.feed.trouble import uid_of_trouble

_EVENT = re.compile(rb"^BEGIN:VEVENT\r\n.*?^END:VEVENT\r\n", re.DOTALL | re.MULTILINE)
_UID = re.compile(r"^UID:(\S+)", re.MULTILINE)
_HEAD = b"BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//stickdate//almanac//EN\r\n"


@dataclass(frozen=True)
class There:
    """A calendar object as a server has it: where, its entity tag, its text."""

    href: str
    tag: str
    text: str


@dataclass(frozen=True)
class Put:
    """An entry to write: anew under its `uid`, or in place of what stands `over` there."""

    id: str
    uid: str
    body: bytes
    over: There | None = None


@dataclass(frozen=True)
class Steps:
    """What brings the two in step; `taken` are ids whose UID stands there as an entry that is not ours any more."""

    put: tuple[Put, ...]
    delete: tuple[There, ...]
    same: int
    taken: tuple[str, ...]


def steps(feed: bytes, there: Iterable[There], nursery_id: str, *, whole: bool = True) -> Steps:
    """Compare a feed with a calendar elsewhere.

    Args:
        feed: all entries wanted, as this program wrote them
        there: every object of that calendar
        nursery_id: its uuid
        whole: whether the feed was worked out anew; if not, nothing goes but entries of what to mend
    """
    ours: dict[str, tuple[There, _Said]] = {}
    strangers, delete = set(), []
    for each in there:
        found = _ours(each.text, nursery_id)
        if found is None:
            strangers.update(_UID.findall(each.text))
        elif found.uid in ours:
            delete.append(each)  # the same twice: one goes
        else:
            ours[found.uid] = each, found
    put, taken, same = [], [], 0
    for data, wanted in _wanted(feed):
        old = ours.pop(wanted.uid, None)
        if old is None and wanted.uid in strangers:
            taken.append(wanted.id)
        elif old is not None and old[1] == wanted:
            same += 1
        else:
            body = _HEAD + data + b"END:VCALENDAR\r\n"
            put.append(Put(wanted.id, wanted.uid, body, old[0] if old else None))
    delete += [each for each, said in ours.values() if whole or said.id == MEND]
    return Steps(tuple(put), tuple(delete), same, tuple(taken))


@dataclass(frozen=True)
class _Said:
    """Of an entry what must be the same: what it was made from, and what a person may have changed there by hand."""

    id: str
    uid: str
    digest: str
    summary: str
    start: date | datetime
    end: date | datetime


def _wanted(feed: bytes) -> Sequence[tuple[bytes, _Said]]:
    from icalendar import Event

    return [(match[0], _said(Event.from_ical(match[0]))) for match in _EVENT.finditer(feed)]


def _said(event: Any) -> _Said:
    name, uid, digest, summary = (str(event.get(key)) for key in (ID, "UID", DIGEST, "SUMMARY"))
    return _Said(name, uid, digest, summary, event["DTSTART"].dt, event["DTEND"].dt)


def _ours(text: str, nursery_id: str) -> _Said | None:
    """The one event of an object, if it is ours."""
    if ID not in text:
        return None
    from icalendar import Calendar

    try:
        events = Calendar.from_ical(text).walk("VEVENT")
        said = _said(events[0]) if len(events) == 1 else None
    except (KeyError, ValueError, AttributeError):  # no such property, or none that can be read: someone else's
        return None
    if said is None:
        return None
    if said.id == MEND:
        return said if said.uid == uid_of_trouble(nursery_id, said.start) else None
    return said if said.uid == str(uuid5(UUID(nursery_id), said.id)) else None
