"""The next step in a nursery that is young: the first of varieties, lots, calendar, phone and looks that is not made.

Of a published calendar nobody can see whether a phone has subscribed, only that its address was given out: `serve` and
`publish` make the keys, a calendar server is remembered beside the feeds. Of one that `serve` gives the first fetch is
kept (`subscribed`), as whoever has the page may not have the calendar yet. A grower who prints sheets or never logs a
look is not asked for ever: of calendar, phone and looks nothing is said once the logbook is two months long.
"""

from __future__ import annotations

import contextlib
from datetime import timedelta
from pathlib import Path

from almanac.actions.around import KEYS
from almanac.actions.look import CALENDAR, NAMES
from almanac.faults import Fact
from almanac.nursery.events import EVENTS
from almanac.nursery.nursery import Nursery

_YOUNG = timedelta(days=60)
_SEEN = ("sign", "trouble", "job")
_FETCHED = ".subscribed"
_SAYS = "A phone or another calendar has fetched this nursery's calendar from `stickdate serve`.\n"


def next_step(nursery: Nursery, *, by_phone: bool = False) -> Fact | None:
    """The step to make next, or None where all are made or the nursery is no longer young.

    Args:
        by_phone: whether whoever asks has the page before them, and so has been given an address
    """
    if not nursery.varieties:
        return Fact("next_varieties")
    if not nursery.stock.lots and not nursery.stock.to_come:
        return Fact("next_lots", number=next(iter(nursery.varieties)))
    if nursery.rows[0].day < nursery.as_of - _YOUNG:
        return None
    feeds = nursery.folder / CALENDAR
    if by_phone and not (feeds / _FETCHED).exists():
        return Fact("next_subscribe")
    if not by_phone and not (feeds / f"{NAMES[0]}.ics").exists():
        return Fact("next_calendar")
    if not by_phone and not (nursery.folder / KEYS).exists() and not any(feeds.glob("caldav-*")):
        return Fact("next_phone")
    rooting = next((lot for lot in nursery.stock.lots.values() if lot.count("rooting")), None)
    if rooting is None or any(EVENTS[row.what].kind in _SEEN or row.what == "potted" for row in nursery.rows):
        return None
    item = nursery.settings.bin_named(rooting.bin)
    return Fact("next_looks", bin=item.name, kind=item.kind) if item else Fact("next_look", lot=rooting.id)


def subscribed(folder: Path) -> None:
    """Keep that a feed was fetched; where nothing can be written it is not kept, and the page asks again."""
    with contextlib.suppress(OSError), (folder / CALENDAR / _FETCHED).open("x", encoding="utf-8") as file:
        file.write(_SAYS)
