"""Components of a calendar as content lines (RFC 5545): texts escaped, long lines folded, dates and lengths. Pure.

Instead of by the objects of a calendar library, which take as long to import as a whole plan of a quiet day: what is
written here are a dozen kinds of property, always in the same order. `tests/unit/test_feed_lines.py` holds each byte
against that library's. What others wrote is read with it (`in_step`).
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, date, datetime, timedelta

_LONGEST = 74  # octets of a line: one less than RFC 5545, 3.1 allows
_MINUTE_S, _HOUR_S = 60, 3600


def component(name: str, lines: Iterable[str], parts: Iterable[bytes] = ()) -> bytes:
    """A component with its properties, in the order given, and the components in it."""
    own = b"".join(_folded(line) for line in (f"BEGIN:{name}", *lines))
    return own + b"".join(parts) + _folded(f"END:{name}")


def escaped(value: str) -> str:
    """A text without control characters as a value (3.3.11)."""
    return value.replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,").replace("\n", "\\n")


def moment(value: datetime) -> str:
    """A moment as a value, in UTC (3.3.5)."""
    return value.astimezone(UTC).strftime("%Y%m%dT%H%M%SZ")


def dated(name: str, value: date | datetime) -> str:
    """A property that is a day or a moment (3.3.4, 3.3.5)."""
    if isinstance(value, datetime):
        return f"{name}:{moment(value)}"
    return f"{name};VALUE=DATE:{value:%Y%m%d}"


def length(value: timedelta) -> str:
    """A length of time as a value (3.3.6)."""
    size = abs(value)
    hours, rest = divmod(size.seconds, _HOUR_S)
    minutes, seconds = divmod(rest, _MINUTE_S)
    clock = f"{hours}H" if hours else ""
    clock += f"{minutes}M" if minutes or (hours and seconds) else ""
    clock += f"{seconds}S" if seconds else ""
    days = f"{size.days}D" if size.days or not clock else ""
    return ("-" if value < timedelta() else "") + "P" + days + (f"T{clock}" if clock else "")


def _folded(line: str) -> bytes:
    """A line with its end, broken where it is too long (3.1): between letters, and never within an escaped one."""
    data, begin, found = line.encode(), 0, []
    while len(data) - begin > _LONGEST:
        end = begin + _LONGEST
        while data[end] & 0xC0 == 0x80:  # within a letter of several octets
            end -= 1
        if data[end - 1] in b"\\^":
            end -= 1
        found.append(data[begin:end])
        begin = end
    return b"\r\n ".join((*found, data[begin:])) + b"\r\n"
