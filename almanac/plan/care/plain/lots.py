"""The tasks and looks of one lot: what its milestones, troubles and jobs ask for in the stage it is in. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date, timedelta

from almanac.forecast.interval import is_act
from almanac.forecast.late import AGAIN
from almanac.forecast.model import Days, Milestone, each_of
from almanac.nursery.events import STAGES
from almanac.nursery.lots import Lot
from almanac.plain import replace
from almanac.plan.care.proposal import NOTHING, Proposal
from almanac.plan.context.day import LOOKS_GO_ON, Anchor, Context, day_of_site, holds, last_logged
from almanac.plan.context.looked import lot_seen
from almanac.plan.context.tasks import lot_look, lot_task, treatments, window_task
from almanac.plan.ids import EntryId
from almanac.plan.model import Look, Task
from almanac.rulebook.models import SITE_DAYS, TaskRule

_NEAR = timedelta(days=7)
_LOGGED_WITHIN = timedelta(days=7)
ENTERED_BY = {"store": "stored", "rooting": "stuck", "pot": "potted", "outside": "outside"}
_LEFT_BY = {"store": "pushing", "pot": "outside"}


def for_lot(context: Context, lot: Lot, rule: TaskRule) -> Proposal:
    """What a rule asks of a lot, or of what is left of it in the rule's stage."""
    found, lot = context.found(lot, rule.while_in), context.part(lot, rule.while_in)
    anchor = _anchor_of_lot(context, lot, rule)
    if anchor is None or not _in_stage(lot, rule, found, anchor) or _ended(context, lot, rule, found, anchor):
        return NOTHING
    if not _suits(context, lot, rule) or _needs_no_probe(context, lot, rule, anchor) or not _count(lot, rule):
        return NOTHING
    if not holds(context, rule, anchor.days[1], lot.protected):
        return NOTHING
    if rule.again_days:
        task = _asked(context, lot, rule, anchor)
        over = rule.last_day is not None and (task.earliest - task.since).days > rule.last_day
        return NOTHING if over else Proposal(tasks=(task,))
    if rule.kind == "look":
        return Proposal(looks=tuple(_looks(context, lot, rule, anchor)))
    place = lot.bin if rule.while_in in (None, "rooting") else ""
    if rule.repeats:
        turns = treatments(EntryId(lot.id, rule.id), rule, anchor, last_logged(lot, "treated"), (lot.id,), place)
        return Proposal(tasks=tuple(replace(turn, count=_count(lot, rule)) for turn in turns))
    task = window_task(EntryId(lot.id, rule.id), rule, anchor, (lot.id,), place)
    if _too_late(task, lot, found, context) or (anchor.known and _done(task, lot)):
        return NOTHING
    protected = (lot.id,) if lot.protected else ()
    return Proposal(tasks=(replace(task, protected=protected, count=_count(lot, rule), crop=lot.crop),))


def _suits(context: Context, lot: Lot, rule: TaskRule) -> bool:
    """Whether a rule is for such lots: by where they came from, where they stand, and the signs seen on them."""
    only = rule.only_if
    if only.came_ready not in (None, lot.came_ready) or only.from_elsewhere not in (None, lot.from_elsewhere):
        return False
    in_bed = lot.count("rooting") > 0 and context.book.methods[lot.method].place == "bed"
    if only.under_cover not in (None, not in_bed):
        return False
    return not rule.needs or any(sign in lot.signs for sign in rule.needs)


def _needs_no_probe(context: Context, lot: Lot, rule: TaskRule, anchor: Anchor) -> bool:
    """Whether a rule asks for a reading of the mix that was taken since, or that no mat could change."""
    return "temperature" in rule.until and (_probed(context, lot) > anchor.days[0] or _on_no_mat(context, lot))


def left_by(stage: str | None, lot: Lot, context: Context) -> str:
    """The milestone with which a lot leaves a stage; empty for the last."""
    return context.book.methods[lot.method].ends if stage == "rooting" else _LEFT_BY.get(stage or "", "")


