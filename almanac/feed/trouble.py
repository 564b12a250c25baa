"""The entry that says what to mend, put into feeds that cannot be worked out at present. Pure."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date, datetime
from uuid import NAMESPACE_URL, uuid5
from zoneinfo import ZoneInfo

from almanac.faults import Fact, Fault
from almanac.feed.entry import MEND, all_day
from almanac.feed.previous import published
from almanac.feed.publish import event
from almanac.feed.whole import ID, events
from almanac.words.faults import in_short, page_text, told_all
from almanac.words.sentences import one_line

_MINE = f"\r\n{ID}:{MEND}\r\n".encode()
_UID = re.compile(rb"^UID:([0-9a-f-]+)", re.MULTILINE)
_ANYWHERE = ZoneInfo("UTC")  # the entry is one of a whole day
NOT_RENEWED = "not_renewed"
_MOST = 6  # faults told in full
_LAST = "Until then this calendar is the last good one."


def with_trouble(
    good: bytes,
    faults: Sequence[Fault | Fact],
    day: date,
    now: datetime,
    nursery_id: str | None = None,
    handed: bytes = b"",
) -> bytes:
    """A good feed with one more entry.

    Args:
        good: the feed as last written
        faults: what is wrong
        day: the day of the entry
        now: the real time, aware: when the entry changed, if it did
        nursery_id: its uuid, if the files still tell it
        handed: the feed as last handed out; if this entry says the same in it, it stays as it is
    """
    end = b"END:VCALENDAR\r\n"
    return good.removesuffix(end) + _entry(faults, day, now, nursery_id or _made_up_from(good), handed) + end


def without_trouble(feed: bytes) -> bytes:
    """A feed without that entry."""
    for found in _troubles(feed):
        feed = feed.replace(found, b"")
    return feed


def _troubles(feed: bytes) -> list[bytes]:
    return [found for found in events(feed) if _MINE in found]


def _made_up_from(feed: bytes) -> str:
    """An id of the same feed again and again, where the nursery's is not to be had."""
    first = _UID.search(feed)
    return str(uuid5(NAMESPACE_URL, first[1].decode() if first else ""))


def _entry(faults: Sequence[Fault | Fact], day: date, now: datetime, nursery_id: str, handed: bytes) -> bytes:
    rest = len(faults) - _MOST
    more = [f"and {rest} more"] if rest > 0 else []
    told = told_all([each for each in faults if isinstance(each, Fault)])
    # In the words of the page: a phone need not know where the folder lies.
    told += [one_line(page_text(each)) for each in faults if isinstance(each, Fact)]
    body = "\n".join(["To mend:", *told[:_MOST], *more, "", f"{_LAST} All faults: stickdate check"])
    what = in_short(faults[0])
    title = f"Calendar stands still: mend {what}" if what else "Calendar stands still"
    if isinstance(faults[0], Fact) and faults[0].kind == NOT_RENEWED:
        title, body = "Calendar could not be renewed", f"{told[0]}\n\n{_LAST}"
    entry = all_day(MEND, "bench", title if len(title) <= 75 else f"{title[:74]}…", body, day)
    before = [found for data in _troubles(handed) if (found := published(data, _ANYWHERE, nursery_id))]
    old = next((found for found in before if found.first == day), None)
    return old.data if old and old.digest == entry.digest() else event(entry, entry.uid(nursery_id), now, old)
