"""What to do today and in the days after: what matters most, rounds, windows open, what is overdue. Pure."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from datetime import date, timedelta
from typing import Any

from almanac.alike import together
from almanac.nursery.nursery import Nursery
from almanac.plain import dataclass
from almanac.plan.ids import EntryId
from almanac.plan.model import Line, Plan, PlanWarning, Round, Task
from almanac.plan.spaces import Shortage
from almanac.terminal.encoded import Shape
from almanac.terminal.table import paragraph, table
from almanac.terminal.weight import Weigh, plain, weighed
from almanac.words.bench import Asked, AtPlace, Standing, by_place, one_by_one
from almanac.words.dates import day, span, weekday
from almanac.words.derivation import rule_of_line
from almanac.words.foremost import asked_in, foremost, left_overdue, next_visit
from almanac.words.lots import named
from almanac.words.overdue import Overdue, alike, overdue
from almanac.words.sentences import small
from almanac.words.tasks import kind_of, lots_of, minutes, pressing, title, what_and_whom
from almanac.words.warnings import near_warnings, part_text, shortage_title, warning_text

SCREEN = 24  # lines of a screen that a day without trouble fits
_MOST = 10  # windows that one screen shows, the rest counted
_Said = frozenset[EntryId]  # what the first line or a round has said
_FEWEST = 4  # names, the last of them a count, however long
_NAMES = 42  # letters of what a window is of, so that its days have room beside it


@dataclass(frozen=True, kw_only=True)
class _Shown:
    """How much of a day is shown.

    `whole` is every window, and every lot of a look by name; `ids` with the names that `why` takes. `counted` tells of
    looks only how many lots each is for; so many `windows` are shown at most, but for those that cannot wait.
    """

    whole: bool = False
    ids: bool = False
    counted: bool = False
    windows: int = _MOST


def today_text(
    plan: Plan, nursery: Nursery, days: int, *, whole: bool = False, ids: bool = False, weigh: Weigh = plain
) -> str:
    """The day as a person reads it: what matters most, the round bin by bin, the windows that close soonest.

    A day that does not fit a screen is told in fewer lines: fewer windows that can wait, then looks as counts.

    Args:
        plan, nursery: what there is
        days: how many days ahead, 1 for today alone
        whole: every window, however many are open, and every lot
        ids: whether to name each entry as `why` takes it
        weigh: how what is due today and what is late gets its weight
    """
    if whole or ids or days > 1:
        return _told(plan, nursery, days, _Shown(whole=whole, ids=ids), weigh)
    fewer = (_Shown(counted=counted, windows=most) for counted in (False, True) for most in (_MOST, 6, 4))
    for shown in fewer:
        text = _told(plan, nursery, days, shown, weigh)
        if text.count("\n") <= SCREEN:
            break
    return text


def _told(plan: Plan, nursery: Nursery, days: int, shown: _Shown, weigh: Weigh) -> str:
    as_of = plan.as_of
    first = foremost(plan)
    rounds = [each for each in plan.rounds if each.day < as_of + timedelta(days=days)]
    said = frozenset(() if shown.whole or shown.ids else asked_in(rounds) | first.ids)
    late = left_overdue(plan, rounds, said)
    care = _care(near_warnings(plan, max(days, 14)), as_of, shown)
    lines = [
        *paragraph(f"{nursery.name}, {weekday(as_of)} {as_of.year}"),
        *weighed(paragraph(first.text), "late" if first.late else "due", weigh),
        "",
        *_rounds(rounds, plan, nursery, shown, weigh),
        *_windows("Open now", plan.windows_open(), plan, shown, said),
        *(_windows("Coming", plan.upcoming(days - 1), plan, shown) if days > 1 else ()),
        *_section(weigh("Overdue", "late"), list(_late(late, ids=shown.ids, whole=shown.whole))),
        *_section("Take care", [(each,) for each in care]),
    ]
    return "\n".join(lines).rstrip() + "\n"


def _rounds(rounds: list[Round], plan: Plan, nursery: Nursery, shown: _Shown, weigh: Weigh) -> Iterator[str]:
    """Each round with its places; that there is none today, and when the next one is."""
    as_of, standing = plan.as_of, Standing(nursery.stock.lots.values())
    if not rounds or rounds[0].day > as_of:
        then = f"; the next is on {weekday(plan.rounds[0].day, as_of)}" if plan.rounds else ""
        yield from (f"No round today{then}.", "")
    for each in rounds:
        head, *rest = _round(each, as_of, standing, shown)
        yield from (weigh(head, "due") if each.day == as_of and not each.done else head, *rest, "")


def _care(warnings: Collection[PlanWarning], as_of: date, shown: _Shown) -> Iterator[str]:
    """Warnings; lacks of room in short and in one, as they are told again each day until they are over."""
    lacks = [] if shown.whole else [each for each in warnings if each.shortage]
    for each in warnings:
        if each not in lacks:
            yield warning_text(each, as_of)
    if lacks:
        yield f"{'; '.join(map(shortage_title, lacks))}: stickdate space"


def _section(name: str, rows: list[tuple[str, ...]]) -> list[str]:
    return [name, *table(rows, indent=2), ""] if rows else []


def _windows(name: str, tasks: list[Task], plan: Plan, shown: _Shown, said: _Said = frozenset()) -> list[str]:
    """Windows that are alike on one line; the soonest to close, and never without those that the next visit misses.

    Of what is `said` already, in the round or in the first line, nothing is said again.
    """
    unsaid = [task for task in tasks if task.id not in said and any(own.id not in said for own in task.own)]
    by_title = together(unsaid, lambda task: what_and_whom(task)[0] if shown.whole else kind_of(task))
    every, visit = list(by_title.values()), next_visit(plan)
    cannot_wait = [each for each in every if any(_cannot_wait(task, visit) for task in each)]
    others = [each for each in every if each not in cannot_wait]
    room = len(others) if shown.whole else max(shown.windows - len(cannot_wait), 0)
    told = [each for each in every if each in cannot_wait or each in others[:room]]
    lines = _section(name, [_window(each, plan.as_of, visit, shown, said) for each in told])
    left = sum(map(len, others[room:]))
    if left:
        more = f"and {left} more {'windows' if left > 1 else 'window'} that can wait: today --all"
        lines = [*(lines[:-1] or [name]), f"  {more}", ""]
    return lines


def _cannot_wait(task: Task, visit: date) -> bool:
    return task.latest < visit or pressing(task.rule)


def _round(each: Round, as_of: date, standing: Standing, shown: _Shown) -> list[str]:
    when = "Today" if each.day == as_of else weekday(each.day, as_of)
    away = ", while you are away" if each.away else ""
    lines = [f"{when}: bench round, {'looks done' if each.done else f'about {minutes(each)} min'}{away}"]
    lines += paragraph(part_text(each), indent=2) if each.is_part else []
    for place in by_place(each, standing, whole=shown.whole or shown.ids):
        if shown.counted:
            lines += paragraph(f"{place.title}{_looks_counted(place)}", indent=2, hang=4)
            asked: tuple[Asked, ...] = place.jobs
        else:
            lines.append(f"  {place.title}")
            asked = (*place.jobs, *one_by_one(place.looks))
        for one in asked:
            lines += paragraph(f"{one.whom}: {one.what}" if one.whom else one.what, indent=4)
    if shown.counted:
        lines.append("  Looks are told by how many lots: today --all names them.")
    return lines


def _looks_counted(place: AtPlace) -> str:
    """`: how far the roots are (8); light again, mix pale? (6)`: what to look at, and for how many lots."""
    told = "; ".join(f"{small(look.what)}{f' ({look.count})' * bool(look.count)}" for look in place.looks)
    return f": {told}" if told else ""


def _late(every: list[Overdue], *, ids: bool, whole: bool) -> Iterator[tuple[str, ...]]:
    """What is late, the same of several lots on one line, each lot with its own day."""
    for what, same in alike(every):
        names = (" ".join(str(each.id) for each in same),) if ids else ()
        if len(same) == 1:
            yield (same[0].title, same[0].since, *names)
        else:
            since = together(sorted(same, key=lambda each: each.latest), lambda each: each.since)
            told = [f"{', '.join(each.whom for each in lots)} {when}" for when, lots in since.items()]
            left = 0 if whole or ids else len(told[_MOST:])
            told = told[: len(told) - left] + ([f"{left} more: today --all"] if left else [])
            yield (what, ", ".join(told), *names)


def _best(tasks: list[Task], as_of: date, *, whole: bool) -> str:
    """The good day of several: the first, or from which to which they lie."""
    good = [task.due for task in tasks if task.rule.kind != "deadline" and task.due >= as_of]
    if not good:
        return ""
    first, last = min(good), max(good)
    if first == last or not whole:
        return "now" if first == as_of else f"best {weekday(first, as_of)}"
    return f"best {'now' if first == as_of else day(first, as_of)} to {day(last, as_of)}"


def _window(same: list[Task], as_of: date, visit: date, shown: _Shown, said: _Said) -> tuple[str, ...]:
    """What, of whom, and when: of several the first day by which one closes, in full also the last."""
    titles = {what_and_whom(task)[0] for task in same}
    what = kind_of(same[0]) if len(titles) > 1 else next(iter(titles))
    whole = shown.whole or shown.ids
    whom = _whom_of(same, visit, said, _NAMES - len(f"{what}: "), whole=whole)
    first, last = (pick(task.latest for task in same) for pick in (min, max))
    by = "today" if last == as_of else f"by {span(first, last, as_of)}"
    if first != last and not whole:
        by = f"first {'today' if first == as_of else f'by {day(first, as_of)}'}"
    when = by if last == as_of else ", ".join(filter(None, (_best(same, as_of, whole=whole), by)))
    names = (" ".join(str(task.id) for task in same),) if shown.ids else ()
    return (": ".join(filter(None, (what, whom))), when, *names)


def _whom_of(same: list[Task], visit: date, said: _Said, room: int, *, whole: bool) -> str:
    """Whom a line of windows is for: as many as there is room for, and always those that close before a visit."""
    if whole or (len(same) == 1 and not said & {own.id for own in same[0].own}):
        return ", ".join(dict.fromkeys(filter(None, (what_and_whom(task)[1] for task in same))))
    names = list(dict.fromkeys(each for task in same for each in lots_of(task, said)))
    cannot_wait = {each for task in same if task.latest < visit for each in lots_of(task, said)}
    least = max((place for place, each in enumerate(names, 1) if each in cannot_wait), default=0)
    fewest = max(least + 1, _FEWEST)
    ways = (named(names, most) for most in range(_MOST, fewest, -1))
    return next((told for told in ways if len(told) <= room), named(names, fewest))


def today_json(plan: Plan, days: int) -> dict[str, Any]:
    until = plan.as_of + timedelta(days=days - 1)
    return {
        "as_of": plan.as_of,
        "rounds": _ROUND(each for each in plan.rounds if each.day <= until),
        "windows": _TASK(plan.windows_open()),
        "coming": _TASK(plan.upcoming(days - 1)) if days > 1 else [],
        "overdue": [_TASK(each.task) if each.task else _OVERDUE(each) for each in overdue(plan)],
        "warnings": [
            {
                **_WARNING(each),
                "text": warning_text(each, plan.as_of),
                **(SHORTAGE(each.shortage) or {}),
                **({"planned": [late.row for late in each.planned]} if each.planned else {}),
            }
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
