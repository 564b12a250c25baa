"""From the feed and what stands in a calendar elsewhere to what must be written and deleted there. Pure.

Ours is an entry with a UID of ours: one that the feed has, that an earlier run wrote there, or that follows from the id
in it and the nursery's own. All else in that calendar is the grower's and is never touched. What the grower deleted
there stays away until its date or text changes, which its stamp tells; so a run leaves which stamps it wrote.

Apps drop what they do not know, so an id alone is not asked for. `calendar/caldav-….txt` has by UID the stamps that
were left there; it may be lost, then what was deleted by hand comes back once. Compared are the digest, title, text and
days, not bytes, as servers rewrite what they store. What is over is not deleted there though the feed lost it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import field
from datetime import date, datetime, timedelta
from typing import Any

from almanac.feed.entry import MEND, uid_of
from almanac.feed.publish import KEPT_DAYS
from almanac.feed.whole import DIGEST, ID, events
from almanac.plain import dataclass
from almanac.plan.ids import parse

_UID = re.compile(r"^UID:(\S+)", re.MULTILINE)
_SEQUENCE = re.compile(rb"^SEQUENCE:[0-9]+", re.MULTILINE)
_HEAD = b"BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//stickdate//almanac//EN\r\n"


@dataclass(frozen=True, kw_only=True)
class There:
    """A calendar object as a server has it: where, its entity tag, its text."""

    href: str
    tag: str
    text: str


@dataclass(frozen=True, kw_only=True)
class Put:
    """An entry to write: anew under its `uid`, or in place of what stands `over` there; `sequence` is the feed's."""

    id: str
    uid: str
    sequence: int
    body: bytes
    over: There | None = None


@dataclass(frozen=True, kw_only=True)
class Steps:
    """What brings the two in step.

    `same` and `away` hold by UID the stamps of entries that stand there as wanted, and of those deleted there by hand.
    """

    put: tuple[Put, ...]
    delete: tuple[There, ...]
    same: Mapping[str, int] = field(default_factory=dict)
    away: Mapping[str, int] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class _Said:
    """Of an entry what must be the same: what it was made from, and what a person may have changed there by hand."""

    uid: str
    id: str
    digest: str
    sequence: int
    shown: tuple[object, ...]

    def agrees_with(self, wanted: _Said) -> bool:
        """An app may have dropped what only we read; then what is shown decides."""
        return self.shown == wanted.shown and self.digest in ("", wanted.digest)


def steps(
    feed: bytes,
    there: Iterable[There],
    nursery_id: str,
    as_of: date,
    before: Mapping[str, int] | None = None,
    *,
    whole: bool = True,
) -> Steps:
    """Compare a feed with a calendar elsewhere.

    Args:
        feed: all entries wanted, as this program wrote them
        there: every object of that calendar
        nursery_id: its uuid
        as_of: the day; what is over by then goes with the feed's own memory of it alone
        before: by UID the stamps of what an earlier run left there
        whole: whether the feed was worked out anew; if not, nothing goes but entries of what to mend
    """
    before = before or {}
    wanted = {said.uid: (said, data) for data in events(feed) if (said := _first(data.decode()))}
    ours: dict[str, tuple[There, _Said]] = {}
    delete = []
    for each in there:
        found = _ours(each.text, {*wanted, *before}, nursery_id)
        if found is not None and found.uid in ours:
            delete.append(each)  # the same twice: one goes
        elif found is not None:
            ours[found.uid] = each, found
    known = bool(ours)  # a calendar without one of ours is a new one, not one that all were deleted from
    put, same, away = [], {}, {}
    for uid, (said, data) in wanted.items():
        old = ours.pop(uid, None)
        if old is None and known and before.get(uid) == said.sequence:
            away[uid] = said.sequence
        elif old is not None and old[1].agrees_with(said):
            same[uid] = said.sequence
        else:
            newer = max(said.sequence, old[1].sequence + 1 if old else 0)
            body = _HEAD + _SEQUENCE.sub(b"SEQUENCE:%d" % newer, data) + b"END:VCALENDAR\r\n"
            put.append(Put(id=said.id, uid=uid, sequence=said.sequence, body=body, over=old[0] if old else None))
    kept = as_of - timedelta(days=KEPT_DAYS)
    for each, said in ours.values():
        if said.id == MEND or (whole and not kept <= _day(said.shown[0]) < as_of):
            delete.append(each)
    return Steps(put=tuple(put), delete=tuple(delete), same=same, away=away)


def _day(start: Any) -> date:
    return start.date() if isinstance(start, datetime) else start


def _first(text: str) -> _Said | None:
    """What the first event of an object says; None where it cannot be read."""
    from icalendar import Component

    try:
        event: Any = Component.from_ical(text).walk("VEVENT")[0]
        name, uid, digest = (str(event.get(key, "")) for key in (ID, "UID", DIGEST))
        times = event["DTSTART"].dt, event["DTEND"].dt if "DTEND" in event else None
        words = (str(event.get(key, "")) for key in ("SUMMARY", "DESCRIPTION"))
        return _Said(uid=uid, id=name, digest=digest, sequence=int(event.get("SEQUENCE", 0)), shown=(*times, *words))
    except (KeyError, IndexError, ValueError, AttributeError):  # none, or none that can be read
        return None


def _ours(text: str, uids: set[str], nursery_id: str) -> _Said | None:
    """The event of an object, if it is ours."""
    unfolded = re.sub(r"\r?\n[ \t]", "", text)
    if ID not in unfolded and not uids.intersection(uid.strip() for uid in _UID.findall(unfolded)):
        return None
    said = _first(text)
    if said is None or said.uid in uids:
        return said
    own = said.id and said.uid == uid_of(parse(said.id), _day(said.shown[0]), nursery_id)
    return said if own else None
