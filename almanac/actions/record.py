"""Log what was seen or done: check, append, and say what moved, all under the nursery's lock."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from datetime import date, datetime, timedelta
from pathlib import Path

from almanac.actions.look import CALENDAR, plan_again, plan_of
from almanac.actions.mothers import refuse_unknown_mother
from almanac.actions.placing import refuse_overfilling, with_bins
from almanac.actions.promised import (
    at_today,
    newly_short,
    refuse_less_sure,
    refuse_promised,
    refuse_unlicensed,
    refuse_wrong_order,
    told_in_orders,
)
from almanac.actions.refresh import publish_reading
from almanac.actions.soundest import rows_of_number
from almanac.actions.standing import mark, marks
from almanac.actions.walked import rows_of_round
from almanac.faults import Fact, Fault, InputFaults, Miswritten, Refusal, Stopped, machine_trouble, nearest
from almanac.nursery.append import append
from almanac.nursery.events import ALIASES, EVENTS, Event
from almanac.nursery.load import load_nursery, lock
from almanac.nursery.logbook import FILE as LOGBOOK
from almanac.nursery.logbook import LOT_ID, TABLE, Row, as_read, read_day, row_problems
from almanac.nursery.lots import Stock
from almanac.nursery.nursery import Nursery
from almanac.nursery.order_rows import TABLE as ORDERS
from almanac.nursery.order_rows import OrderRow
from almanac.nursery.orders import Order
from almanac.nursery.tables import Table
from almanac.nursery.turns import Turn
from almanac.nursery.warmth import rows_for_new_bins
from almanac.plain import dataclass
from almanac.plan.changes import Changes, changes
from almanac.plan.room.placing import Placed
from almanac.plan.wood.chill import too_mild
from almanac.plan.wood.forsale import Offer
from almanac.units import in_named_unit

# An id that another gives to a row: never one that `next_ids` could give.
_FORTNIGHT = timedelta(days=14)
_WISHED = re.compile(r"[a-qs-z][a-z0-9]{7,39}")


@dataclass(frozen=True, kw_only=True)
class Request:
    """What a grower asks to log, as said on the command line or tapped on the page.

    `everything` stands for every bin and every lot elsewhere; `but` names lots of a bin, or of them all, left out. `id`
    is the one wished for its row: asked for again, nothing more is logged. With `unit_named` the value comes from a
    field that names its unit. `signs` are the lots of a round that were looked through for signs, too; all of
    them where it is not said.
    """

    what: str
    about: tuple[str, ...] = ()
    on: str = "today"
    count: int | None = None
    bin: str = ""
    stage: str = ""
    variety: str = ""
    value: str = ""
    refers: str = ""
    note: str = ""
    everything: bool = False
    but: tuple[str, ...] = ()
    force: bool = False
    id: str = ""
    unit_named: bool = False
    signs: tuple[str, ...] | None = None


@dataclass(frozen=True, kw_only=True)
class Recorded:
    """The rows written, the lots they made, what moved; the bins proposed for them.

    Also a torn line that was set aside, why the calendar is `stale`, the orders that were shipped or reopened by it, as
    they are now, and what is promised and no longer there; `mild` names crops whose rest no usual winter here ends,
    `frost` lots put out for good while a frost is likelier than accepted.
    `restored` names rows that count again, each behind the row that says so; `undone` are the rows taken back, or those
    that count again. `again` says that it had been logged before: the rows are those, and nothing was written. Not
    `planned`: the nursery's own rules are at fault, and what it moves is not known.
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


def record(
    folder: Path, now: datetime, request: Request, as_of: date | None = None, patience_s: float | None = None
) -> Recorded:
    """Append what is asked for, if it can have happened; also while the nursery's own rules are at fault.

    Args:
        folder: the nursery's
        now: the real time, aware
        request: what is asked for
        as_of: the day to stand for today
        patience_s: how long others are waited for [s]
    Raises:
        InputFaults: the nursery's other files are at fault
        Refusal: what is asked for cannot be logged; nothing was written
    """
    with locked(folder, now, as_of, patience_s) as turn:
        nursery = load_nursery(folder, now, as_of, whatever_rules=True)
        before = rows_of_entry((*nursery.every_row, *nursery.lost_rows), request.id)
        if any(row.id == request.id for row in before):
            return Recorded(
                rows=tuple(before),
                made=(),
                changes=Changes(moved=(), added=(), removed=()),
                as_of=nursery.as_of,
                again=True,
            )
        rows = _rows(nursery, request, now)
        _refuse_wrong_rows(rows)
        refuse_wrong_order(at_today(nursery), rows)
        refuse_unknown_mother(nursery, rows)
        refuse_unlicensed(nursery, rows)
        try:
            rows, placed = with_bins(nursery, rows, force=request.force)
        except Refusal:
            _with_rows(
                nursery, nursery.on(nursery.today), rows
            )  # what cannot be at all is said before that there is no room for it
            raise
        there = {row.id for row in before}  # a power cut left only the first of several
        warmth = list(rows_for_new_bins(rows, nursery.rows, nursery.settings))
        if request.id:
            rows = [*[row for row in rows if row.id not in there], *numbered(nursery, warmth)]
        else:
            rows = numbered(nursery, [*rows, *warmth])
        return replace(write_rows(nursery, rows, now, turn, force=request.force), placed=tuple(placed))


