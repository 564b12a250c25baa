"""Write the feeds: load, plan, compare with the last calendar, replace it, all under the nursery's lock."""

from __future__ import annotations

from collections.abc import Iterable
from contextlib import nullcontext
from datetime import date, datetime
from pathlib import Path

from almanac.actions.look import CALENDAR, NAMES, Reading, look, plan_of
from almanac.disk import write_whole
from almanac.faults import Fact, Fault, InputFaults, MachineTrouble, Refusal
from almanac.feed.entries import entries_of
from almanac.feed.publish import CHANGES, Publication, publication, write_feeds
from almanac.feed.whole import is_whole
from almanac.nursery.load import load_nursery, lock
from almanac.nursery.logbook import FILE
from almanac.plain import dataclass

_MADE_HERE = b"\nPRODID:-//stickdate//"


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
    renew: bool = False,
    page: str = "",
    handed: Iterable[bytes] = (),
    patience_s: float | None = None,
) -> Refreshed:
    """Write all feeds of a nursery.

    Args:
        out: another folder than the nursery's `calendar/`, with its own memory
        changes: a file for what changed, for people who import by hand
        dry_run: work it out, write nothing
        renew: give every entry a new stamp; the way back from a calendar that was written for a day to come
        page: the address of the bench page; else the one remembered, and that of the settings before both
        handed: feeds as others have them, so that no stamp falls below theirs
    Raises:
        InputFaults, Refusal: as `load_nursery`; rows are missing from the logbook; the day is to come, or lies before
            the one the calendar was last changed for
    """
    if not folder.is_dir():
        look(folder, now, as_of)  # says what is wrong, before a lock file is made
    if out is not None and not dry_run:
        out.mkdir(parents=True, exist_ok=True)
    with nullcontext() if dry_run else lock(out or folder, patience_s):
        reading = plan_of(load_nursery(folder, now, as_of), out, handed)
        return publish_reading(reading, now, out, changes, dry_run=dry_run, renew=renew, page=page)


def publish_reading(
    reading: Reading,
    now: datetime,
    out: Path | None = None,
    changes: Path | None = None,
    *,
    dry_run: bool = False,
    renew: bool = False,
    page: str = "",
) -> Refreshed:
    """Write the feeds of a reading. The caller holds the lock."""
    nursery, previous = reading.nursery, reading.previous
    if not dry_run:
        _refuse_to_forget(reading, elsewhere=out is not None, renew=renew)
    identity, page = nursery.settings.nursery, nursery.settings.calendar.page or page or previous.page
    entries = entries_of(reading.plan, nursery, page)
    made = publication(entries, previous, identity.name, identity.id, now, nursery.as_of, page=page, renew=renew)
    if not all(map(is_whole, made.feeds.values())):
        raise MachineTrouble(Fact("stumbled"))
    written: list[Path] = []
    if not dry_run:
        folder = out or nursery.folder / CALENDAR
        folder.mkdir(parents=True, exist_ok=True)
        if out is not None:
            _refuse_others(out)
        if changes is not None:
            _write_changes(changes, made.for_import)  # before the memory of it: else a failure would lose them
        written = write_feeds(folder, made.feeds)
        if changes is not None and made.for_import:
            written.append(changes)
    return Refreshed(reading, made, tuple(written))


def _refuse_to_forget(reading: Reading, *, elsewhere: bool, renew: bool) -> None:
    """Raise where what is planned must not take the place of what phones have.

    Rows that are missing would take their entries along; a look ahead would stand in the way of each day until then.
    """
    nursery, previous = reading.nursery, reading.previous
    gone = list(nursery.missing)
    if not gone and not nursery.every_row and any(name.of_lot for name in previous.entries):
        gone = [Fault(file=FILE, fact=Fact("no_rows_any_more", calendar=CALENDAR))]
    if gone:
        raise InputFaults(gone)
    if elsewhere:
        return
    if nursery.as_of > nursery.today:
        raise Refusal(Fact("look_ahead", day=nursery.as_of, today=nursery.today))
    if previous.as_of and nursery.as_of < previous.as_of:
        ahead = previous.as_of > nursery.today
        if not (renew and ahead and nursery.as_of == nursery.today):
            if ahead:
                raise Refusal(Fact("calendar_is_ahead", changed=previous.as_of))
            raise Refusal(Fact("calendar_is_later", changed=previous.as_of, day=nursery.as_of))


def _refuse_others(folder: Path) -> None:
    """Raise where a file of the grower's own bears the name of a feed."""
    for path in (folder / f"{name}.ics" for name in NAMES):
        if path.exists() and not (path.is_file() and _MADE_HERE in path.read_bytes()):
            raise Refusal(Fact("not_feed", file=path))


def _write_changes(path: Path, data: bytes) -> None:
    """Put the changes in place of an earlier run's; where nothing changed, no old ones are left to be imported."""
    if path.is_file() and CHANGES.encode() not in path.read_bytes():
        raise Refusal(Fact("not_changes", file=path))
    if data:
        write_whole(path, data)
    else:
        path.unlink(missing_ok=True)
