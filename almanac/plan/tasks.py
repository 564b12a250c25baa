"""From lots, their milestones and the rules to tasks and looks, before they are gathered into rounds. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from almanac.forecast.milestones import Days, Milestone, Surroundings
from almanac.nursery.events import EVENTS, STAGES
from almanac.nursery.lots import BinLog, Lot, Planned, Stock, lot_order
from almanac.nursery.settings import WEEKDAYS
from almanac.plan.model import Look, Past, Task
from almanac.plan.season_days import good_day, site_day
from almanac.rulebook.models import SITE_DAYS, TaskRule
from almanac.site.place import Place
from almanac.site.sun import day_length_h

Milestones = Mapping[str, Mapping[str, Milestone]]
ENTERED_BY = {"store": "stored", "rooting": "stuck", "pot": "potted", "outside": "outside"}
LEFT_BY = {"store": "pushing", "rooting": "potted", "pot": "outside"}
_NO_FORECAST_LOOKS_ON = timedelta(days=60)  # looks go on so long after the last word of a lot with no end in sight


@dataclass(frozen=True)
class Scene:
    """All that tasks are worked out from."""

    stock: Stock
    place: Place
    around: Surroundings
    milestones: Milestones
    past: Past

    @property
    def as_of(self) -> date:
        return self.around.as_of

    def open_lots(self) -> list[Lot]:
        """Those with cuttings left; one that rests wants nothing until it wakes."""
        return [lot for lot in self.stock.lots.values() if not lot.closed and not lot.resting]


@dataclass(frozen=True)
class _Anchor:
    """What a rule counts from for a lot, bin or crop: three dates, all the same where nothing is forecast."""

    name: str
    days: Days
    milestone: Milestone | None = None

    @property
    def known(self) -> bool:
        return self.milestone is None or self.milestone.known is not None


def tasks_and_looks(scene: Scene) -> tuple[list[Task], list[Look]]:
    """Every task and every look of a nursery, lots in bench order."""
    tasks: list[Task] = []
    looks: list[Look] = []
    for lot in scene.open_lots():
        for rule in scene.around.book.tasks_for(lot.method):
            if rule.scope == "lot" and rule.after != "planned":
                _add_for_lot(scene, lot, rule, tasks, looks)
    rules = [rule for rule, _ in scene.around.book.tasks().values()]
    for rule in rules:
        if rule.scope == "bin":
            for name in scene.stock.bins:
                _add_for_bin(scene, name, rule, tasks, looks)
        elif rule.scope == "crop":
            tasks += _for_crops(scene, rule)
        elif rule.after == "planned":
            tasks += [task for planned in scene.stock.planned if (task := _for_planned(scene, planned, rule))]
    return [
        _settled(task, scene) for task in _grouped(tasks, scene.stock.lots) if _worth_telling(task, scene.as_of)
    ], looks


# --- one lot -----------------------------------------------------------------------------------------------------


def _add_for_lot(scene: Scene, lot: Lot, rule: TaskRule, tasks: list[Task], looks: list[Look]) -> None:
    found = scene.milestones[lot.id]
    anchor = _anchor_of_lot(scene, lot, rule)
    if anchor is None or not _in_stage(lot, rule, found, anchor) or _ended(lot, rule, found, anchor):
        return
    place = lot.bin if rule.while_in in (None, "rooting") else ""
    if not _holds(scene, rule, anchor.days[1], lot.protected):
        return
    if rule.kind == "look":
        looks += _looks(scene, lot, rule, anchor)
    elif rule.repeats:
        tasks += _treatments(f"{lot.id}.{rule.id}", rule, anchor, _last(lot, "treated"), (lot.id,), place)
    else:
        task = _window(f"{lot.id}.{rule.id}", rule, anchor, (lot.id,), place)
        if not _too_late(task, lot, found, scene.as_of) and not (anchor.known and _done(task, lot)):
            protected = (lot.id,) if lot.protected else ()
            tasks.append(replace(task, protected=protected, count=_count(lot, rule), crop=lot.crop))


def _too_late(task: Task, lot: Lot, found: Mapping[str, Milestone], as_of: date) -> bool:
    """Whether the lot will have left the task's stage by then; or part of it has left and the rest is late."""
    exit_ = found.get(LEFT_BY.get(task.rule.while_in or "", ""))
    if exit_ is None:
        return False
    if exit_.known:
        return task.latest < as_of
    return exit_.days is not None and task.due > exit_.days[1 if task.in_round else 2]


