"""From logbook rows to lots with a count in each stage: every change of a count is a row, and nothing else. Pure.

An impossible row is a fault with the numbers in it, and changes nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from typing import cast

from almanac import units
from almanac.faults import Fault, clipped, listed, suggestion
from almanac.nursery.events import STAGES, TROUBLES, Event, Stage
from almanac.nursery.logbook import FILE, LOT_ID, Row
from almanac.nursery.lots import BinLog, Cohort, Lot, Planned, Sign, Stock, lot_order, next_letter
from almanac.nursery.settings import Settings
from almanac.nursery.varieties import Variety


class _Impossible(Exception):
    """A row that cannot have happened; the message says why, with the numbers."""


class _NoLot(_Impossible):
    """A row about a lot that is not there; its second argument is the lot's name."""


@dataclass
class _Book:
    """The state while rows are replayed."""

    settings: Settings
    varieties: Mapping[str, Variety]
    methods: Sequence[str]
    crops: Sequence[str]
    lots: dict[str, Lot] = field(default_factory=dict)
    bins: dict[str, BinLog] = field(default_factory=dict)
    crop_signs: dict[tuple[str, str], date] = field(default_factory=dict)
    planned: dict[str, Planned] = field(default_factory=dict)
    named: set[str] = field(default_factory=set)


def replay(
    rows: Sequence[Row],
    settings: Settings,
    varieties: Mapping[str, Variety],
    methods: Sequence[str],
    crops: Sequence[str],
    every_row: Iterable[Row] = (),
) -> tuple[Stock, list[Fault]]:
    """Replay rows into lots.

    Args:
        rows: the rows that count, in order
        settings: bins and the usual method
        varieties: by number
        methods: ids of the methods of rooting in the rulebook
        crops: ids of its crops
        every_row: also those voided or not yet seen, so that no lot's id is ever given twice
    Returns:
        what is there now, and a fault for each row that cannot have happened
    """
    bins = {item.name: BinLog(item.name, ((date.min, item.mat),)) for item in settings.bin}
    book = _Book(settings, varieties, methods, crops, bins=bins)
    for row in (*rows, *every_row):
        if row.event.makes_lot:
            book.named.add(row.lot if row.event.target == "variety" else row.refers)
    failed: list[tuple[Row, _Impossible]] = []
    for row in rows:
        try:
            _apply(book, row)
        except _Impossible as why:
            failed.append((row, why))
    faults = [Fault(FILE, _told(book, row, why), row.line or None) for row, why in failed]
    lots = dict(sorted(book.lots.items(), key=lambda item: lot_order(item[0])))
    return Stock(lots, book.bins, book.crop_signs, tuple(book.planned.values())), faults


def _told(book: _Book, row: Row, why: _Impossible) -> str:
    if isinstance(why, _NoLot) and why.args[1] in book.lots:
        return f"there is no lot '{why.args[1]}' yet on {row.day}; check the date"
    return str(why.args[0])


def _new_id(book: _Book, number: str, wanted: str) -> str:
    """The id a row gives, else the first that no row gives: so a lot keeps its id whatever is logged after it."""
    if wanted:
        match = LOT_ID.fullmatch(wanted)
        if not match or match[1] != number:
            raise _Impossible(
                f"'{clipped(wanted)}' is not a lot of number {number}; leave it out to get the next letter"
            )
        if wanted in book.lots:
            raise _Impossible(
                f"lot {wanted} exists already, since {book.lots[wanted].started}; a lot's id is never reused"
            )
        return wanted
    letters = next_letter("")
    while number + letters in book.named or number + letters in book.lots:
        letters = next_letter(letters)
    return number + letters


def _apply(book: _Book, row: Row) -> None:
    event = row.event
    if row.bin:
        row = replace(row, bin=_bin(book, row.bin))
    if row.what in _SPECIAL:
        _SPECIAL[row.what](book, row)
    elif event.target == "crop":
        _crop_sign(book, row)
    elif event.kind == "step":
        _step(book, row, event)
    elif event.kind == "sign":
        for lot in _targets(book, row):
            _sign(book, lot, row, event)
    elif event.kind == "trouble":
        _trouble(book, row)
    else:
        _job(book, row)


