"""Frost for whatever stands out: until when it may return in spring, from when it may come, by what plants bear. Pure.

One window a lot and season says until when to look; on bench days an evening's entry names all that stands out, in leaf
or bare. Plants put out for good before the safe day are watched from that day on, planned ones from the day planned.

It goes by the frost table's own chances, until one year in fifty. An entry a lot and evening was given up: it is one
walk.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, time, timedelta
from typing import Literal

from almanac.alike import gathered
from almanac.nursery.lots import Lot, lot_order
from almanac.plain import dataclass, replace
from almanac.plan.care.programme import Programme
from almanac.plan.care.programmes.potted.windows import AHEAD, carried_over
from almanac.plan.care.proposal import Proposal
from almanac.plan.context.day import Context
from almanac.plan.context.growing import GrowingYear, autumn_day, spring_day
from almanac.plan.context.tasks import lot_task
from almanac.plan.derivation import Derivation
from almanac.plan.ids import EntryId
from almanac.plan.model import Task
from almanac.rulebook.programmes.autumn import Autumn
from almanac.rulebook.programmes.frost_watch import FrostWatch
from almanac.rulebook.programmes.hardening import Hardening
from almanac.rulebook.programmes.potted import Potted
from almanac.site.freeze_year import FreezeYear

_DAY, _HALF_YEAR, _MINUTES = timedelta(days=1), timedelta(days=183), 15
Bears = Literal["leaf", "bare"]


@dataclass(frozen=True, kw_only=True)
class Stretch:
    """Days on which a lot stands out and a frost may do harm: to its `leaf`, or to roots of `bare` pots."""

    season: Literal["spring", "autumn"]
    year: GrowingYear
    start: date
    end: date
    bears: Bears


@dataclass(frozen=True, kw_only=True)
class Watched:
    """Plants of one kind that stand out: what kills them [°C], and the forecast from which to act."""

    lots: tuple[str, ...]
    crop: str
    bears: Bears
    killed_c: float
    act_c: float


@dataclass(frozen=True, kw_only=True)
class FrostNear(Derivation):
    """What is watched, until when, and why: chances of frost by day, of nights at or below `threshold_c`."""

    watched: tuple[Watched, ...]
    season: Literal["spring", "autumn"]
    until: date
    frosts: tuple[tuple[float, date], ...]
    rarely: float
    threshold_c: float
    source: str
    fleece_c: float
    away: bool = False


def propose(context: Context) -> Proposal:
    """A window of each lot put out while frost may return, and the evenings of the next bench days."""
    lots = [lot for lot in context.stock.lots.values() if _out(context, lot)]
    found = [(lot, tuple(_stretches(context, lot))) for lot in lots]
    windows = [task for lot, stretches in found for task in _window(context, lot, stretches)]
    return Proposal(tasks=(*windows, *_evenings(context, found)))


PROGRAMME = Programme(
    numbers=FrostWatch,
    propose=propose,
    derivations=(FrostNear,),
    reads=(Hardening, Autumn, Potted),
    follows="autumn",
)


def _out(context: Context, lot: Lot) -> date | None:
    """Since when a lot stands out for good, or the day it is to, where it has plants in pots that wait for it."""
    if lot.closed or lot.count("outside"):
        return lot.since("outside")
    outside = context.milestones[lot.id].get("outside")
    return outside.days[1] if lot.count("pot") and outside and outside.known is None and outside.days else None


def _stretches(context: Context, lot: Lot) -> Iterator[Stretch]:
    """When frost may harm what stands out, from the plan's day on."""
    out = _out(context, lot)
    assert out is not None  # only of such lots
    for year in context.years:
        for each in (_spring(context, lot, year), *_autumn(context, lot, year)):
            start = max(each.start, out) if each else date.max
            if each and start <= each.end and each.end >= context.as_of:
                yield replace(each, start=start)


def _spring(context: Context, lot: Lot, year: GrowingYear) -> Stretch | None:
    """From midwinter, or when plants of an earlier season wake, until a later frost is rare."""
    frost, rarely = context.around.frost, context.book.programme(FrostWatch).rarely
    rare = spring_day(frost, rarely, year.longest)
    if rare is None and frost.chance_after(year.longest) > rarely:
        rare = _turn(context, year)
    begins = year.wakes if year.wakes and carried_over(lot, year) else year.longest - _HALF_YEAR
    if lot.id in context.at_rest:
        begins = max(begins, context.at_rest[lot.id].wakes)  # nothing is in leaf before
    return Stretch(season="spring", year=year, start=begins, end=rare - _DAY, bears="leaf") if rare else None


def _turn(context: Context, year: GrowingYear) -> date:
    """The day on which spring ends and autumn begins, where it freezes in every month."""
    start = FreezeYear(context.place.southern).start(year.longest)
    return start.replace(year=start.year + 1)