def record_rows(
    folder: Path, now: datetime, rows_of: Callable[[Nursery], Sequence[Row]], as_of: date | None = None
) -> Recorded:
    """Append rows that were worked out from the nursery, all or none; they get their ids here.

    Raises:
        InputFaults: the nursery's files are at fault
        Refusal: they cannot be logged; nothing was written
    """
    with locked(folder, now, as_of) as turn:
        nursery = load_nursery(folder, now, as_of)
        moment = stamp(nursery, now)
        rows = numbered(nursery, [replace(row, logged_at=moment) for row in rows_of(nursery)])
        _refuse_wrong_rows(rows)
        return write_rows(nursery, rows, now, turn)


def parse_day(text: str, as_of: date) -> date:
    """A date as said: ISO, `today`, `yesterday`, `-3d`.

    Raises:
        Refusal: it is none of these, or after today
    """
    match = re.fullmatch(r"-([0-9]{1,3})d?", text)
    if text == "today":
        day = as_of
    elif text == "yesterday":
        day = as_of - timedelta(days=1)
    elif match:
        day = as_of - timedelta(days=int(match[1]))
    else:
        try:
            day = read_day(text)
        except Miswritten as error:
            raise Refusal(Fact("not_a_day_to_log", fact=error.fact)) from None
    if day > as_of:
        raise Refusal(Fact("to_come", day=day, today=as_of))
    return day


def locked(folder: Path, now: datetime, as_of: date | None, patience_s: float | None = None) -> Turn:
    """The nursery's lock, once it is known to be one."""
    if not folder.is_dir():
        load_nursery(folder, now, as_of)  # says what is wrong, before a lock file is made
    return lock(folder, patience_s)


def stamp(nursery: Nursery, now: datetime) -> str:
    """The moment a row is logged, as files hold it."""
    return now.astimezone(nursery.place.zone).isoformat(timespec="milliseconds")


def _rows(nursery: Nursery, request: Request, now: datetime) -> list[Row]:
    """One row for each lot named; a bin for all its lots where the event allows one."""
    what = ALIASES.get(request.what.lower(), request.what.lower())
    if what not in EVENTS:
        raise Refusal(Fact("no_event", what=request.what, near=nearest(what, EVENTS)))
    if what == "void":
        raise Refusal(Fact("void_not_logged"))
    event = EVENTS[what]
    day = parse_day(request.on, nursery.as_of)
    if day > nursery.today:
        raise Refusal(Fact("to_come", day=day, today=nursery.today))
    value = request.value
    if request.unit_named:
        value = in_named_unit(value, event.value_kind, nursery.units)
    base = Row(
        id="new",
        day=day,
        what=what,
        variety=request.variety,
        count=request.count,
        stage=request.stage.lower(),
        bin=request.bin,
        value=value,
        refers=request.refers,
        note=request.note,
        logged_at=stamp(nursery, now),
    )
    through = what == "looked" and bool(request.bin) and request.signs is not None
    if request.everything or request.but or through:
        if request.about:
            raise Refusal(Fact("named_and_left_out"))
        about = rows_of_round(nursery, base, everything=request.everything, but=request.but, signs=request.signs)
    else:
        about = [_about(nursery, event, base, word) for word in request.about] or [base]
    if len(about) > 1 and request.count is not None and event.kind == "step":
        if event.count == "must":
            raise Refusal(Fact("count_of_several", what=what))
        raise Refusal(Fact("count_of_several_or_all", what=what))
    if what == "stuck":
        about = [row for each in about for row in _of_number(nursery, each)]
    return numbered(nursery, about, request.id)


def _of_number(nursery: Nursery, row: Row) -> list[Row]:
    """The rows of one that names a number alone, lot by lot; any other as it is."""
    return rows_of_number(nursery, row, row.variety) if row.variety and not row.lot else [row]


def numbered(nursery: Nursery, rows: Sequence[Row], wished: str = "") -> list[Row]:
    """The rows with ids of their own; of several the last has the one wished for, so that it says all are there.

    Raises:
        Refusal: what is wished for is no id, or could be one that the program gives
    """
    if not wished:
        ids = nursery.new_ids(len(rows))
    elif _WISHED.fullmatch(wished):
        ids = [*(f"{wished}.{number}" for number in range(1, len(rows))), wished]
    else:
        raise Refusal(Fact("not_row_id", word=wished))
    return [replace(row, id=name) for row, name in zip(rows, ids, strict=True)]