# --- finding what a row is about ---------------------------------------------------------------------------------


def _lot(book: _Book, name: str) -> Lot:
    lot = book.lots.get(name)
    if lot is None:
        raise _NoLot(f"there is no lot '{clipped(name)}'{suggestion(name, book.lots) or '; see stickdate lots'}", name)
    return lot


def _variety(book: _Book, row: Row) -> Variety:
    match = LOT_ID.fullmatch(row.lot)
    number = row.variety.lstrip("0") or (match[1] if match and not row.variety else row.variety)
    if number not in book.varieties:
        raise _Impossible(f"variety '{clipped(number)}' is not in varieties.csv; add it there first")
    return book.varieties[number]


def _bin(book: _Book, name: str) -> str:
    item = book.settings.bin_named(name)
    if item is None:
        known = [item.name for item in book.settings.bin]
        hint = suggestion(name, known) if known else "; add a [[bin]] to nursery.toml"
        raise _Impossible(f"there is no bin '{clipped(name)}'{hint}")
    return item.name


def _targets(book: _Book, row: Row) -> list[Lot]:
    if row.lot:
        return [_lot(book, row.lot)]
    lots = [lot for lot in book.lots.values() if lot.bin == row.bin]
    if not lots and row.event.kind == "sign":
        raise _Impossible(f"no lot is rooting in bin {row.bin} on {row.day}")
    return lots


def _open_lot(book: _Book, name: str, row: Row) -> Lot:
    lot = _lot(book, name)
    if row.day < lot.started:
        raise _Impossible(f"{lot.id} started on {lot.started}; {row.what} on {row.day} is before that")
    if lot.closed and row.what not in ("counted", "noted"):
        raise _Impossible(f"{lot.id} has no cuttings left; {row.what} cannot be logged of it")
    return lot


def _source(lot: Lot, row: Row, event: Event) -> Stage:
    """The stage the cuttings are taken from: the one named, or the only one that holds any."""
    if row.stage:
        stage = cast(Stage, row.stage)
        if stage not in event.takes_from:
            raise _Impossible(f"{row.what} takes from {' or '.join(event.takes_from)}, not from {stage}")
        return stage
    holding = [stage for stage in event.takes_from if lot.count(stage)]
    if len(holding) > 1:
        raise _Impossible(f"{lot.id} has {_held(lot, holding)}; say from which stage: {' or '.join(holding)}")
    if not holding:
        lacking = " or ".join(_in(stage) for stage in event.takes_from)
        raise _Impossible(f"{lot.id} has {_held(lot, STAGES)} and none {lacking}; none can be {_done(row.what)}")
    return holding[0]


# --- moving cuttings ---------------------------------------------------------------------------------------------


def _step(book: _Book, row: Row, event: Event) -> None:
    lot = _open_lot(book, row.lot, row)
    source = _source(lot, row, event)
    taken, left = _take(lot, source, row.count, row.what)
    if event.to == "gone":
        gone = {**lot.gone, row.what: lot.gone.get(row.what, 0) + sum(c.count for c in taken)}
        jobs = {**lot.jobs, row.what: (*lot.jobs.get(row.what, ()), row.day)}
        _put(book, replace(lot, cohorts=left, gone=gone, jobs=jobs), row)
        return
    moved = tuple(_arrived(cohort, row, cast(Stage, event.to)) for cohort in taken)
    steps = {**lot.steps, row.what: lot.steps.get(row.what, row.day)}
    _put(book, replace(lot, cohorts=(*left, *moved), steps=steps), row)


def _take(lot: Lot, stage: Stage, count: int | None, what: str) -> tuple[tuple[Cohort, ...], tuple[Cohort, ...]]:
    """The cohorts taken (the first come go first) and those left."""
    there = lot.count(stage)
    wanted = there if count is None else count
    if wanted > there or there == 0:
        raise _Impossible(f"{lot.id} has {there} {_in(stage)}; {wanted or 'none'} cannot be {_done(what)}")
    taken, left = [], []
    for cohort in lot.cohorts:
        part = min(cohort.count, wanted) if cohort.stage == stage else 0
        wanted -= part
        if part:
            taken.append(replace(cohort, count=part))
        if cohort.count - part:
            left.append(replace(cohort, count=cohort.count - part))
    return tuple(taken), tuple(left)


