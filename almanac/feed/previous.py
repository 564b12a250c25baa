"""What the last `everything.ics` said, entry by entry, as bytes: the only memory between runs. Pure."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta, tzinfo
from zoneinfo import ZoneInfo

from almanac.plan.agenda.cautioned import days_told
from almanac.plan.ids import EntryId, parse
from almanac.plan.model import Past

# At the start of a line only: a folded line may end in the same words.
_EVENT = re.compile(rb"^BEGIN:VEVENT\r\n.*?^END:VEVENT\r\n", re.DOTALL | re.MULTILINE)
_FOLD = re.compile(rb"\r\n[ \t]")
ID, DIGEST, HOLDS, AS_OF = "X-STICKDATE-ID", "X-STICKDATE-DIGEST", "X-STICKDATE-HOLDS", "X-STICKDATE-AS-OF"
CAUTIONS = "X-STICKDATE-CAUTIONS"


@dataclass(frozen=True)
class Published:
    """An entry as last written."""

    id: EntryId
    digest: str
    data: bytes
    first: date
    last: date
    sequence: int
    modified: datetime
    category: str
    summary: str
    holds: frozenset[EntryId] = frozenset()
    cautions: frozenset[str] = frozenset()


@dataclass(frozen=True)
class Previous:
    """All entries as last written, by id, and the day they were last changed for."""

    entries: Mapping[EntryId, Published] = field(default_factory=dict)
    as_of: date | None = None

    def past(self, as_of: date) -> Past:
        """What of it is over on a day, as the plan wants to know it."""
        rounds = {entry.first: entry for entry in self.entries.values() if entry.id.kind == "round"}
        holders: dict[EntryId, list[tuple[EntryId, date]]] = {}
        for entry in self.entries.values():
            for own in () if entry.id.kind == "round" else entry.holds or (entry.id,):
                holders.setdefault(own, []).append((entry.id, entry.first))
        return Past(
            entries={entry.id: entry.first for entry in self.entries.values() if entry.last < as_of},
            rounds={day: entry.holds for day, entry in sorted(rounds.items()) if day < as_of},
            since=min(rounds, default=None),
            coming=frozenset(day for day in rounds if day >= as_of),
            holders={own: tuple(sorted(held)) for own, held in sorted(holders.items())},
            cautioned=days_told((each.first, each.cautions) for each in self.entries.values() if each.last < as_of),
        )


def read_previous(data: bytes, zone: ZoneInfo) -> Previous:
    """Take a calendar that this program wrote apart; what cannot be read of it is left out.

    Args:
        data: the file's bytes, empty where there was none
        zone: the nursery's time zone, which says on which day a timed entry falls
    """
    entries = {}
    for match in _EVENT.finditer(data):
        published = _published(match[0], zone)
        if published:
            entries[published.id] = published
    head = _properties(data.partition(b"BEGIN:VEVENT")[0])
    try:
        as_of = date.fromisoformat(head.get(AS_OF, ""))
    except ValueError:
        as_of = None
    return Previous(entries, as_of)


def _properties(data: bytes) -> dict[str, str]:
    """The first of each property, without its parameters, unfolded."""
    found: dict[str, str] = {}
    for line in _FOLD.sub(b"", data).split(b"\r\n"):
        name, _, value = line.decode("utf-8", "replace").partition(":")
        found.setdefault(name.partition(";")[0], value)
    return found


def _published(data: bytes, zone: ZoneInfo) -> Published | None:
    values = _properties(data)
    try:
        data.decode()  # bytes that are not UTF-8 any more must not be carried over
        start, end = _moment(values["DTSTART"], zone), _moment(values["DTEND"], zone)
        return Published(
            parse(values[ID]),
            values[DIGEST],
            data,
            start.date(),
            max((end - timedelta(seconds=1)).date(), start.date()),
            int(values["SEQUENCE"]),
            _moment(values["LAST-MODIFIED"], UTC),
            values["CATEGORIES"],
            values["SUMMARY"],
            frozenset(map(parse, _names(values, HOLDS))),
            _names(values, CAUTIONS),
        )
    except (KeyError, ValueError):
        return None


def _names(values: Mapping[str, str], key: str) -> frozenset[str]:
    return frozenset(filter(None, values.get(key, "").split(" ")))


def _moment(value: str, zone: tzinfo) -> datetime:
    if value.endswith("Z"):
        return datetime.fromisoformat(value).astimezone(zone)
    return datetime.fromisoformat(value).replace(tzinfo=zone)
