"""Orders: promise what there is, send it, cancel it; each under the nursery's lock: nothing is promised twice."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path

from almanac.actions.promised import STAGES_OF, at_today, order_named, refuse_unlawful, told_in_orders
from almanac.actions.request import parse_day
from almanac.actions.row_ids import numbered
from almanac.actions.writing import Recorded, locked, settle_calendar, stamp, write, write_rows
from almanac.faults import Fact, Miswritten, Refusal, nearest
from almanac.nursery.load import load_nursery
from almanac.nursery.logbook import MOST, Row, read_day
from almanac.nursery.nursery import Nursery
from almanac.nursery.order_rows import CANCELLED, FILE, FORMS, TABLE, Form, OrderRow, order_key
from almanac.nursery.orders import Order
from almanac.nursery.tables import next_numbers
from almanac.nursery.turns import Turn
from almanac.nursery.varieties import Variety
from almanac.plain import dataclass
from almanac.plan.changes import Changes
from almanac.plan.context.law import laws_of_offer, laws_of_parcel
from almanac.plan.wood.ahead import ahead_in
from almanac.plan.wood.forsale import Offer, offer_of
from almanac.rulebook.law import Law


@dataclass(frozen=True, kw_only=True)
class OrderWanted:
    """What a buyer orders, as said on the command line."""

    number: str
    form: str
    count: int
    ship_by: str = ""
    country: str = ""
    region: str = ""
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class OrderResult:
    """An order placed, sent or cancelled, as it is now, and what is left of its kind; what was `logged` by it.

    `moved` is what moved in the plan, `stale` why the calendar was not refreshed, `set_aside` a torn line; `laws` those
    that hold for its parcel or, where nobody has said where it goes, that it may meet; `chance` is that of plants still
    on their way to be ready in time.
    """

    order: Order
    left: Offer
    moved: Changes
    as_of: date
    logged: Recorded | None = None
    set_aside: str = ""
    stale: Fact | None = None
    laws: tuple[Law, ...] = ()
    chance: float | None = None

    @property
    def sold(self) -> tuple[Row, ...]:
        """The rows that say what was sold for it."""
        return self.logged.rows if self.logged else ()


def place(folder: Path, now: datetime, wanted: OrderWanted, as_of: date | None = None) -> OrderResult:
    """Promise so many, if they are there to promise.

    Raises:
        InputFaults: the nursery's files are at fault
        Refusal: it cannot be promised; nothing was written
    """
    with locked(folder, now, as_of) as turn:
        nursery = load_nursery(folder, now, as_of)
        today = at_today(nursery)
        row = _row(nursery, wanted)
        refuse_unlawful(nursery, row.number, row.country, row.region, row.note)
        assert row.form  # `_row` gives one
        for seen in (nursery, today):
            offer = offer_of(seen, row.number, row.form)
            if wanted.count > offer.free and not _ahead(seen, row):
                _refuse_unpromisable(offer, wanted.count)
        return _write(nursery, [row], row.order, now, turn)


def cancel(folder: Path, now: datetime, name: str, as_of: date | None = None) -> OrderResult:
    """Take back what is still open of an order.

    Raises:
        InputFaults: the nursery's files are at fault
        Refusal: there is no such order, or nothing of it is open; nothing was written
    """
    with locked(folder, now, as_of) as turn:
        nursery = load_nursery(folder, now, as_of)
        order = order_named(at_today(nursery), name)
        _refuse_nothing_open(order)
        day = max(order.day, min(nursery.as_of, nursery.today))
        row = OrderRow(order=order.id, day=day, number=order.number, form=order.form, count=order.open, done=CANCELLED)
        return _write(nursery, [row], order.id, now, turn)


def ship(
    folder: Path,
    now: datetime,
    name: str,
    lots: Sequence[str] = (),
    count: int | None = None,
    on: str = "today",
    as_of: date | None = None,
) -> OrderResult:
    """Log as sold what an order still wants, oldest wood or longest hardened first, and say so in the order.

    An order that is shipped already is left as it is, so that a request made twice does no harm.

    Args:
        name: the order's id
        lots: from these alone
        count: only so many of it
        on: the day it was sent
    Raises:
        InputFaults: the nursery's files are at fault
        Refusal: there are not so many that can be sent; nothing was written
    """
    with locked(folder, now, as_of) as turn:
        nursery = load_nursery(folder, now, as_of)
        today = at_today(nursery)
        order = order_named(today, name)
        if order.shipped and not order.open and not order.cancelled:
            _say_what_is_logged(nursery)
            return _write(nursery, [], order.id, now, turn)
        wanted = _how_many(order, count, nursery.varieties[order.number])
        refuse_unlawful(nursery, order.number, order.country, order.region, order.note, order.id)
        day = parse_day(on, min(nursery.as_of, nursery.today))
        offer = _only(offer_of(today, order.number, order.form), lots)
        rows = _sold(today, order, offer, wanted, day, stamp(nursery, now))
        logged = write_rows(nursery, numbered(nursery, rows), now, turn, force=False)
        after = load_nursery(folder, now, as_of)
        found = _result(after, order.id, logged.changes, set_aside=logged.set_aside, stale=logged.stale)
        return replace(found, logged=logged, chance=None)


def _row(nursery: Nursery, wanted: OrderWanted) -> OrderRow:
    """The row that places an order. Raises Refusal."""
    number, day = wanted.number.lstrip("0") or wanted.number, min(nursery.as_of, nursery.today)
    variety = nursery.varieties.get(number)
    if variety is None:
        raise Refusal(Fact("no_variety", number=number, near=nearest(number, nursery.varieties)))
    form: Form | None = next((form for form in FORMS if form == wanted.form.lower()), None)
    if form is None:
        raise Refusal(Fact("no_form", form=wanted.form, near=nearest(wanted.form, FORMS)))
    _refuse_unsold(nursery, variety, form)
    if wanted.count > MOST:
        raise Refusal(Fact("count_too_large", count=wanted.count, most=MOST))
    try:
        ship_by = read_day(wanted.ship_by) if wanted.ship_by else None
    except Miswritten as error:
        raise Refusal(Fact("ship_by_unreadable", fact=error.fact)) from None
    if ship_by and ship_by < day:
        raise Refusal(Fact("ship_by_too_soon", ship_by=ship_by, day=day))
    placed = [each.order for each in nursery.order_rows] + [cells[0] for _, cells in nursery.apart[FILE].lost]
    (name,) = next_numbers("", {*placed, *(row.refers for row in nursery.every_row if row.what == "sold")}, 1)
    return OrderRow(
        order=name,
        day=day,
        number=number,
        form=form,
        count=wanted.count,
        ship_by=ship_by,
        country=wanted.country,
        region=wanted.region.strip(),
        note=wanted.note,
    )


def _ahead(nursery: Nursery, row: OrderRow) -> bool:
    """Whether plants on their way are ready by the day of an order, as surely as the nursery promises such.

    Raises:
        Refusal: not so many; with how many would be, and what for
    """
    if row.form != "rooted" or row.ship_by is None or row.ship_by <= nursery.as_of:
        return False
    found = ahead_in(nursery, row.number)
    if found is None:
        return False
    chance, count = nursery.settings.sale.promise_at, row.count or 0
    free = found.free(row.ship_by, chance)
    if count > free:
        raise Refusal(Fact("not_ahead", number=row.number, count=count, by=row.ship_by, free=free, chance=chance))
    return True


def _refuse_unsold(nursery: Nursery, variety: Variety, form: Form) -> None:
    if variety.protected:
        raise Refusal(Fact("protected_not_ordered", number=variety.number, name=variety.name))
    if not getattr(nursery.settings.sale, form):
        raise Refusal(Fact("form_not_sold", form=form))


def _refuse_unpromisable(offer: Offer, count: int) -> None:
    """Say what there is, and where the rest has gone."""
    raise Refusal(
        Fact(
            "not_promisable",
            free=offer.free,
            form=offer.form,
            number=offer.variety.number,
            there=offer.there,
            held=offer.held,
            promised=min(offer.reserved, offer.sound),
            planned=offer.planned,
            count=count,
        )
    )


def _how_many(order: Order, count: int | None, variety: Variety) -> int:
    """How many of an order are to be sent. Raises Refusal."""
    if variety.protected:
        raise Refusal(Fact("protected_not_shipped", number=variety.number, order=order.id))
    _refuse_nothing_open(order)
    if count is not None and count > order.open:
        raise Refusal(Fact("shipped_beyond_order", order=order.id, open=order.open, count=count))
    return order.open if count is None else count


def _refuse_nothing_open(order: Order) -> None:
    if not order.open:
        raise Refusal(Fact("nothing_open", order=order.id, shipped=order.shipped, cancelled=order.cancelled))


def _only(offer: Offer, lots: Sequence[str]) -> Offer:
    """An offer of these lots alone. Raises Refusal where one has none of it."""
    if not lots:
        return offer
    by_lot = {batch.lot: batch for batch in offer.batches}
    for name in (lot.lower() for lot in lots):
        if name not in by_lot:
            number, near = offer.variety.number, nearest(name, by_lot)
            raise Refusal(Fact("nothing_of_lot", lot=name, form=offer.form, number=number, near=near))
    return replace(offer, batches=tuple(by_lot[name] for name in dict.fromkeys(lot.lower() for lot in lots)))


def _sold(nursery: Nursery, order: Order, offer: Offer, count: int, day: date, logged_at: str) -> list[Row]:
    """The rows that log it as sold, lot by lot, stage by stage. Raises Refusal where there are too few."""
    if count > offer.sound:
        raise Refusal(
            Fact(
                "too_few_to_ship",
                order=order.id,
                count=count,
                form=order.form,
                number=order.number,
                sound=offer.sound,
                held=tuple((batch.lot, batch.hold) for batch in offer.batches if batch.hold),
                near=nursery.as_of,
            )
        )
    rows = []
    for batch in offer.batches:
        left = 0 if batch.hold else batch.count
        for stage in STAGES_OF[order.form]:
            part = min(count, left, nursery.stock.lots[batch.lot].count(stage))
            if part:
                row = Row(
                    id="new",
                    day=day,
                    what="sold",
                    lot=batch.lot,
                    count=part,
                    stage=stage,
                    refers=order.id,
                    logged_at=logged_at,
                )
                rows.append(row)
            count, left = count - part, left - part
    return rows


def _say_what_is_logged(nursery: Nursery) -> None:
    """Say in the orders what the logbook knows and a power cut kept from them."""
    now = at_today(nursery)
    reopened, shipped = told_in_orders(now, now, ())
    if reopened or shipped:
        write(nursery, [(TABLE, [*reopened, *shipped])])


def _write(nursery: Nursery, rows: Sequence[OrderRow], name: str, now: datetime, turn: Turn) -> OrderResult:
    """Write rows of an order, and say what it is then and what moved."""
    torn = write(nursery, [(TABLE, rows)]).get(FILE, "") if rows else ""
    after = load_nursery(nursery.folder, now, nursery.as_of)
    moved, stale = settle_calendar(after, nursery, now, turn)
    return _result(after, name, moved, set_aside=torn, stale=stale)


def _result(nursery: Nursery, name: str, moved: Changes, *, set_aside: str, stale: Fact | None) -> OrderResult:
    """An order as it is now, by all that was logged until today."""
    seen = at_today(nursery)
    order = seen.orders[order_key(name)]
    left = offer_of(seen, order.number, order.form)
    return OrderResult(
        order=order,
        left=left,
        moved=moved,
        as_of=nursery.as_of,
        set_aside=set_aside,
        stale=stale,
        laws=_laws(seen, order),
        chance=_chance(seen, order, left),
    )


def _chance(nursery: Nursery, order: Order, left: Offer) -> float | None:
    """How likely plants still on their way are ready by the day of an order; None where it waits for none."""
    if not order.open or not left.ahead or order.ship_by is None or order.ship_by <= nursery.as_of:
        return None
    found = ahead_in(nursery, order.number)
    return found.kept(order) if found else None


def _laws(nursery: Nursery, order: Order) -> tuple[Law, ...]:
    laws, crop = nursery.book.laws.values(), nursery.varieties[order.number].crop
    if order.country.strip() or order.region.strip():
        return laws_of_parcel(laws, crop, nursery.place, order.country, order.region)
    return laws_of_offer(laws, crop, nursery.place)
