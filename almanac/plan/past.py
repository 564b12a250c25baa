"""What earlier runs published. Plain values."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from datetime import date

from almanac.plain import dataclass
from almanac.plan.ids import EntryId

Held = tuple[EntryId, date]  # an entry that was published, and its day


@dataclass(frozen=True, kw_only=True)
class Past:
    """What earlier runs published.

    Of what is over, `entries` holds each id's day and `rounds` the jobs of each round and what it looked at elsewhere
    than in bins (of one that looked at some lots alone, all of those looks); `coming` holds the same of rounds to come,
    nothing of those far off. `holders` names, by a lot's own task, the entries it was in with their days, whether they
    are over or to come. `since` is the day of the earliest round an earlier run published; None without an earlier run.
    Of what is over, `cautioned` holds by caution the days of the entries that told it whole; `whole` those that each
    entry to come tells whole.
    """

    entries: Mapping[EntryId, date] = field(default_factory=dict)
    rounds: Mapping[date, frozenset[EntryId]] = field(default_factory=dict)
    since: date | None = None
    coming: Mapping[date, frozenset[EntryId]] = field(default_factory=dict)
    holders: Mapping[EntryId, tuple[Held, ...]] = field(default_factory=dict)
    cautioned: Mapping[str, tuple[date, ...]] = field(default_factory=dict)
    whole: Mapping[EntryId, frozenset[str]] = field(default_factory=dict)

    def to_come(self, name: EntryId) -> list[Held]:
        """The entries to come that were published for a lot's own task, with their days."""
        return [held for held in self.holders.get(name, ()) if held[0] not in self.entries]
