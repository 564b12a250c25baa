"""The feeds as they stand: worked out anew, or, while that cannot be, the last good ones with an entry what to mend.

Some calendar programs answer an error, or an empty or torn body, by emptying the calendar: so a feed that exists is
always there, whole.
"""

from __future__ import annotations

import logging
import os
import tomllib
from collections.abc import Mapping
from contextlib import suppress
from datetime import date, datetime
from pathlib import Path
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from almanac.actions.look import CALENDAR, NAMES
from almanac.actions.refresh import Refreshed, refresh
from almanac.faults import Fact, Fault, InputFaults, MachineTrouble, Stopped, machine_trouble
from almanac.feed.previous import read_previous
from almanac.feed.publish import feeds_of, handed_out
from almanac.feed.whole import events, is_whole, properties
from almanac.plain import dataclass

INPUTS = ("nursery.toml", "varieties.csv", "logbook.csv", "orders.csv")
Mark = tuple[int, int] | None
_ANY_ZONE = ZoneInfo("UTC")
_LOG = logging.getLogger("stickdate")


@dataclass(frozen=True, kw_only=True)
class Standing:
    """The feeds by name, as they are handed out, and how they came to be.

    `done` is the run that worked them out, None while they cannot be; then `faults` says why, and `stopped` is what
    stopped it where that was not the grower's files.
    """

    feeds: Mapping[str, bytes]
    done: Refreshed | None = None
    faults: tuple[Fault | Fact, ...] = ()
    stopped: Stopped | None = None


def standing(
    folder: Path,
    now: datetime,
    as_of: date | None,
    handed: Mapping[str, bytes],
    page: str = "",
    *,
    since: datetime | None = None,
    patience_s: float | None = None,
) -> Standing:
    """Work out the feeds of a nursery, and write them.

    Args:
        handed: the feeds as they were last handed out; empty if there are none
        page: the address of the bench page; else the one remembered
        since: when the machine first would not, if it did not the time before either
    """
    faults: tuple[Fault | Fact, ...] = ()
    stopped: Stopped | None = None
    try:
        done = refresh(folder, now, as_of, page=page, handed=handed.values(), patience_s=patience_s)
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
        return Standing(feeds={name: handed_out(body) for name, body in done.publication.feeds.items()}, done=done)
    identity, zone = known(folder)
    if isinstance(stopped, MachineTrouble):  # what it was about is nothing for a calendar that others read
        _LOG.warning("the calendar: %s", stopped.fact)
        faults = (Fact("not_renewed", since=f"{(since or now).astimezone(zone):%Y-%m-%d %H:%M}"),)
    elif stopped is not None:
        faults = (stopped.fact,)
    from almanac.feed.trouble import with_trouble  # with every sentence of faults: a command that logs tells none

    today = now.astimezone(zone).date()
    day = min(as_of or today, today)
    feeds = {
        name: with_trouble(good, faults, day, now, identity, handed.get(name, b""))
        for name, good in _last_good(folder, handed).items()
    }
    return Standing(feeds=feeds, done=None, faults=faults, stopped=stopped)


def _last_good(folder: Path, handed: Mapping[str, bytes]) -> dict[str, bytes]:
    """The newest whole feeds there are: as an earlier run left them, or as they were handed out.

    One that is torn is made again of the entries that others hold whole.
    """
    from almanac.feed.trouble import without_trouble  # as above

    paths = {name: folder / CALENDAR / f"{name}.ics" for name in NAMES}
    there: dict[str, bytes] = {}
    for name, path in paths.items():
        with suppress(OSError):
            there[name] = handed_out(path.read_bytes())
    given = {name: without_trouble(body) for name, body in handed.items()}
    found = read_previous(b"", _ANY_ZONE, copies=(*there.values(), *given.values())).entries.values()
    entries = sorted(found, key=lambda entry: (entry.first, entry.id))
    made = feeds_of([(entry.category, entry.data) for entry in entries], _name(folder))
    good = {}
    for name in NAMES:
        whole = [feed[name] for feed in (there, given) if is_whole(feed.get(name, b""))]
        good[name] = max(whole, key=_newest, default=made[name])
    return good


def _newest(feed: bytes) -> int:
    """The highest stamp in a whole feed."""
    return max(int(properties(event)["SEQUENCE"]) for event in events(feed))


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


def today_there(folder: Path, now: datetime) -> date:
    """The nursery's date, as well as a file that may be at fault tells its zone."""
    return now.astimezone(known(folder)[1]).date()


def known(folder: Path) -> tuple[str | None, ZoneInfo | None]:
    """The nursery's id and time zone where its file says them, whatever else is wrong; no zone is this machine's."""
    written = _settings(folder)
    identity, zone = _said(written, "nursery", "id"), _said(written, "site", "timezone")
    try:
        named = str(UUID(identity)) if identity else None
    except ValueError:
        named = None
    try:
        return named, ZoneInfo(zone) if zone else None
    except (OSError, ValueError, KeyError):  # ZoneInfoNotFoundError is a KeyError
        return named, None


def _name(folder: Path) -> str:
    """The nursery's name, as well as a file that may be at fault tells it."""
    return _said(_settings(folder), "nursery", "name") or ""


def _settings(folder: Path) -> dict[str, Any]:
    try:
        return tomllib.loads((folder / INPUTS[0]).read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError):
        return {}


def _said(written: Mapping[str, Any], table: str, key: str) -> str | None:
    values = written.get(table)
    value = values.get(key) if isinstance(values, dict) else None
    return value if isinstance(value, str) else None
