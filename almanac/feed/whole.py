"""Whether a feed is fit to be handed out: its lines, its structure, each UID once, each entry as its digest says.

An entry that fails is never carried over: it is taken from another copy, or made anew. Pure.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from datetime import UTC, date, datetime, timedelta
from functools import lru_cache
from types import MappingProxyType

from almanac.feed.entry import CATEGORY, FEEDS, Entry, plain
from almanac.plan.ids import parse

ID, DIGEST, HOLDS = "X-STICKDATE-ID", "X-STICKDATE-DIGEST", "X-STICKDATE-HOLDS"
_LINES = re.compile(rb"(?:[\t -~\x80-\xff]{1,75}\r\n)+")  # octets of a line: RFC 5545, 3.1
# At the start of a line only: a folded line may end in the same words.
_EVENT = re.compile(rb"^BEGIN:VEVENT\r\n.*?^END:VEVENT\r\n", re.DOTALL | re.MULTILINE)
_ALARM = re.compile(rb"^BEGIN:VALARM\r\n.*?^END:VALARM\r\n", re.DOTALL | re.MULTILINE)
_PART = re.compile(rb"^(?:BEGIN|END):", re.MULTILINE)
_FOLD = re.compile(rb"\r\n[ \t]")
_MOMENT = re.compile(r"[0-9]{8}(?:T[0-9]{6}Z)?")
_LENGTH = re.compile(r"(-?)P(?:([0-9]+)D)?(?:T(?:([0-9]+)H)?(?:([0-9]+)M)?(?:([0-9]+)S)?)?")
_LARGEST = 2**31 - 1  # an integer of RFC 5545, 3.3.8
_HEAD = ("VERSION", "PRODID", "NAME")


def events(feed: bytes) -> Iterator[bytes]:
    """The entries of a feed as bytes, whole or not."""
    for found in _EVENT.finditer(feed):
        yield found[0][found[0].rfind(b"\nBEGIN:VEVENT\r\n") + 1 :]  # one that was cut off has no end of its own


def properties(data: bytes) -> dict[str, str]:
    """The first of each property, without its parameters, unfolded; those of its alarm are not its own."""
    found: dict[str, str] = {}
    for line in unfolded(_ALARM.sub(b"", data)).split("\r\n"):
        name, _, value = line.partition(":")
        found.setdefault(name.partition(";")[0], value)
    return found


def unfolded(data: bytes) -> str:
    """Its content lines, each in one piece (RFC 5545, 3.1)."""
    return _FOLD.sub(b"", data).decode("utf-8", "replace")


def is_whole(feed: bytes) -> bool:
    """Whether a feed can be handed out."""
    parts = list(events(feed))
    frame = b"".join(_EVENT.split(feed))
    said = [entry_of(part) for part in parts]
    if not parts or None in said or not _LINES.fullmatch(frame) or len(_PART.findall(frame)) != len(("BEGIN", "END")):
        return False
    uids = {found[1]["UID"] for found in said if found is not None}
    head = properties(frame)
    begun = frame.startswith(b"BEGIN:VCALENDAR\r\n") and feed.endswith(b"END:VEVENT\r\nEND:VCALENDAR\r\n")
    begun = begun and len(frame) + sum(map(len, parts)) == len(feed)
    return begun and len(uids) == len(parts) and all(head.get(name) for name in _HEAD) and _is_text(frame)


@lru_cache(maxsize=4096)
def entry_of(data: bytes) -> tuple[Entry, Mapping[str, str]] | None:
    """What an entry says, and its properties; None where it is not whole."""
    try:
        return _entry(data)
    except (KeyError, ValueError, OverflowError):
        return None


def moment(value: str) -> date | datetime:
    """A date, or a moment in UTC. Raises ValueError."""
    if not _MOMENT.fullmatch(value):
        raise ValueError(value)
    return datetime.fromisoformat(value).astimezone(UTC) if "T" in value else date.fromisoformat(value)


def _entry(data: bytes) -> tuple[Entry, Mapping[str, str]] | None:
    alarms = _ALARM.findall(data)
    if not _LINES.fullmatch(data) or len(_PART.findall(data)) != 2 + 2 * len(alarms) or len(alarms) > 2:
        return None
    data.decode()
    said = properties(data)
    rings = [_length(properties(alarm.replace(b":VALARM", b":"))["TRIGGER"]) for alarm in alarms]
    start, end = moment(said["DTSTART"]), moment(said["DTEND"])
    stamps = moment(said["LAST-MODIFIED"]), moment(said["DTSTAMP"])
    [feed] = [name for name in FEEDS if CATEGORY[name] == said["CATEGORIES"]]
    entry = Entry(
        id=parse(said[ID]),
        feed=feed,
        summary=unescaped(said["SUMMARY"]),
        description=unescaped(said["DESCRIPTION"]),
        day=start.date() if isinstance(start, datetime) else start,
        start=start,
        end=end,
        holds=tuple(map(parse, said.get(HOLDS, "").split())),
        alarm=rings[0] if rings else None,
        alarm_back=rings[1] if len(rings) > 1 else None,
    )
    once = all(_FOLD.sub(b"", data).count(f"\n{name}:".encode()) == 1 for name in ("UID", "SEQUENCE", ID, DIGEST))
    fine = once and int(said["SEQUENCE"]) < _LARGEST and said["SEQUENCE"].isdecimal() and said["UID"]
    dated = all(isinstance(each, datetime) and each.year < date.max.year for each in stamps)
    return (entry, MappingProxyType(said)) if fine and dated and entry.digest() == said[DIGEST] else None


def unescaped(value: str) -> str:
    """A text as it was before RFC 5545, 3.3.11. Raises ValueError where it was not written so."""
    text = re.sub(r"\\(.)", lambda found: "\n" if found[1] == "n" else found[1], value)
    again = text.replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,").replace("\n", "\\n")
    if again != value or plain(text) != text:
        raise ValueError(value)
    return text


def _length(value: str) -> timedelta:
    found = _LENGTH.fullmatch(value)
    if not found:
        raise ValueError(value)
    days, hours, minutes, seconds = (int(part or 0) for part in found.groups()[1:])
    length = timedelta(days=days, hours=hours, minutes=minutes, seconds=seconds)
    return -length if found[1] else length


def _is_text(data: bytes) -> bool:
    try:
        data.decode()
    except UnicodeDecodeError:
        return False
    return True
