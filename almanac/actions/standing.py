"""The feeds as they stand: worked out anew, or, while that cannot be, the last good ones with an entry what to mend.

Some calendar programs answer an error, or an empty or torn body, by emptying the calendar: so a feed that exists is
always there, whole.
"""

from __future__ import annotations

import logging
import os
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from almanac.actions.look import CALENDAR
from almanac.actions.refresh import Refreshed, refresh
from almanac.faults import Fact, Fault, InputFaults, MachineTrouble, Stopped, machine_trouble
from almanac.feed.trouble import feed_of_trouble, with_trouble

NAMES = ("everything", "bench", "seasons", "sales")
INPUTS = ("nursery.toml", "varieties.csv", "logbook.csv", "orders.csv")
Mark = tuple[int, int] | None
_LOG = logging.getLogger("stickdate")


@dataclass(frozen=True)
class Standing:
    """The feeds by name, and how they came to be.

    `done` is the run that worked them out, None while they cannot be; then `faults` says why, and `stopped` is what
    stopped it where that was not the grower's files.
    """

    feeds: Mapping[str, bytes]
    changed: datetime
    done: Refreshed | None = None
    faults: tuple[Fault | Fact, ...] = ()
    stopped: Stopped | None = None


def standing(folder: Path, now: datetime, as_of: date | None, good: Mapping[str, bytes]) -> Standing:
    """Work out the feeds of a nursery, and write them.

    Args:
        folder: the nursery's
        now: the real time, aware
        as_of: the day to stand for today
        good: the last good feeds, for when they cannot be worked out
    """
    faults: tuple[Fault | Fact, ...] = ()
    stopped: Stopped | None = None
    try:
        done = refresh(folder, now, as_of)
    except InputFaults as trouble:
        faults = trouble.faults
    except Stopped as trouble:
        stopped = trouble
    except OSError as trouble:
        stopped = machine_trouble(trouble)
    except Exception:  # a defect of ours: the phone must not lose its calendar to it
        _LOG.exception("the calendar could not be worked out")
        stopped = MachineTrouble(Fact("stumbled"))
    else:
        return Standing(done.publication.feeds, _changed(folder, now), done)
    faults = faults if stopped is None else (stopped.fact,)
    since = _moment(max(filter(None, marks(folder)), default=None))
    identity, zone = known(folder)
    day = as_of or now.astimezone(zone).date()
    feeds = {}
    for name in NAMES:
        last = good.get(name)
        feeds[name] = (
            with_trouble(last, faults, day, since, identity) if last else feed_of_trouble(faults, day, since, identity)
        )
    return Standing(feeds, since, None, faults, stopped)


def last_good(folder: Path) -> dict[str, bytes]:
    """The feeds an earlier run left: whole, as they are written to a file of their own and renamed."""
    paths = {name: folder / CALENDAR / f"{name}.ics" for name in NAMES}
    return {name: path.read_bytes() for name, path in paths.items() if path.is_file() and path.stat().st_size}


def marks(folder: Path) -> tuple[Mark, ...]:
    """What a change of the grower's files shows in. Asked at every request, so it looks no further than it must."""
    there = os.fspath(folder)
    rules = os.path.join(there, "rules")
    own = sorted(map(os.fspath, (folder / "rules").rglob("*.toml"))) if os.path.isdir(rules) else []
    return tuple(map(mark, (*(os.path.join(there, name) for name in INPUTS), *own)))


def mark(path: str | Path) -> Mark:
    """When a file was last written [ns] and how long it is; None where there is none."""
    try:
        stat = os.stat(path)
    except OSError:
        return None
    return stat.st_mtime_ns, stat.st_size


def _moment(found: Mark) -> datetime:
    """When a file was last written, in whole seconds; long ago where there is none."""
    return datetime.fromtimestamp(found[0] // 10**9 if found else 0, UTC)


def today_there(folder: Path, now: datetime) -> date:
    """The nursery's date, as well as a file that may be at fault tells its zone."""
    return now.astimezone(known(folder)[1]).date()


def _changed(folder: Path, now: datetime) -> datetime:
    """When the feeds last changed: an unchanged file is left untouched."""
    path = folder / CALENDAR / "everything.ics"
    return _moment(mark(path)) if path.is_file() else now.astimezone(UTC).replace(microsecond=0)


def known(folder: Path) -> tuple[str | None, ZoneInfo | None]:
    """The nursery's id and time zone where its file says them, whatever else is wrong; no zone is this machine's."""
    try:
        written: dict[str, Any] = tomllib.loads((folder / INPUTS[0]).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        written = {}
    identity, zone = _said(written, "nursery", "id"), _said(written, "site", "timezone")
    try:
        named = str(UUID(identity)) if identity else None
    except ValueError:
        named = None
    try:
        return named, ZoneInfo(zone) if zone else None
    except (OSError, ValueError, KeyError):  # ZoneInfoNotFoundError is a KeyError
        return named, None


def _said(written: Mapping[str, Any], table: str, key: str) -> str | None:
    values = written.get(table)
    value = values.get(key) if isinstance(values, dict) else None
    return value if isinstance(value, str) else None