def _on_no_mat(context: Context, lot: Lot) -> bool:
    """Whether it stands where no mat is."""
    item = context.around.settings.bin_named(lot.bin) if lot.bin else None
    return item is not None and not item.heated


def _probed(context: Context, lot: Lot) -> date:
    """The day a probe was last read in its mix, or in another bag of its bin."""
    own = max((day for day, _ in lot.readings), default=date.min)
    return max(own, (lot.bin and context.stock.bins[lot.bin].probed) or date.min)


def _too_late(task: Task, lot: Lot, found: Mapping[str, Milestone], context: Context) -> bool:
    """Whether the lot will have left the task's stage by then; or part of it has left and the rest is late."""
    exit_ = found.get(left_by(task.rule.while_in, lot, context))
    if exit_ is None:
        return False
    if exit_.known:
        return task.latest < context.as_of
    if exit_.days is None:
        return False
    if not task.in_round:
        return task.due > exit_.days[2]
    slack = (task.rule.closes_day or 0) - (task.rule.due_day or 0)
    return task.due + timedelta(days=slack) >= exit_.days[1]  # no small job in the last days before it goes on


def _asked(context: Context, lot: Lot, rule: TaskRule, anchor: Anchor) -> Task:
    """A question, for one interval: the one that the day lies in, counted from when it was last asked or answered."""
    assert rule.again_days is not None
    again = timedelta(days=rule.again_days)
    first = anchor.days[1] + timedelta(days=rule.opens_day or 0)
    seen = lot_seen(lot, context.walked, context.as_of)
    told = [day for day, names in context.past.rounds.items() if EntryId(lot.id, rule.id) in names]
    # A round that nobody logged within a week did not ask.
    waits = context.as_of - _LOGGED_WITHIN
    said = [day for day in told if not seen.logs or day > waits or (seen.last is not None and day <= seen.last)]
    said += [day for day in (lot.none_yet.get(rule.after), *(last_logged(lot, each) for each in rule.answers)) if day]
    day = max([first, *(each + again for each in said)])
    if day < context.as_of:
        day += (context.as_of - day) // again * again
    days, count = (day, day, day + again - timedelta(days=1)), _count(lot, rule)
    return lot_task(lot, rule, days, anchor.name, first, bin_name=lot.bin, count=count, milestone=anchor.milestone)


def _done(task: Task, lot: Lot) -> bool:
    """Whether the event that says it is done was logged since it opened; a look on the same day came before it."""
    day = last_logged(lot, task.rule.logged_as)
    if is_act(task.rule.logged_as):
        return False  # it stays open while its stage holds cuttings
    return day is not None and (day > task.earliest or (day == task.earliest and task.rule.logged_as != "looked"))


def _count(lot: Lot, rule: TaskRule) -> int:
    """How many cuttings a task is about: those in its stage, or those that will come to it first."""
    if rule.while_in is None:
        return lot.total
    before = STAGES[: STAGES.index(rule.while_in) + 1]
    there = next((lot.count(stage) for stage in reversed(before) if lot.count(stage)), lot.total)
    if lot.lifted and rule.while_in == "rooting":
        there = lot.lifted if rule.once_logged and rule.after == "lifted" else there - lot.lifted
    shown = [lot.signs[sign] for sign in rule.without if sign in lot.signs]
    return max(there - max((sign.lately[0] if sign.lately else 0 for sign in shown), default=0), 0)


def _anchor_of_lot(context: Context, lot: Lot, rule: TaskRule) -> Anchor | None:
    """What a rule counts from, of a lot: a milestone, or a day of its own; None where there is none yet."""
    asks = rule.again_days and not rule.overdue
    found, name = context.unlooked(lot) if asks else context.found(lot, rule.while_in), rule.after
    if rule.overdue:
        late = found.get(name)
        waits = late if late and not late.known else None
        return Anchor(name, (waits.overdue_on,) * 3, waits) if waits and waits.overdue_on else None
    if name not in found:
        day = _day_of_lot(context, lot, name)
        return Anchor.on(name, day) if day else None
    milestone = found[name]
    if milestone.overdue(lot.known_at) or (rule.once_logged and not milestone.logged):
        return None  # looked for in vain past its time: nothing is planned on it until it is seen
    enters = rule.while_in is not None and name == ENTERED_BY[rule.while_in]
    days = (_till_done(milestone, context) or milestone.window) if enters else milestone.next
    return Anchor(name, days, milestone) if days else None


