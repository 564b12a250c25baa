"""What matters most on a day, in a few words: for the first line of a screen. Pure."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator
from datetime import date, timedelta

from almanac.plain import dataclass
from almanac.plan.ids import EntryId
from almanac.plan.model import Line, Plan, Round, Task
from almanac.words.dates import weekday
from almanac.words.lock_screen import urgency
from almanac.words.lots import named
from almanac.words.overdue import Overdue, overdue
from almanac.words.sentences import capital, small, with_sign
from almanac.words.tasks import about, kind_of, lots_of, pressing, title

_MOST = 3  # things that one line can hold


@dataclass(frozen=True)
class Foremost:
    """What matters most, in words; `ids` are those of which it says all there is. It is `late` if it begins so."""

    text: str
    ids: frozenset[EntryId] = frozenset()
    late: bool = False


def next_visit(plan: Plan) -> date:
    """The day of the next round after today; a week on where none is planned."""
    return next((each.day for each in plan.rounds if each.day > plan.as_of), plan.as_of + timedelta(days=7))


def foremost(plan: Plan, called: Callable[[str], str] = "Bin {}".format) -> Foremost:
    """`Treat mould, no leaf yet: 5a; Last post: 1c by Wed 25 Feb.`: troubles, then what is late, then what closes."""
    every = list(_one_by_one(plan, called))
    more = len(every) - _MOST
    told = every[:_MOST]
    said = "; ".join(each.text for each in told)
    text = f"{said}{f'; {more} more' if more > 0 else ''}."
    # What is late is drawn as late: here only if the line begins with it, else where it is listed.
    ids = frozenset(name for each in told if told[0].late or not each.late for name in each.ids)
    return Foremost(capital(text), ids, told[0].late) if told else Foremost("")


def _one_by_one(plan: Plan, called: Callable[[str], str]) -> Iterator[Foremost]:
    today = [each for each in plan.rounds if each.day == plan.as_of]
    jobs = [line for each in today for line in each.lines if line.task is not None]
    yield from _troubles(jobs, called)
    open_now = plan.windows_open()
    for alike in _alike(task for task in open_now if pressing(task.rule)):
        yield Foremost(_title(alike), frozenset(task.id for task in alike))
    in_round = {own.id for line in jobs if line.task for own in (line.task, *line.task.own)}
    late = [each for each in overdue(plan) if each.id not in in_round and not asked_why(each, today)]
    yield from _late(each for each in late if each.task)
    if today:  # else what closes is the next thing on the screen
        closing = (task for task in open_now if task.latest < next_visit(plan) and not pressing(task.rule))
        for alike in _alike(closing, by_day=True):
            yield _closing(alike, plan.as_of)
    yield from _late(each for each in late if not each.task)  # nothing can be done about a sign but to look


def _troubles(jobs: Iterable[Line], called: Callable[[str], str]) -> Iterator[Foremost]:
    """What today's round has to treat, each trouble once with all it is on, what spreads in front."""
    found: dict[str, list[str]] = {}
    for line in sorted(jobs, key=urgency):
        if pressing(line.rule):
            place = called(line.bin)
            found.setdefault(_what(line), []).append(about(line) or small(place))
    return (Foremost(f"{what}: {', '.join(dict.fromkeys(whom))}") for what, whom in found.items())


def asked_why(late: Overdue, rounds: Collection[Round]) -> bool:
    """Whether one of some rounds asks what became of a sign that has not shown."""
    asking = (line for each in rounds for line in each.lines if line.rule.overdue and line.lot == late.id.about)
    return late.task is None and any(line.rule.after == late.id.rule for line in asking)


def _late(every: Iterable[Overdue]) -> Iterator[Foremost]:
    """What is overdue, alike together, with the longest late."""
    late: dict[str, list[Overdue]] = {}
    for each in every:
        late.setdefault(each.kind, []).append(each)
    for kind, same in late.items():
        what = kind if len({each.what for each in same}) > 1 else same[0].what
        names = named([each.whom for each in same if each.whom], _MOST * 2)
        since = {each.since for each in same}
        whole = len(since) == 1 and len(same) <= _MOST * 2
        ids = frozenset(each.id for each in same) if whole else frozenset[EntryId]()
        first = min(same, key=lambda each: each.latest).since
        yield Foremost(f"{': '.join(filter(None, (what, names)))} overdue {first}", ids, late=True)


def _alike(tasks: Iterable[Task], *, by_day: bool = False) -> Iterator[list[Task]]:
    """Tasks of one kind together; where said, those that close on one day."""
    same: dict[tuple[str, date | None], list[Task]] = {}
    for task in tasks:
        same.setdefault((kind_of(task), task.latest if by_day else None), []).append(task)
    yield from same.values()


def _title(alike: list[Task]) -> str:
    """`Into the light: 8b (1)`, or of several `Into the light: 10a, 11a and 4 more`."""
    if len(alike) == 1:
        return title(alike[0])
    names = named(list(dict.fromkeys(each for task in alike for each in lots_of(task))), _MOST * 2)
    return f"{with_sign(kind_of(alike[0]), ':')} {names}"


def _what(line: Line) -> str:
    return line.task.rule.title.rstrip("?.") if line.task else line.rule.title


def _closing(alike: list[Task], as_of: date) -> Foremost:
    latest = alike[0].latest
    told = f"{_title(alike)} {'today' if latest == as_of else f'by {weekday(latest, as_of)}'}"
    whole = len(list(dict.fromkeys(each for task in alike for each in lots_of(task)))) <= _MOST * 2
    return Foremost(told, frozenset(task.id for task in alike) if whole else frozenset())