def _held(lot: Lot, stages: Sequence[Stage]) -> str:
    """`8 rooting and 4 in pots`."""
    return listed(f"{lot.count(stage)} {_in(stage)}" for stage in stages if lot.count(stage))


def _in(stage: Stage) -> str:
    return {"store": "in store", "rooting": "rooting", "pot": "in pots", "outside": "outside"}[stage]


def _done(what: str) -> str:
    return {"gave": "given", "died": "logged as died", "outside": "put outside"}.get(what, what.replace("_", " "))


def _arrived(cohort: Cohort, row: Row, to: Stage) -> Cohort:
    if row.what == "set_out":
        return replace(cohort, hardening_since=cohort.hardening_since or row.day)
    since = cohort.since if cohort.stage == to else row.day
    return Cohort(to, since, cohort.count)


def _put(book: _Book, lot: Lot, row: Row) -> None:
    book.lots[lot.id] = replace(lot, known_at=max(lot.known_at, row.day))


def _start(book: _Book, row: Row) -> None:
    variety = _variety(book, row)
    name = _new_id(book, variety.number, row.lot)
    stage = cast(Stage, row.stage or "store")
    count = row.count or 0
    step = {"store": "stored", "rooting": "stuck", "pot": "potted", "outside": "outside"}[stage]
    if row.refers:
        _settle_planned(book, row, variety)
    lot = Lot(
        name,
        variety.number,
        variety.crop,
        book.settings.nursery.method,
        variety.protected,
        row.day,
        row.value.lower() or ("own_wood" if row.what == "taken" else ""),
        cohorts=(Cohort(stage, row.day, count),),
        steps={step: row.day},
        places=((row.day, row.bin),) if row.bin else (),
        stuck_count=count if stage == "rooting" else 0,
    )
    _put(book, lot, row)


def _settle_planned(book: _Book, row: Row, variety: Variety) -> None:
    planned = book.planned.get(row.refers)
    if planned is None or planned.number != variety.number:
        raise _Impossible(f"'{clipped(row.refers)}' is not a planned lot of number {variety.number}")
    del book.planned[row.refers]


def _stuck(book: _Book, row: Row) -> None:
    lot = _open_lot(book, row.lot, row) if row.lot else _oldest_stored(book, row)
    _source(lot, row, row.event)
    method = row.value or lot.method
    if method not in book.methods:
        raise _Impossible(f"'{clipped(method)}' is not a method{suggestion(method, book.methods)}")
    planned = row.refers if row.refers in book.planned else ""
    if planned:
        _settle_planned(book, row, book.varieties[lot.number])
    taken, left = _take(lot, "store", row.count, "stuck")
    count = sum(cohort.count for cohort in taken)
    rooting = (Cohort("rooting", row.day, count),)
    places = ((row.day, row.bin),) if row.bin else ()
    steps = {**lot.steps, "stuck": row.day}
    if not left:
        _put(
            book,
            replace(lot, method=method, cohorts=rooting, steps=steps, places=places, stuck_count=count),
            row,
        )
        return
    name = _new_id(book, lot.number, "" if planned else row.refers)
    new = replace(
        lot,
        id=name,
        method=method,
        cohorts=rooting,
        steps=steps,
        places=places,
        gone={},
        split_from=lot.id,
        stuck_count=count,
        known_at=row.day,
    )
    _put(book, replace(lot, cohorts=left), row)
    _put(book, new, row)


def oldest_stored(lots: Mapping[str, Lot], number: str) -> Lot | None:
    """The lot of a number that has been in store longest; None where none is there."""
    stored = [lot for lot in lots.values() if lot.number == number.lstrip("0") and lot.count("store")]
    return min(stored, key=lambda lot: (lot.started, lot_order(lot.id)), default=None)