def _day_of_lot(context: Context, lot: Lot, name: str) -> date | None:
    """A day of a lot that is no milestone: of its wood, of the site's year, of a trouble or a job."""
    if name == "started":
        return lot.started
    if name in ("store_early", "store_limit"):
        return context.book.crops[lot.crop].store.keeps(lot.cut_on)[name == "store_limit"]
    if name in SITE_DAYS:
        return day_of_site(context, name, lot.started, nearest=name == "shortest_day")
    return context.trouble(lot, name) or last_logged(lot, name)


def _in_stage(lot: Lot, rule: TaskRule, found: Mapping[str, Milestone], anchor: Anchor) -> bool:
    """Whether the lot has cuttings in the rule's stage, or will have; a trouble or job only if there now."""
    if rule.while_in is None or lot.count(rule.while_in):
        return True
    if anchor.milestone is None:
        return False
    entry = found.get(ENTERED_BY[rule.while_in])
    return entry is not None and entry.known is None and entry.days is not None


def _leaves_stage(context: Context, lot: Lot, rule: TaskRule, found: Mapping[str, Milestone]) -> Days | None:
    """When the lot is expected to have left the rule's stage."""
    milestone = found.get(left_by(rule.while_in, lot, context))
    if milestone is None or milestone.known is not None:
        return None
    return _till_done(milestone, context) or milestone.days


def _till_done(milestone: Milestone, context: Context) -> Days | None:
    """The days by which looks go over to the next stage where an act is late: no near round takes it for done."""
    if not milestone.planned or not milestone.held:
        return None
    again = timedelta(0) if milestone.held[1] > context.as_of + _NEAR else AGAIN
    return each_of(milestone.held, lambda day: day + again)


def _ended(context: Context, lot: Lot, rule: TaskRule, found: Mapping[str, Milestone], anchor: Anchor) -> bool:
    """Whether one of the events that end a task has come since it began."""
    since = anchor.days[0] if anchor.known else date.min
    for event in rule.until:
        left = lot.count(rule.while_in or "store") - (lot.lifted if event == "lifted" else 0)
        if event == left_by(rule.while_in, lot, context) and left:
            continue  # part of the lot went on; those still there are not done with
        if event in found and found[event].known:
            return True  # a sign or a step is for good, whether it came before or after
        day = last_logged(lot, event)
        if day and day >= since:
            return True
    return False


def _looks(context: Context, lot: Lot, rule: TaskRule, anchor: Anchor) -> Iterator[Look]:
    found = context.found(lot, rule.while_in)
    assert rule.first_day is not None
    # A sign only forecast is looked for until nine lots in ten would show it; only then does the next look begin.
    start = anchor.days[1] if anchor.known or is_act(rule.after) else anchor.days[2]
    end = max(lot.known_at, start) + LOOKS_GO_ON
    leaves = _leaves_stage(context, lot, rule, found)
    if rule.while_in == "store":
        end = max(context.book.crops[lot.crop].store.keeps(lot.cut_on)[1], end)
    elif leaves:
        end = leaves[1] if rule.while_in == "rooting" else leaves[2] + timedelta(days=rule.every_days or 0)
    if rule.last_day is not None:
        end = min(end, start + timedelta(days=rule.last_day))
    for event in rule.until:
        expected = found.get(event)
        if expected and expected.days and not expected.overdue(lot.known_at):
            end = min(end, expected.days[2])
    if end >= start + timedelta(days=rule.first_day):
        yield lot_look(
            context,
            lot,
            rule,
            start,
            end,
            anchor.name,
            bin_name=lot.bin if rule.while_in == "rooting" else "",
            count=_count(lot, rule),
            milestone=anchor.milestone,
        )