def _about(nursery: Nursery, event: Event, row: Row, word: str) -> Row:
    """The row about what was named: a crop, a bin, a number or a lot, as the event asks."""
    if event.target == "crop":
        return replace(row, value=word.lower())
    if event.target == "bin":
        return replace(row, bin=word)
    lot = LOT_ID.fullmatch(word.lower())
    if event.target == "variety":
        return replace(row, lot=word.lower(), variety=lot[1]) if lot else replace(row, variety=word)
    if word.isdigit() and event.name == "stuck":
        return replace(row, variety=word)
    return replace(row, lot=word.lower())


def rows_of_entry(rows: Iterable[Row], row_id: str) -> list[Row]:
    """The rows that were logged under one wished id, each once."""
    stem = _stem(row_id)
    return list({row.id: row for row in rows if stem and _stem(row.id) == stem}.values())


def at_once(one: Row, other: Row) -> bool:
    """Whether two rows were logged by one command or tap."""
    stems = {_stem(one.id), _stem(other.id)} - {""}
    return one is other or (bool(one.logged_at) and one.logged_at == other.logged_at and len(stems) < 2)


def _stem(row_id: str) -> str:
    """What rows logged under one wished id share; nothing of an id that the program gave or a person wrote."""
    stem = row_id.partition(".")[0]
    return stem if _WISHED.fullmatch(stem) else ""


def write_rows(nursery: Nursery, rows: Sequence[Row], now: datetime, turn: Turn, *, force: bool = True) -> Recorded:
    """Write rows to the logbook, and to the orders what they do to these; the turn ends once they are in.

    Raises:
        Refusal: they cannot have happened; or, without `force`, overfill a bin or give away what is promised
    """
    now_there = nursery.on(nursery.today)
    after, later = _with_rows(nursery, now_there, rows)
    made = [name for name in after.stock.lots if name not in nursery.stock.lots]
    written = as_read(_with_ids_of_made(rows, made, after.stock))
    if written != [*rows]:
        after, later = _with_rows(nursery, now_there, written)
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
        moved, stale = Changes(moved=(), added=(), removed=()), _why_stale(error)
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
        frost=_frost(nursery, rows),
        planned=planned,
    )


def _frost(nursery: Nursery, rows: Sequence[Row]) -> tuple[Fact, ...]:
    """What was put out for good, where a frost in the fortnight to come is likelier than accepted."""
    lots = tuple(dict.fromkeys(row.lot for row in rows if row.what == "outside"))
    frost, day = nursery.frost, nursery.as_of
    soon = min(frost.chance_after(day), frost.chance_before(day + _FORTNIGHT))
    if not lots or soon <= nursery.settings.frost.accept:
        return ()
    safe = frost.first_safe_day(day, nursery.settings.frost.accept, _FORTNIGHT.days)
    return (Fact("frost_may_come", lots=lots, chance=soon, safe=safe),)


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
        now: the real time, aware
        turn: in which it was written; it ends here
    """
    if nursery.rules_wrong:
        turn.end()
        return Changes(moved=(), added=(), removed=()), Fact(
            "rules_wrong", faults=InputFaults(nursery.rules_wrong).faults
        )
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


def _refuse_wrong_rows(rows: Iterable[Row]) -> None:
    problems = tuple(dict.fromkeys(problem for row in rows for problem in row_problems(row)))
    if problems:
        raise Refusal(Fact("several", facts=problems))


def _with_rows(nursery: Nursery, now_there: Nursery, rows: Sequence[Row]) -> tuple[Nursery, Nursery]:
    """A nursery and the same as of today, both with the new rows. Raises Refusal if anything cannot have happened."""
    after, faults = nursery.with_more(rows)
    later = after
    if nursery.as_of != nursery.today:
        later, found = now_there.with_more(rows)
        if nursery.as_of < nursery.today:  # a day looked back to does not see later rows, which must stand all the same
            faults = faults or found
    if not faults:
        return after, later
    undone = [row for row in rows if row.what == "void"]
    if undone:
        raise Refusal(_why_not_undone(nursery, undone[0], faults))
    own = [fault.fact for fault in faults if fault.line is None]
    if own:
        raise Refusal(Fact("several", facts=tuple(dict.fromkeys(own))))
    raise Refusal(Fact("contradicts_later", fault=next(fault for fault in faults if fault.line is not None)))


def _why_not_undone(nursery: Nursery, void: Row, faults: Sequence[Fault]) -> Fact:
    """Why a row cannot be undone, or one that was cannot count again: what rests on its being as it is."""
    by_line, by_id = {row.line: row.id for row in nursery.every_row}, {row.id: row for row in nursery.every_row}
    old = by_id[void.refers]
    row = old.refers if old.what == "void" else old.id
    names = dict.fromkeys(by_line[fault.line] for fault in faults if fault.line in by_line)
    resting, why = tuple(name for name in names if name != row), faults[0].fact
    if old.what != "void":
        return Fact("rested_on", row=row, resting=resting, why=why)
    if resting:
        return Fact("not_restored_beside", row=row, resting=resting, why=why)
    return Fact("not_restored", row=row, why=why)