def _oldest_stored(book: _Book, row: Row) -> Lot:
    lot = oldest_stored(book.lots, row.variety)
    if lot is None:
        raise _Impossible(
            f"no lot of number {clipped(row.variety)} is in store on {row.day}; log taken or received first"
        )
    return lot


def _restuck(book: _Book, row: Row) -> None:
    lot = _open_lot(book, row.lot, row)
    taken, left = _take(lot, _source(lot, row, row.event), row.count, "restuck")
    count = sum(cohort.count for cohort in taken)
    name = _new_id(book, lot.number, row.refers)
    bin_name = row.bin or lot.bin
    new = Lot(
        name,
        lot.number,
        lot.crop,
        lot.method,
        lot.protected,
        row.day,
        lot.origin,
        parent=lot.id,
        cohorts=(Cohort("rooting", row.day, count),),
        steps={"stuck": row.day},
        places=((row.day, bin_name),) if bin_name else (),
        stuck_count=count,
    )
    gone = {**lot.gone, "restuck": lot.gone.get("restuck", 0) + count}
    _put(book, replace(lot, cohorts=left, gone=gone), row)
    _put(book, new, row)


def _joined(book: _Book, row: Row) -> None:
    lot, other = _open_lot(book, row.lot, row), _open_lot(book, row.refers, row)
    if lot.id == other.id or lot.number != other.number or lot.steps.get("stuck") != other.steps.get("stuck"):
        raise _Impossible(
            f"{lot.id} and {other.id} are not two lots of one variety and date; only such lots can be joined"
        )
    gone = {**lot.gone, "joined": lot.gone.get("joined", 0) + lot.total}
    counts = other.stuck_count + lot.count("rooting")
    _put(book, replace(other, cohorts=(*other.cohorts, *lot.cohorts), stuck_count=counts), row)
    _put(book, replace(lot, cohorts=(), gone=gone), row)


def _counted(book: _Book, row: Row) -> None:
    lot = _open_lot(book, row.lot, row)
    if not (row.value or row.note):
        raise _Impossible("counted needs the reason in value or note")
    if lot.closed and not row.stage:
        raise _Impossible(f"{lot.id} has no cuttings left; say in which stage the {row.count} were found")
    stage = cast(Stage, row.stage) if row.stage else _source(lot, row, row.event)
    others = tuple(cohort for cohort in lot.cohorts if cohort.stage != stage)
    here = [cohort for cohort in lot.cohorts if cohort.stage == stage]
    wanted = row.count or 0
    kept = []
    for cohort in reversed(here):  # what is missing is taken to be of the first come, as in every other step
        part = min(cohort.count, wanted)
        wanted -= part
        kept.append(replace(cohort, count=part))
    if wanted:
        first = kept[-1] if kept else Cohort(stage, row.day, 0)
        kept = [*kept[:-1], replace(first, count=first.count + wanted)]
    difference = sum(c.count for c in kept) - sum(c.count for c in here)
    gone = {**lot.gone, "counted": lot.gone.get("counted", 0) - difference}
    cohorts = (*others, *(cohort for cohort in reversed(kept) if cohort.count))
    _put(book, replace(lot, cohorts=cohorts, gone=gone), row)


def _cut_up(book: _Book, row: Row) -> None:
    lot = _open_lot(book, row.lot, row)
    stage = _source(lot, row, row.event)
    before, after = lot.count(stage), row.count or 0
    if not before:
        raise _Impossible(f"{lot.id} has {_held(lot, STAGES)} and none {_in(stage)}; there is nothing to cut up")
    if after <= before:
        raise _Impossible(f"{lot.id} has {before} {_in(stage)}; cut up they are more, not {after}: write the new count")
    first, done = [], False
    for cohort in lot.cohorts:
        grows = cohort.stage == stage and not done
        first.append(replace(cohort, count=cohort.count + after - before) if grows else cohort)
        done = done or grows
    gone = {**lot.gone, "cut_up": lot.gone.get("cut_up", 0) - (after - before)}
    stuck_count = lot.stuck_count + (after - before if stage == "rooting" else 0)
    _put(book, replace(lot, cohorts=tuple(first), gone=gone, stuck_count=stuck_count), row)


