"""Rows into the logbook and the orders, in the nursery's turn, and the calendar brought up to them."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from datetime import date, datetime, timedelta
from pathlib import Path

from almanac.actions.look import CALENDAR, plan_again, plan_of
from almanac.actions.placing import refuse_overfilling
from almanac.actions.possible import with_rows
from almanac.actions.promised import newly_short, refuse_less_sure, refuse_promised, told_in_orders
from almanac.actions.refresh import publish_reading
from almanac.actions.standing import mark, marks
from almanac.faults import Fact, InputFaults, Stopped, machine_trouble
from almanac.nursery.append import append
from almanac.nursery.load import load_nursery, lock
from almanac.nursery.logbook import FILE as LOGBOOK
from almanac.nursery.logbook import TABLE, Row, as_read
from almanac.nursery.lots import Stock
from almanac.nursery.nursery import Nursery
from almanac.nursery.order_rows import TABLE as ORDERS
from almanac.nursery.order_rows import OrderRow
from almanac.nursery.orders import Order
from almanac.nursery.tables import Table
from almanac.nursery.turns import Turn
from almanac.plain import dataclass
from almanac.plan.changes import Changes, changes
from almanac.plan.room.placing import Placed
from almanac.plan.wood.account import account_of
from almanac.plan.wood.beds import exposed
from almanac.plan.wood.chill import too_mild
from almanac.plan.wood.forsale import Offer

_FORTNIGHT = timedelta(days=14)
_INTO_PLACE = ("stuck", "restuck", "moved")
NOTHING_MOVED = Changes(moved=(), added=(), removed=())


@dataclass(frozen=True, kw_only=True)
class Recorded:
    """The rows written, the lots they made, what moved; the bins proposed for them.

    Also a torn line that was set aside, why the calendar is `stale`, the orders that were shipped or reopened by it, as
    they are now, and what is promised and no longer there; `mild` names crops whose rest no usual winter here ends,
    `frost` lots put out for good while a frost is likelier than accepted, or stuck in a bed that freezes hard.
    `restored` names rows that count again, each behind the row that says so; `undone` are the rows taken back, or those
    that count again. `again` says that it had been logged before: the rows are those, and nothing was written. Not
    `planned`: the nursery's own rules are at fault, and what it moves is not known. `called` names a place by its kind.
    """

    rows: tuple[Row, ...]
    made: tuple[str, ...]
    changes: Changes
    as_of: date
    set_aside: str = ""
    stale: Fact | None = None
    placed: tuple[Placed, ...] = ()
    orders: tuple[Order, ...] = ()
    short: tuple[Offer, ...] = ()
    mild: tuple[Fact, ...] = ()
    frost: tuple[Fact, ...] = ()
    restored: tuple[tuple[str, str], ...] = ()
    again: bool = False
    planned: bool = True
    undone: tuple[Row, ...] = ()
    called: Callable[[str], str]


def locked(folder: Path, now: datetime, as_of: date | None, patience_s: float | None = None) -> Turn:
    """The nursery's lock, once it is known to be one."""
    if not folder.is_dir():
        load_nursery(folder, now, as_of)  # says what is wrong, before a lock file is made
    return lock(folder, patience_s)


def stamp(nursery: Nursery, now: datetime) -> str:
    """The moment a row is logged, as files hold it."""
    return now.astimezone(nursery.place.zone).isoformat(timespec="milliseconds")


def write_rows(nursery: Nursery, rows: Sequence[Row], now: datetime, turn: Turn, *, force: bool = True) -> Recorded:
    """Write rows to the logbook, and to the orders what they do to these; the turn ends once they are in.

    Raises:
        Refusal: they cannot have happened; or, without `force`, overfill a bin or give away what is promised
    """
    now_there = nursery.on(nursery.today)
    after, later = with_rows(nursery, now_there, rows)
    made = [name for name in after.stock.lots if name not in nursery.stock.lots]
    written = as_read(_with_ids_of_made(rows, made, after.stock))
    if written != [*rows]:
        after, later = with_rows(nursery, now_there, written)
    rows, earlier = written, replace(now_there, as_of=nursery.as_of)
    reopened, shipped = told_in_orders(earlier, replace(later, as_of=nursery.as_of), rows)
    after = after.with_orders([*reopened, *shipped])
    later = replace(later.with_orders([*reopened, *shipped]), as_of=nursery.as_of)
    planned = not nursery.rules_wrong
    short = newly_short(earlier, later) if planned else []
    if not force:
        refuse_overfilling(nursery, rows, after.stock)
    if planned and not force:
        refuse_promised(rows, short, list(later.orders.values()))
        refuse_less_sure(earlier, later, rows)
    parts: list[tuple[Table, Sequence[Row | OrderRow]]] = [(TABLE, rows)]
    if reopened or shipped:
        parts = [(ORDERS, reopened), *parts, (ORDERS, shipped)]
    torn = write(nursery, parts).get(LOGBOOK, "")
    try:
        moved, stale = settle_calendar(after, nursery, now, turn)
    except (InputFaults, Stopped, OSError) as error:  # the feeds cannot be read: the row is in all the same
        moved, stale = NOTHING_MOVED, _why_stale(error)
    except Exception as error:
        error.add_note(f"{', '.join(row.id for row in rows)} is logged all the same")
        raise
    touched = [later.orders[key] for key, order in earlier.orders.items() if order.open != later.orders[key].open]
    return Recorded(
        rows=tuple(rows),
        made=tuple(made),
        changes=moved,
        as_of=nursery.as_of,
        set_aside=torn,
        stale=stale,
        orders=tuple(touched),
        short=tuple(short),
        mild=_mild(nursery, rows) if planned else (),
        frost=(*_frost(nursery, rows), *(_beds(after, rows, made) if planned else ())),
        planned=planned,
        called=nursery.settings.called,
    )


