"""From a plan to its calendar entries. Pure.

What is far off and hangs on forecasts is told in few words that do not change: that a round comes, how hardening
begins. Instead of all of it: a third of a feed was written anew at each look, and nobody reads a round of next month.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from functools import cached_property

from almanac.feed.entry import CATEGORY, FEEDS, Entry, all_day
from almanac.nursery.nursery import Nursery
from almanac.nursery.workdays import Workdays
from almanac.plain import dataclass
from almanac.plan.ids import EntryId
from almanac.plan.model import Plan, Round, Task
from almanac.rulebook.models import Feed
from almanac.words.bench import Standing
from almanac.words.lock_screen import round_title, task_summary
from almanac.words.rounds import round_text, text_ahead, title_ahead
from almanac.words.tasks import COMMAND, minutes, text
from almanac.words.warnings import shortage_title, warning_text

_LINE = 75  # octets: RFC 5545, 3.1
_MORNING = time(7, 0)
_HOUR = 60  # minutes: a round far ahead is given that long
_IN_FULL = timedelta(days=6)  # rounds, and what is carried: the round of a week before is over, and has said its part
_PART = timedelta(days=2)  # which lots a day of a long round has is settled as it comes near
_STEPS = timedelta(days=20)  # likewise the later steps of what has not begun: potting by now keeps them
_DAY_BEFORE = timedelta(hours=-6)  # of an all-day entry: at six in the evening


def entries_of(plan: Plan, nursery: Nursery, page: str = "") -> list[Entry]:
    """Every entry of a plan, earliest first; a feed without any gets one that says so.

    Args:
        plan: the plan
        nursery: what it was made for
        page: the address of the bench page, which rounds lead to, and entries of a lot to its own; empty if unknown
    """
    made = _Maker(plan, nursery, page)
    found = [made.of_round(each) for each in plan.rounds]
    # What is past has no entry any more: the next round reminds of it instead.
    coming = [task for task in plan.tasks if not task.in_round and task.due >= plan.as_of]
    found += [made.of_task(task) for task in coming if not _far_step(task, plan)]
    found += _short_of_room(plan)
    for feed in FEEDS:
        if not any(entry.feed == feed for entry in found):
            found.append(_nothing(feed, plan.as_of))
    found.sort(key=lambda each: (each.day, each.id))
    if nursery.settings.calendar.alarm != "morning":
        return found
    return _rung_once(found, Workdays(nursery.settings, nursery.place))


def _url(name: EntryId, page: str) -> str:
    """No key is in it: it opens on phones that were let in. One too long for a line is left out."""
    url = f"{page}{'lot/' if name.of_lot else ''}{name.of_lot}" if name.of_lot or name.kind == "round" else ""
    return url if page and len(f"URL:{url}".encode()) <= _LINE else ""


def _far_step(task: Task, plan: Plan) -> bool:
    """What hangs on a beginning: a later step of what has not begun, weeks off; what is carried days from now."""
    if task.rings_back:
        return task.due > plan.as_of + _IN_FULL
    return bool(task.step) and task.guessed and task.due > plan.as_of + _STEPS


@dataclass(frozen=True)
class _Maker:
    """Makes the entries of one plan; by lot, and by number for lots to come, `varieties` names the variety."""

    plan: Plan
    nursery: Nursery
    page: str

    @cached_property
    def varieties(self) -> dict[str, str]:
        names = {number: variety.name for number, variety in self.nursery.varieties.items()}
        return names | {name: names[lot.number] for name, lot in self.nursery.stock.lots.items()}

    @cached_property
    def protected(self) -> frozenset[str]:
        return frozenset(name for name, lot in self.nursery.stock.lots.items() if lot.protected)

    @cached_property
    def standing(self) -> Standing:
        return Standing(self.nursery.stock.lots.values())

    @property
    def rings(self) -> bool:
        return self.nursery.settings.calendar.alarm != "none"

    def of_task(self, task: Task) -> Entry:
        whole, url = self.plan.cautioned.get(task.id, ()), _url(task.id, self.page)
        body = text(task, self.nursery.book, self.plan.as_of, whole, varieties=self.varieties, served=bool(url))
        own = tuple(each.id for each in task.own)
        entry = all_day(
            task.id, task.feed, task_summary(task, self.varieties), body, task.due,
            holds=own if own != (task.id,) else (),
            alarm=_DAY_BEFORE if self.rings and task.rule.kind == "deadline" else None,
            cautions=whole,
            url=url,
        )  # fmt: skip
        if task.clock is None:
            return entry
        start, end = (datetime.combine(task.due, at, self.nursery.place.zone).astimezone(UTC) for at in task.clock)
        back = end - start if self.rings and task.rings_back else None
        return replace(entry, start=start, end=end, alarm=timedelta(0) if self.rings else None, alarm_back=back)

    def of_round(self, each: Round) -> Entry:
        settings, url = self.nursery.settings, _url(each.id, self.page)
        whole = self.plan.cautioned.get(each.id, ())
        far = each.day > self.plan.as_of + (_PART if each.is_part else _IN_FULL)
        alarm = timedelta(hours=_MORNING.hour) if self.rings else None
        if far:
            said = text_ahead(each, served=bool(url))
            entry = all_day(each.id, "bench", title_ahead(each), said, each.day, alarm=alarm, url=url)
        else:
            book, summary = self.nursery.book, round_title(each)
            body = round_text(each, book, self.protected, whole, served=bool(url), standing=self.standing)
            holds = tuple(line.id for line in each.lines if line.task is not None or each.is_part or not line.bin)
            more = {"holds": holds, "alarm": alarm, "cautions": whole, "url": url}
            entry = all_day(each.id, "bench", summary, body, each.day, **more)
        at = settings.week.bench_time
        if at is None:
            return entry
        start = datetime.combine(each.day, at, self.nursery.place.zone).astimezone(UTC)
        alarm = None
        if settings.calendar.alarm == "bench":
            alarm = timedelta(0)
        elif settings.calendar.alarm == "morning":
            alarm = datetime.combine(each.day, min(_MORNING, at), self.nursery.place.zone).astimezone(UTC) - start
        return replace(entry, start=start, end=start + timedelta(minutes=_HOUR if far else minutes(each)), alarm=alarm)


def _rung_once(entries: list[Entry], workdays: Workdays) -> list[Entry]:
    """One entry rings a morning: the round of a bench day, else the first of a whole day, else a round of another day.

    A round that was missed comes on any day and is on the next one tomorrow: it takes no alarm away from what is due.
    """
    rings = {each.day: each.id for each in entries if each.id.kind == "round"}
    for each in sorted(entries, key=lambda each: each.id, reverse=True):
        due = each.alarm is None and each.id.kind not in ("round", "empty") and not isinstance(each.start, datetime)
        if due and not (each.day in rings and workdays.is_bench_day(each.day)):
            rings[each.day] = each.id
    morning = timedelta(hours=_MORNING.hour)
    told = []
    for each in entries:
        alarm = each.alarm
        if rings.get(each.day) == each.id:
            alarm = morning if alarm is None else alarm
        elif each.id.kind == "round":
            alarm = None
        told.append(each if alarm == each.alarm else replace(each, alarm=alarm))
    return told


def _short_of_room(plan: Plan) -> list[Entry]:
    """Lack of room, while something can be done about it."""
    entries = []
    for warning in plan.warnings:
        if warning.shortage is not None and warning.shortage.told_on is not None:
            day = warning.shortage.told_on
            body = f"{warning_text(warning, day)}\n\nAll of it by week: {COMMAND} space"
            entries.append(all_day(warning.shortage.id, "bench", shortage_title(warning), body, day))
    return entries


def _nothing(feed: Feed, day: date) -> Entry:
    words = "Nothing is planned here at present. Entries appear by themselves once something is logged."
    return all_day(EntryId.of_empty(feed), feed, f"{CATEGORY[feed]}: nothing planned", words, day)
