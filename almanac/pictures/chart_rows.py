"""From a plan and its logbook to what a season chart shows: lots in walking order, with what was and comes. Pure."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from datetime import date, timedelta
from itertools import pairwise

from almanac.forecast.model import Milestone
from almanac.nursery.counted import Counts, counts_by_day
from almanac.nursery.events import STAGES, Stage
from almanac.nursery.lots import Lot, Planned, lot_order
from almanac.nursery.nursery import Nursery
from almanac.plain import dataclass
from almanac.plan.model import Plan
from almanac.site.frost import FrostTable
from almanac.words.lots import place_and_count

_LONGEST = timedelta(days=400)
_BEFORE, _AFTER = timedelta(days=150), timedelta(days=300)
_LEAST = timedelta(days=28)
SIGNS = ("roots", "leaves")
_ELSEWHERE: Mapping[Stage, str] = {"rooting": "In no bin", "pot": "In pots", "outside": "Outside", "store": "In store"}


@dataclass(frozen=True, kw_only=True)
class Stretch:
    """From when till when cuttings of a lot were, or will be, in a stage; it ends on the day the last move on."""

    stage: Stage
    first: date
    last: date
    known: bool


@dataclass(frozen=True, kw_only=True)
class Band:
    """A date to come: early, likely, late."""

    name: str
    early: date
    likely: date
    late: date


@dataclass(frozen=True, kw_only=True)
class Row:
    """One lot, or one to come: then `lot` is the row that plans it."""

    lot: str
    heading: str
    name: str
    stretches: tuple[Stretch, ...]
    bands: tuple[Band, ...]
    signs: tuple[tuple[str, date], ...]
    to_come: bool = False


@dataclass(frozen=True, kw_only=True)
class Season:
    """What the chart shows; `groups` are bins and other places with their rows, in walking order."""

    nursery: str
    as_of: date
    first: date
    last: date
    groups: tuple[tuple[str, tuple[Row, ...]], ...]
    rounds: tuple[date, ...]
    away: tuple[tuple[date, date], ...]
    accept: float
    frost: FrostTable

    def risk(self, day: date) -> float:
        """The chance of a frost still to come in spring, or come already in autumn."""
        months = (8, 9, 10, 11, 12, 1) if self.frost.southern else (1, 2, 3, 4, 5, 6)
        spring = day.month in (*months, 7)  # the freeze year turns on 1 August, in the south on 1 February
        return self.frost.chance_after(day) if spring else self.frost.chance_before(day)


def season_of(
    plan: Plan, nursery: Nursery, first: date | None = None, last: date | None = None, lots: Collection[str] = ()
) -> Season:
    """What there is to draw.

    Args:
        plan, nursery: of one day
        first, last: the days between; else from the oldest lot there is to when the last one is outside for good
        lots: only these, closed ones too; else all that are open, and of the closed those that were there since `first`
    """
    history, as_of = counts_by_day(nursery), plan.as_of
    every = [lot for lot in nursery.stock.lots.values() if (lot.id in lots if lots else not lot.closed)]
    if first and not lots:
        every += [lot for lot in nursery.stock.lots.values() if lot.closed and history[lot.id][-1][0] >= first]
    every.sort(key=lambda lot: lot_order(lot.id))
    rows = {lot.id: _row(lot, plan, nursery, history[lot.id]) for lot in every}
    coming = [] if lots else [_row_to_come(planned, plan, nursery) for planned, _ in plan.space.planned]
    first, last = _range(as_of, first, last, [*rows.values(), *coming])
    groups = _groups(every, rows, nursery)
    if coming:
        groups.append(("To come", tuple(coming)))
    return Season(
        nursery=nursery.name,
        as_of=as_of,
        first=first,
        last=last,
        groups=tuple(groups),
        rounds=tuple(each.day for each in plan.rounds if first <= each.day <= last),
        away=tuple(
            (each.first, each.last) for each in nursery.settings.week.away if each.last >= first and each.first <= last
        ),
        accept=nursery.settings.frost.accept,
        frost=nursery.frost,
    )


def _range(as_of: date, first: date | None, last: date | None, rows: Iterable[Row]) -> tuple[date, date]:
    starts = [stretch.first for row in rows for stretch in row.stretches]
    ends = [band.late for row in rows for band in row.bands]
    begin = first or max(min(starts, default=as_of), as_of - _BEFORE)
    end = last or min(max([as_of + _LEAST, *ends]) + timedelta(days=14), max(as_of, begin) + _AFTER)
    if not first:
        begin = min(begin, as_of, end - _LEAST)
    return begin, max(begin + _LEAST, min(end, begin + _LONGEST)) if not last else end


def _groups(every: Sequence[Lot], rows: Mapping[str, Row], nursery: Nursery) -> list[tuple[str, tuple[Row, ...]]]:
    """Bins as the nursery lists them, then what stands elsewhere by stage, then what is closed."""
    titles = {item.name: item.title for item in nursery.settings.places}
    by_place: dict[str, list[Row]] = {name: [] for name in (*titles.values(), *_ELSEWHERE.values(), "Closed")}
    for lot in every:
        stage = next((stage for stage in _ELSEWHERE if lot.count(stage)), None)
        place = "Closed" if stage is None else titles.get(lot.bin, f"Bin {lot.bin}") if lot.bin else _ELSEWHERE[stage]
        by_place.setdefault(place, []).append(rows[lot.id])
    return [(place, tuple(found)) for place, found in by_place.items() if found]


def _row(lot: Lot, plan: Plan, nursery: Nursery, history: Sequence[tuple[date, Counts]]) -> Row:
    found, as_of = plan.milestones[lot.id], plan.as_of
    bands = [_band(found, name, as_of) for name in SIGNS if lot.count("rooting")]
    potted, outside = _band(found, "potted", as_of), _band(found, "outside", as_of)
    if lot.count("rooting"):
        potted = potted or _of_the_rest(plan, "potted", lot.id)
    if lot.count("pot"):
        outside = outside or _of_the_rest(plan, "outside", lot.id)
    if not (lot.count("rooting") or lot.count("pot")):
        potted, outside = None, outside if lot.count("store") else None
    bands += [potted, outside]
    swelling = _band(found, "pushing", as_of) if lot.count("store") else None
    ahead = _ahead(lot, as_of, swelling, potted, outside)
    signs = [(name, found[name].logged) for name in SIGNS if name in found]
    return Row(
        lot=lot.id,
        heading=place_and_count(lot),
        name=nursery.varieties[lot.number].name,
        stretches=(*_past(history, as_of), *ahead),
        bands=tuple(band for band in (swelling, *bands) if band),
        signs=tuple((name, day) for name, day in signs if day),
    )


def _past(history: Sequence[tuple[date, Counts]], as_of: date) -> list[Stretch]:
    """When each stage held any of the lot's cuttings."""
    found, days = [], [*history, (as_of, history[-1][1])]
    for stage in STAGES:
        since: date | None = None
        for (day, counts), (_, _) in pairwise(days):
            if counts[stage] and since is None:
                since = day
            elif not counts[stage] and since is not None:
                found.append(Stretch(stage=stage, first=since, last=day, known=True))
                since = None
        if since is not None:
            found.append(Stretch(stage=stage, first=since, last=as_of, known=True))
    return found


