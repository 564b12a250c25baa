"""What was logged, and what moved by it, for the person who has just logged it. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date
from itertools import groupby
from typing import Any

from almanac.nursery.logbook import Row
from almanac.nursery.orders import Order
from almanac.plan.changes import Changes
from almanac.plan.room.placing import Placed
from almanac.plan.wood.forsale import Offer
from almanac.terminal.forsale import offer_json, order_json
from almanac.terminal.table import paragraph, table
from almanac.words.dates import day, shift, weekday
from almanac.words.for_sale import order_now, too_few
from almanac.words.labels import label_first
from almanac.words.lots import named

_MOST = 12  # moves shown to a person; the rest are counted, and --json has them all


def recorded_text(
    rows: Sequence[Row],
    made: Sequence[str],
    placed: Sequence[Placed],
    changes: Changes,
    as_of: date,
    orders: Sequence[Order] = (),
    short: Sequence[Offer] = (),
    restored: Sequence[tuple[str, str]] = (),
    *,
    planned: bool = True,
) -> str:
    """`Logged r41: leaves of 7a on Tue 24 Feb`, then what moved and by how much, where that is `planned`."""
    again = dict(restored)
    lines = [
        part
        for line, row in _logged_lines(rows, as_of)
        for part in paragraph(f"Counts again: {again[row.id]} (by row {row.id})." if row.id in again else line)
    ]
    for row, name in zip([row for row in rows if row.event.makes_lot], made, strict=False):
        parent = row.lot if row.lot != name else ""
        lines.append(f"This makes lot {name}" + (f", out of {parent}." if parent else "."))
    lines += paragraph(label_first(rows, made))
    for each in placed:
        pace = f"{each.seat.pace:.0%} of their best pace"
        left = f"{each.seat.free} of {each.seat.places} places left there"
        suits = f": roots of {each.crop} come at {pace}" if planned else ""
        lines += paragraph(f"Into bin {each.seat.bin}{suits}; {left}.")
    lines += [part for order in orders for part in paragraph(order_now(order, as_of))]
    lines += [part for offer in short for part in paragraph(too_few(offer) + ".")]
    lines += moves(changes, as_of) if planned else []
    return "\n".join(lines) + "\n"


def _logged_lines(rows: Sequence[Row], as_of: date) -> Iterator[tuple[str, Row]]:
    """What was logged, a line for rows alike, each with the first of them."""
    for _, alike in groupby(rows, key=_but_for_what_it_is_about):
        several = list(alike)
        yield _logged_once(several, as_of), several[0]


def _but_for_what_it_is_about(row: Row) -> Row:
    alike = row.event.kind == "job" and bool(row.lot or row.bin)
    return replace(row, id="", lot="", bin="", line=0) if alike else row


def _logged_once(rows: Sequence[Row], as_of: date) -> str:
    """`Logged r41 to r52: looked of 7a, 7b and 10 more on Tue 24 Feb.`, which one undo takes back."""
    first = rows[0]
    if len(rows) == 1:
        return _logged(first, as_of)
    about = named([row.lot or f"bin {row.bin}" for row in rows], 12)
    value = f", {first.value}" if first.value else ""
    return f"Logged {first.id} to {rows[-1].id}: {first.what} of {about}{value} on {weekday(first.day, as_of)}."


def _logged(row: Row, as_of: date) -> str:
    if row.what == "void":
        return f"Undone: {row.refers} (by row {row.id}; to have it count again: stickdate undo {row.id})."
    bin_name = f"bin {row.bin}" if row.bin and row.event.kind != "plan" else ""
    about = row.lot or bin_name or (f"number {row.variety}" if row.variety else row.value)
    count = f" {row.count}" if row.count is not None else ""
    value = f", {row.value}" if row.value and about != row.value else ""
    value += f" ({row.note})" if row.note and row.event.kind == "bin" else ""
    return f"Logged {row.id}: {row.what}{count} of {about}{value} on {weekday(row.day, as_of)}."


def moves(changes: Changes, as_of: date) -> list[str]:
    """What moved, came and went, in as many lines as a person reads."""
    if not (changes.moved or changes.added or changes.removed):
        return ["Nothing in the plan moves."]
    rows = [(m.id, f"{day(m.before, as_of)} to {day(m.after, as_of)}", shift(m.before, m.after)) for m in changes.moved]
    lines = ["Moved:", *table(rows[:_MOST], indent=2)] if rows else []
    lines += [f"  and {len(rows) - _MOST} more"] if len(rows) > _MOST else []
    lines += paragraph(f"New: {named(changes.added)}") if changes.added else []
    lines += paragraph(f"Gone: {named(changes.removed)}") if changes.removed else []
    return lines


def changes_json(changes: Changes) -> dict[str, Any]:
    """What moved as an object."""
    return {
        "moved": [{"id": m.id, "from": m.before.isoformat(), "to": m.after.isoformat()} for m in changes.moved],
        "added": list(changes.added),
        "removed": list(changes.removed),
    }


def recorded_json(
    rows: Sequence[Row],
    made: Sequence[str],
    placed: Sequence[Placed],
    changes: Changes,
    orders: Sequence[Order] = (),
    short: Sequence[Offer] = (),
) -> dict[str, Any]:
    """The same as one object; `row` is the first of `rows`."""
    every = [
        {
            "id": row.id,
            "date": row.day.isoformat(),
            "what": row.what,
            "lot": row.lot or None,
            "variety": row.variety or None,
            "count": row.count,
            "stage": row.stage or None,
            "bin": row.bin or None,
            "value": row.value or None,
            "refers": row.refers or None,
            "note": row.note or None,
        }
        for row in rows
    ]
    bins = [
        {"row": each.row, "bin": each.seat.bin, "pace": round(each.seat.pace, 3), "free": each.seat.free}
        for each in placed
    ]
    told = {"orders": [order_json(order) for order in orders], "short": [offer_json(offer) for offer in short]}
    return {"row": every[0], "rows": every, "made": list(made), "placed": bins, **changes_json(changes), **told}
