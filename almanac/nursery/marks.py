"""Rows that move no cuttings: bins and their mats, signs, troubles, jobs, lots to come."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date, timedelta

from almanac import units
from almanac.faults import clipped, suggestion
from almanac.nursery.events import TROUBLES, Event
from almanac.nursery.ledger import Impossible, Ledger, in_words, lots_of, open_lot, put, variety_of
from almanac.nursery.logbook import Row
from almanac.nursery.lots import Lot, Planned, Sign


def moved(book: Ledger, row: Row) -> None:
    """Move a rooting lot to another bin."""
    lot = open_lot(book, row.lot, row)
    if not lot.count("rooting"):
        raise Impossible(f"{lot.id} has nothing rooting; only rooting lots stand in bins")
    put(book, replace(lot, places=(*lot.places, (row.day, row.bin))), row)


def mat(book: Ledger, row: Row) -> None:
    """Set a bin's mat, or turn it off."""
    log = book.bins[row.bin]
    off = row.value.lower() == "off"
    base = log.air_c[-1][1] if off else units.parse(row.value, "temperature")
    book.bins[row.bin] = replace(log, base_c=(*log.base_c, (row.day, base)), mat_off=off)


def air(book: Ledger, row: Row) -> None:
    """Note the warmth of the air round a bin's tops; with the mat off, the base has the same."""
    log, warmth = book.bins[row.bin], units.parse(row.value, "temperature")
    base = (*log.base_c, (row.day, warmth)) if log.mat_off else log.base_c
    book.bins[row.bin] = replace(log, air_c=(*log.air_c, (row.day, warmth)), base_c=base)


def temperature(book: Ledger, row: Row) -> None:
    """Note a probe reading: it holds from its day until the mat is set, or the next reading."""
    reading = row.day, units.parse(row.value, "temperature")
    if row.lot:
        lot = open_lot(book, row.lot, row)
        put(book, replace(lot, readings=(*lot.readings, reading)), row)
    else:
        log = book.bins[row.bin]
        book.bins[row.bin] = replace(log, base_c=(*log.base_c, reading))


def lamp(book: Ledger, row: Row) -> None:
    """Set a bin's lamp, or turn it off."""
    log = book.bins[row.bin]
    hours = 0.0 if row.value.lower() == "off" else units.parse(row.value, "hours")
    book.bins[row.bin] = replace(log, lamp_h=(*log.lamp_h, (row.day, hours)))


def sign(book: Ledger, lot: Lot, row: Row, event: Event) -> None:
    """Note a sign of a lot; the first time counts, and again of those left behind when the others were potted."""
    lot = open_lot(book, lot.id, row)
    there = sum(lot.count(stage) for stage in event.takes_from)
    if not there:
        raise Impossible(
            f"{lot.id} has none {' or '.join(in_words(s) for s in event.takes_from)}; {row.what} cannot show"
        )
    if row.count is not None and row.count > there:
        raise Impossible(f"{lot.id} has {there}; {row.what} cannot show on {row.count}")
    rooting, potted = lot.count("rooting"), lot.steps.get("potted")
    old = lot.signs.get(row.what)
    anew = old is not None and potted is not None and rooting > 0 and old.day <= potted <= row.day
    if old is None or anew:
        not_yet = lot.known_at if lot.known_at < row.day else lot.known_before
        first = (old.first or old) if old else None
        lot = replace(lot, signs={**lot.signs, row.what: Sign(row.day, row.count, rooting or there, not_yet, first)})
    put(book, lot, row)


def crop_sign(book: Ledger, row: Row) -> None:
    """Note a sign of a crop outdoors."""
    crop = row.value.lower()
    if crop not in book.crops:
        raise Impossible(f"'{clipped(row.value)}' is not a crop{suggestion(crop, book.crops)}")
    book.crop_signs[(crop, row.what)] = row.day


def trouble(book: Ledger, row: Row) -> None:
    """Note a trouble of a lot or a bin, or that it is over."""
    lots = lots_of(book, row)
    for lot in lots:
        lot = open_lot(book, lot.id, row)
        troubles = _troubles_after(lot.troubles, row) if row.lot or row.what == "all_clear" else lot.troubles
        over = "scorch" in lot.troubles and "scorch" not in troubles
        told = row.what == "scorch" and bool(row.lot)
        hardening = (*lot.hardening, (row.day, row.what)) if over or told else lot.hardening
        put(book, replace(lot, troubles=troubles, hardening=hardening), row)
    if not row.lot:
        log = book.bins[row.bin]
        book.bins[row.bin] = replace(log, troubles=_troubles_after(log.troubles, row))


def _troubles_after(troubles: Mapping[str, date], row: Row) -> dict[str, date]:
    if row.what != "all_clear":
        return {**troubles, row.what: row.day}
    over = (row.value.lower(),) if row.value else TROUBLES
    return {name: day for name, day in troubles.items() if name not in over}


def job(book: Ledger, row: Row) -> None:
    """Note a job done to a lot or a bin."""
    for lot in lots_of(book, row):
        lot = open_lot(book, lot.id, row)
        looked = row.day if row.what == "looked" else lot.looked
        put(book, replace(lot, jobs={**lot.jobs, row.what: (*lot.jobs.get(row.what, ()), row.day)}, looked=looked), row)
    if not row.lot and row.what == "looked":
        book.bins[row.bin] = replace(book.bins[row.bin], looked=row.day)


def planned(book: Ledger, row: Row) -> None:
    """Note a lot to come."""
    variety = variety_of(book, row)
    day = date.fromisoformat(row.value)
    if day < row.day - timedelta(days=1):
        raise Impossible(f"planned for {day}, which is before {row.day}, the day it was planned")
    if day > row.day + timedelta(days=3660):
        raise Impossible(f"planned for {day}, more than ten years after {row.day}; check the year")
    book.planned[row.id] = Planned(
        row.id, variety.number, row.count or 0, day, row.note, variety.protected, variety.crop
    )
