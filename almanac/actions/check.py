"""Read everything a nursery has and count it; what only a thorough reader notices is told as a notice."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime
from pathlib import Path

from almanac.actions.around import around
from almanac.faults import Fact, Fault, InputFaults
from almanac.forecast.history import surroundings
from almanac.forecast.told import logged_on
from almanac.nursery.load import SETTINGS, load_nursery
from almanac.nursery.nursery import Nursery
from almanac.nursery.varieties import FILE as VARIETIES
from almanac.nursery.warmth import drifted
from almanac.nursery.workdays import Workdays
from almanac.plain import dataclass
from almanac.plan.agenda.off_bench import treats, widest_gap, would_do
from almanac.plan.wood.account import account_of
from almanac.plan.wood.beds import exposed
from almanac.plan.wood.chill import too_mild
from almanac.plan.wood.to_come import in_season
from almanac.site.holidays import known_country
from almanac.units import quantity, written


@dataclass(frozen=True, kw_only=True)
class Checked:
    """What a faultless nursery holds."""

    varieties: int
    rows: int
    lots: int
    open_lots: int
    orders: int
    open_orders: int
    notices: tuple[Fault, ...]


def check_nursery(folder: Path, now: datetime, as_of: date | None = None) -> Checked:
    """Read a nursery's files.

    Raises:
        InputFaults, Refusal: as `load_nursery`; also where no holidays are known of its country
    """
    nursery = load_nursery(folder, now, as_of)
    problem = known_country(nursery.place.country, nursery.place.region)
    if problem:
        raise InputFaults([Fault(file=SETTINGS, fact=problem, key="site")])
    lots = nursery.stock.lots.values()
    open_lots = sum(1 for lot in lots if not lot.closed)
    besides = (*around(nursery, now), *_held_out(nursery), *drifted(nursery.rows, nursery.settings))
    notices = (*nursery.notices, *besides, *_too_warm(nursery), *_too_mild(nursery), *_bags_too_short(nursery))
    notices = (*notices, *_too_far_apart(nursery), *_in_hard_soil(nursery))
    orders = nursery.orders.values()
    still = sum(1 for order in orders if order.open)
    return Checked(
        varieties=len(nursery.varieties),
        rows=len(nursery.every_row),
        lots=len(lots),
        open_lots=open_lots,
        orders=len(orders),
        open_orders=still,
        notices=notices,
    )


def _held_out(nursery: Nursery) -> Iterator[Fault]:
    """Lots whose date is too far off for forecasts to learn from it."""
    lots = nursery.stock.lots
    for (_, _, milestone), learned in surroundings(nursery).experience.items():
        for name, spreads in learned.held_out.items():
            logged, as_of = logged_on(lots[name], milestone), nursery.as_of
            told = Fact("held_out", lot=name, milestone=milestone, logged=logged, spreads=spreads, as_of=as_of)
            yield Fault(file="", fact=told)


def _too_mild(nursery: Nursery) -> Iterator[Fault]:
    """Crops whose rest no usual winter here ends."""
    units = nursery.units
    for crop in dict.fromkeys(each.crop for each in nursery.varieties.values()):
        found = too_mild(nursery.book.crops[crop], nursery.nights)
        if found:
            yield Fault(file=VARIETIES, fact=Fact("too_mild", found=found, units=units))


def _too_warm(nursery: Nursery) -> Iterator[Fault]:
    """Bins whose mat is so warm that nothing grown here roots on it."""
    stop_c = max((nursery.book.crops[each.crop].base.ceiling for each in nursery.varieties.values()), default=None)
    units = nursery.units
    for item in nursery.settings.places:
        if stop_c is not None and item.mat >= stop_c:
            told = Fact(
                "mat_too_warm",
                bin=item.name,
                kind=item.kind,
                mat=written(item.mat, units),
                stop=written(stop_c, units),
            )
            yield Fault(file=SETTINGS, fact=told)


def _in_hard_soil(nursery: Nursery) -> Iterator[Fault]:
    """Sticks without roots in beds that freeze hard in the winter they stand in, or where it kills their wood."""
    beds = {item.name for item in nursery.settings.places if item.kind == "bed"}
    there = [lot for lot in nursery.stock.lots.values() if lot.bin in beds]
    if there:
        for fact in exposed(there, account_of(nursery), nursery.settings, nursery.units):
            yield Fault(file="", fact=fact)


def _bags_too_short(nursery: Nursery) -> Iterator[Fault]:
    """Crops grown here of which no cutting is so short that the neck of the usual bag closes over it."""
    method, units = nursery.book.methods[nursery.settings.nursery.method], nursery.units
    for crop in sorted({each.crop for each in nursery.varieties.values()}):
        cut = nursery.book.crops[crop].cutting
        if method.bag and cut and not cut.fits(method.bag):
            longest, low = (quantity(each, "length", units) for each in (cut.longest_in(method.bag), cut.length_low))
            yield Fault(
                file=f"rules/methods/{method.id}.toml", fact=Fact("bag_too_short", crop=crop, longest=longest, low=low)
            )


def _too_far_apart(nursery: Nursery) -> Iterator[Fault]:
    """Bench days that lie further apart than bags may wait for a look while nothing is wrong with them."""
    bags = any(lot.count("rooting") for lot in nursery.stock.lots.values()) or in_season(nursery).stock.to_come
    bench = Workdays(nursery.settings, nursery.place).bench_days
    rules = nursery.book.tasks_for(nursery.settings.nursery.method, "")
    looks = [rule for rule in rules if rule.kind == "look" and rule.while_in == "rooting" and not treats(rule)]
    gap = min((rule.longest_days or rule.every_days or 7 for rule in looks), default=7)
    if bags and widest_gap(bench) > gap:
        would = would_do(bench, gap)
        told = Fact("bench_days_apart", apart=widest_gap(bench), gap=gap, would=would[0] if would else ())
        yield Fault(file=SETTINGS, fact=told, key="week.bench_days")