def _with_ids_of_made(rows: Sequence[Row], made: Sequence[str], stock: Stock) -> list[Row]:
    """Name the lot a row made in the row itself, so that it keeps its letter whatever is logged before it later."""
    names = list(made)
    out = []
    for row in rows:
        if row.event.makes_lot and names:
            new = row.event.target == "variety"
            match = [name for name in names if stock.lots[name].number == (row.variety or stock.lots[row.lot].number)]
            if row.what == "stuck" and row.lot:  # one that went whole makes none
                match = [name for name in match if stock.lots[name].split_from == row.lot]
            if match and new:
                row = replace(row, lot=match[0])
            elif match and not row.refers:
                row = replace(row, refers=match[0], lot=row.lot or stock.lots[match[0]].split_from)
            names = [name for name in names if name not in match[:1]]
        out.append(row)
    return out


def _frost(nursery: Nursery, rows: Sequence[Row]) -> tuple[Fact, ...]:
    """What was put out for good, where a frost in the fortnight to come is likelier than accepted."""
    lots = tuple(dict.fromkeys(row.lot for row in rows if row.what == "outside"))
    frost, day = nursery.frost, nursery.as_of
    soon = min(frost.chance_after(day), frost.chance_before(day + _FORTNIGHT))
    if not lots or soon <= nursery.settings.frost.accept:
        return ()
    safe = frost.first_safe_day(day, nursery.settings.frost.accept, _FORTNIGHT.days)
    return (Fact("frost_may_come", lots=lots, chance=soon, safe=safe),)


def _beds(nursery: Nursery, rows: Sequence[Row], made: Sequence[str]) -> Iterator[Fact]:
    """What the rest of the winter does to sticks that rows put into a bed."""
    names = dict.fromkeys([*made, *(row.lot for row in rows if row.what in _INTO_PLACE)])
    lots = [nursery.stock.lots[name] for name in names if name in nursery.stock.lots]
    beds = {item.name for item in nursery.settings.places if item.kind == "bed"}
    stuck = [lot for lot in lots if lot.bin in beds]
    return exposed(stuck, account_of(nursery), nursery.settings, nursery.units) if stuck else iter(())


def _mild(nursery: Nursery, rows: Sequence[Row]) -> tuple[Fact, ...]:
    """Of which crops that rows bring in no usual winter here ends the rest."""
    numbers = [row.variety.lstrip("0") for row in rows if row.event.target == "variety"]
    crops = dict.fromkeys(nursery.varieties[number].crop for number in numbers if number in nursery.varieties)
    units = nursery.units
    found = (too_mild(nursery.book.crops[crop], nursery.nights) for crop in crops)
    return tuple(Fact("too_mild", found=each, units=units) for each in found if each)


def write(nursery: Nursery, parts: Sequence[tuple[Table, Sequence[Row | OrderRow]]]) -> dict[str, str]:
    """Write rows to logbook and orders, in this order, and to their copies. The caller holds the lock.

    Returns:
        by a file's name the torn line that was set aside
    Raises:
        MachineTrouble: it cannot be written; nothing was, unless the trouble says so
    """
    lacking = {name: apart.uncopied for name, apart in nursery.apart.items() if apart.uncopied}
    others = [(nursery.apart[name].table, ()) for name in lacking]
    return append(
        nursery.folder, [*((table, [row.cells() for row in rows]) for table, rows in parts), *others], lacking
    )


def settle_calendar(nursery: Nursery, earlier: Nursery, now: datetime, turn: Turn) -> tuple[Changes, Fact | None]:
    """What moved by what has just been written; and why the calendar, if there is one, was not brought up to it.

    Planning needs no turn, so others write meanwhile: who wrote last brings the calendar up to all of it.

    Args:
        nursery: with what was written
        earlier: without it
        turn: in which it was written; it ends here
    """
    if nursery.rules_wrong:
        turn.end()
        return NOTHING_MOVED, Fact("rules_wrong", faults=InputFaults(nursery.rules_wrong).faults)
    folder, file = nursery.folder, nursery.folder / CALENDAR / "everything.ics"
    there = marks(folder), mark(file)
    turn.end()
    before = plan_of(earlier)
    after = plan_again(nursery, before)
    stale: Fact | None = None
    if file.parent.is_dir():
        try:  # the row is written by now: whatever goes wrong from here on must not look as if it were not
            with lock(folder):
                if there == (marks(folder), mark(file)):
                    publish_reading(after, now)
        except (InputFaults, Stopped, OSError) as error:
            stale = _why_stale(error)
    return changes(before.plan, after.plan), stale


def _why_stale(error: InputFaults | Stopped | OSError) -> Fact:
    """Why the calendar was not written, without the ways out that are none for what was logged."""
    if isinstance(error, OSError):
        return machine_trouble(error, CALENDAR).fact
    if isinstance(error, InputFaults):
        return Fact("several", facts=error.faults)
    match error.fact.kind:
        case "calendar_is_later" | "calendar_is_ahead":
            return Fact("changed_later", changed=error.fact.values["changed"])
        case "look_ahead":
            return Fact("looked_ahead", day=error.fact.values["day"])
    return error.fact
