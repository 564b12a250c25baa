"""What was logged, and what moved by it, for the person who has just logged it. Pure."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import replace
from datetime import date
from itertools import groupby
from typing import TYPE_CHECKING, Any

from almanac.nursery.logbook import Row
from almanac.plan.changes import Changes, Moved
from almanac.plan.ids import EntryId
from almanac.plan.room.placing import Placed
from almanac.terminal.encoded import Shape
from almanac.terminal.forsale import OFFER, ORDER
from almanac.terminal.table import paragraph, paragraphs, table
from almanac.words.dates import weekday
from almanac.words.for_sale import order_now, too_few
from almanac.words.logged import said_of
from almanac.words.lots import label_first, named
from almanac.words.moved import Said, titles_of, told
from almanac.words.sentences import small, so_many

if TYPE_CHECKING:
    from almanac.actions.undo import Undoing
    from almanac.actions.writing import Recorded
    from almanac.nursery.nursery import Nursery

_SINCE = 4  # rows logged since that are named before one is undone


def recorded_text(done: Recorded) -> str:
    """`Logged: leaves of 7a on Tue 24 Feb (r41).`, then what moved, where that is `planned`; or what is `undone`."""
    rows, as_of, called = done.rows, done.as_of, done.called
    if done.undone:
        lines = paragraph(_undone(done.undone, rows, as_of, called, again=bool(done.restored)))
    else:
        alike = groupby(rows, key=_but_for_what_it_is_about)
        lines = paragraphs(_logged_once(list(each), as_of, called) for _, each in alike)
    for row, name in zip([row for row in rows if row.event.makes_lot], done.made, strict=False):
        parent = row.lot if row.lot != name else ""
        lines.append(f"This makes lot {name}" + (f", out of {parent}." if parent else "."))
    lines += paragraph(label_first(rows, done.made))
    for each in done.placed:
        pace = f"{each.seat.pace:.0%} of their best pace"
        left = f"{each.seat.free} of {each.seat.places} places left there"
        suits = f": roots of {each.crop} come at {pace}" if done.planned and each.seat.kind != "bed" else ""
        lines += paragraph(f"Into {small(called(each.seat.bin))}{suits}; {left}.")
    lines += paragraphs(order_now(order, as_of) for order in done.orders)
    lines += paragraphs(f"{too_few(offer)}." for offer in done.short)
    lots = {row.lot for row in (*rows, *done.undone)} | {*done.made}
    lines += moves(done.changes, as_of, lots) if done.planned else []
    return "\n".join(lines) + "\n"


def _but_for_what_it_is_about(row: Row) -> Row:
    alike = row.event.kind == "job" and bool(row.lot or row.bin)
    return replace(row, id="", lot="", bin="", line=0) if alike else row


def _undone(
    undone: Sequence[Row], voids: Sequence[Row], as_of: date, called: Callable[[str], str], *, again: bool
) -> str:
    """`Undone: leaves of 7a on Tue 24 Feb (r41; …).`, or that it counts again."""
    alike = [list(each) for _, each in groupby(undone, key=_but_for_what_it_is_about)]
    told = "; ".join(_what(each, as_of, called) for each in alike)
    back = "" if again else f"; to have it count again: stickdate undo {voids[0].id}"
    return f"{'Counts again' if again else 'Undone'}: {told} ({ids_of(undone)}{back})."


def undoing_text(row: str, undoing: Undoing, nursery: Nursery) -> str:
    """What undoing a row takes back, and what was logged of the same since, which stays."""
    called, as_of = nursery.settings.called, nursery.as_of
    own = [each for each in undoing.rows if each.id == row] or list(undoing.rows)
    lines = paragraph(f"This undoes: {_what(own, as_of, called)} ({row}). Logged of the same since, and stays:")
    since = [f"{_what([each], as_of, called)} ({each.id})" for each in undoing.later]
    left = len(since[:-_SINCE])
    lines += [f"  and {so_many(left, 'thing')} before"] if left else []
    lines += [part for each in since[-_SINCE:] for part in paragraph(each, indent=2, hang=2)]
    return "\n".join(lines) + "\n"


def _logged_once(rows: Sequence[Row], as_of: date, called: Callable[[str], str]) -> str:
    """`Logged: looked at 7a, 7b and 10 more on Tue 24 Feb (r41 to r52).`, which one undo takes back."""
    return f"Logged: {_what(rows, as_of, called)} ({ids_of(rows)})."


def ids_of(rows: Sequence[Row]) -> str:
    """`r41`, `r41 to r52`."""
    return rows[0].id if len(rows) == 1 else f"{rows[0].id} to {rows[-1].id}"


def _what(rows: Sequence[Row], as_of: date, called: Callable[[str], str]) -> str:
    """`leaves of 7a on Tue 24 Feb`, of one row or of several alike; `looked through bin A`."""
    first = rows[0]
    place = small(called(first.bin)) if first.bin and first.event.kind != "plan" else ""
    about = first.lot or place or (f"number {first.variety}" if first.variety else first.value)
    if len(rows) > 1:
        about = named([row.lot or small(called(row.bin)) for row in rows], 12)
    value = f", {first.value.replace('_', ' ')}" if first.value and about != first.value else ""
    value += f" into {place}" if first.lot and place else ""
    value += f" ({first.note})" if first.note and first.event.kind == "bin" else ""
    return f"{said_of(first, about.replace('_', ' '))}{value} on {weekday(first.day, as_of)}"


def moves(
    changes: Changes,
    as_of: date,
    lots: Collection[str] = (),
    titles: Mapping[EntryId, str] | None = None,
) -> list[str]:
    """What moved, came and went, in as many lines as a person reads.

    Args:
        changes: what did
        as_of: today
        lots: those that something was logged of, whose next steps come first
        titles: by id what each is called; else as tasks are
    """
    found = told(changes, titles_of(changes) if titles is None else titles, as_of, lots)
    if found.nothing:
        return ["Nothing in the plan moves."]
    lines = _told("Moves:", found.moved)
    dates = so_many(found.later, "later date")
    if found.later and found.moved:
        lines.append(f"  and {dates}, {found.far}")
    elif found.later:
        lines.append(f"No next step moves; {dates} {'do' if found.later > 1 else 'does'}, {found.far}.")
    lines += _told("New:", found.added, found.more)
    return lines + _told("No longer asked for:", found.removed, found.fewer)


def _told(head: str, some: Sequence[Said], left: int = 0) -> list[str]:
    named = [head, *table([(each.what, each.when) for each in some], indent=2)] if some else []
    return [*named, f"  and {left} more"] if left else named


MOVED = Shape(Moved, "id from=before to=after")
CHANGES = Shape(Changes, "moved added removed", moved=MOVED)
_ROW = Shape(Row, "id date=day what lot? variety? count stage? bin? value? refers? note?")
_PLACED = Shape(Placed, "row bin=seat.bin pace=seat.pace:3 free=seat.free")


def recorded_json(done: Recorded) -> dict[str, Any]:
    """The same as one object; `row` is the first of `rows`."""
    rows, told = _ROW(done.rows), {"orders": ORDER(done.orders), "short": OFFER(done.short)}
    placed = _PLACED(done.placed)
    return {"row": rows[0], "rows": rows, "made": done.made, "placed": placed, **CHANGES(done.changes), **told}
