"""An order taken, shipped or cancelled, for the person who has just done it. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

from almanac.nursery.logbook import Row
from almanac.nursery.orders import Order
from almanac.plan.changes import Changes
from almanac.plan.wood.forsale import Offer
from almanac.rulebook.law import Law
from almanac.terminal.encoded import Shape
from almanac.terminal.forsale import OFFER, ORDER
from almanac.terminal.recorded import CHANGES, moves
from almanac.terminal.table import paragraph
from almanac.words.dates import weekday
from almanac.words.for_sale import keeps_too_short, left_of, order_now, ready_by
from almanac.words.law import law_of_order


def order_text(
    order: Order,
    left: Offer,
    sold: Sequence[Row],
    changes: Changes,
    as_of: date,
    laws: Sequence[Law] = (),
    chance: float | None = None,
) -> str:
    """How the order stands, what was logged for it, what the law says, what is left to promise, what moved."""
    lines = paragraph(order_now(order, as_of))
    if sold:
        ids = sold[0].id if len(sold) == 1 else f"{sold[0].id} to {sold[-1].id}"
        lots = ", ".join(f"{row.lot} {row.count}" for row in sold)
        lines += paragraph(f"Logged {ids}: sold from {lots} on {weekday(sold[0].day, as_of)}.")
    lines += paragraph(ready_by(order, chance, as_of)) if chance is not None else []
    lines += paragraph(law_of_order(order, laws))
    lines += paragraph(left_of(left))
    lines += paragraph(keeps_too_short(order, left, as_of))
    return "\n".join([*lines, *moves(changes, as_of)]) + "\n"


_SOLD = Shape(Row, "id lot stage count")


def order_told_json(
    order: Order, left: Offer, sold: Sequence[Row], changes: Changes, chance: float | None = None
) -> dict[str, Any]:
    """The same as one object; `chance` is that of plants on their way to be ready in time, null where none is."""
    told = {"order": ORDER(order), "left": OFFER(left), "sold": _SOLD(sold)}
    return {**told, "chance": None if chance is None else round(chance, 3), **CHANGES(changes)}