def _done(task: Task, lot: Lot) -> bool:
    """Whether the event that says it is done was logged since it opened; a look on the same day came before it."""
    day = _last(lot, task.rule.logged_as)
    if _is_act(task.rule.logged_as):
        return False  # it stays open while its stage holds cuttings
    return day is not None and (day > task.earliest or (day == task.earliest and task.rule.logged_as != "looked"))


def _count(lot: Lot, rule: TaskRule) -> int:
    """How many cuttings a task is about: those in its stage, or those that will come to it first."""
    if rule.while_in is None:
        return lot.total
    before = STAGES[: STAGES.index(rule.while_in) + 1]
    return next((lot.count(stage) for stage in reversed(before) if lot.count(stage)), lot.total)


def _anchor_of_lot(scene: Scene, lot: Lot, rule: TaskRule) -> _Anchor | None:
    found, name = scene.milestones[lot.id], rule.after
    if rule.overdue:
        milestone = found.get(name)
        if milestone is None or milestone.known or milestone.overdue_on is None:
            return None
        return _Anchor(name, (milestone.overdue_on,) * 3, milestone)
    if name in found:
        days = found[name].window
        if rule.once_logged and not found[name].logged:
            return None
        return _Anchor(name, days, found[name]) if days else None
    if name == "started":
        return _Anchor(name, (lot.started,) * 3)
    if name == "store_limit":
        limit = scene.around.book.crops[lot.crop].store.limit
        return _Anchor(name, (lot.started + timedelta(days=round(limit)),) * 3)
    if name in SITE_DAYS:
        near = _site_day(scene, name, lot.started, nearest=name == "shortest_day")
        return _Anchor(name, (near,) * 3) if near else None
    day = _trouble_day(scene, lot, name) or _last(lot, name)
    return _Anchor(name, (day,) * 3) if day else None


def _site_day(scene: Scene, name: str, near: date, *, nearest: bool) -> date | None:
    around = scene.around
    return site_day(name, near, scene.place, around.frost, around.settings, on_or_after=not nearest)


def _trouble_day(scene: Scene, lot: Lot, trouble: str) -> date | None:
    in_bin = scene.stock.bins[lot.bin].troubles.get(trouble) if lot.bin else None
    own = lot.troubles.get(trouble)
    return max((day for day in (in_bin, own) if day), default=None)


def _in_stage(lot: Lot, rule: TaskRule, found: Mapping[str, Milestone], anchor: _Anchor) -> bool:
    """Whether the lot has cuttings in the rule's stage, or will have; a trouble or job only if there now."""
    if rule.while_in is None or lot.count(rule.while_in):
        return True
    if anchor.milestone is None:
        return False
    entry = found.get(ENTERED_BY[rule.while_in])
    return entry is not None and entry.known is None and entry.days is not None


def _leaves_stage(lot: Lot, rule: TaskRule, found: Mapping[str, Milestone]) -> Days | None:
    """When the lot is expected to have left the rule's stage."""
    milestone = found.get(LEFT_BY.get(rule.while_in or "", ""))
    return milestone.days if milestone and milestone.known is None else None


def _ended(lot: Lot, rule: TaskRule, found: Mapping[str, Milestone], anchor: _Anchor) -> bool:
    """Whether one of the events that end a task has come since it began."""
    since = anchor.days[0] if anchor.known else date.min
    for event in rule.until:
        known = found[event].known if event in found else None
        day = known or _last(lot, event)
        if day and day >= since:
            return True
    return False


