"""The state while a logbook is replayed, and how a row finds in it what it is about, or is `Impossible`."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import field
from datetime import date
from typing import cast

from almanac.faults import Fact, Nearest, Stopped, nearest
from almanac.nursery.events import NO_TROUBLE, STAGES, Event, Stage
from almanac.nursery.logbook import LOT_ID, Row
from almanac.nursery.lots import BinLog, Kept, Lot, Planned, lot_order, next_letter
from almanac.nursery.settings import Settings
from almanac.nursery.varieties import Variety
from almanac.plain import dataclass, replace


class Impossible(Stopped):
    """A row that cannot have happened."""


@dataclass(kw_only=True)
class Ledger:
    """The state while rows are replayed.

    `methods` are those of the rulebook, each with the kind of place its cuttings stand in; `crops` its crops, each with
    the methods that suit it.

    It changes in place, so that a row costs what it is about and not all that came before it: `days` are those of each
    lot's jobs, which stand in the lots only once they are `closed`; `standing` names the lots rooting in each bin, and
    `ranks` says which of them came first.
    """

    settings: Settings
    varieties: Mapping[str, Variety]
    methods: Mapping[str, str]
    crops: Mapping[str, Sequence[str]]
    lots: dict[str, Lot] = field(default_factory=dict)
    bins: dict[str, BinLog] = field(default_factory=dict)
    crop_signs: dict[tuple[str, str], tuple[date, ...]] = field(default_factory=dict)
    planned: dict[str, Planned] = field(default_factory=dict)
    named: set[str] = field(default_factory=set)
    days: dict[str, dict[str, list[date]]] = field(default_factory=dict)
    standing: dict[str, set[str]] = field(default_factory=dict)
    ranks: dict[str, int] = field(default_factory=dict)
    kept: list[Kept] = field(default_factory=list)


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
        raise Impossible(Fact("no_bin", bin=name, near=nearest(name, [item.name for item in ledger.settings.places])))
    return item.name


def method_at(ledger: Ledger, crop: str, bin_name: str) -> str:
    """How a crop is rooted where no row says: the usual way if it suits it, in its kind of place. Raises Impossible."""
    usual, of_crop = ledger.settings.nursery.method, ledger.crops.get(crop, ())
    own = not any(usual in each for each in ledger.crops.values())  # a way that no crop lists is taken to suit all
    first = usual if own or usual in of_crop or not of_crop else of_crop[0]
    item = ledger.settings.bin_named(bin_name) if bin_name else None
    if item is None or ledger.methods.get(first) == item.kind:
        return first
    found = next((name for name in (usual, *of_crop) if ledger.methods.get(name) == item.kind), None)
    if found is None:
        raise Impossible(Fact("roots_elsewhere", crop=crop, bin=item.name, kind=item.kind))
    return found


def shelter_named(ledger: Ledger, name: str) -> str:
    """A shelter's name as the settings write it. Raises Impossible."""
    item = ledger.settings.shelter_named(name)
    if item is None:
        raise Impossible(
            Fact("no_shelter", shelter=name, near=nearest(name, [item.name for item in ledger.settings.shelter]))
        )
    return item.name


def lots_of(ledger: Ledger, row: Row) -> list[Lot]:
    """The lot a row names, or all lots rooting in the bin it names. Raises Impossible."""
    if row.lot:
        return [lot_named(ledger, row.lot)]
    lots = [ledger.lots[name] for name in sorted(ledger.standing.get(row.bin, ()), key=ledger.ranks.__getitem__)]
    if not lots and row.event.kind == "sign":
        item = ledger.settings.bin_named(row.bin)
        raise Impossible(Fact("bin_without_lots", bin=row.bin, kind=item.kind if item else "bin", day=row.day))
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
    old = ledger.lots.get(lot.id)
    new = object.__new__(Lot)  # a tenth of the time of `replace`: each row of a bin comes here with every lot in it
    new.__dict__.update(lot.__dict__, hardened=_hardened(old, lot, row))
    if row.what == "looked":
        new.__dict__["looked"] = row.day
    if row.day > lot.known_at and not _for_trouble_alone(row):
        new.__dict__.update(known_at=row.day, known_before=lot.known_at)
    ledger.lots[lot.id] = new
    if old is None or old.cohorts is not new.cohorts or old.places is not new.places:
        seat(ledger, new, old.bin if old else "")


def seat(ledger: Ledger, lot: Lot, left: str = "") -> None:
    """Note in which bin a lot stands, and that it has left another."""
    ledger.ranks.setdefault(lot.id, len(ledger.ranks))
    if left:
        ledger.standing[left].discard(lot.id)
    if lot.bin:
        ledger.standing.setdefault(lot.bin, set()).add(lot.id)


def _hardened(before: Lot | None, lot: Lot, row: Row) -> int:
    """How many of a lot's plants are hardened after a row: as many as it showed on last.

    Those that leave are taken to be of the hardened ones, so that never more are offered than there are.
    """
    if before is not None and before.cohorts is lot.cohorts and row.what != "hardened":
        return lot.hardened
    there = lot.count("pot") + lot.count("outside")
    if row.what == "hardened":
        return there if row.count is None else min(row.count, there)
    gone = max(before.count("pot") + before.count("outside") - there, 0) if before else 0
    return min(max(lot.hardened - gone, 0), there)


def note_job(ledger: Ledger, lot: Lot, row: Row) -> None:
    """Note the day of a job, or of cuttings that left."""
    if lot.id not in ledger.days:
        ledger.days[lot.id] = {name: list(days) for name, days in lot.jobs.items()}
    ledger.days[lot.id].setdefault(row.what, []).append(row.day)
    if _for_trouble_alone(row):
        ledger.days[lot.id].setdefault(NO_TROUBLE, []).append(row.day)


def _for_trouble_alone(row: Row) -> bool:
    """Whether it is a look that says nothing of signs: who did not look for roots has not seen that there are none."""
    return row.what == "looked" and row.value.lower() == NO_TROUBLE


def with_jobs(ledger: Ledger, lot: Lot) -> Lot:
    """A lot with the days of its jobs up to now."""
    days = ledger.days.get(lot.id)
    return lot if days is None else replace(lot, jobs={name: tuple(each) for name, each in days.items()})


def closed(ledger: Ledger) -> dict[str, Lot]:
    """All lots as the rows left them, in the order they stand in on a bench."""
    return {name: with_jobs(ledger, ledger.lots[name]) for name in sorted(ledger.lots, key=lot_order)}
