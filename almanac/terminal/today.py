"""What to do today and in the days after: rounds, then windows open, then what is overdue. Pure."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import groupby
from typing import Any

from almanac.nursery.nursery import Nursery
from almanac.plan.model import Plan, PlanWarning, Round, Task
from almanac.terminal.table import paragraph, table
from almanac.words.dates import day, weekday
from almanac.words.derivation import rule_of_line
from almanac.words.overdue import Overdue, overdue
from almanac.words.tasks import about, line_title, minutes, title
from almanac.words.warnings import near_warnings, warning_text


def today_text(plan: Plan, nursery: Nursery, days: int) -> str:
    """The day as a person reads it.

    Args:
        plan, nursery: what there is
        days: how many days ahead, 1 for today alone
    """
    as_of, until = plan.as_of, plan.as_of + timedelta(days=days - 1)
    lines = [*paragraph(f"{nursery.settings.nursery.name}, {weekday(as_of)} {as_of.year}"), ""]
    head = len(lines)
    rounds = [each for each in plan.rounds if each.day <= until]
    for each in rounds:
        lines += [*_round(each, as_of), ""]
    if not rounds or rounds[0].day > as_of:
        following = plan.rounds[0].day if plan.rounds else None
        then = f"; the next is on {weekday(following, as_of)}" if following else ""
        lines[head:head] = [f"No round today{then}.", ""]
    lines += _section("Open now", [_window(task, as_of) for task in plan.windows_open()])
    if days > 1:
        lines += _section("Coming", [_window(task, as_of) for task in plan.upcoming(days - 1)])
    lines += _section("Overdue", [(each.title, each.id, each.since) for each in overdue(plan)])
    lines += _section("Take care", [(warning_text(warning, as_of),) for warning in near_warnings(plan, max(days, 14))])
    return "\n".join(lines).rstrip() + "\n"


def _section(name: str, rows: list[tuple[str, ...]]) -> list[str]:
    return [name, *table(rows, indent=2), ""] if rows else []


def _round(each: Round, as_of: date) -> list[str]:
    when = "Today" if each.day == as_of else weekday(each.day, as_of)
    away = ", while you are away" if each.away else ""
    lines = [f"{when}: bench round, {'looks done' if each.done else f'about {minutes(each)} min'}{away}"]
    for bin_name, here in groupby(each.lines, key=lambda line: line.bin):
        same: dict[str, list[str]] = {}
        for line in here:
            words = line_title(line, each.day)
            same.setdefault(words, []).append(about(line))
        lines.append(f"  {f'Bin {bin_name}' if bin_name else 'Elsewhere'}")
        for words, lots in same.items():
            named_lots = ", ".join(dict.fromkeys(filter(None, lots)))
            lines += paragraph(f"{named_lots}: {words}" if named_lots else words, indent=4)
    return lines


def _window(task: Task, as_of: date) -> tuple[str, str, str]:
    good = f"best {weekday(task.due, as_of)}, " if task.due >= as_of and task.rule.kind != "deadline" else ""
    return (title(task), task.id, f"{good}by {day(task.latest, as_of)}")


def today_json(plan: Plan, days: int) -> dict[str, Any]:
    """The same as one object."""
    until = plan.as_of + timedelta(days=days - 1)
    return {
        "as_of": plan.as_of.isoformat(),
        "rounds": [_round_json(each) for each in plan.rounds if each.day <= until],
        "windows": [_task_json(task) for task in plan.windows_open()],
        "coming": [_task_json(task) for task in plan.upcoming(days - 1)] if days > 1 else [],
        "overdue": [_overdue_json(each) for each in overdue(plan)],
        "warnings": [
            {
                "kind": w.kind,
                "date": w.day.isoformat(),
                "lots": list(w.lots),
                "bins": list(w.bins),
                "carried_to": w.carried_to.isoformat() if w.carried_to else None,
                "text": warning_text(w, plan.as_of),
                **shortage_json(w),
            }
            for w in plan.warnings
        ],
    }


def shortage_json(warning: PlanWarning) -> dict[str, Any]:
    """What a lack of room says besides what every warning does; nothing of another warning."""
    short = warning.shortage
    if short is None:
        return {}
    return {
        "id": short.id,
        "until": short.until.isoformat(),
        "capacity": short.room.capacity,
        "lacking": short.up_to,
        "lacking_expected": short.expected,
        "planned": [planned.row for planned in short.planned],
    }


def _round_json(each: Round) -> dict[str, Any]:
    def line(item: Any) -> dict[str, Any]:
        return {"id": item.id, "lot": item.lot or None, "bin": item.bin or None, "title": rule_of_line(item).title}

    return {
        "id": each.id,
        "date": each.day.isoformat(),
        "minutes": minutes(each),
        "lots": list(each.lots),
        "looks": [line(item) for item in each.lines if item.look is not None],
        "jobs": [line(item) | {"lots": list(item.task.lots)} for item in each.lines if item.task is not None],
        "away": each.away,
        "done": each.done,
    }


def _task_json(task: Task) -> dict[str, Any]:
    return {
        "id": task.id,
        "title": title(task),
        "lots": list(task.lots),
        "bin": task.bin or None,
        "earliest": task.earliest.isoformat(),
        "due": task.due.isoformat(),
        "latest": task.latest.isoformat(),
        "own": [
            {
                "id": own.id,
                "lots": list(own.lots),
                "earliest": own.earliest.isoformat(),
                "latest": own.latest.isoformat(),
            }
            for own in task.own
        ],
    }


def _overdue_json(late: Overdue) -> dict[str, Any]:
    if late.task:
        return _task_json(late.task)
    return {
        "id": late.id,
        "title": late.title,
        "lots": [late.id.about],
        "latest": late.latest.isoformat(),
    }
