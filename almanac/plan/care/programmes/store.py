"""When dormant wood is taken, looked at, stuck and asked for. Pure.

Taking and sticking are one window a crop and winter, done variety by variety: it lasts until nothing is left to do of
it. Each lot in store has the end of its time there, and is asked for once that is past until it is accounted for.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

from almanac.nursery.lots import Lot
from almanac.plan.care.programme import Programme
from almanac.plan.care.proposal import Proposal, Until
from almanac.plan.context.day import Context
from almanac.plan.context.tasks import crop_task, lot_look, lot_task
from almanac.plan.ids import EntryId
from almanac.plan.model import Look, Task
from almanac.plan.wood.account import Account, Wood, account_in, stored
from almanac.plan.wood.cuts import Taking, cut_of
from almanac.plan.wood.season import StickingLeft, StoredWood, stick_days, stuck_together
from almanac.plan.wood.sticking import sticking_in
from almanac.rulebook.programmes.mothers import Mothers
from almanac.rulebook.programmes.store import Store


def propose(context: Context) -> Proposal:
    """The windows of every crop that is grown, and what each lot in store asks for."""
    account = account_in(context)
    tasks: list[Task] = []
    for crop in context.crops:
        tasks += [*_taking(context, account, crop), *_sticking(context, account, crop)]
    lots = [lot for lot in context.stock.lots.values() if stored(lot)]
    looks = tuple(_look(context, lot, account.of_lot(lot)) for lot in lots)
    tasks += [_end(context, account.of_lot(lot)) for lot in lots]
    sooner = tuple(Until(EntryId(each.lot, "store_look"), each.start) for each in looks)
    return Proposal(tasks=tuple(tasks), looks=looks, amends=sooner)


PROGRAMME = Programme(
    numbers=Store,
    propose=propose,
    derivations=(Taking, StickingLeft, Wood),
    reads=(Mothers,),
)


def _taking(context: Context, account: Account, crop: str) -> Iterator[Task]:
    """Until wood of every variety was taken, or buds swell; then the next winter's.

    Varieties of sheltered mother plants may have longer: the entry ends with the first, and then goes on for them.
    """
    every = context.numbers.get(crop, ())
    for middle in context.outdoors.winters(context.as_of):
        bare = account.collecting(crop, middle)
        if max(bare.buds_swell[0], bare.opens) < context.as_of:
            continue  # no plant of it, sheltered or not, is cut any more
        of, planned = context.of_number, context.stock.to_come
        cuts = [cut_of(context.asked[number], crop, middle, of.get(number, ()), planned, account) for number in every]
        cuts = [each for each in cuts if each.left and each.open_on(context.as_of)]
        if cuts:
            first = min(cuts, key=lambda each: each.days[2])
            found, (opens, _, closes) = first.collect, first.days
            due = max(min(each.days[1] for each in cuts), opens)
            after = "leaf_fall" if found.leaf_fall_logged else "shortest_day" if found.hang else "leaf_fall_likely"
            left = tuple(each.number for each in cuts)
            longer = {each.number: each.later or each.days[2] for each in cuts}
            later = {number: day for number, day in longer.items() if day > closes}
            counted = tuple(each for each in cuts if each.count is not None)
            derived = Taking(collect=found, left=() if left == every else left, later=later, cuts=counted)
            rule, days = context.rule("take_wood", crop), (opens, min(due, closes), closes)
            yield crop_task(crop, rule, days, after, found.opens, middle.year, derived)
            return


def _sticking(context: Context, account: Account, crop: str) -> Iterator[Task]:
    """Of varieties with no lot stuck or planned this winter: those in store, and those still to be cut.

    Once a lot is stuck or planned its own entries say the rest.
    """
    middle = context.outdoors.winter_near(context.as_of)
    done = {number for number, day in _stuck_or_planned(context, crop) if context.outdoors.winter_near(day) == middle}
    every = context.numbers.get(crop, ())
    collects = {number: account.collecting(crop, middle, (number,)) for number in every}
    collect = max(collects.values(), key=lambda each: each.closes, default=account.collecting(crop, middle))
    here = [each for each in _in_store(context, account, crop) if each.middle == middle and each.number not in done]
    to_come = {each.number for each in here} | {
        number
        for number, each in collects.items()
        if number not in done and each.closes >= context.as_of and not each.buds_logged
    }
    left = tuple(number for number in every if number in to_come)
    if not left:
        return
    found = sticking_in(account, collect)
    lots = tuple(StoredWood(each, None, stick_days(each, found)) for each in here)
    days = stuck_together(found, lots)
    if days[2] < context.as_of or found.hindered:
        return
    rule, derived = context.rule("stick_wood", crop), StickingLeft(found, () if left == every else left, lots)
    yield crop_task(crop, rule, days, rule.after, found.earliest, middle.year, derived)


def _in_store(context: Context, account: Account, crop: str) -> Iterator[Wood]:
    """The wood of a crop in store that is still within its time there."""
    lots = (lot for lot in context.stock.lots.values() if lot.crop == crop and stored(lot))
    return (wood for wood in map(account.of_lot, lots) if not wood.past(context.as_of))


def _stuck_or_planned(context: Context, crop: str) -> Iterator[tuple[str, date]]:
    yield from ((each.number, each.day) for each in context.stock.to_come if each.crop == crop)
    lots = (lot for lot in context.stock.lots.values() if lot.crop == crop and "stuck" in lot.steps)
    yield from ((lot.number, lot.first_stuck_on) for lot in lots)


def _look(context: Context, lot: Lot, wood: Wood) -> Look:
    """From the early end of its time in store on."""
    rule, start = context.rule("store_look_late", lot.crop), max(wood.look_first, lot.started)
    return lot_look(context, lot, rule, start, max(wood.until, start), rule.after, count=wood.count)


def _end(context: Context, wood: Wood) -> Task:
    """The end of its time in store, or the next day on which it is asked for after that."""
    every = timedelta(days=round(context.book.programme(Store).ask_every))
    past = (context.as_of - wood.until).days
    number = -(-past // every.days) if past > 0 else 0
    rule = context.rule("store_past" if number else "store_limit", wood.crop)
    day = wood.until + number * every
    opens = day if number else min(max(wood.look_first, wood.cut), day)
    lot, step = context.stock.lots[wood.lot], number or ""
    days = opens, day, day
    return lot_task(lot, rule, days, rule.after, wood.until, count=wood.count, step=step, derivation=wood)
