"""What there is to sell and what is promised, as tables for the grower and as JSON. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date
from typing import Any

from almanac.nursery.nursery import Nursery
from almanac.nursery.order_rows import FORMS, Form
from almanac.nursery.orders import Order
from almanac.plan.wood.account import Wood
from almanac.plan.wood.ahead import Ahead
from almanac.plan.wood.forsale import Batch, Hold, Offer
from almanac.rulebook.law import Law
from almanac.terminal.encoded import Shape
from almanac.terminal.table import clipped, paragraph, paragraphs, table
from almanac.words.dates import day, weekday
from almanac.words.for_sale import chance_told, destination, held_back, order_now, price_of, ready_by, sold_as, too_few
from almanac.words.law import law_in_short
from almanac.words.sentences import capital

_LAW = Shape(Law, "to within where ruling paper text source year")
_NO_LAWS: Mapping[str, Sequence[Law]] = {}
_NOTHING_AHEAD: Mapping[str, Ahead] = {}
_NOT_SOLD = "None are sold ([sale] in nursery.toml)."
_NAME = 22  # letters of a variety
_NONE: dict[Form, str] = {
    "dormant": "None in store.",
    "rooted": "None hardened off yet; log it when they are: stickdate log hardened LOT.",
}


def forsale_text(
    found: Sequence[Offer],
    nursery: Nursery,
    laws: Mapping[str, Sequence[Law]] = _NO_LAWS,
    ahead: Mapping[str, Ahead] = _NOTHING_AHEAD,
) -> str:
    """What is free to sell first, then what is not to be sent yet, where it may not go, what comes, what is ordered."""
    as_of = nursery.as_of
    lines = paragraph(f"{nursery.name}: for sale on {weekday(as_of)} {as_of.year}")
    for form in FORMS:
        heading = sold_as(form)
        lines += ["", capital(heading)]
        lines += _offered([offer for offer in found if offer.form == form], form, nursery)
    held = [(batch, offer) for offer in found for batch in offer.batches if batch.hold]
    if held:
        lines += ["", "Not to be shipped yet"]
        lines += table([_held_row(batch, offer, as_of) for batch, offer in held], indent=2)
    if laws:
        told = (f"{nursery.book.crops[crop].title}: {law_in_short(those)}" for crop, those in laws.items())
        lines += ["", "By law", *paragraphs(told, 2)]
    lines += _on_their_way(ahead, nursery)
    lines += _promised(nursery.orders.values(), as_of)
    lines += paragraphs(_waiting(found, ahead, nursery), 2)
    short = [too_few(offer) for offer in found if offer.short]
    lines += ["", "Take care", *paragraphs(short, 2)] if short else []
    return "\n".join(lines) + "\n"


def _waiting(found: Sequence[Offer], ahead: Mapping[str, Ahead], nursery: Nursery) -> Iterator[str]:
    """How likely orders are met in time that wait for plants on their way."""
    as_of, short = nursery.as_of, {offer.variety.number for offer in found if offer.form == "rooted" and offer.ahead}
    for order in nursery.orders.values():
        waits = order.open and order.ship_by and order.ship_by > as_of and order.form == "rooted"
        if waits and order.number in short:
            known = ahead.get(order.number)
            yield f"{order.id}: {ready_by(order, known.kept(order) if known else 0.0, as_of)}"


def _on_their_way(ahead: Mapping[str, Ahead], nursery: Nursery) -> list[str]:
    """What may be promised for later days, at the chance at which this nursery promises."""
    chance, rows = nursery.settings.sale.promise_at, []
    for number, each in ahead.items():
        free = [(day(by, nursery.as_of), each.free(by, chance)) for by in each.days()]
        told = [f"{many} by {by}" for by, many in free if many]
        name = clipped(f"{number} {nursery.varieties[number].name}".strip(), _NAME)
        rows.append((name, ", ".join(dict.fromkeys(told)) or "none as surely as that"))
    if not rows:
        return []
    return ["", f"On their way: may be promised at {chance_told(chance)}", *table(rows, indent=2)]


def _offered(found: Sequence[Offer], form: Form, nursery: Nursery) -> list[str]:
    if not getattr(nursery.settings.sale, form):
        return paragraph(_NOT_SOLD, 2)
    if not found:
        return paragraph(_NONE[form], 2)
    dormant = form == "dormant"
    header = ("", "free", "price", *(("cut", "sold to") if dormant else ("hardened",)), "lots; not free")
    return table([_offer_row(offer, nursery.as_of) for offer in found], header, indent=2)


def _offer_row(offer: Offer, as_of: date) -> tuple[str, ...]:
    sound = [batch for batch in offer.batches if not batch.hold]
    name = clipped(f"{offer.variety.number} {offer.variety.name}".strip(), _NAME)
    return (name, str(offer.free), clipped(price_of(offer), 6), *_ages(sound, offer.form, as_of), _where(sound, offer))


def _ages(sound: Sequence[Batch], form: Form, as_of: date) -> tuple[str, ...]:
    """How long ago, oldest first, and how long the oldest still keeps."""
    weeks = list(dict.fromkeys((as_of - batch.since).days // 7 for batch in sound))
    ends = [batch.wood.closes for batch in sound if batch.wood]
    low, high = sorted((weeks[0], weeks[-1])) if weeks else (0, 0)
    ago = f"{low}-{high} wk" if low < high else f"{low} wk" if weeks else ""
    return (ago,) if form == "rooted" else (ago, day(min(ends), as_of) if ends else "")


def _where(sound: Sequence[Batch], offer: Offer) -> str:
    """`1a 4, 1c 10; 3 promised, 2 held back`"""
    lots = ", ".join(f"{batch.lot} {batch.count}" for batch in sound)
    counts = (offer.reserved, "promised"), (offer.planned, "planned"), (offer.held, "held back")
    rest = [f"{count} {what}" for count, what in counts if count]
    return "; ".join(filter(None, (lots, ", ".join(rest))))


def _held_row(batch: Batch, offer: Offer, as_of: date) -> tuple[str, str, str]:
    assert batch.hold is not None  # those held back alone are listed
    return batch.lot, f"{batch.count} {sold_as(offer.form, batch.count)}", held_back(batch.hold, as_of)


def _promised(orders: Iterable[Order], as_of: date) -> list[str]:
    still = [order for order in orders if order.open]
    if not still:
        return ["", "No order is open."]
    still.sort(key=lambda order: (order.ship_by is None, order.ship_by or order.day, order.day))
    return ["", "Open orders", *table([_order_row(order, as_of) for order in still], indent=2)]


def _order_row(order: Order, as_of: date) -> tuple[str, ...]:
    by = f"by {weekday(order.ship_by, as_of)}" if order.ship_by else "no day given"
    late = ", late" if order.ship_by and order.ship_by < as_of else ""
    of = f" (of {order.count})" if order.open != order.count else ""
    what = f"{order.open}{of} {sold_as(order.form, order.open)} of no. {order.number}"
    where = "; ".join(filter(None, (destination(order.country, order.region), order.note)))
    return order.id, what, by + late, where


def orders_text(orders: Sequence[Order], nursery: Nursery, *, everything: bool) -> str:
    """Open orders, those to be shipped first in front; or all, as they stand."""
    as_of = nursery.as_of
    lines = paragraph(f"{nursery.name}: orders on {weekday(as_of)} {as_of.year}")
    if everything:
        lines += ["", *paragraphs(order_now(order, as_of) for order in orders)]
        return "\n".join(lines if orders else [*lines, "None so far."]) + "\n"
    return "\n".join([*lines, *_promised(orders, as_of)]) + "\n"


def forsale_json(
    found: Sequence[Offer],
    nursery: Nursery,
    laws: Mapping[str, Sequence[Law]],
    ahead: Mapping[str, Ahead] = _NOTHING_AHEAD,
) -> dict[str, Any]:
    """The same as one object: `for_sale` by variety and form, `orders` still open.

    `law` by crop, as rules have it; `ahead` by number, how many more may be promised by days to come at a `chance`.
    """
    chance = nursery.settings.sale.promise_at
    return {
        "as_of": nursery.as_of,
        "for_sale": [
            {**OFFER(offer), "lots": [_batch_json(each, nursery.as_of) for each in offer.batches]} for offer in found
        ],
        "law": {crop: _LAW(laws[crop]) for crop in laws},
        "ahead": [
            {
                "number": number,
                "chance": chance,
                "by": [{"date": by, "count": each.free(by, chance)} for by in each.days()],
            }
            for number, each in ahead.items()
        ],
        "orders": ORDER(order for order in nursery.orders.values() if order.open),
    }


# What there is of one variety in one form. Of what is `there`, `held` is not to be sent yet; of the rest `reserved` is
# promised, `planned` is to be stuck and `free` may still be promised. Of the promised `ahead` are still on their way,
# `short` are not there.
OFFER = Shape(
    Offer,
    "number=variety.number name=variety.name crop=variety.crop form free there held reserved planned ahead short price",
    price=lambda offer: price_of(offer) or None,
)
# Until when wood in store is sold, from when on it is looked at first, and until when it is worth sticking.
WOOD = Shape(
    Wood,
    "sold_from=opens sold_to=closes ended_by=sale_ended_by look_first_from=look_first keeps stick_by=until seen",
)
ORDER = Shape(
    Order,
    "order=id date=day number form count open shipped cancelled ship_by shipped_on country? region? note?",
    shipped=lambda order: min(order.shipped, order.count),
)
_HOLD = Shape(Hold, "reason since=day until")
_BATCH = Shape(Batch, "lot count since")


def _batch_json(batch: Batch, as_of: date) -> dict[str, Any]:
    return {
        **_BATCH(batch),
        "weeks": (as_of - batch.since).days // 7,
        "days_left": (batch.wood.closes - as_of).days if batch.wood else None,
        **(WOOD(batch.wood) or {}),
        "held": _HOLD(batch.hold),
    }
