"""The tasks of what is no single lot: a bin, a crop outdoors, a lot to come. Pure.

A task of the whole nursery (scope `nursery`) counts from the first crop's season or a day of the site: as one of each
crop, three crops would ask for three licences.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date, timedelta

from almanac.nursery.lots import BinLog, Lot, Planned
from almanac.plan.care.proposal import NOTHING, Proposal
from almanac.plan.context.day import LOOKS_GO_ON, Anchor, Context, day_of_site, holds, last_logged
from almanac.plan.context.tasks import bin_look, treatments, window_task
from almanac.plan.ids import EntryId
from almanac.plan.model import Task
from almanac.plan.wood.account import sale_weeks
from almanac.plan.wood.bare import collecting
from almanac.rulebook.models import SITE_DAYS, TaskRule


def for_bin(context: Context, name: str, rule: TaskRule) -> Proposal:
    """What a rule asks of a bin as a whole."""
    bin_log = context.stock.bins[name]
    lots = context.open_lots(name)
    anchor = _anchor_of_bin(context, bin_log, lots, rule)
    if anchor is None or not lots or _ended_in_bin(bin_log, lots, rule, anchor):
        return NOTHING
    if not holds(context, rule, anchor.days[1], protected=False):
        return NOTHING
    task_id = EntryId(name, rule.id)
    if rule.kind == "look":
        start = anchor.days[1]
        end = start + (timedelta(days=rule.last_day) if rule.last_day is not None else LOOKS_GO_ON)
        return Proposal(looks=(bin_look(context, name, rule, start, end, anchor.name, anchor.milestone),))
    if rule.repeats:
        treated = max((day for lot in lots if (day := last_logged(lot, "treated"))), default=None)
        return Proposal(tasks=tuple(treatments(task_id, rule, anchor, treated, tuple(lot.id for lot in lots), name)))
    return Proposal(tasks=(window_task(task_id, rule, anchor, tuple(lot.id for lot in lots), name),))


def _anchor_of_bin(context: Context, bin_log: BinLog, lots: Sequence[Lot], rule: TaskRule) -> Anchor | None:
    """The last sighting of a trouble in the bin or one of its lots, or the first of its lots to reach the milestone."""
    sightings = [
        troubles[rule.after]
        for troubles in (bin_log.troubles, *(lot.troubles for lot in lots))
        if rule.after in troubles
    ]
    if sightings:
        return Anchor.on(rule.after, max(sightings))
    if rule.after == "mat":
        stuck = {lot.steps.get("stuck") for lot in lots}  # which asks for itself
        turned = None if bin_log.mat_off or bin_log.mat_set in stuck else bin_log.mat_set
        return Anchor.on("mat", turned) if turned else None
    if rule.after == "lamp":
        burning = [day for day, hours in bin_log.lamp_h[-1:] if hours > 0]
        return Anchor.on("lamp", burning[0]) if burning else None
    reached = [found[rule.after] for lot in lots if rule.after in (found := context.found(lot, rule.while_in))]
    windows = [(milestone.window, milestone) for milestone in reached if milestone.window]
    if not windows:
        return None
    days, milestone = min(windows, key=lambda item: (item[0][1], item[0]))
    return Anchor(rule.after, days, milestone)


def _ended_in_bin(bin_log: BinLog, lots: Sequence[Lot], rule: TaskRule, anchor: Anchor) -> bool:
    """Whether a lamp burns already, or one of the events that end the task was logged of the bin's lots since."""
    since = anchor.days[0] if anchor.known else date.min
    if "lamp" in rule.until and bin_log.lamp_h and (bin_log.lamp_h[-1][1] > 0 or bin_log.lamp_h[-1][0] >= since):
        return True
    if "temperature" in rule.until and anchor.known and bin_log.probed and bin_log.probed > since:
        return True
    days = [day for event in rule.until for lot in lots if (day := last_logged(lot, event))]
    return anchor.known and any(day >= since for day in days)


def for_crops(context: Context, rule: TaskRule) -> Iterator[Task]:
    """A window of each crop grown, by the site's year: the one that is open, or the next."""
    for crop in context.crops:
        near = day_of_site(context, rule.after, context.as_of - timedelta(days=rule.closes_day or 0), nearest=False)
        if near is None:
            continue
        opens = near + timedelta(days=rule.opens_day or 0)
        ended = any(
            day >= opens
            for (named, event), days in context.stock.crop_signs.items()
            if named == crop and event in rule.until
            for day in days
        )
        ended = ended or any(
            rule.multiplies and lot.origin == "own_wood" and lot.started >= opens
            for lot in context.stock.lots.values()
            if lot.crop == crop and not lot.parent
        )
        if ended or not holds(context, rule, near, protected=False):
            continue
        told = context.book.told_for(rule, crop)
        task = window_task(EntryId(crop, rule.id, near.year), told, Anchor.on(rule.after, near), (), "")
        yield replace(task, crop=crop)


def for_nursery(context: Context, rule: TaskRule) -> Iterator[Task]:
    """What the nursery as a whole needs once a season, by its first crop: the window that is open, or the next.

    What the site's own year asks for is for plants that stand: none for wood in store alone.
    """
    if not context.crops:
        return
    since = context.as_of - timedelta(days=rule.closes_day or 0)
    if rule.after in SITE_DAYS:
        day = day_of_site(context, rule.after, since, nearest=False)
        stand = any(lot.total > lot.count("store") for lot in context.stock.lots.values())
        if day and stand and holds(context, rule, day, protected=False):
            # Named after the first crop, as when each had its own: so phones go on with the entry they have.
            name = EntryId(context.crops[0], rule.id, day.year)
            yield window_task(name, rule, Anchor.on(rule.after, day), (), "")
        return
    for middle in context.outdoors.winters(context.as_of):
        day = _day_of_season(context, rule.after, middle)
        if day and day >= since and holds(context, rule, day, protected=False):
            yield window_task(EntryId("", rule.id, middle.year), rule, Anchor.on(rule.after, day), (), "")
            return


def _day_of_season(context: Context, name: str, middle: date) -> date | None:
    """The day in the year round a shortest day that a rule of the whole nursery counts from."""
    if name == "dormant_sale":
        return sale_weeks(context.book.task("offer"), middle)[0]
    if name == "collecting":
        return min(collecting(crop, middle, context.outdoors).opens for crop in context.crops)
    return day_of_site(context, name, middle, nearest=True)


def for_planned(context: Context, planned: Planned, rule: TaskRule) -> Task:
    """When a lot to come is to be stuck."""
    anchor = Anchor.on("planned", planned.day)
    told = context.book.told_for(rule, planned.crop, context.around.method_for(planned.crop, planned.bin))
    task = window_task(EntryId(planned.row, rule.id), told, anchor, (planned.number,), planned.bin)
    protected = (planned.number,) if planned.protected else ()
    till = context.planned_till.get(planned.row)
    return replace(task, count=planned.count, crop=planned.crop, protected=protected, till=till)
