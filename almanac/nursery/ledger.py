"""The state while a logbook is replayed, and how a row finds in it what it is about, or is `Impossible`."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import cast

from almanac.faults import Fact, Nearest, Stopped, nearest
from almanac.nursery.events import STAGES, Event, Stage
from almanac.nursery.logbook import LOT_ID, Row
from almanac.nursery.lots import BinLog, Lot, Planned, next_letter
from almanac.nursery.settings import Settings
from almanac.nursery.varieties import Variety


class Impossible(Stopped):
    """A row that cannot have happened."""


@dataclass
class Ledger:
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


def lot_named(ledger: Ledger, name: str) -> Lot:
    """The lot of an id. Raises Impossible."""
    lot = ledger.lots.get(name)
    if lot is None:
        raise Impossible(Fact("no_lot", lot=name, near=nearest(name, ledger.lots)))
    return lot


def open_lot(ledger: Ledger, name: str, row: Row) -> Lot:
    """A lot that had begun by the row's day and has cuttings left. Raises Impossible."""
    lot = lot_named(ledger, name)
    if row.day < lot.started:
        raise Impossible(Fact("before_its_start", lot=lot.id, started=lot.started, what=row.what, day=row.day))
    if lot.closed and row.what not in ("counted", "noted"):
        raise Impossible(Fact("lot_closed", lot=lot.id, what=row.what))
    return lot


def variety_of(ledger: Ledger, row: Row) -> Variety:
    """The variety a row is about. Raises Impossible."""
    match = LOT_ID.fullmatch(row.lot)
    number = row.variety.lstrip("0") or (match[1] if match and not row.variety else row.variety)
    if number not in ledger.varieties:
        raise Impossible(Fact("no_variety", number=number, near=Nearest()))
    return ledger.varieties[number]


def bin_named(ledger: Ledger, name: str) -> str:
    """A bin's name as the settings write it. Raises Impossible."""
    item = ledger.settings.bin_named(name)
    if item is None:
        raise Impossible(Fact("no_bin", bin=name, near=nearest(name, [item.name for item in ledger.settings.bin])))
    return item.name


def lots_of(ledger: Ledger, row: Row) -> list[Lot]:
    """The lot a row names, or all lots rooting in the bin it names. Raises Impossible."""
    if row.lot:
        return [lot_named(ledger, row.lot)]
    lots = [lot for lot in ledger.lots.values() if lot.bin == row.bin]
    if not lots and row.event.kind == "sign":
        raise Impossible(Fact("bin_without_lots", bin=row.bin, day=row.day))
    return lots


def source_stage(lot: Lot, row: Row, event: Event) -> Stage:
    """The stage the cuttings are taken from: the one named, or the only one that holds any."""
    if row.stage:
        stage = cast(Stage, row.stage)
        if stage not in event.takes_from:
            raise Impossible(Fact("takes_from_other", what=row.what, stages=event.takes_from, stage=stage))
        return stage
    holding = [stage for stage in event.takes_from if lot.count(stage)]
    if len(holding) > 1:
        raise Impossible(Fact("stage_in_doubt", lot=lot.id, held=held(lot, holding), stages=tuple(holding)))
    if not holding:
        stages = event.takes_from
        raise Impossible(Fact("none_in_stage", lot=lot.id, held=held(lot, STAGES), stages=stages, what=row.what))
    return holding[0]


def held(lot: Lot, stages: Sequence[Stage]) -> tuple[tuple[int, Stage], ...]:
    """How many are in each of some stages that hold any."""
    return tuple((lot.count(stage), stage) for stage in stages if lot.count(stage))


def new_id(ledger: Ledger, number: str, wanted: str) -> str:
    """The id a row gives, else the first that no row gives: so a lot keeps its id whatever is logged after it."""
    if wanted:
        match = LOT_ID.fullmatch(wanted)
        if not match or match[1] != number:
            raise Impossible(Fact("lot_of_other_number", lot=wanted, number=number))
        if wanted in ledger.lots:
            raise Impossible(Fact("lot_exists", lot=wanted, started=ledger.lots[wanted].started))
        return wanted
    letters = next_letter("")
    while number + letters in ledger.named or number + letters in ledger.lots:
        letters = next_letter(letters)
    return number + letters


def put(ledger: Ledger, lot: Lot, row: Row) -> None:
    """Keep a lot as it is after a row, which is the last word of it so far."""
    before = lot.known_at if row.day > lot.known_at else lot.known_before
    hardened = _hardened(ledger.lots.get(lot.id), lot, row)
    ledger.lots[lot.id] = replace(lot, known_at=max(lot.known_at, row.day), known_before=before, hardened=hardened)


def _hardened(before: Lot | None, lot: Lot, row: Row) -> int:
    """How many of a lot's plants are hardened after a row: as many as it showed on last.

    Those that leave are taken to be of the hardened ones, so that never more are offered than there are.
    """
    there = lot.count("pot") + lot.count("outside")
    if row.what == "hardened":
        return there if row.count is None else min(row.count, there)
    gone = max(before.count("pot") + before.count("outside") - there, 0) if before else 0
    return min(max(lot.hardened - gone, 0), there)