# --- bins, signs, troubles, jobs, plans --------------------------------------------------------------------------


def _moved(book: _Book, row: Row) -> None:
    lot = _open_lot(book, row.lot, row)
    if not lot.count("rooting"):
        raise _Impossible(f"{lot.id} has nothing rooting; only rooting lots stand in bins")
    _put(book, replace(lot, places=(*lot.places, (row.day, row.bin))), row)


def _mat(book: _Book, row: Row) -> None:
    item, log = book.settings.bin_named(row.bin), book.bins[row.bin]
    assert item is not None  # `_bin` has looked it up
    base = item.air if row.value.lower() == "off" else units.parse(row.value, "temperature")
    book.bins[row.bin] = replace(log, mat_c=(*log.mat_c, (row.day, base)))


def _lamp(book: _Book, row: Row) -> None:
    log = book.bins[row.bin]
    hours = 0.0 if row.value.lower() == "off" else units.parse(row.value, "hours")
    book.bins[row.bin] = replace(log, lamp_h=(*log.lamp_h, (row.day, hours)))


def _sign(book: _Book, lot: Lot, row: Row, event: Event) -> None:
    lot = _open_lot(book, lot.id, row)
    there = sum(lot.count(stage) for stage in event.takes_from)
    if not there:
        raise _Impossible(f"{lot.id} has none {' or '.join(_in(s) for s in event.takes_from)}; {row.what} cannot show")
    if row.count is not None and row.count > there:
        raise _Impossible(f"{lot.id} has {there}; {row.what} cannot show on {row.count}")
    signs = lot.signs if row.what in lot.signs else {**lot.signs, row.what: Sign(row.day, row.count, there)}
    _put(book, replace(lot, signs=signs), row)


def _crop_sign(book: _Book, row: Row) -> None:
    crop = row.value.lower()
    if crop not in book.crops:
        raise _Impossible(f"'{clipped(row.value)}' is not a crop{suggestion(crop, book.crops)}")
    book.crop_signs[(crop, row.what)] = row.day


def _trouble(book: _Book, row: Row) -> None:
    lots = _targets(book, row)
    for lot in lots:
        lot = _open_lot(book, lot.id, row)
        troubles = _troubles_after(lot.troubles, row) if row.lot or row.what == "all_clear" else lot.troubles
        _put(book, replace(lot, troubles=troubles), row)
    if not row.lot:
        log = book.bins[row.bin]
        book.bins[row.bin] = replace(log, troubles=_troubles_after(log.troubles, row))


def _troubles_after(troubles: Mapping[str, date], row: Row) -> dict[str, date]:
    if row.what != "all_clear":
        return {**troubles, row.what: row.day}
    over = (row.value.lower(),) if row.value else TROUBLES
    return {name: day for name, day in troubles.items() if name not in over}


def _job(book: _Book, row: Row) -> None:
    for lot in _targets(book, row):
        lot = _open_lot(book, lot.id, row)
        looked = row.day if row.what == "looked" else lot.looked
        _put(
            book, replace(lot, jobs={**lot.jobs, row.what: (*lot.jobs.get(row.what, ()), row.day)}, looked=looked), row
        )
    if not row.lot and row.what == "looked":
        book.bins[row.bin] = replace(book.bins[row.bin], looked=row.day)


def _planned(book: _Book, row: Row) -> None:
    variety = _variety(book, row)
    day = date.fromisoformat(row.value)
    if day < row.day - timedelta(days=1):
        raise _Impossible(f"planned for {day}, which is before {row.day}, the day it was planned")
    if day > row.day + timedelta(days=3660):
        raise _Impossible(f"planned for {day}, more than ten years after {row.day}; check the year")
    book.planned[row.id] = Planned(row.id, variety.number, row.count or 0, day, row.note, variety.protected)


_SPECIAL: dict[str, Callable[[_Book, Row], None]] = {
    "taken": _start,
    "received": _start,
    "stuck": _stuck,
    "restuck": _restuck,
    "joined": _joined,
    "counted": _counted,
    "cut_up": _cut_up,
    "moved": _moved,
    "mat": _mat,
    "lamp": _lamp,
    "planned": _planned,
}