def _autumn(context: Context, lot: Lot, year: GrowingYear) -> Iterator[Stretch]:
    """From when frost is no longer rare until pots are sheltered: on leaves, and once they are down on roots."""
    book = context.book
    numbers, roots_c = book.programme(FrostWatch), book.crops[lot.crop].cold.roots_killed
    comes = autumn_day(context.around.frost, numbers.rarely, year.longest)
    if comes is None and context.around.frost.chance_before(_turn(context, year)) > numbers.rarely:
        comes = _turn(context, year)
    if comes is None:
        return
    sheltered = year.half + timedelta(days=round(numbers.sheltered)) if year.half else year.longest + _HALF_YEAR
    rest = context.at_rest.get(lot.id)
    sleeps = rest.since if rest and rest.granted > comes else date.max
    bare = max(min(sleeps, year.rests or date.max), year.longest)
    yield Stretch(season="autumn", year=year, start=comes, end=min(bare, sheltered) - _DAY, bears="leaf")
    colder = context.nights.at(roots_c)
    kills = autumn_day(colder, numbers.rarely, year.longest) if colder else bare
    if kills and max(bare, kills) < sheltered:
        yield Stretch(season="autumn", year=year, start=max(bare, kills), end=sheltered - _DAY, bears="bare")


def _window(context: Context, lot: Lot, stretches: tuple[Stretch, ...]) -> Iterator[Task]:
    """That frost may return on plants put out this spring; those of earlier ones have their own (`spring_frost`)."""
    rule = context.rule("frost_watch", lot.crop)
    for each in stretches:
        if each.season == "spring" and not carried_over(lot, each.year) and each.start <= context.as_of + AHEAD:
            yield lot_task(
                lot,
                rule,
                (each.start, each.start, each.end),
                "outside",
                each.start,
                milestone=context.milestones[lot.id].get("outside"),
                count=lot.count("outside") or lot.count("pot"),
                step=each.year.number,
                derivation=_near(context, [(lot, each)]),
            )
            return


def _evenings(context: Context, found: Sequence[tuple[Lot, tuple[Stretch, ...]]]) -> Iterator[Task]:
    """An entry on each bench day on which anything stands out that frost may harm, and on the first evening of each."""
    book, workdays = context.book, context.workdays
    rule, numbers = book.task("frost_evening"), book.programme(FrostWatch)
    at = time(int(numbers.evening), round(numbers.evening % 1 * 60))
    until = time(at.hour, at.minute + _MINUTES)
    for ahead in range(round(numbers.told_ahead) + 1):
        day = context.as_of + timedelta(days=ahead)
        here = [(lot, each) for lot, stretches in found for each in stretches if each.start <= day <= each.end]
        if not here or not (workdays.is_bench_day(day) or any(each.start == day for _, each in here)):
            continue
        lots = tuple(sorted((lot.id for lot, _ in here), key=lot_order))
        yield Task(
            id=EntryId("", rule.id, day),
            rule=rule,
            lots=lots,
            earliest=day,
            due=day,
            latest=day,
            counted_from="frost_accepted" if here[0][1].season == "spring" else "first_frost",
            since=(here[0][1].year.safe if here[0][1].season == "spring" else here[0][1].year.first_frost) or day,
            count=sum(lot.count("outside") or lot.count("pot") for lot, _ in here),
            derivation=replace(_near(context, here), away=workdays.is_away(day)),
            step=str(day),
            clock=(at, until),
        )


def _near(context: Context, here: Sequence[tuple[Lot, Stretch]]) -> FrostNear:
    """What stands out for so long, by what it bears."""
    book, frost = context.book, context.around.frost
    numbers, first = book.programme(FrostWatch), here[0][1]
    ordered = sorted(here, key=lambda pair: lot_order(pair[0].id))
    alike = gathered(((lot.crop, each.bears), lot.id) for lot, each in ordered)

    def watched(crop: str, bears: Bears) -> Watched:
        cold = book.crops[crop].cold
        killed = cold.new_growth_killed if bears == "leaf" else cold.roots_killed
        return Watched(
            lots=tuple(alike[crop, bears]), crop=crop, bears=bears, killed_c=killed, act_c=killed + numbers.margin
        )

    find = spring_day if first.season == "spring" else autumn_day
    return FrostNear(
        watched=tuple(watched(*key) for key in alike),
        season=first.season,
        until=max(each.end for _, each in here),
        frosts=tuple(
            (share, day) for share in (0.5, 0.1, numbers.rarely) if (day := find(frost, share, first.year.longest))
        ),
        rarely=numbers.rarely,
        threshold_c=frost.threshold_c,
        source=frost.source,
        fleece_c=book.programme(Hardening).fleece.adds,
    )
