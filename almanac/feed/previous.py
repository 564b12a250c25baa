"""What the last feeds said, entry by entry, as bytes: the only memory between runs. Pure.

The memory is `everything.ics`; the feeds beside it, and those handed out, are copies of its entries. Of an entry that
several hold the newest counts, so that no stamp falls when a file is lost, spoiled, or put back from a backup.

Instead of a hidden state file: what the phone shows and what the program remembers cannot drift apart, and a copied
folder is complete. `X-STICKDATE-HOLDS` names the lines of a round, so that a later run knows what an earlier one asked
for; `X-STICKDATE-AS-OF` the day the file last changed for.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import field
from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

from almanac.feed.entry import MEND
from almanac.feed.whole import DIGEST, entry_of, events, moment, properties
from almanac.plain import dataclass
from almanac.plan.agenda.cautioned import days_told
from almanac.plan.ids import EntryId
from almanac.plan.past import Past

AS_OF, PAGE, CAUTIONS = "X-STICKDATE-AS-OF", "X-STICKDATE-PAGE", "X-STICKDATE-CAUTIONS"


@dataclass(frozen=True, kw_only=True)
class Published:
    """An entry as last written."""

    id: EntryId
    digest: str
    data: bytes
    first: date
    sequence: int
    modified: datetime
    category: str
    summary: str
    url: str = ""
    holds: frozenset[EntryId] = frozenset()
    cautions: frozenset[str] = frozenset()


@dataclass(frozen=True, kw_only=True)
class Previous:
    """All entries as last written, by id, the day they were last changed for, and the bench page they lead to.

    `heads` are what stood before the entries of each feed.
    """

    entries: Mapping[EntryId, Published] = field(default_factory=dict)
    as_of: date | None = None
    page: str = ""
    heads: tuple[bytes, ...] = ()

    def past(self, as_of: date) -> Past:
        """What of it is over on a day, as the plan wants to know it."""
        rounds = {entry.first: entry for entry in self.entries.values() if entry.id.kind == "round"}
        holders: dict[EntryId, list[tuple[EntryId, date]]] = {}
        for entry in self.entries.values():
            for own in () if entry.id.kind == "round" else entry.holds or (entry.id,):
                holders.setdefault(own, []).append((entry.id, entry.first))
        return Past(
            entries={entry.id: entry.first for entry in self.entries.values() if entry.first < as_of},
            rounds={day: entry.holds for day, entry in sorted(rounds.items()) if day < as_of},
            since=min(rounds, default=None),
            coming={day: entry.holds for day, entry in sorted(rounds.items()) if day >= as_of},
            holders={own: tuple(sorted(held)) for own, held in sorted(holders.items())},
            cautioned=days_told((each.first, each.cautions) for each in self.entries.values() if each.first < as_of),
            whole={each.id: each.cautions for each in self.entries.values() if each.first >= as_of and each.cautions},
        )


def read_previous(data: bytes, zone: ZoneInfo, nursery_id: str = "", copies: Iterable[bytes] = ()) -> Previous:
    """Take a calendar that this program wrote apart; what is not whole of it is left out.

    Args:
        data: the file's bytes, empty where there was none
        zone: the nursery's time zone, which says on which day a timed entry falls
        nursery_id: its uuid, if an entry with another UID than follows from it is to be left out
        copies: feeds that hold entries of it, too
    """
    entries: dict[EntryId, Published] = {}
    seen: set[bytes] = set()
    feeds = (data, *copies)
    for feed in feeds:
        for event in events(feed):
            found = None if event in seen else published(event, zone, nursery_id)
            if found and found.id != MEND and (found.id not in entries or found.sequence > entries[found.id].sequence):
                entries[found.id] = found
            seen.add(event)
    heads = tuple(feed.partition(b"\r\nBEGIN:VEVENT\r\n")[0] + b"\r\n" for feed in feeds)
    head = properties(heads[0])
    try:
        as_of = date.fromisoformat(head.get(AS_OF, ""))
    except ValueError:
        as_of = None
    return Previous(entries=entries, as_of=as_of, page=head.get(PAGE, ""), heads=heads)


def published(data: bytes, zone: ZoneInfo, nursery_id: str = "") -> Published | None:
    """An entry that was written; None where it is not whole, or not of this nursery."""
    found = entry_of(data)
    if found is None:
        return None
    entry, said = found
    if nursery_id and entry.uid(nursery_id) != said["UID"]:
        return None
    try:
        first = entry.start.astimezone(zone).date() if isinstance(entry.start, datetime) else entry.start
    except OverflowError:
        return None
    modified = moment(said["LAST-MODIFIED"])
    assert isinstance(modified, datetime)
    return Published(
        id=entry.id,
        digest=said[DIGEST],
        data=data,
        first=first,
        sequence=int(said["SEQUENCE"]),
        modified=modified.astimezone(UTC),
        category=said["CATEGORIES"],
        summary=said["SUMMARY"],
        url=said.get("URL", ""),
        holds=frozenset(entry.holds),
        cautions=frozenset(said.get(CAUTIONS, "").split()),
    )
