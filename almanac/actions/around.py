"""What stands in a nursery's folder besides: other copies, feeds, what a cut-off write left, rights, keys, clock."""

from __future__ import annotations

import os
from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path

from almanac.actions.look import CALENDAR, NAMES
from almanac.disk import leftovers
from almanac.faults import Fact, Fault
from almanac.feed.whole import is_whole
from almanac.nursery.copies import difference, readable
from almanac.nursery.load import SETTINGS, copy_of, text_of
from almanac.nursery.logbook import TABLE as LOGBOOK
from almanac.nursery.nursery import Nursery
from almanac.nursery.order_rows import TABLE as ORDERS
from almanac.nursery.varieties import FILE as VARIETIES

KEYS = "phone-keys.toml"
_TABLES = (LOGBOOK, ORDERS)
_WRITTEN = (*(name for table in _TABLES for name in (table.name, table.backup)), KEYS)
_OURS = (SETTINGS, VARIETIES, *_WRITTEN)


def around(nursery: Nursery, now: datetime) -> Iterator[Fault]:
    """What a thorough look at the folder finds."""
    folder = nursery.folder
    yield from _other_copies(folder)
    for path in left_behind(folder):
        yield Fault(file=path.relative_to(folder).as_posix(), fact=Fact("left_behind"))
    for path in sorted((folder / CALENDAR).glob("*.ics")):
        if path.stem in NAMES and not is_whole(path.read_bytes()):
            yield Fault(file=path.relative_to(folder).as_posix(), fact=Fact("feed_not_whole"))
    yield from _rights(folder)
    if keys_are_open(folder):
        yield Fault(file=KEYS, fact=Fact("keys_open"))
    late = [row for row in nursery.every_row if row.stamped_after(now + timedelta(minutes=5))]
    if late:
        yield Fault(
            file=LOGBOOK.name,
            fact=Fact("logged_to_come", row=late[-1].id, moment=late[-1].logged_at),
            line=late[-1].line,
        )


def left_behind(folder: Path) -> list[Path]:
    """Files that a write left when it was killed."""
    from almanac.rulebook.schema import FOLDER  # it costs start-up time, and few commands look here

    feeds = [path.name for path in (folder / CALENDAR).glob("*.ics")]
    schemas = folder / FOLDER
    known = [path.name for path in schemas.glob("*.json")]
    return [*leftovers(folder, _OURS), *leftovers(folder / CALENDAR, feeds), *leftovers(schemas, known)]


def keys_are_open(folder: Path) -> bool:
    """Whether others on this machine can read the keys."""
    path = folder / KEYS
    return os.name == "posix" and path.exists() and bool(path.stat().st_mode & 0o077)


def _other_copies(folder: Path) -> Iterator[Fault]:
    """Files that a synced folder, or a person, put beside those of the nursery: rows may stand there alone."""
    stems = tuple(Path(name).stem.split(".")[0] for name in (SETTINGS, VARIETIES, LOGBOOK.name, ORDERS.name))
    for path in sorted(folder.iterdir()):
        name = path.name.lower()
        if name in _OURS or path.suffix.lower() not in (".csv", ".toml") or not name.startswith(stems):
            continue
        table = next((table for table in _TABLES if name.startswith(Path(table.name).stem)), None)
        there = path.read_bytes().decode("utf-8-sig", "replace")
        if table is None or not readable(table, there):
            yield Fault(file=path.name, fact=Fact("other_copy"))
            continue
        here = text_of(folder / table.name, []) or copy_of(folder, table)
        lost = len(difference(table, here, there).lost)
        yield Fault(file=path.name, fact=Fact("other_rows", file=table.name, count=lost))


def _rights(folder: Path) -> Iterator[Fault]:
    """What this user may not read, or not write where the program must."""
    rules = folder / "rules"
    for path, wanted in (
        (folder, os.R_OK | os.W_OK | os.X_OK),
        (folder / CALENDAR, os.R_OK | os.W_OK | os.X_OK),
        *((folder / name, os.R_OK | os.W_OK) for name in _WRITTEN),
        *((path, os.R_OK | (os.X_OK if path.is_dir() else 0)) for path in (rules, *rules.rglob("*"))),
    ):
        if path.exists() and not os.access(path, wanted):
            yield Fault(file=path.relative_to(folder).as_posix(), fact=Fact("no_rights"))
