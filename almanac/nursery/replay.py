"""From logbook rows to lots with a count in each stage: every change of a count is a row, and nothing else. Pure.

An impossible row is a fault with the numbers in it, and changes nothing.

The logbook is append-only text, replayed each time, instead of a database: a person can read it, mend it in a
spreadsheet and back it up, and a mistake is undone by a row that says so. A row after all others goes on from what
stands there (`go_on`); only one that comes before others or undoes them replays all.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date
from typing import assert_never

from almanac.faults import Fact, Fault
from almanac.nursery import marks, steps
from almanac.nursery.events import Event
from almanac.nursery.ledger import Impossible, Ledger, bin_named, closed, lots_of, seat, shelter_named
from almanac.nursery.logbook import FILE, Row
from almanac.nursery.lots import BinLog, Stock
from almanac.nursery.settings import Settings
from almanac.nursery.varieties import Variety
from almanac.plain import replace


def replay(
    rows: Sequence[Row],
    settings: Settings,
    varieties: Mapping[str, Variety],
    methods: Mapping[str, str],
    crops: Mapping[str, Sequence[str]],
    every_row: Sequence[Row] = (),
) -> tuple[Stock, list[Fault]]:
    """Replay rows into lots.

    Args:
        rows: the rows that count, in order
        settings: bins and the usual method
        varieties: by number
        methods: the methods of rooting in the rulebook, by id the kind of place each needs
        crops: its crops, by id the methods that suit each
        every_row: these, and those voided or not yet seen, so that no lot's id is ever given twice
    Returns:
        what is there now, and a fault for each row that cannot have happened
    """
    bins = {
        item.name: BinLog(
            name=item.name,
            base_c=((date.min, item.mat),),
            air_c=((date.min, item.air),),
            mat_off=not item.heated,
            outdoors=item.kind == "bed",
        )
        for item in settings.places
    }
    ledger = Ledger(
        settings=settings,
        varieties=varieties,
        methods=methods,
        crops=crops,
        bins=bins,
        named=_named(every_row or rows),
    )
    failed: list[tuple[Row, Impossible]] = []
    for row in rows:
        try:
            _apply(ledger, row)
        except Impossible as why:
            failed.append((row, why))
    faults = [Fault(file=FILE, fact=_told(ledger, row, why), line=row.line or None) for row, why in failed]
    return _stock(ledger), faults


def go_on(
    stock: Stock,
    rows: Sequence[Row],
    settings: Settings,
    varieties: Mapping[str, Variety],
    methods: Mapping[str, str],
    crops: Mapping[str, Sequence[str]],
    every_row: Iterable[Row],
) -> Stock | None:
    """What `replay` of all rows gives, from what all but the last of them have left; None where one cannot have been.

    Args:
        stock: as it stands after the rows before
        rows: the new ones, in order, none dated before those
        settings, varieties, methods, crops, every_row: as for `replay`
    """
    if not stock.lots.keys().isdisjoint(_named(rows)):
        return None  # an older row that gave its lot no letter may have to take another
    signs, planned = dict(stock.crop_signs), {each.row: each for each in stock.planned}
    ledger = Ledger(
        settings=settings,
        varieties=varieties,
        methods=methods,
        crops=crops,
        lots=dict(stock.lots),
        bins=dict(stock.bins),
        crop_signs=signs,
        planned=planned,
        named=_named(every_row),
    )
    ledger.kept = list(stock.kept)
    for lot in stock.lots.values():
        seat(ledger, lot)
    try:
        for row in rows:
            _apply(ledger, row)
    except Impossible:
        return None
    return _stock(ledger)


def _named(rows: Iterable[Row]) -> set[str]:
    """The ids that rows give to lots."""
    return {row.lot if row.event.target == "variety" else row.refers for row in rows if row.event.makes_lot}


def _stock(ledger: Ledger) -> Stock:
    return Stock(
        lots=closed(ledger),
        bins=ledger.bins,
        crop_signs=ledger.crop_signs,
        planned=tuple(ledger.planned.values()),
        kept=tuple(ledger.kept),
    )


def _told(ledger: Ledger, row: Row, why: Impossible) -> Fact:
    """Why a row is impossible; of a lot that a later row begins, that it is not there yet."""
    lot = why.fact.values["lot"] if why.fact.kind == "no_lot" else None
    return Fact("no_lot_yet", lot=lot, day=row.day) if lot in ledger.lots else why.fact


def _apply(ledger: Ledger, row: Row) -> None:
    event = row.event
    if row.bin:
        name = (shelter_named if row.what == "brought_in" else bin_named)(ledger, row.bin)
        row = row if name == row.bin else replace(row, bin=name)
    if row.what in _SPECIAL:
        _SPECIAL[row.what](ledger, row)
    elif event.target == "crop":
        marks.crop_sign(ledger, row)
    else:
        _of_kind(ledger, row, event)


def _of_kind(ledger: Ledger, row: Row, event: Event) -> None:
    match event.kind:
        case "step":
            steps.step(ledger, row, event)
        case "sign":
            for lot in lots_of(ledger, row):
                marks.sign(ledger, lot, row, event)
        case "trouble":
            marks.trouble(ledger, row)
        case "job" | "bin" | "plan":
            marks.job(ledger, row)
        case _:
            assert_never(event.kind)


_SPECIAL: dict[str, Callable[[Ledger, Row], None]] = {
    "taken": steps.start,
    "received": steps.start,
    "stuck": steps.stuck,
    "restuck": steps.restuck,
    "joined": steps.joined,
    "counted": steps.counted,
    "cut_up": steps.cut_up,
    "moved": marks.moved,
    "mat": marks.mat,
    "air": marks.air,
    "temperature": marks.temperature,
    "lamp": marks.lamp,
    "planned": marks.planned,
}
