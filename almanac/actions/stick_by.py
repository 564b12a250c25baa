"""What to stick when, to have so many plants by a day; and, once accepted, the rows that plan it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date, datetime, timedelta
from pathlib import Path

from almanac.actions.look import Reading, plan_of
from almanac.actions.record import record_rows
from almanac.actions.strike import asked_for, no_such_way, share_of
from almanac.actions.writing import Recorded
from almanac.faults import Fact, Refusal
from almanac.forecast.history import surroundings
from almanac.forecast.model import Surroundings
from almanac.forecast.strike import Rate, RatePart
from almanac.nursery.load import load_nursery
from almanac.nursery.logbook import Row
from almanac.nursery.nursery import Nursery
from almanac.nursery.ways import method_for
from almanac.nursery.workdays import Workdays
from almanac.plan.backwards.aim import Aim, Backwards, Way
from almanac.plan.backwards.bench import BinsAhead
from almanac.plan.backwards.ways import reached, ways
from almanac.plan.model import Plan, PlanWarning
from almanac.plan.wood.account import account_of, stored
from almanac.plan.wood.ground import ground_for

CHANCES = (0.5, 0.8, 0.9)
_YEAR = timedelta(days=365)
_SENSIBLE = 3  # times the cuttings that it takes in the mean: with more, chance stands for time that is lacking


def stick_by(
    seen: Reading, by: date, plants: int, variety: str | None, crop: str | None, method: str | None = None
) -> Backwards:
    """What to stick when.

    Args:
        seen: the nursery as it is
        by, plants: the day, and how many plants are to be ready by it
        variety, crop: of what, by number or by crop
        method: how it is rooted; the crop's usual way here if none is named
    Raises:
        Refusal: the day has gone by, or what is asked for is not known
    """
    nursery, plan = seen.nursery, seen.plan
    if by <= nursery.as_of:
        raise Refusal(Fact("day_gone_by", day=by, as_of=nursery.as_of))
    if not variety and not crop:
        raise Refusal(Fact("of_what"))
    asked = asked_for(nursery, variety, crop, method)
    aim, rate = _aim(nursery, asked, by, plants)
    suited = nursery.book.crops[aim.crop].methods
    if method and aim.method not in suited:
        raise Refusal(no_such_way(nursery, aim.crop, aim.method))
    around = surroundings(nursery)
    found = tuple(ways(aim, CHANCES, _bench(aim, seen, around)))
    lacking = [way.chance for way in found if not way.waves] if method is None else []
    otherwise = tuple(
        (other, way)
        for other in suited
        if lacking and other != aim.method and other in nursery.book.methods
        for wanted, _ in (_aim(nursery, replace(asked, method=other), by, plants),)
        for way in reached(wanted, lacking, _bench(wanted, seen, around))
        if way.cuttings * wanted.share <= plants * _SENSIBLE
    )
    crowded = tuple(_crowded(way, aim, nursery, plan) for way in found)
    keeps = timedelta(days=round(nursery.book.crops[aim.crop].store.keeps_high))
    return Backwards(aim=aim, rate=rate, keeps=keeps, ways=found, crowded=crowded, otherwise=otherwise)


def _aim(nursery: Nursery, asked: RatePart, by: date, plants: int) -> tuple[Aim, Rate]:
    """What is wanted of a part, and what is known of the share of it that finishes."""
    part, rate = share_of(nursery, asked)
    aim = Aim(
        number=part.number,
        crop=part.crop,
        plants=plants,
        by=by,
        share=rate.mean,
        concentration=rate.concentration,
        doubt=rate.density.variance,
        method=part.method,
    )
    return aim, rate


def _bench(aim: Aim, seen: Reading, around: Surroundings) -> BinsAhead:
    """The places as they will be, for lots to come of an aim."""
    nursery = seen.nursery
    workdays = Workdays(nursery.settings, nursery.place)
    return BinsAhead(
        stock=nursery.stock, around=around, space=seen.plan.space, workdays=workdays, has_wood=_has_wood(aim, nursery)
    )


def accept(folder: Path, now: datetime, found: Backwards, way: Way, as_of: date | None = None) -> Recorded:
    """Write the waves of a way into the logbook as lots to come.

    Raises:
        Refusal: it is not said of which variety, or there is no way with that chance
    """
    if not found.aim.number:
        raise Refusal(Fact("only_variety_planned"))
    if not way.waves:
        raise Refusal(Fact("no_way_to_plan", chance=way.chance))
    if not all(wave.bin for wave in way.waves):
        seen = load_nursery(folder, now, as_of)
        usual = method_for(seen.book, seen.settings, found.aim.crop)
        if usual != found.aim.method:  # a row of the logbook says a method by its place alone
            kind = seen.book.methods[found.aim.method].place
            raise Refusal(Fact("no_place_to_plan", method=found.aim.method, kind=kind))
    return record_rows(folder, now, lambda nursery: _rows(found.aim, way, nursery), as_of)


def _has_wood(aim: Aim, nursery: Nursery) -> Callable[[date], bool]:
    """On which days there is wood to stick: while it may be cut, as long as it then keeps, and what is in store."""
    account = account_of(nursery)
    _, running, coming = account.outdoors.winters(nursery.as_of)
    winters = (running, coming, coming.replace(year=coming.year + 1))
    numbers = (aim.number,) if aim.number else ()
    stretches = [
        (account.collecting(aim.crop, middle, numbers).opens, account.on_plant(aim.crop, middle, numbers).until)
        for middle in winters
    ]
    stretches += [
        (nursery.as_of, account.of_lot(lot).until)
        for lot in nursery.stock.lots.values()
        if lot.crop == aim.crop and aim.number in ("", lot.number) and stored(lot)
    ]
    if nursery.book.methods[aim.method].place == "bed":
        collects = [account.collecting(aim.crop, middle, numbers) for middle in winters]
        ground = [ground_for(each, aim.method, account.outdoors) for each in collects]
        return lambda day: any(each.fits(day) for each in ground)
    return lambda day: any(first <= day <= last for first, last in stretches)


def _rows(aim: Aim, way: Way, nursery: Nursery) -> list[Row]:
    note = f"{aim.plants} by {aim.by}, {way.chance:.0%}"
    return [
        Row(
            id="",
            day=nursery.as_of,
            what="planned",
            variety=aim.number,
            count=wave.count,
            bin=wave.bin,
            value=wave.day.isoformat(),
            note=note,
        )
        for wave in way.waves
    ]


def _crowded(way: Way, aim: Aim, nursery: Nursery, plan: Plan) -> tuple[PlanWarning, ...]:
    """Places that suffice as it stands, and would not with these waves."""
    of_crop = (number for number, variety in nursery.varieties.items() if variety.crop == aim.crop)
    number = aim.number or next(of_crop, "")  # any of the crop takes as much room
    if not way.waves or not number:
        return ()
    waves = _rows(replace(aim, number=number), way, nursery)
    rows = [replace(row, id=f"way{place}") for place, row in enumerate(waves, 1)]
    planned, faults = nursery.with_more(rows)
    if faults:
        return ()
    then = plan_of(planned).plan
    before = {(warning.kind, warning.bins) for warning in plan.warnings if warning.shortage}
    return tuple(w for w in then.warnings if w.shortage and (w.kind, w.bins) not in before)
