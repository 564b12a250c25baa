"""From a plan to its calendar entries. Pure."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta

from almanac.feed.entry import CATEGORY, FEEDS, Entry
from almanac.nursery.nursery import Nursery
from almanac.plan.ids import EntryId
from almanac.plan.model import Plan, Round, Task
from almanac.rulebook.models import Feed
from almanac.words.tasks import COMMAND, minutes, round_text, round_title, text, title
from almanac.words.warnings import shortage_title, warning_text

_LINE = 75  # octets: RFC 5545, 3.1
_MORNING = time(7, 0)


def entries_of(plan: Plan, nursery: Nursery, page: str = "") -> list[Entry]:
    """Every entry of a plan, earliest first; a feed without any gets one that says so.

    Args:
        plan: the plan
        nursery: what it was made for
        page: the address of the bench page, which rounds lead to, and entries of a lot to its own; empty if unknown
    """
    protected = {name for name, lot in nursery.stock.lots.items() if lot.protected}
    found = [_round(each, plan, nursery, protected) for each in plan.rounds]
    found += [_task(task, plan, nursery) for task in plan.tasks if not task.in_round and not _over(task, plan)]
    found += _short_of_room(plan)
    for feed in FEEDS:
        if not any(entry.feed == feed for entry in found):
            found.append(_nothing(feed, plan.as_of))
    return sorted((replace(each, url=_url(each.id, page)) for each in found), key=lambda each: (each.day, each.id))


def _url(name: EntryId, page: str) -> str:
    """No key is in it: it opens on phones that were let in. One too long for a line is left out."""
    url = f"{page}{'lot/' if name.of_lot else ''}{name.of_lot}" if name.of_lot or name.kind == "round" else ""
    return url if page and len(f"URL:{url}".encode()) <= _LINE else ""


def _all_day(day: date) -> tuple[date, date]:
    """Start and end of a whole day; the end is exclusive (RFC 5545, 3.6.1)."""
    return day, day + timedelta(days=1)


def _over(task: Task, plan: Plan) -> bool:
    """Its own entry is past; the next round reminds of it instead."""
    return task.due < plan.as_of


def _task(task: Task, plan: Plan, nursery: Nursery) -> Entry:
    alarm = timedelta(hours=_MORNING.hour) if nursery.settings.calendar.alarm == "morning" else None
    whole = plan.cautioned.get(task.id, ())
    body = text(task, nursery.book, plan.as_of, whole)
    own = tuple(each.id for each in task.own)
    holds = own if own != (task.id,) else ()
    if task.clock is not None:
        start, end = (datetime.combine(task.due, at, nursery.place.zone).astimezone(UTC) for at in task.clock)
        alarm = timedelta(0) if nursery.settings.calendar.alarm != "none" else None
        back = end - start if alarm is not None and task.rings_back else None
        return Entry(task.id, task.feed, title(task), body, task.due, start, end, holds, alarm, whole, alarm_back=back)
    return Entry(task.id, task.feed, title(task), body, task.due, *_all_day(task.due), holds, alarm, whole)


def _round(each: Round, plan: Plan, nursery: Nursery, protected: Collection[str]) -> Entry:
    settings, whole = nursery.settings, plan.cautioned.get(each.id, ())
    summary, body = round_title(each), round_text(each, nursery.book, protected, whole)
    holds = tuple(line.id for line in each.lines if line.task is not None or each.is_part)
    at = settings.week.bench_time
    alarm = None
    if at is None:
        if settings.calendar.alarm != "none":
            alarm = timedelta(hours=_MORNING.hour)
        return Entry(each.id, "bench", summary, body, each.day, *_all_day(each.day), holds, alarm, whole)
    start = datetime.combine(each.day, at, nursery.place.zone).astimezone(UTC)
    if settings.calendar.alarm == "bench":
        alarm = timedelta(0)
    elif settings.calendar.alarm == "morning":
        alarm = datetime.combine(each.day, min(_MORNING, at), nursery.place.zone).astimezone(UTC) - start
    end = start + timedelta(minutes=minutes(each))
    return Entry(each.id, "bench", summary, body, each.day, start, end, holds, alarm, whole)


def _short_of_room(plan: Plan) -> list[Entry]:
    """Lack of room, while something can be done about it."""
    entries = []
    for warning in plan.warnings:
        if warning.shortage is not None and warning.shortage.told_on is not None:
            day = warning.shortage.told_on
            body = f"{warning_text(warning, day)}\n\nAll of it by week: {COMMAND} space"
            entries.append(Entry(warning.shortage.id, "bench", shortage_title(warning), body, day, *_all_day(day)))
    return entries


def _nothing(feed: Feed, day: date) -> Entry:
    words = "Nothing is planned here at present. Entries appear by themselves once something is logged."
    return Entry(EntryId.of_empty(feed), feed, f"{CATEGORY[feed]}: nothing planned", words, day, *_all_day(day))