def _last(lot: Lot, event: str) -> date | None:
    """The last day a job was logged of a lot, or the day of a sign."""
    if event in lot.jobs:
        return lot.jobs[event][-1]
    return lot.signs[event].day if event in lot.signs else None


def _holds(scene: Scene, rule: TaskRule, day: date, protected: bool) -> bool:
    """Whether the conditions of a rule hold for a variety on a day."""
    only, settings = rule.only_if, scene.around.settings
    if only.protected is not None and only.protected != protected:
        return False
    if only.sells and not getattr(settings.sale, only.sells):
        return False
    if only.frost_chance_at_most is not None:
        accepted = only.frost_chance_at_most
        chance = settings.frost.accept if accepted == "accepted" else accepted
        if scene.around.frost.chance_after(day) > chance:
            return False
    length = day_length_h(scene.place.latitude_deg, day)
    if only.day_length_below is not None and length >= only.day_length_below:
        return False
    return only.day_length_at_least is None or length >= only.day_length_at_least


def _is_act(name: str) -> bool:
    """Whether a milestone is something the grower does, not something a cutting shows."""
    return name in EVENTS and EVENTS[name].kind == "step"


def _looks(scene: Scene, lot: Lot, rule: TaskRule, anchor: _Anchor) -> Iterator[Look]:
    found = scene.milestones[lot.id]
    assert rule.first_day is not None
    # A sign only forecast is looked for until nine lots in ten would show it; only then does the next look begin.
    start = anchor.days[1] if anchor.known or _is_act(rule.after) else anchor.days[2]
    end = max(lot.known_at, start) + _NO_FORECAST_LOOKS_ON
    leaves = _leaves_stage(lot, rule, found)
    if rule.while_in == "store":
        limit = scene.around.book.crops[lot.crop].store.limit
        end = max(lot.started + timedelta(days=round(limit)), end)
    elif leaves:
        end = leaves[1] if rule.while_in == "rooting" else leaves[2] + timedelta(days=rule.every_days or 0)
    if rule.last_day is not None:
        end = min(end, start + timedelta(days=rule.last_day))
    for event in rule.until:
        expected = found[event].days if event in found else None
        if expected:
            end = min(end, expected[2])
    if end >= start + timedelta(days=rule.first_day):
        place = lot.bin if rule.while_in == "rooting" else ""
        yield Look(f"{lot.id}.{rule.id}", rule, lot.id, place, start, end, anchor.name, anchor.milestone, lot.looked)


def _treatments(
    name: str, rule: TaskRule, anchor: _Anchor, treated: date | None, lots: tuple[str, ...], place: str
) -> Iterator[Task]:
    """The repeats of a treatment: from the sighting, and from the last one done, until its last day."""
    assert rule.first_day is not None
    assert rule.every_days is not None
    start = anchor.days[1]
    last = start + timedelta(days=rule.last_day if rule.last_day is not None else rule.first_day)
    done = treated if treated and treated >= start else None
    day = done + timedelta(days=rule.every_days) if done else start + timedelta(days=rule.first_day)
    number = 1 + ((day - start).days - rule.first_day) // rule.every_days if done else 1
    while day <= last:
        end = day + timedelta(days=rule.slack_days)
        yield Task(f"{name}.{number}", rule, lots, day, day, end, anchor.name, anchor.milestone, place)
        day += timedelta(days=rule.every_days)
        number += 1


def _window(name: str, rule: TaskRule, anchor: _Anchor, lots: tuple[str, ...], place: str) -> Task:
    opens, due, closes = (timedelta(days=day or 0) for day in (rule.opens_day, rule.due_day, rule.closes_day))
    early, likely, late = (anchor.days[0],) * 3 if rule.kind == "deadline" else anchor.days
    dates = early + opens, likely + due, late + closes
    return Task(name, rule, lots, *dates, anchor.name, anchor.milestone, place)


# --- a bin, a crop, a lot to come --------------------------------------------------------------------------------


