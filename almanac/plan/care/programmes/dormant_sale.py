"""When dormant cuttings are offered, and the last post for them: one set of entries a crop and winter. Pure.

While nothing of a crop's winter is in store the entries tell of the season to come; then they are of the lots there.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from typing import assert_never

from almanac.plan.care.programme import Programme
from almanac.plan.care.proposal import NOTHING, Proposal
from almanac.plan.context.day import Context, holds
from almanac.plan.context.law import laws_of_offer
from almanac.plan.ids import EntryId
from almanac.plan.model import Task
from almanac.plan.wood.account import Account, Wood, account_in, stored
from almanac.plan.wood.season import Posting
from almanac.rulebook.programmes.dormant_sale import DormantSale
from almanac.rulebook.programmes.mothers import Mothers
from almanac.rulebook.programmes.store import Store


def propose(context: Context) -> Proposal:
    """The entries of every crop with a variety that may be sold."""
    if not holds(context, context.book.task("offer"), context.as_of, protected=False):
        return NOTHING
    account = account_in(context)
    here = [account.of_lot(lot) for lot in context.stock.lots.values() if stored(lot) and not lot.protected]
    tasks: list[Task] = []
    for wood in here:
        if wood.opens <= wood.closes and wood.closes >= context.as_of:
            tasks += _entries(context, account, wood)
    for crop in context.crops:
        if crop in context.sellable:
            tasks += _to_come(context, account, crop, {wood.middle for wood in here if wood.crop == crop})
    return Proposal(tasks=tuple(tasks))


PROGRAMME = Programme(
    numbers=DormantSale,
    propose=propose,
    derivations=(Posting,),
    reads=(Mothers, Store),
    follows="store",
)


def _to_come(context: Context, account: Account, crop: str, there: set[date]) -> Iterator[Task]:
    """The season of wood that is still to be taken; none once it has opened with nothing in store."""
    for middle in context.outdoors.winters(context.as_of):
        wood = account.on_plant(crop, middle, context.numbers.get(crop, ()))
        if wood.closes < context.as_of:
            continue
        if middle not in there and not wood.hindered and account.last_post(wood) and wood.opens > context.as_of:
            yield from _entries(context, account, wood)
        return


def _entries(context: Context, account: Account, wood: Wood) -> Iterator[Task]:
    """The weeks to offer it, and the last post, a lot's own or those of wood to come."""
    step, last, post = str(wood.middle.year), account.last_post(wood), account.post
    derived = Posting(
        weekdays=post.weekdays,
        transit_days=post.transit_days,
        hold_below_c=post.hold_below_c,
        hold_above_c=post.hold_above_c,
        wood=wood,
        last_post=last,
        laws=laws_of_offer(context.book.laws.values(), wood.crop, context.place),
    )

    def named(rule: str) -> EntryId:
        return EntryId(wood.lot, rule) if wood.lot else EntryId(wood.crop, rule, step)

    offer = Task(
        id=named("offer"),
        rule=context.rule("offer", wood.crop),
        lots=(wood.lot,) if wood.lot else (),
        earliest=wood.opens,
        due=wood.opens,
        latest=wood.closes,
        counted_from="shortest_day",
        since=wood.middle,
        crop=wood.crop,
        count=wood.count,
        step=step,
        derivation=derived,
    )
    yield offer
    if last:
        rule, (counted_from, since) = context.rule("last_post", wood.crop), _counted(wood)
        first = max(last + timedelta(days=rule.opens_day or 0), wood.opens)
        told = replace(offer, id=named("last_post"), rule=rule, counted_from=counted_from, since=since)
        yield replace(told, earliest=first, due=last, latest=last)


def _counted(wood: Wood) -> tuple[str, date]:
    """What the last post counts from, and its day."""
    match wood.sale_ended_by:
        case "season":
            return "shortest_day", wood.middle
        case "keeps":
            return "store_limit", wood.keeps[1]
        case "buds" | "swollen":
            return "swelling_likely", wood.closes
        case _:
            assert_never(wood.sale_ended_by)
