"""When dormant cuttings are offered, and the last post for them: one set of entries a crop and winter. Pure.

While nothing of a crop is in store the entries tell of the season to come; then they are of the lots there.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta

from almanac.forecast.model import Milestone
from almanac.nursery.lots import Lot
from almanac.plan.care.programme import Programme
from almanac.plan.care.proposal import NOTHING, Proposal
from almanac.plan.context.day import Context, holds
from almanac.plan.ids import EntryId
from almanac.plan.model import Task
from almanac.plan.wood.bare import collecting
from almanac.plan.wood.season import EndedBy, Posting, sale_weeks, selling
from almanac.rulebook.models import TaskRule
from almanac.rulebook.programmes.dormant_sale import DormantSale
from almanac.rulebook.programmes.store import Store


def propose(context: Context) -> Proposal:
    """The entries of every crop with a variety that may be sold."""
    offer, last_post = (context.around.book.task(name) for name in ("offer", "last_post"))
    if not holds(context, offer, context.as_of, protected=False):
        return NOTHING
    in_store = [lot for lot in context.open_lots() if lot.count("store") and not lot.protected]
    tasks: list[Task] = []
    for lot in in_store:
        tasks += _of_lot(context, lot, offer, last_post)
    for crop in context.crops:
        if crop in context.sellable and not any(lot.crop == crop for lot in in_store):
            tasks += _to_come(context, crop, offer, last_post)
    return Proposal(tuple(tasks))


PROGRAMME = Programme(
    numbers=DormantSale,
    propose=propose,
    derivations=(Posting,),
    reads=(Store,),
    follows="store",
)


def _of_lot(context: Context, lot: Lot, offer: TaskRule, last_post: TaskRule) -> Iterator[Task]:
    pushing = context.milestones[lot.id].get("pushing")
    if pushing and (pushing.known or pushing.overdue(lot.known_at)):
        return
    middle = context.outdoors.winter_near(lot.started)
    opens, closes = sale_weeks(offer, middle)
    last, ended_by = _last_day(context, lot, closes, pushing)
    opens = max(opens, lot.started)
    if last < lot.started:
        return
    first = max(last + timedelta(days=last_post.opens_day or 0), lot.started)
    counted = _counted(ended_by, pushing, middle, lot.started + _keeps(context, lot.crop))
    post = Task(
        EntryId(lot.id, "last_post"),
        context.around.book.told_for(last_post, lot.crop),
        (lot.id,),
        first,
        last,
        last,
        *counted,
        crop=lot.crop,
        count=lot.count("store"),
        step=str(middle.year),
        derivation=_posting(context, ended_by),
    )
    yield post
    if last >= opens:
        rule, name = context.around.book.told_for(offer, lot.crop), EntryId(lot.id, "offer")
        weeks = replace(post, id=name, rule=rule, earliest=opens, due=opens, latest=last)
        yield replace(weeks, counted_from="shortest_day", since=middle, milestone=None)


def _last_day(context: Context, lot: Lot, closes: date, pushing: Milestone | None) -> tuple[date, EndedBy]:
    """The last day on which a lot should be in the post, and what sets it."""
    ends: list[tuple[date, EndedBy]] = [(closes, "season"), (lot.started + _keeps(context, lot.crop), "store_limit")]
    if pushing and pushing.days:
        ends.append((pushing.days[0] - _margin(context), "buds"))
    return min(ends, key=lambda end: end[0])


def _counted(
    ended_by: EndedBy, pushing: Milestone | None, middle: date, limit: date
) -> tuple[str, date, Milestone | None]:
    """What the last post counts from, its day, and the milestone where it is one."""
    if ended_by == "buds" and pushing and pushing.days:
        return "pushing", pushing.days[1], pushing
    return ("shortest_day", middle, None) if ended_by == "season" else ("store_limit", limit, None)


def _to_come(context: Context, crop: str, offer: TaskRule, last_post: TaskRule) -> Iterator[Task]:
    """The season of wood that is still to be taken; none once it has opened with nothing in store."""
    for middle in context.outdoors.winters(context.as_of):
        found = selling(collecting(crop, middle, context.outdoors), context.outdoors, context.post)
        if found.closes < context.as_of:
            continue
        if found.hindered or found.last_post is None or found.opens <= context.as_of:
            return
        told, step = context.around.book.told_for, str(middle.year)
        posting = _posting(context, found.ended_by)
        task = Task(
            EntryId(crop, "offer", step), told(offer, crop), (), found.opens, found.opens, found.closes, "shortest_day",
            middle, crop=crop, step=step, derivation=posting,
        )  # fmt: skip
        yield task
        last = found.last_post
        first = max(last + timedelta(days=last_post.opens_day or 0), found.opens)
        yield replace(
            task, id=EntryId(crop, "last_post", step), rule=told(last_post, crop), earliest=first, due=last, latest=last
        )
        return


def _posting(context: Context, ended_by: EndedBy) -> Posting:
    rule = context.around.book.programme(DormantSale)
    return Posting(context.post.weekdays, context.post.transit_days, rule.hold_below, rule.hold_above, ended_by)


def _margin(context: Context) -> timedelta:
    return timedelta(days=round(context.around.book.programme(DormantSale).margin))


def _keeps(context: Context, crop: str) -> timedelta:
    return timedelta(days=round(context.around.book.crops[crop].store.limit))