def _add_for_bin(scene: Scene, name: str, rule: TaskRule, tasks: list[Task], looks: list[Look]) -> None:
    bin_log = scene.stock.bins[name]
    lots = [lot for lot in scene.open_lots() if lot.bin == name]
    anchor = _anchor_of_bin(scene, bin_log, lots, rule)
    if anchor is None or not lots or _ended_in_bin(bin_log, lots, rule, anchor):
        return
    if not _holds(scene, rule, anchor.days[1], protected=False):
        return
    task_id = f"{name}.{rule.id}"
    if rule.kind == "look":
        start = anchor.days[1]
        end = start + (timedelta(days=rule.last_day) if rule.last_day is not None else _NO_FORECAST_LOOKS_ON)
        looks.append(Look(task_id, rule, "", name, start, end, anchor.name, anchor.milestone, bin_log.looked))
    elif rule.repeats:
        treated = max((day for lot in lots if (day := _last(lot, "treated"))), default=None)
        tasks += _treatments(task_id, rule, anchor, treated, tuple(lot.id for lot in lots), name)
    else:
        tasks.append(_window(task_id, rule, anchor, tuple(lot.id for lot in lots), name))


def _anchor_of_bin(scene: Scene, bin_log: BinLog, lots: Sequence[Lot], rule: TaskRule) -> _Anchor | None:
    """The last sighting of a trouble in the bin or one of its lots, or the first of its lots to reach the milestone."""
    sightings = [
        troubles[rule.after]
        for troubles in (bin_log.troubles, *(lot.troubles for lot in lots))
        if rule.after in troubles
    ]
    if sightings:
        return _Anchor(rule.after, (max(sightings),) * 3)
    if rule.after == "lamp":
        burning = [day for day, hours in bin_log.lamp_h[-1:] if hours > 0]
        return _Anchor("lamp", (burning[0],) * 3) if burning else None
    reached = [scene.milestones[lot.id][rule.after] for lot in lots if rule.after in scene.milestones[lot.id]]
    windows = [(milestone.window, milestone) for milestone in reached if milestone.window]
    if not windows:
        return None
    days, milestone = min(windows, key=lambda item: (item[0][1], item[0]))
    return _Anchor(rule.after, days, milestone)


def _ended_in_bin(bin_log: BinLog, lots: Sequence[Lot], rule: TaskRule, anchor: _Anchor) -> bool:
    """Whether a lamp burns already, or one of the events that end the task was logged of the bin's lots since."""
    since = anchor.days[0] if anchor.known else date.min
    if "lamp" in rule.until and bin_log.lamp_h and (bin_log.lamp_h[-1][1] > 0 or bin_log.lamp_h[-1][0] >= since):
        return True
    days = [day for event in rule.until for lot in lots if (day := _last(lot, event))]
    return anchor.known and any(day >= since for day in days)


def _for_crops(scene: Scene, rule: TaskRule) -> Iterator[Task]:
    """A window of each crop grown, by the site's year: the one that is open, or the next."""
    crops = sorted({lot.crop for lot in scene.stock.lots.values()})
    for crop in crops:
        near = _site_day(scene, rule.after, scene.as_of - timedelta(days=rule.closes_day or 0), nearest=False)
        if near is None:
            continue
        ended = any(
            day >= near + timedelta(days=rule.opens_day or 0)
            for (named, event), day in scene.stock.crop_signs.items()
            if named == crop and event in rule.until
        )
        ended = ended or any(
            lot.origin == "own_wood" and lot.started >= near + timedelta(days=rule.opens_day or 0)
            for lot in scene.stock.lots.values()
            if lot.crop == crop and not lot.parent
        )
        if ended or not _holds(scene, rule, near, protected=False):
            continue
        anchor = _Anchor(rule.after, (near,) * 3)
        yield replace(_window(f"{crop}.{rule.id}.{near.year}", rule, anchor, (), ""), crop=crop)


def _for_planned(scene: Scene, planned: Planned, rule: TaskRule) -> Task | None:
    anchor = _Anchor("planned", (planned.day,) * 3)
    task = _window(f"{planned.row}.{rule.id}", rule, anchor, (planned.number,), "")
    return replace(task, count=planned.count, protected=(planned.number,) if planned.protected else ())


