"""The calendar as last written, for the bench while its own rules are at fault. Pure."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from almanac.actions.last_plan import LastPlan
from almanac.feed.entry import Entry
from almanac.terminal.table import paragraph, paragraphs
from almanac.words.dates import day, weekday
from almanac.words.faults import fault_lines
from almanac.words.notices import stands_still


def last_plan_text(last: LastPlan, days: int) -> str:
    """What was written for today and the days after; before it, by title, what was written for since."""
    nursery, as_of = last.nursery, last.nursery.as_of
    until = as_of + timedelta(days=days - 1)
    lines = paragraph(f"{nursery.name}, {weekday(as_of)} {as_of.year}")
    lines += [*paragraph(stands_still(last.written_for, as_of)), ""]
    since = last.written_for or as_of
    earlier = [(when, entry) for when, entry in last.entries if since <= when < as_of]
    if earlier:
        told = (f"{day(when, as_of)}: {each.summary}" for when, each in earlier)
        lines += ["Since then, if it is not done yet", *paragraphs(told, 2), ""]
    shown = [(when, entry) for when, entry in last.entries if as_of <= when <= until]
    for when in dict.fromkeys((as_of, *(when for when, _ in shown))):
        there = [part for found, entry in shown if found == when for part in _told(entry)]
        head = "Today" if when == as_of else weekday(when, as_of)
        lines += [head, *(there or ["  Nothing was written for it."]), ""]
    following = next((when for when, entry in last.entries if when > until), None)
    if following:
        lines += [f"The next entry is for {weekday(following, as_of)}."]
    return "\n".join(lines).rstrip() + "\n"


def _told(entry: Entry) -> list[str]:
    """A round with all that is looked for, anything else by its title."""
    lines = paragraph(entry.summary, 2)
    if entry.id.kind == "round":
        lines += [part for line in entry.description.split("\n") for part in (paragraph(line, 4) if line else [""])]
    return lines


def last_plan_json(last: LastPlan, days: int) -> dict[str, Any]:
    as_of = last.nursery.as_of
    until = as_of + timedelta(days=days - 1)
    return {
        "as_of": as_of,
        "stands_still_since": last.written_for,
        "faults": fault_lines(last.faults),
        "entries": [
            {"id": found.id, "date": when, "title": found.summary}
            for when, found in last.entries
            if as_of <= when <= until
        ],
    }
