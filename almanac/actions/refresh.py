"""Write the feeds: load, plan, compare with the last calendar, replace it, all under the nursery's lock."""

from __future__ import annotations

from contextlib import nullcontext
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path

from almanac.actions.look import CALENDAR, Reading, look
from almanac.disk import write_whole
from almanac.faults import Fact, Refusal
from almanac.feed.entries import entries_of
from almanac.feed.publish import CHANGES, Publication, publication, write_feeds
from almanac.nursery.load import lock


@dataclass(frozen=True)
class Refreshed:
    """What was written, and what changed by it."""

    reading: Reading
    publication: Publication
    written: tuple[Path, ...]


def refresh(
    folder: Path,
    now: datetime,
    as_of: date | None = None,
    out: Path | None = None,
    changes: Path | None = None,
    *,
    dry_run: bool = False,
) -> Refreshed:
    """Write all feeds of a nursery.

    Args:
        folder: the nursery's
        now: the real time, aware
        as_of: the day to stand for today
        out: another folder than the nursery's `calendar/`, with its own memory
        changes: a file for what changed, for people who import by hand
        dry_run: work it out, write nothing
    Raises:
        InputFaults, Refusal: as `load_nursery`; or the day lies before the one the calendar was last changed for
    """
    if not folder.is_dir():
        look(folder, now, as_of)  # says what is wrong, before a lock file is made
    if out is not None and not dry_run:
        out.mkdir(parents=True, exist_ok=True)
    with nullcontext() if dry_run else lock(out or folder):
        reading = look(folder, now, as_of, out)
        return publish_reading(reading, now, out, changes, dry_run=dry_run)


def publish_reading(
    reading: Reading, now: datetime, out: Path | None = None, changes: Path | None = None, *, dry_run: bool = False
) -> Refreshed:
    """Write the feeds of a reading. The caller holds the lock."""
    nursery, previous = reading.nursery, reading.previous
    if previous.as_of and nursery.as_of < previous.as_of and out is None and not dry_run:
        raise Refusal(Fact("calendar_is_later", changed=previous.as_of, day=nursery.as_of))
    identity = nursery.settings.nursery
    made = publication(entries_of(reading.plan, nursery), previous, identity.name, identity.id, now, nursery.as_of)
    written: list[Path] = []
    if not dry_run:
        folder = out or nursery.folder / CALENDAR
        folder.mkdir(parents=True, exist_ok=True)
        if changes is not None:
            _write_changes(changes, made.for_import)  # before the memory of it: else a failure would lose them
        written = write_feeds(folder, made.feeds)
        if changes is not None and made.for_import:
            written.append(changes)
    return Refreshed(reading, made, tuple(written))


def _write_changes(path: Path, data: bytes) -> None:
    """Put the changes in place of an earlier run's; where nothing changed, no old ones are left to be imported."""
    if path.is_file() and CHANGES.encode() not in path.read_bytes():
        raise Refusal(Fact("not_changes", file=path))
    if data:
        write_whole(path, data)
    else:
        path.unlink(missing_ok=True)
