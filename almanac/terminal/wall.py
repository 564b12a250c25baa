"""The months ahead as a list by day, as the phone will show them, and as JSON. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from textwrap import wrap
from typing import Any

from almanac.pictures.wall import Month, WallEntry, entry_words
from almanac.terminal.encoded import Shape
from almanac.terminal.table import WIDTH
from almanac.words.dates import month_in_full, weekday


def months_text(months: Sequence[Month]) -> str:
    """A part a month; days on which nothing falls are left out."""
    lines: list[str] = []
    for each in months:
        lines.append(f"{month_in_full(each.first)} {each.first.year}")
        for when in each.days:
            head = f"  {weekday(when):<11}{'away  ' if when in each.away else ''}"
            for entry in each.on(when):
                told = wrap(entry_words(entry), WIDTH - len(head), break_on_hyphens=False)
                lines += [head + told[0], *(" " * len(head) + part for part in told[1:])]
                head = " " * len(head)
        lines += [] if each.entries else ["  Nothing."]
        lines.append("")
    return "\n".join(lines).rstrip() + "\n"


def months_json(months: Sequence[Month]) -> dict[str, Any]:
    """The same as one object: `months` with their `entries`."""
    return {"months": _MONTH(months)}


_ENTRY = Shape(
    WallEntry, "date=day time title until", time=lambda entry: f"{entry.clock:%H:%M}" if entry.clock else None
)
_MONTH = Shape(Month, "month entries", month=lambda each: f"{each.first:%Y-%m}", entries=_ENTRY)
