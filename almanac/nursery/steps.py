"""Rows that move cuttings: from stage to stage, into new lots, out of the nursery. Every change of a count is here.

A row names the lot it makes: `stuck` and `restuck` write the new id into `refers`. Splits could be derived on replay,
but then a row entered late would rename lots whose ids are already written on bags.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import cast

from almanac.faults import Fact, nearest
from almanac.nursery.events import READY, STAGES, Event, Stage
from almanac.nursery.ledger import (
    Impossible,
    Ledger,
    held,
    method_at,
    new_id,
    note_job,
    open_lot,
    put,
    source_stage,
    variety_of,
    with_jobs,
)
from almanac.nursery.logbook import Row
from almanac.nursery.lots import Cohort, Kept, Lot, Reached, lot_order
from almanac.nursery.varieties import Variety
from almanac.plain import replace

# What cuttings that come to a stage have come to, where they were stuck before.
_COME_TO: dict[Stage, Reached] = {"rooting": "stuck", "pot": "rooted", "outside": "finished"}
_PUT_TO_USE = ("sold", "gave", "planted", "kept")


def step(ledger: Ledger, row: Row, event: Event) -> None:
    """Carry cuttings from one stage to the next, or out of the nursery."""
    lot = open_lot(ledger, row.lot, row)
    source = source_stage(lot, row, event)
    if row.what == "lifted" and ledger.methods.get(lot.method) != "bed":
        raise Impossible(Fact("in_no_bed", lot=lot.id, method=lot.method))
    taken, left = _take(lot, source, row.count, row.what)
    if event.to == "gone":
        if row.what in _PUT_TO_USE:
            taken = tuple(replace(c, reached="finished") if c.reached == "rooted" else c for c in taken)
        if row.what == "kept" and source != "store":
            place, count = row.value.strip() or f"plant of {lot.id}", sum(cohort.count for cohort in taken)
            ledger.kept.append(
                Kept(row=row.id, lot=lot.id, number=lot.number, crop=lot.crop, count=count, day=row.day, place=place)
            )
        note_job(ledger, lot, row)
        put(ledger, replace(lot, cohorts=left, left=_left(lot, row.what, taken)), row)
        return
    moved = tuple(_arrived(cohort, row, cast(Stage, event.to)) for cohort in taken)
    steps = {**lot.steps, row.what: lot.steps.get(row.what, row.day)}
    signs = lot.signs
    if row.what == "potted":
        count = sum(cohort.count for cohort in taken)
        signs = {name: replace(sign, potted=sign.potted + count) for name, sign in signs.items()}
    new = replace(lot, cohorts=(*left, *moved), steps=steps, signs=signs)
    if row.what == "brought_in" and row.bin:
        new = replace(new, shelter=row.bin)
    if row.what == "set_out" or (row.what == "brought_in" and not new.hardening_since):
        new = replace(new, hardening=(*lot.hardening, (row.day, row.what)))
    put(ledger, new, row)


def _take(lot: Lot, stage: Stage, count: int | None, what: str) -> tuple[tuple[Cohort, ...], tuple[Cohort, ...]]:
    """The cohorts taken (the first come go first; of a bed what is lifted goes on first and is lost last), and left."""
    there = lot.count(stage) - (lot.lifted if what == "lifted" else 0)
    wanted = there if count is None else count
    if wanted > there or there == 0:
        raise Impossible(Fact("too_few", lot=lot.id, there=there, stage=stage, wanted=wanted, what=what))
    taken, left = [], []
    for cohort in sorted(lot.cohorts, key=lambda each: _turn(each, what)):
        here = cohort.stage == stage and not (what == "lifted" and cohort.reached == "finished")
        part = min(cohort.count, wanted) if here else 0
        wanted -= part
        if part:
            taken.append(replace(cohort, count=part, reached=lot.reached(cohort)))
        if cohort.count - part:
            left.append(replace(cohort, count=cohort.count - part))
    return tuple(taken), tuple(left)


def _turn(cohort: Cohort, what: str) -> bool:
    """Whether it is taken after others: plants lifted from a bed are what is put to use, the rest what fails."""
    lifted = cohort.stage == "rooting" and cohort.reached == "finished"
    return not lifted if what in _PUT_TO_USE or what == "potted" else lifted


def _left(lot: Lot, what: str, cohorts: Iterable[Cohort]) -> dict[tuple[str, Reached], int]:
    """What has left a lot once these cohorts have, too; a count below nothing came to it."""
    found = dict(lot.left)
    for cohort in cohorts:
        if cohort.count:
            key = (what, cohort.reached)
            found[key] = found.get(key, 0) + cohort.count
    return found


def _arrived(cohort: Cohort, row: Row, to: Stage) -> Cohort:
    if row.what == "lifted":
        return replace(cohort, reached="finished")
    if row.what == "set_out":
        return replace(cohort, hardening_since=cohort.hardening_since or row.day)
    since = cohort.since if cohort.stage == to else row.day
    onward = cohort.reached in ("stuck", "rooted") and to in ("pot", "outside")
    airing = cohort.airing if to == "pot" else ()
    return Cohort(
        stage=to, since=since, count=cohort.count, reached=_COME_TO[to] if onward else cohort.reached, airing=airing
    )


def start(ledger: Ledger, row: Row) -> None:
    """Begin a lot: cuttings taken or received."""
    variety = variety_of(ledger, row)
    name = new_id(ledger, variety.number, row.lot)
    ready = row.what == "received" and row.value.lower() in READY
    stage = cast(Stage, row.stage or ("pot" if ready else "store"))
    count = row.count or 0
    step = {"store": "stored", "rooting": "stuck", "pot": "potted", "outside": "outside"}[stage]
    if row.refers:
        _settle_planned(ledger, row, variety)
    lot = Lot(
        id=name,
        number=variety.number,
        crop=variety.crop,
        method=method_at(ledger, variety.crop, row.bin if stage == "rooting" else ""),
        protected=variety.protected,
        started=row.day,
        origin="own_wood" if row.what == "taken" else row.value.lower(),
        cohorts=(
            Cohort(
                stage=stage, since=row.day, count=count, reached="stuck" if stage == "rooting" and not ready else ""
            ),
        ),
        steps={step: row.day} | ({"potted": row.day} if stage == "outside" else {}),
        places=((row.day, row.bin),) if row.bin else (),
        stuck_count=count if stage == "rooting" and not ready else 0,
        mother=row.value.strip() if row.what == "taken" else "",
    )
    put(ledger, lot, row)


def _settle_planned(ledger: Ledger, row: Row, variety: Variety) -> None:
    planned = ledger.planned.get(row.refers)
    if planned is None or planned.number != variety.number:
        raise Impossible(Fact("not_planned", row=row.refers, number=variety.number))
    del ledger.planned[row.refers]


def stuck(ledger: Ledger, row: Row) -> None:
    """Set stored cuttings to root; part of a lot makes a new one."""
    lot = open_lot(ledger, row.lot, row) if row.lot else _oldest_stored(ledger, row)
    source_stage(lot, row, row.event)
    method = _method(ledger, row, lot)
    planned = row.refers if row.refers in ledger.planned else ""
    if planned:
        _settle_planned(ledger, row, ledger.varieties[lot.number])
    taken, left = _take(lot, "store", row.count, "stuck")
    count = sum(cohort.count for cohort in taken)
    rooting = (Cohort(stage="rooting", since=row.day, count=count, reached="stuck"),)
    places = ((row.day, row.bin),) if row.bin else ()
    steps = {"stored": lot.steps.get("stored", row.day), "stuck": row.day}  # an earlier life in bag or pot is over
    signs = {name: sign for name, sign in lot.signs.items() if name == "pushing"}
    begun = replace(
        lot,
        method=method,
        cohorts=rooting,
        steps=steps,
        signs=signs,
        places=places,
        stuck_count=count,
        hardening=(),
        none_yet={},
    )
    if not left:
        put(ledger, begun, row)
        return
    name = new_id(ledger, lot.number, "" if planned else row.refers)
    put(ledger, replace(lot, cohorts=left), row)
    new = replace(with_jobs(ledger, begun), id=name, left={}, joined=(), split_from=lot.id, known_at=row.day)
    put(ledger, new, row)


def _method(ledger: Ledger, row: Row, lot: Lot) -> str:
    """How a stored lot is rooted: as the row says, else its own way, or that of the kind of place it goes to."""
    item = ledger.settings.bin_named(row.bin) if row.bin else None
    if not row.value:
        alike = item is None or ledger.methods.get(lot.method) == item.kind
        return lot.method if alike else method_at(ledger, lot.crop, row.bin)
    if row.value not in ledger.methods:
        raise Impossible(Fact("no_method", method=row.value, near=nearest(row.value, ledger.methods)))
    if item is not None and ledger.methods[row.value] != item.kind:
        kinds = ledger.methods[row.value], item.kind
        raise Impossible(Fact("place_of_other_kind", method=row.value, bin=item.name, wanted=kinds[0], kind=kinds[1]))
    return row.value


def _oldest_stored(ledger: Ledger, row: Row) -> Lot:
    """The lot in store longest, for a row written by hand that names a number alone."""
    number = row.variety.lstrip("0")
    stored = [lot for lot in ledger.lots.values() if lot.number == number and lot.count("store")]
    lot = min(stored, key=lambda lot: (lot.started, lot_order(lot.id)), default=None)
    if lot is None:
        raise Impossible(Fact("none_in_store", number=row.variety, day=row.day))
    return lot


def restuck(ledger: Ledger, row: Row) -> None:
    """Set salvaged cuttings to root again, as a new lot that remembers its parent."""
    lot = open_lot(ledger, row.lot, row)
    taken, left = _take(lot, source_stage(lot, row, row.event), row.count, "restuck")
    name = new_id(ledger, lot.number, row.refers)
    bin_name = row.bin or lot.bin
    new = Lot(
        id=name,
        number=lot.number,
        crop=lot.crop,
        method=lot.method,
        protected=lot.protected,
        started=row.day,
        origin=lot.origin,
        parent=lot.id,
        cohorts=tuple(
            Cohort(stage="rooting", since=row.day, count=cohort.count, reached=cohort.reached) for cohort in taken
        ),
        steps={"stuck": row.day},
        places=((row.day, bin_name),) if bin_name else (),
        stuck_count=sum(cohort.count for cohort in taken),
        wood=(lot.cut_on, lot.first_stuck_on),
        mother=lot.mother,
    )
    put(ledger, replace(lot, cohorts=left, left=_left(lot, "restuck", taken)), row)
    put(ledger, new, row)


def joined(ledger: Ledger, row: Row) -> None:
    """Put a lot together with another of its variety and date."""
    lot, other = open_lot(ledger, row.lot, row), open_lot(ledger, row.refers, row)
    if lot.id == other.id or lot.number != other.number or lot.steps.get("stuck") != other.steps.get("stuck"):
        raise Impossible(Fact("cannot_be_joined", lot=lot.id, other=other.id))
    moved = tuple(replace(cohort, reached=lot.reached(cohort)) for cohort in lot.cohorts)
    together = replace(
        other,
        cohorts=(*other.cohorts, *moved),
        stuck_count=other.stuck_count + lot.count("rooting"),
        joined=(*other.joined, lot.id),
        hardened=other.hardened + lot.hardened,
    )
    put(ledger, together, row)
    put(ledger, replace(lot, cohorts=(), left=_left(lot, "joined", moved)), row)


def counted(ledger: Ledger, row: Row) -> None:
    """Take the count of a stage from a stocktake."""
    lot = open_lot(ledger, row.lot, row)
    if not (row.value or row.note):
        raise Impossible(Fact("counted_without_reason"))
    if lot.closed and not row.stage:
        raise Impossible(Fact("counted_without_stage", lot=lot.id, count=row.count))
    stage = cast(Stage, row.stage) if row.stage else source_stage(lot, row, row.event)
    others = tuple(cohort for cohort in lot.cohorts if cohort.stage != stage)
    here = [cohort for cohort in lot.cohorts if cohort.stage == stage] or [_found(lot, stage, row)]
    wanted = row.count or 0
    kept = []
    for cohort in reversed(here):  # what is missing is taken to be of the first come, as in every other step
        part = min(cohort.count, wanted)
        wanted -= part
        kept.append(replace(cohort, count=part))
    kept[-1] = replace(kept[-1], count=kept[-1].count + wanted)
    missing = [
        replace(cohort, count=cohort.count - still.count, reached=lot.reached(cohort))
        for cohort, still in zip(reversed(here), kept, strict=True)
    ]
    cohorts = (*others, *(cohort for cohort in reversed(kept) if cohort.count))
    put(ledger, replace(lot, cohorts=cohorts, left=_left(lot, "counted", missing)), row)


def _found(lot: Lot, stage: Stage, row: Row) -> Cohort:
    """Where a stocktake finds cuttings in a stage that was thought empty: those of a lot that was stuck were, too."""
    was_stuck = stage == "rooting" or "stuck" in lot.steps
    return Cohort(stage=stage, since=row.day, count=0, reached=_COME_TO.get(stage, "") if was_stuck else "")


def cut_up(ledger: Ledger, row: Row) -> None:
    """Cut sticks into more cuttings."""
    lot = open_lot(ledger, row.lot, row)
    stage = source_stage(lot, row, row.event)
    before, after = lot.count(stage), row.count or 0
    if not before:
        raise Impossible(Fact("nothing_to_cut_up", lot=lot.id, held=held(lot, STAGES), stage=stage))
    if after <= before:
        raise Impossible(Fact("cut_up_to_fewer", lot=lot.id, there=before, stage=stage, count=after))
    more = after - before
    place, first = next((n, cohort) for n, cohort in enumerate(lot.cohorts) if cohort.stage == stage)
    cohorts = (*lot.cohorts[:place], replace(first, count=first.count + more), *lot.cohorts[place + 1 :])
    left = _left(lot, "cut_up", [replace(first, count=-more)])
    stuck_count = lot.stuck_count + (more if stage == "rooting" else 0)
    put(ledger, replace(lot, cohorts=cohorts, left=left, stuck_count=stuck_count), row)
