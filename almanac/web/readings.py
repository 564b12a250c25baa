"""The nursery's reading for the page, kept while its files stay the same and the day does.

One reading is kept, not one a page: all pages show the same state. Of several requests that find it old one works it
out, and the others wait for that. What is wrong with the files is never kept: it is looked at anew each time.
"""

from __future__ import annotations

import threading
from collections.abc import Callable
from datetime import date, datetime
from pathlib import Path

from almanac.actions.look import CALENDAR, NAMES, Reading, look
from almanac.actions.standing import Mark, mark, marks
from almanac.nursery.logbook import TABLE as LOGBOOK
from almanac.nursery.order_rows import TABLE as ORDERS
from almanac.plain import dataclass

_COPIES = (LOGBOOK.backup, ORDERS.backup, *(f"{CALENDAR}/{name}.ics" for name in NAMES))


@dataclass(frozen=True, kw_only=True)
class _Kept:
    """A reading, and the marks of all it was read from."""

    reading: Reading
    seen: tuple[Mark, ...]
    records: tuple[Mark, ...]


class Readings:
    """The readings of one nursery."""

    def __init__(self, folder: Path, now: Callable[[], datetime], as_of: date | None = None) -> None:
        self._folder, self._now, self._as_of = folder, now, as_of
        self._lock = threading.Lock()
        self._kept: _Kept | None = None

    def get(self) -> Reading:
        """The nursery as it is now, and its plan.

        Raises:
            InputFaults, Refusal, OSError: as `look`
        """
        kept = self._kept
        if kept and self._still(kept):
            return kept.reading
        with self._lock:
            kept = self._kept
            if kept and self._still(kept):
                return kept.reading
            self._kept = None
            # Marks are taken before: what is written meanwhile then shows at the next request.
            before = self._marks()
            reading = look(self._folder, self._now(), self._as_of)
            self._kept = _Kept(reading=reading, seen=before, records=_records(reading))
            return reading

    def _still(self, kept: _Kept) -> bool:
        nursery = kept.reading.nursery
        same_day = self._now().astimezone(nursery.place.zone).date() == nursery.today
        return same_day and kept.seen == self._marks() and kept.records == _records(kept.reading)

    def _marks(self) -> tuple[Mark, ...]:
        return (*marks(self._folder), *(mark(self._folder / name) for name in _COPIES))


def _records(reading: Reading) -> tuple[Mark, ...]:
    """Of the station's files that the frost is read from, which may be changed by hand like any other."""
    record = reading.nursery.settings.frost.record
    return tuple(mark(reading.nursery.folder / name) for name in (record.files if record else ()))
