"""The calendar as last written, for the bench while its own rules are at fault. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date, timedelta
from typing import Any

from almanac.actions.last_plan import LastPlan
from almanac.faults import Fact, Refusal, nearest
from almanac.feed.entry import Entry
from almanac.nursery.events import STAGES
from almanac.nursery.lots import Lot
from almanac.terminal.encoded import Shape
from almanac.terminal.table import paragraph, paragraphs, table
from almanac.words.dates import day, weekday
from almanac.words.faults import fault_lines
from almanac.words.lock_screen import cut
from almanac.words.lots import place_and_count, whereabouts
from almanac.words.notices import stands_still

_NAME = 14  # letters of a variety in the table


def last_plan_text(last: LastPlan, days: int) -> str:
    """What was last written, as one text."""
    return "\n".join(last_plan_lines(last, days)).rstrip() + "\n"


def last_plan_lines(last: LastPlan, days: int) -> list[str]:
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
    return lines


def _told(entry: Entry) -> list[str]:
    """A round with all that is looked for, anything else by its title."""
    lines = paragraph(entry.summary, 2)
    if entry.id.kind == "round":
        lines += [part for line in entry.description.split("\n") for part in (paragraph(line, 4) if line else [""])]
    return lines


def last_plan_json(last: LastPlan, days: int) -> dict[str, Any]:
    """The same as one object."""
    as_of = last.nursery.as_of
    until = as_of + timedelta(days=days - 1)
    return {**_stands(last), "entries": _entries(each for each in last.entries if as_of <= each[0] <= until)}


def last_lots_text(last: LastPlan, *, closed: bool = False, only: str = "") -> str:
    """Where lots are by what is logged, and what was last written of each from the day on; or of one all of it."""
    nursery, as_of = last.nursery, last.nursery.as_of
    lines = [*paragraph(stands_still(last.written_for, as_of)), ""]
    if only:
        lot = nursery.stock.lots[only]
        lines += paragraph(f"{lot.id}: {nursery.varieties[lot.number].name}, {whereabouts(lot)}")
        told = (f"{day(when, as_of)}: {each.summary} ({each.id})" for when, each in _ahead_of(last, only))
        return "\n".join([*lines, *paragraphs(told, 2)]) + "\n"
    rows = []
    for lot in _lots(last, closed=closed):
        when, entry = next(_ahead_of(last, lot.id), (as_of, None))
        following = f"{day(when, as_of)}: {entry.summary}" if entry else ""
        rows.append((lot.id, cut(nursery.varieties[lot.number].name, _NAME), place_and_count(lot), following))
    shown = table(rows, ("lot", "variety", "where", "as last written")) if rows else ["No lots."]
    return "\n".join([*lines, *shown]) + "\n"


def last_lots_json(last: LastPlan, *, closed: bool = False, only: str = "") -> dict[str, Any]:
    """The same as one object."""
    lots = [last.nursery.stock.lots[only]] if only else _lots(last, closed=closed)
    found = [{**_LOT(lot), "entries": _entries(_ahead_of(last, lot.id))} for lot in lots]
    return {**_stands(last), "lots": found}


def last_why_text(last: LastPlan, name: str) -> str:
    """An entry as it was last written, with the reason that it then gave. Raises Refusal where none was of that id."""
    as_of = last.nursery.as_of
    lines = [*paragraph(stands_still(last.written_for, as_of)), ""]
    for when, entry in _asked(last, name):
        lines += [*paragraph(f"{weekday(when, as_of)}: {entry.summary}"), ""]
        lines += [part for line in entry.description.split("\n") for part in (paragraph(line) if line else [""])]
    return "\n".join(lines).rstrip() + "\n"


def last_why_json(last: LastPlan, name: str) -> dict[str, Any]:
    """The same as one object. Raises Refusal likewise."""
    [(when, entry), *_] = _asked(last, name)
    told = {"id": entry.id, "date": when, "title": entry.summary, "text": entry.description}
    return {**_stands(last), **told}


def _asked(last: LastPlan, name: str) -> list[tuple[date, Entry]]:
    wanted = name.lower()
    found = [each for each in last.entries if wanted in (each[1].id.lower(), *(held.lower() for held in each[1].holds))]
    if not found:
        known = [str(entry.id) for _, entry in last.entries]
        raise Refusal(Fact("no_entry", name=name, near=nearest(wanted, known)))
    return found[-1:]


def _lots(last: LastPlan, *, closed: bool) -> list[Lot]:
    return [lot for lot in last.nursery.stock.lots.values() if closed or not lot.closed]


def _ahead_of(last: LastPlan, lot: str) -> Iterator[tuple[date, Entry]]:
    """What was written of a lot for the day and those after it."""
    for when, entry in last.entries:
        if when >= last.nursery.as_of and lot in (entry.id.of_lot, *(held.of_lot for held in entry.holds)):
            yield when, entry


def _entries(found: Iterable[tuple[date, Entry]]) -> list[dict[str, Any]]:
    return [{"id": entry.id, "date": when, "title": entry.summary} for when, entry in found]


def _stands(last: LastPlan) -> dict[str, Any]:
    return {
        "as_of": last.nursery.as_of,
        "stands_still_since": last.written_for,
        "faults": fault_lines(last.faults),
    }


_LOT = Shape(Lot, "lot=id number crop bin? counts", counts=lambda lot: {stage: lot.count(stage) for stage in STAGES})