# --- all of them -------------------------------------------------------------------------------------------------


def _grouped(tasks: Iterable[Task], lots: Mapping[str, Lot]) -> Iterator[Task]:
    """Lots of a crop whose tasks of one rule lie within its `group_days` share one task.

    It is dated by the last of them, a deadline by the first, and named after the lot started first, so that a lot that
    comes to it later renames nothing.
    """
    waiting: dict[tuple[str, str], list[Task]] = {}
    for task in tasks:
        if task.rule.group_days is None:
            yield task
        else:
            waiting.setdefault((task.crop, task.rule.id), []).append(task)
    for together in waiting.values():
        groups: list[list[Task]] = []
        for task in sorted(together, key=lambda task: (task.due, lot_order(task.lots[0]))):
            if groups and (task.due - groups[-1][0].due).days <= (task.rule.group_days or 0):
                groups[-1].append(task)
            else:
                groups.append([task])
        for group in groups:
            oldest = min((task.lots[0] for task in group), key=lambda name: (lots[name].started, lot_order(name)))
            yield _as_one(group, f"{oldest}.{group[0].rule.id}")


def _as_one(group: Sequence[Task], name: str) -> Task:
    choose = min if group[0].rule.kind == "deadline" else max
    last = choose(group, key=lambda task: (task.due, task.earliest))
    ordered = sorted(group, key=lambda task: lot_order(task.lots[0]))
    return replace(
        last,
        id=name,
        lots=tuple(lot for task in ordered for lot in task.lots),
        earliest=choose(task.earliest for task in group),
        latest=choose(task.latest for task in group),
        count=sum(task.count for task in group),
        protected=tuple(lot for task in ordered for lot in task.protected),
    )


def _worth_telling(task: Task, as_of: date) -> bool:
    """Not what is past and was never more than a guess, nor a small job that is past its time."""
    if task.latest >= as_of:
        return True
    guessed = task.milestone is not None and task.milestone.known is None and not task.rule.overdue
    guessed = guessed and not _is_act(task.counted_from)
    loggable = task.rule.logged_as not in ("", "noted")
    kept_waiting = task.rule.kind == "window" and task.rule.scope == "lot" and loggable and not task.rule.lapses
    return task.rule.overdue or (kept_waiting and not guessed)


def _settled(task: Task, scene: Scene) -> Task:
    """The task on its good day; what was published and is over keeps its day, and what comes again is another entry."""
    settings, as_of = scene.around.settings, scene.as_of
    if task.in_round or task.rule.kind == "deadline":
        due = _post_day(task, scene) if task.rule.kind == "deadline" and task.feed == "sales" else task.due
        # What to look for in an overdue lot is told at the next round, however long ago it should have been.
        latest = as_of + timedelta(days=task.rule.closes_day or 0) if task.rule.overdue else task.latest
        return replace(task, due=due, latest=max(latest, task.latest))
    due = good_day(task.due, task.earliest, task.latest, settings)
    number, name = 1, task.id
    while name in scene.past.entries:
        over = scene.past.entries[name]
        if due <= over or over >= task.earliest:
            return replace(task, id=name, due=over)
        number += 1
        name = f"{task.id}~{number}"
    if due < as_of <= task.latest:
        due = good_day(as_of, as_of, task.latest, settings)
    return replace(task, id=name, due=due)


def _post_day(task: Task, scene: Scene) -> date:
    """The last day on which post goes, on or before a deadline."""
    from almanac.site.holidays import public_holidays  # it costs start-up time, and few plans need it

    settings = scene.around.settings
    post = {WEEKDAYS.index(day) for day in settings.week.post_days}
    first = task.due - timedelta(days=14)
    closed = public_holidays(scene.place.country, scene.place.region, first, task.due)
    for back in range(15):
        day = task.due - timedelta(days=back)
        if day.weekday() in post and day not in closed and not settings.is_away(day):
            return day
    return task.due
