"""The feeds as bytes, worked out anew when files or the day change; the last good ones while they cannot be.

Some calendar programs answer an error, or an empty or torn body, by emptying the calendar: so a feed that exists is
always answered, whole.
"""

from __future__ import annotations

import hashlib
import logging
import threading
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from almanac.actions.look import CALENDAR
from almanac.actions.refresh import refresh
from almanac.faults import InputFaults, Refusal
from almanac.feed.trouble import feed_of_trouble, with_trouble

NAMES = ("everything", "bench", "seasons", "sales")
_INPUTS = ("nursery.toml", "varieties.csv", "logbook.csv", "orders.csv")
_NOWHERE = ZoneInfo("UTC")
_LOG = logging.getLogger("stickdate")
Marks = tuple[object, ...]


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
        self._zone = _NOWHERE
        self._lock = threading.Lock()
        self._marks: Marks | None = None
        self._feeds: Mapping[str, Feed] = {}
        self._good: Mapping[str, bytes] = _on_disk(folder)

    def get(self, name: str) -> Feed:
        """A feed as the nursery is now."""
        marks = self._seen()
        if marks != self._marks:
            with self._lock:
                if marks != self._marks:
                    self._feeds = self._made()
                    self._marks = self._seen()
        return self._feeds[name]

    def _seen(self) -> Marks:
        """What a change of the files or of the day shows in."""
        paths = [self._folder / name for name in _INPUTS]
        rules = self._folder / "rules"
        if rules.is_dir():
            paths += sorted(rules.rglob("*.toml"))
        today = self._now().astimezone(self._zone).date()
        return (today, *map(_mark, paths), _mark(self._folder / CALENDAR / "everything.ics"))

    def _made(self) -> dict[str, Feed]:
        try:
            done = refresh(self._folder, self._now(), self._as_of)
        except (InputFaults, Refusal, OSError) as trouble:
            return self._with_trouble(trouble)
        except Exception:  # a defect of ours: the phone must not lose its calendar to it
            _LOG.exception("the calendar could not be worked out")
            return self._with_trouble(Refusal("the program: it stumbled; what it said stands where it runs"))
        self._zone = done.reading.nursery.place.zone
        self._good = done.publication.feeds
        changed = _changed(self._folder, self._now())
        return {name: _feed(body, changed) for name, body in self._good.items()}

    def _with_trouble(self, trouble: InputFaults | Refusal | OSError) -> dict[str, Feed]:
        """The last good feeds, and in each an entry today that says what to mend."""
        said = [str(fault) for fault in trouble.faults] if isinstance(trouble, InputFaults) else [str(trouble)]
        since = max((_modified(self._folder / name) for name in _INPUTS), default=self._now())
        day = self._now().astimezone(self._zone).date()
        found = {}
        for name in NAMES:
            good = self._good.get(name)
            body = with_trouble(good, said, day, since) if good else feed_of_trouble(said, day, since)
            found[name] = _feed(body, since)
        return found


def _on_disk(folder: Path) -> dict[str, bytes]:
    """The feeds an earlier run left: whole, as they are written to a file of their own and renamed."""
    paths = {name: folder / CALENDAR / f"{name}.ics" for name in NAMES}
    return {name: path.read_bytes() for name, path in paths.items() if path.is_file() and path.stat().st_size}


def _mark(path: Path) -> tuple[int, int] | None:
    try:
        stat = path.stat()
    except OSError:
        return None
    return stat.st_mtime_ns, stat.st_size


def _modified(path: Path) -> datetime:
    mark = _mark(path)
    return datetime.fromtimestamp(mark[0] // 10**9 if mark else 0, UTC)


def _changed(folder: Path, now: datetime) -> datetime:
    """When the feeds last changed: an unchanged file is left untouched."""
    path = folder / CALENDAR / "everything.ics"
    return _modified(path) if path.is_file() else now.astimezone(UTC).replace(microsecond=0)


def _feed(body: bytes, modified: datetime) -> Feed:
    return Feed(body, hashlib.sha256(body).hexdigest()[:32], modified)