def _ahead(lot: Lot, as_of: date, swelling: Band | None, potted: Band | None, outside: Band | None) -> list[Stretch]:
    """What is forecast of each stage: until the likely day on which those in it move on."""
    found: list[Stretch] = []
    if lot.count("store") and swelling:
        found.append(Stretch(stage="store", first=as_of, last=swelling.likely, known=False))
    if lot.count("rooting") and potted:
        found.append(Stretch(stage="rooting", first=as_of, last=potted.likely, known=False))
    begins = as_of if lot.count("pot") else potted.likely if potted else None
    if begins and outside:
        found.append(Stretch(stage="pot", first=begins, last=max(outside.likely, begins), known=False))
    settled = as_of if lot.count("outside") else outside.likely if begins and outside else None
    if settled:
        found.append(Stretch(stage="outside", first=settled, last=date.max, known=False))
    return found


def _row_to_come(planned: Planned, plan: Plan, nursery: Nursery) -> Row:
    day = max(planned.day, plan.as_of)
    potted = _of_the_rest(plan, "potted", planned.row, planned=True)
    outside = _of_the_rest(plan, "outside", planned.row, planned=True)
    ahead = [Stretch(stage="rooting", first=day, last=potted.likely if potted else day, known=False)]
    if potted and outside:
        ahead += [Stretch(stage="pot", first=potted.likely, last=outside.likely, known=False)]
        ahead += [Stretch(stage="outside", first=outside.likely, last=date.max, known=False)]
    return Row(
        lot=planned.row,
        heading=f"{planned.count} to stick",
        name=nursery.varieties[planned.number].name,
        stretches=tuple(ahead),
        bands=tuple(band for band in (potted, outside) if band),
        signs=(),
        to_come=True,
    )


def _band(found: Mapping[str, Milestone], name: str, as_of: date) -> Band | None:
    """A milestone of a lot that is not known yet."""
    milestone = found.get(name)
    days = milestone.shown(as_of) if milestone and milestone.known is None else None
    return Band(name=name, early=days[0], likely=days[1], late=days[2]) if days else None


def _of_the_rest(plan: Plan, name: str, about: str, *, planned: bool = False) -> Band | None:
    """When those go on that others of their lot went before, or those of a lot to come: as room is counted."""
    place = "bin" if name == "potted" else "lamps"
    for room in plan.space.rooms:
        for stay in room.demand.stays if room.place == place else ():
            if (stay.planned if planned else stay.lot) == about and bool(stay.planned) == planned and stay.goes:
                move = stay.goes
                days = (date.fromordinal(max(day, move.not_before)) for day in (move.early, move.likely, move.late))
                return Band(name=name, **dict(zip(("early", "likely", "late"), days, strict=True)))
    return None
