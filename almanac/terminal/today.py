"""What to do today and in the days after: what matters most, rounds, windows open, what is overdue. Pure."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import date, timedelta
from itertools import groupby
from typing import Any

from almanac.nursery.nursery import Nursery
from almanac.plan.model import Line, Plan, PlanWarning, Round, Shortage, Task
from almanac.terminal.encoded import Shape
from almanac.terminal.table import paragraph, table
from almanac.terminal.weight import Weigh, plain, weighed
from almanac.words.dates import day, span, weekday
from almanac.words.derivation import rule_of_line
from almanac.words.foremost import foremost, next_visit
from almanac.words.lots import named
from almanac.words.overdue import Overdue, overdue
from almanac.words.sentences import capital
from almanac.words.tasks import about, kind_of, line_title, minutes, pressing, title, what_and_whom
from almanac.words.warnings import near_warnings, part_text, shortage_title, warning_text

_MOST = 10  # windows that one screen shows, the rest counted


def today_text(
    plan: Plan, nursery: Nursery, days: int, *, whole: bool = False, ids: bool = False, weigh: Weigh = plain
) -> str:
    """The day as a person reads it: what matters most, the round bin by bin, the windows that close soonest.

    Args:
        plan, nursery: what there is
        days: how many days ahead, 1 for today alone
        whole: every window, however many are open
        ids: whether to name each entry as `why` takes it
        weigh: how what is due today and what is late gets its weight
    """
    as_of, until = plan.as_of, plan.as_of + timedelta(days=days - 1)
    lines = paragraph(f"{nursery.name}, {weekday(as_of)} {as_of.year}")
    first = foremost(plan)
    lines += [*weighed(paragraph(capital(first)), "due", weigh), ""] if first else [""]
    rounds = [each for each in plan.rounds if each.day <= until]
    if not rounds or rounds[0].day > as_of:
        following = plan.rounds[0].day if plan.rounds else None
        then = f"; the next is on {weekday(following, as_of)}" if following else ""
        lines += [f"No round today{then}.", ""]
    for each in rounds:
        head, *rest = _round(each, as_of, nursery.settings.called)
        lines += [weigh(head, "due") if each.day == as_of and not each.done else head, *rest, ""]
    lines += _windows("Open now", plan.windows_open(), plan, whole=whole, ids=ids)
    if days > 1:
        lines += _windows("Coming", plan.upcoming(days - 1), plan, whole=whole, ids=ids)
    in_rounds = {str(line.id) for each in rounds for line in each.lines}
    late = [each for each in overdue(plan) if str(each.id) not in in_rounds and not _asked_why(each, rounds)]
    lines += _section(weigh("Overdue", "late"), list(_late(late, ids=ids, whole=whole)))
    lines += _section(
        "Take care", [(_care(warning, as_of, whole=whole),) for warning in near_warnings(plan, max(days, 14))]
    )
    return "\n".join(lines).rstrip() + "\n"


def _asked_why(late: Overdue, rounds: list[Round]) -> bool:
    """Whether a round that is shown asks what became of a sign that has not shown."""
    asking = (line for each in rounds for line in each.lines if line.rule.overdue and line.lot == late.id.about)
    return late.task is None and any(line.rule.after == late.id.rule for line in asking)


def _care(warning: PlanWarning, as_of: date, *, whole: bool) -> str:
    """A warning; a lack of room in short, as it is told again each day until it is over."""
    if warning.shortage and not whole:
        return f"{shortage_title(warning)}: stickdate space"
    return warning_text(warning, as_of)


def _section(name: str, rows: list[tuple[str, ...]]) -> list[str]:
    return [name, *table(rows, indent=2), ""] if rows else []


def _windows(name: str, tasks: list[Task], plan: Plan, *, whole: bool, ids: bool) -> list[str]:
    """Windows that are alike on one line; the soonest to close, and never without those that the next visit misses."""
    alike: dict[str, list[Task]] = {}
    for task in tasks:
        alike.setdefault(what_and_whom(task)[0] if whole else kind_of(task), []).append(task)
    every, visit = list(alike.values()), next_visit(plan)
    cannot_wait = [each for each in every if any(task.latest < visit or pressing(task.rule) for task in each)]
    others = [each for each in every if each not in cannot_wait]
    room = len(others) if whole else max(_MOST - len(cannot_wait), 0)
    shown = [each for each in every if each in cannot_wait or each in others[:room]]
    lines = _section(name, [_window(each, plan.as_of, ids=ids, whole=whole) for each in shown])
    left = sum(map(len, others[room:]))
    if left:
        more = f"and {left} more {'windows' if left > 1 else 'window'} that can wait: today --all"
        lines[-1:] = [f"  {more}", ""]
    return lines


def _round(each: Round, as_of: date, called: Callable[[str], str]) -> list[str]:
    when = "Today" if each.day == as_of else weekday(each.day, as_of)
    away = ", while you are away" if each.away else ""
    lines = [f"{when}: bench round, {'looks done' if each.done else f'about {minutes(each)} min'}{away}"]
    lines += paragraph(part_text(each), indent=2) if each.is_part else []
    for bin_name, here in groupby(each.lines, key=lambda line: line.bin):
        same: dict[str, list[str]] = {}
        for line in sorted(here, key=lambda line: line.task is None):  # what is to be done, then what is looked at
            words = line_title(line, each.day)
            same.setdefault(words, []).append(about(line))
        lines.append(f"  {called(bin_name)}")
        for words, lots in same.items():
            named_lots = ", ".join(dict.fromkeys(filter(None, lots)))
            lines += paragraph(f"{named_lots}: {words}" if named_lots else words, indent=4)
    return lines


def _late(every: list[Overdue], *, ids: bool, whole: bool) -> Iterator[tuple[str, ...]]:
    """What is late, the same of several lots on one line, each lot with its own day."""
    alike: dict[str, list[Overdue]] = {}
    for each in every:
        alike.setdefault(each.kind, []).append(each)
    for kind, same in alike.items():
        what = kind if len({each.what for each in same}) > 1 else same[0].what
        names = (" ".join(str(each.id) for each in same),) if ids else ()
        if len(same) == 1:
            yield (same[0].title, same[0].since, *names)
        else:
            since: dict[str, list[str]] = {}
            for each in sorted(same, key=lambda each: each.latest):
                since.setdefault(each.since, []).append(each.whom)
            told = [f"{', '.join(whom)} {when}" for when, whom in since.items()]
            left = 0 if whole or ids else len(told[_MOST:])
            told = told[: len(told) - left] + ([f"{left} more: today --all"] if left else [])
            yield (what, ", ".join(told), *names)


def _best(tasks: list[Task], as_of: date) -> str:
    """The good day of several, or from which to which they lie."""
    good = [task.due for task in tasks if task.rule.kind != "deadline" and task.due >= as_of]
    if not good:
        return ""
    first, last = min(good), max(good)
    if first == last:
        return "now" if first == as_of else f"best {weekday(first, as_of)}"
    return f"best {'now' if first == as_of else day(first, as_of)} to {day(last, as_of)}"


def _window(alike: list[Task], as_of: date, *, ids: bool, whole: bool) -> tuple[str, ...]:
    """What, of whom, and when: of several the first and the last day by which they close."""
    titles = {what_and_whom(task)[0] for task in alike}
    what = kind_of(alike[0]) if len(titles) > 1 else next(iter(titles))
    every = [each for task in alike if (each := what_and_whom(task)[1])]
    whom = ", ".join(every) if whole or ids else named(every, _MOST)
    first, last = (pick(task.latest for task in alike) for pick in (min, max))
    by = f"by {day(first, as_of)}" if first == last else f"by {span(first, last, as_of)}"
    when = ", ".join(filter(None, (_best(alike, as_of), by)))
    names = (" ".join(str(task.id) for task in alike),) if ids else ()
    return (": ".join(filter(None, (what, whom))), when, *names)


def today_json(plan: Plan, days: int) -> dict[str, Any]:
    """The same as one object."""
    until = plan.as_of + timedelta(days=days - 1)
    return {
        "as_of": plan.as_of,
        "rounds": _ROUND(each for each in plan.rounds if each.day <= until),
        "windows": _TASK(plan.windows_open()),
        "coming": _TASK(plan.upcoming(days - 1)) if days > 1 else [],
        "overdue": [_TASK(each.task) if each.task else _OVERDUE(each) for each in overdue(plan)],
        "warnings": [
            {**_WARNING(each), "text": warning_text(each, plan.as_of), **(SHORTAGE(each.shortage) or {})}
            for each in plan.warnings
        ],
    }


_WARNING = Shape(PlanWarning, "kind date=day lots bins carried_to")
# What a lack of room says besides what every warning does.
SHORTAGE = Shape(
    Shortage,
    "id until capacity=room.capacity lacking=up_to lacking_expected=expected planned",
    planned=lambda short: [planned.row for planned in short.planned],
)


def _line_json(line: Line) -> dict[str, Any]:
    return {**_LINE(line), **({"part": line.part} if line.part else {})}


_LINE = Shape(Line, "id lot? bin? title", title=lambda line: rule_of_line(line).title)
_ROUND = Shape(
    Round,
    "id date=day minutes lots looks jobs away bench_day=on_bench_day done",
    minutes=minutes,
    looks=lambda each: [_line_json(line) for line in each.lines if line.look],
    jobs=lambda each: [_line_json(line) | {"lots": line.task.lots} for line in each.lines if line.task],
)


_TASK = Shape(
    Task, "id title lots bin? earliest due latest own", title=title, own=Shape(Task, "id lots earliest latest")
)


_OVERDUE = Shape(Overdue, "id title lots latest", lots=lambda late: [late.id.about])
