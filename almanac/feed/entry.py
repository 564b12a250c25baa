"""One calendar entry: what it says, the UID it goes by and the digest of what it says. Pure."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date, datetime, timedelta
from hashlib import sha256
from typing import Any
from uuid import UUID, uuid5

from almanac.plain import dataclass
from almanac.plan.ids import EntryId
from almanac.rulebook.models import Feed

FEEDS: tuple[Feed, ...] = ("bench", "seasons", "sales")
CATEGORY: Mapping[str, str] = {"bench": "Bench", "seasons": "Seasons", "sales": "Sales"}
MEND = EntryId("files", "mend")  # the entry that says what to mend, in feeds that stand still
_CONTROL = re.compile(r"[\x00-\x08\x0b-\x1f\x7f]")


def plain(text: str) -> str:
    """A text as a calendar can hold it: without control characters, which RFC 5545 (3.3.11) forbids.

    A note in a spreadsheet may hold them. A backslash before an N is a line's end there, and so here.
    """
    return _CONTROL.sub(" ", text.replace("\r\n", "\n").replace("\\N", "\n"))


@dataclass(frozen=True, kw_only=True)
class Entry:
    """One calendar entry on a `day` of the nursery's own: whole days, or timed in UTC; `end` is exclusive.

    `holds` names the jobs of a round, or the lots' own tasks in an entry that lots share, so that a later run knows
    what an earlier one asked for; `cautions` those that it tells whole, so that no later one does. `url` is where it
    leads, empty if nowhere. It rings at `alarm` from its start, and at `alarm_back` where its end is a thing to do too.
    """

    id: EntryId
    feed: Feed
    summary: str
    description: str
    day: date
    start: date | datetime
    end: date | datetime
    holds: tuple[EntryId, ...] = ()
    alarm: timedelta | None = None
    cautions: tuple[str, ...] = ()
    url: str = ""
    alarm_back: timedelta | None = None

    def uid(self, nursery_id: str) -> str:
        """The same for the same nursery and id, so that an entry that moves is moved and not doubled."""
        return uid_of(self.id, self.day, nursery_id)

    def digest(self) -> str:
        """What it says, in short: two entries with the same digest need no rewriting."""
        said = (self.feed, plain(self.summary), plain(self.description), self.start, self.end, self.holds, self.alarm)
        all_said = (*said, self.alarm_back) if self.alarm_back is not None else said
        return sha256(repr(all_said).encode()).hexdigest()[:16]


def all_day(name: EntryId, feed: Feed, summary: str, description: str, day: date, **more: Any) -> Entry:
    """An entry of one day as a whole, `more` its other fields; it ends where the next day begins (RFC 5545, 3.6.1)."""
    after = day + timedelta(days=1)
    return Entry(id=name, feed=feed, summary=summary, description=description, day=day, start=day, end=after, **more)


def uid_of(name: EntryId, day: date, nursery_id: str) -> str:
    """The UID of an entry; of what to mend another each day, so that that of the day before goes and is not moved."""
    return str(uuid5(UUID(nursery_id), name.at(day) if name == MEND else name))
