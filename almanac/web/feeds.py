"""The feeds as answers, worked out anew when files or the day change; the last good ones while they cannot be."""

from __future__ import annotations

import hashlib
import threading
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from almanac.actions.look import CALENDAR
from almanac.actions.standing import NAMES, Mark, last_good, mark, marks, standing

__all__ = ["NAMES", "Feed", "Feeds"]
_NOWHERE = ZoneInfo("UTC")


@dataclass(frozen=True)
class Feed:
    """The bytes of a feed, its strong entity tag without quotes, and when it last changed."""

    body: bytes
    tag: str
    modified: datetime


class Feeds:
    """The feeds of one nursery.

    Args:
        folder: its folder
        now: the clock
        as_of: a day to stand on instead of today
    """

    def __init__(self, folder: Path, now: Callable[[], datetime], as_of: date | None = None) -> None:
        self._folder, self._now, self._as_of = folder, now, as_of
        self._memory = str(folder / CALENDAR / "everything.ics")
        self._zone = _NOWHERE
        self._lock = threading.Lock()
        self._marks: tuple[date, tuple[Mark, ...], Mark] | None = None
        self._feeds: Mapping[str, Feed] = {}
        self._good: Mapping[str, bytes] = last_good(folder)

    def get(self, name: str) -> Feed:
        """A feed as the nursery is now."""
        if self._seen() != self._marks:
            with self._lock:
                if self._seen() != self._marks:
                    self._make()
        return self._feeds[name]

    def _seen(self) -> tuple[date, tuple[Mark, ...], Mark]:
        """What a change of the files or of the day shows in."""
        return self._now().astimezone(self._zone).date(), marks(self._folder), self._written()

    def _written(self) -> Mark:
        return mark(self._memory)

    def _make(self) -> None:
        # The marks of what goes in are taken before: a row logged meanwhile then shows at the next request.
        now, before = self._now(), marks(self._folder)
        found = standing(self._folder, now, self._as_of, self._good)
        if found.done is not None:
            self._good = found.feeds
            self._zone = found.done.reading.nursery.place.zone
        self._feeds = {name: _feed(body, found.changed) for name, body in found.feeds.items()}
        self._marks = now.astimezone(self._zone).date(), before, self._written()


def _feed(body: bytes, modified: datetime) -> Feed:
    return Feed(body, hashlib.sha256(body).hexdigest()[:32], modified)
