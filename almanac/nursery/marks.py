"""Rows that move no cuttings: bins and their mats, signs, troubles, jobs, lots to come.

Looks say "not yet" only of what they look for. How many bags are well rooted is counted, not glanced at: only a count
says so, be it of none (`Lot.none_yet`), or every look would push potting on. So it has to be asked for: a rule with
`again_days` is a question, which rests for so long once it was asked or answered.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date, timedelta

from almanac import units
from almanac.faults import Fact, nearest
from almanac.nursery.events import TROUBLES, Event
from almanac.nursery.ledger import Impossible, Ledger, lots_of, note_job, open_lot, put, variety_of, with_jobs
from almanac.nursery.logbook import Row
from almanac.nursery.lots import Lot, Planned, Sighting, Sign, Weighing
from almanac.plain import replace

_YEARLY = ("resting", "woke")


def moved(ledger: Ledger, row: Row) -> None:
    """Move a rooting lot to another bin."""
    lot = open_lot(ledger, row.lot, row)
    if not lot.count("rooting"):
        raise Impossible(Fact("nothing_rooting", lot=lot.id))
    item, wanted = ledger.settings.bin_named(row.bin), ledger.methods.get(lot.method)
    if item is not None and wanted is not None and wanted != item.kind:
        raise Impossible(Fact("place_of_other_kind", method=lot.method, bin=item.name, wanted=wanted, kind=item.kind))
    put(ledger, replace(lot, places=(*lot.places, (row.day, row.bin))), row)


def mat(ledger: Ledger, row: Row) -> None:
    """Set a bin's mat, or turn it off."""
    log = ledger.bins[row.bin]
    off = row.value.lower() == "off"
    base = log.air_c[-1][1] if off else units.parse(row.value, "temperature")
    ledger.bins[row.bin] = replace(log, base_c=(*log.base_c, (row.day, base)), mat_off=off, mat_set=row.day)


def air(ledger: Ledger, row: Row) -> None:
    """Note the warmth of the air round a bin's tops; with the mat off, the base has the same."""
    log, warmth = ledger.bins[row.bin], units.parse(row.value, "temperature")
    base = (*log.base_c, (row.day, warmth)) if log.mat_off else log.base_c
    ledger.bins[row.bin] = replace(log, air_c=(*log.air_c, (row.day, warmth)), base_c=base)


def temperature(ledger: Ledger, row: Row) -> None:
    """Note a probe reading: it holds from its day until the mat is set, or the next reading."""
    reading = row.day, units.parse(row.value, "temperature")
    if row.lot:
        lot = open_lot(ledger, row.lot, row)
        put(ledger, replace(lot, readings=(*lot.readings, reading)), row)
    else:
        log = ledger.bins[row.bin]
        ledger.bins[row.bin] = replace(log, base_c=(*log.base_c, reading), probed=row.day)


def lamp(ledger: Ledger, row: Row) -> None:
    """Set a bin's lamp, or turn it off."""
    log = ledger.bins[row.bin]
    hours = 0.0 if row.value.lower() == "off" else units.parse(row.value, "hours")
    ledger.bins[row.bin] = replace(log, lamp_h=(*log.lamp_h, (row.day, hours)))


def sign(ledger: Ledger, lot: Lot, row: Row, event: Event) -> None:
    """Note a sign of a lot: its day is the first, its number the last; anew of those that others left behind.

    A count of none is no sign, but says that it was looked for. Rest and waking come anew each year.
    """
    lot = open_lot(ledger, lot.id, row)
    there = sum(lot.count(stage) for stage in event.takes_from)
    if not there:
        raise Impossible(Fact("sign_of_none", lot=lot.id, stages=event.takes_from, what=row.what))
    if row.count is not None and row.count > there:
        raise Impossible(Fact("sign_of_too_many", lot=lot.id, there=there, what=row.what, count=row.count))
    if row.count == 0:
        put(ledger, replace(lot, none_yet={**lot.none_yet, row.what: row.day}), row)
        return
    rooting = lot.count("rooting")
    old = lot.signs.get(row.what)
    lately = (row.count, rooting or there) if row.count else None
    anew = old is not None and old.potted > 0 and rooting > 0
    if old is None or anew or row.what in _YEARLY:
        not_yet = lot.known_at if lot.known_at < row.day else lot.known_before
        first = (old.first or old) if old and anew else None
        seen = Sign(
            day=row.day,
            count=row.count,
            of=rooting or there,
            not_yet=not_yet,
            first=first,
            lately=lately,
            ahead=lot.potted_so_far if rooting else 0,
        )
        lot = replace(lot, signs={**lot.signs, row.what: seen})
    elif lately:
        lot = replace(lot, signs={**lot.signs, row.what: replace(old, lately=lately)})
    put(ledger, lot, row)


def crop_sign(ledger: Ledger, row: Row) -> None:
    """Note a sign of a crop outdoors."""
    crop = row.value.lower()
    if crop not in ledger.crops:
        raise Impossible(Fact("no_crop", crop=row.value, near=nearest(crop, ledger.crops)))
    ledger.crop_signs[(crop, row.what)] = (*ledger.crop_signs.get((crop, row.what), ()), row.day)


