"""An order taken, shipped or cancelled, for the person who has just done it. Pure."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from almanac.nursery.logbook import Row
from almanac.terminal.encoded import Shape
from almanac.terminal.forsale import OFFER, ORDER
from almanac.terminal.recorded import CHANGES, ids_of, moves
from almanac.terminal.table import paragraph
from almanac.words.dates import weekday
from almanac.words.for_sale import keeps_too_short, left_of, order_now, ready_by
from almanac.words.law import law_of_order

if TYPE_CHECKING:
    from almanac.actions.orders import OrderResult


def order_text(done: OrderResult) -> str:
    """How the order stands, what was logged for it, what the law says, what is left to promise, what moved."""
    order, as_of = done.order, done.as_of
    lines = paragraph(order_now(order, as_of))
    if done.sold:
        lots = ", ".join(f"{row.lot} {row.count}" for row in done.sold)
        lines += paragraph(f"Logged {ids_of(done.sold)}: sold from {lots} on {weekday(done.sold[0].day, as_of)}.")
    lines += paragraph(ready_by(order, done.chance, as_of)) if done.chance is not None else []
    lines += paragraph(law_of_order(order, done.laws))
    lines += paragraph(left_of(done.left))
    lines += paragraph(keeps_too_short(order, done.left, as_of))
    return "\n".join([*lines, *moves(done.moved, as_of)]) + "\n"


_SOLD = Shape(Row, "id lot stage count")


def order_told_json(done: OrderResult) -> dict[str, Any]:
    """The same as one object; `chance` is that of plants on their way to be ready in time, null where none is."""
    told = {"order": ORDER(done.order), "left": OFFER(done.left), "sold": _SOLD(done.sold)}
    return {**told, "chance": None if done.chance is None else round(done.chance, 3), **CHANGES(done.moved)}
