"""The feeds as answers, worked out anew when files or the day change; the last good ones while they cannot be."""

from __future__ import annotations

import hashlib
import threading
import time
from collections.abc import Callable, Mapping
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

from almanac.actions.look import CALENDAR
from almanac.actions.standing import Mark, mark, marks, standing
from almanac.faults import MachineTrouble
from almanac.plain import dataclass

_NOWHERE = ZoneInfo("UTC")
_SECOND = timedelta(seconds=1)
_NEVER = (0, 0)
_AGAIN_S = 5.0  # after trouble with the machine, which need not show in the files
_PATIENCE_S = 5.0


@dataclass(frozen=True)
class Feed:
    """The bytes of a feed, its strong entity tag without quotes, and when it last changed."""

    body: bytes
    tag: str
    modified: datetime


class Feeds:
    """The feeds of one nursery.

    Args:
        folder, now, as_of: as of the application
        page: the address of the bench page, asked for once; empty for the one remembered
    """

    def __init__(
        self, folder: Path, now: Callable[[], datetime], *, as_of: date | None = None, page: Callable[[], str] = str
    ) -> None:
        self._folder, self._now, self._as_of, self._page = folder, now, as_of, page
        self._memory = str(folder / CALENDAR / "everything.ics")
        self._zone = _NOWHERE
        self._lock = threading.Lock()
        self._marks: tuple[date, tuple[Mark, ...], Mark] | None = None
        self._feeds: Mapping[str, Feed] = {}
        self._failed: tuple[datetime, float] | None = None

    def get(self, name: str) -> Feed:
        """A feed as the nursery is now."""
        if self._to_make():
            with self._lock:
                if self._to_make():
                    self._make()
        return self._feeds[name]

    def _to_make(self) -> bool:
        again = self._failed is not None and time.monotonic() - self._failed[1] > _AGAIN_S
        return again or self._seen() != self._marks

    def _seen(self) -> tuple[date, tuple[Mark, ...], Mark]:
        """What a change of the files or of the day shows in."""
        return self._now().astimezone(self._zone).date(), marks(self._folder), mark(self._memory)

    def _make(self) -> None:
        # The marks of what goes in are taken before: a row logged meanwhile then shows at the next request.
        now, before, last = self._now(), marks(self._folder), mark(self._memory)
        handed = {name: feed.body for name, feed in self._feeds.items()}
        # Of two servers of one nursery the later one says where its entries lead, and the other follows.
        page, since = "" if handed else self._page(), self._failed[0] if self._failed else now
        found = standing(self._folder, now, self._as_of, handed, page, since=since, patience_s=_PATIENCE_S)
        self._failed = (since, time.monotonic()) if isinstance(found.stopped, MachineTrouble) else None
        if found.done is not None:
            self._zone = found.done.reading.nursery.place.zone
        self._feeds = {name: self._feed(name, body, now, last) for name, body in found.feeds.items()}
        self._marks = now.astimezone(self._zone).date(), before, mark(self._memory)

    def _feed(self, name: str, body: bytes, now: datetime, written: Mark) -> Feed:
        """With another body it is later than it was, whatever the clock says; than its file, if it is the first."""
        before = self._feeds.get(name)
        if before is not None and before.body == body:
            return before
        floor = before.modified + _SECOND if before else datetime.fromtimestamp((written or _NEVER)[0] // 10**9, UTC)
        modified = max(now.astimezone(UTC).replace(microsecond=0), floor)
        return Feed(body, hashlib.sha256(body).hexdigest()[:32], modified)