def trouble(ledger: Ledger, row: Row) -> None:
    """Note a trouble of a lot or a bin, or that it is over; a card with no gnat on it is no trouble."""
    none_seen = row.what == "gnats" and row.count == 0
    lots = lots_of(ledger, row)
    for lot in lots:
        lot = open_lot(ledger, lot.id, row)
        before = lot.troubles
        if not none_seen and (row.lot or row.what == "all_clear"):
            lot = replace(lot, troubles=_troubles_after(before, row))
        if row.what == "wilt" or (row.what == "all_clear" and row.value.lower() in ("", "wilt")):
            lot = _aired(lot, row)
        if (row.what == "scorch" and row.lot) or ("scorch" in before and "scorch" not in lot.troubles):
            lot = replace(lot, hardening=(*lot.hardening, (row.day, row.what)))
        put(ledger, lot, row)
    if not row.lot and not none_seen:
        log = ledger.bins[row.bin]
        ledger.bins[row.bin] = replace(log, troubles=_troubles_after(log.troubles, row))
    if row.what == "gnats":
        _gnats(ledger, row)
    elif row.what == "all_clear" and row.value.lower() in ("", "gnats"):
        _no_gnats(ledger, row)


def _gnats(ledger: Ledger, row: Row) -> None:
    """Keep a sighting with its count: those of a lot in a bin, or potted out of one that has them, are the bin's."""
    lot = ledger.lots[row.lot] if row.lot else None
    came_from = lot.places[-1][1] if lot and lot.places else ""
    if lot and not lot.bin and came_from and not ledger.bins[came_from].gnats:
        came_from = ""
    name = came_from if lot else row.bin
    seen = () if row.count == 0 else (Sighting(row.day, row.count, row.lot),)
    if name:
        log = ledger.bins[name]
        looked = row.day if not row.lot else log.looked  # who counts the card has looked at it
        ledger.bins[name] = replace(log, gnats=(*log.gnats, *seen), looked=looked)
    elif lot:
        put(ledger, replace(lot, gnats=(*lot.gnats, *seen)), row)


def _no_gnats(ledger: Ledger, row: Row) -> None:
    """All clear of a lot ends what was seen on it; of a bin, also what was seen on lots that have left it since."""
    if row.lot:
        ledger.lots[row.lot] = replace(ledger.lots[row.lot], gnats=())
        for name, log in ledger.bins.items():
            if any(each.lot == row.lot for each in log.gnats):
                ledger.bins[name] = replace(log, gnats=tuple(each for each in log.gnats if each.lot != row.lot))
        return
    log = ledger.bins[row.bin]
    for lot in [ledger.lots[each.lot] for each in log.gnats if each.lot]:
        if not lot.gnats:
            troubles = {name: day for name, day in lot.troubles.items() if name != "gnats"}
            ledger.lots[lot.id] = replace(lot, troubles=troubles)
    ledger.bins[row.bin] = replace(log, gnats=())


def _troubles_after(troubles: Mapping[str, date], row: Row) -> dict[str, date]:
    if row.what != "all_clear":
        return {**troubles, row.what: row.day}
    over = (row.value.lower(),) if row.value else TROUBLES
    return {name: day for name, day in troubles.items() if name not in over}


def _aired(lot: Lot, row: Row) -> Lot:
    """A lot that was opened a step, wilted or is firm again: its bags, its pots, or both; in a bin only bags stand."""
    stages = [row.stage] if row.stage else ["rooting", "pot"] if row.lot else ["rooting"]
    if row.stage and not any(cohort.stage == row.stage for cohort in lot.cohorts):
        raise Impossible(Fact("job_of_none", lot=lot.id, stage=row.stage, what=row.what))
    return replace(
        lot,
        cohorts=tuple(
            replace(cohort, airing=(*cohort.airing, (row.what, row.day))) if cohort.stage in stages else cohort
            for cohort in lot.cohorts
        ),
    )


def job(ledger: Ledger, row: Row) -> None:
    """Note a job done to a lot or a bin."""
    for lot in lots_of(ledger, row):
        lot = open_lot(ledger, lot.id, row)
        if row.what == "opened":
            lot = _aired(lot, row)
        elif row.what == "weighed":
            lot = replace(lot, weighings=(*lot.weighings, *_weighed(with_jobs(ledger, lot), row)))
        note_job(ledger, lot, row)
        put(ledger, lot, row)
    if not row.lot and row.what == "looked":
        ledger.bins[row.bin] = replace(ledger.bins[row.bin], looked=row.day)


def _weighed(lot: Lot, row: Row) -> Iterator[Weighing]:
    """A weighing of a lot's bags; of its pots where it has any; none of wood in store."""
    grams = units.parse(row.value, "mass")
    for stage in ("pot", "outside", "rooting"):
        if lot.count(stage):
            yield Weighing(day=row.day, grams=grams, stage=stage, run=lot.water_since(stage))
            return


def planned(ledger: Ledger, row: Row) -> None:
    """Note a lot to come."""
    variety = variety_of(ledger, row)
    day = date.fromisoformat(row.value)
    if day < row.day - timedelta(days=1):
        raise Impossible(Fact("planned_backwards", day=day, planned_on=row.day))
    if day > row.day + timedelta(days=3660):
        raise Impossible(Fact("planned_too_far", day=day, planned_on=row.day))
    ledger.planned[row.id] = Planned(
        row=row.id,
        number=variety.number,
        count=row.count or 0,
        day=day,
        note=row.note,
        protected=variety.protected,
        crop=variety.crop,
        bin=row.bin,
    )
