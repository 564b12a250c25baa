"""What matters most on a day, in a few words: for the first line of a screen. Pure."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from datetime import date, timedelta

from almanac.alike import together
from almanac.plain import dataclass
from almanac.plan.care.programmes.frost_watch import FrostNear
from almanac.plan.ids import EntryId
from almanac.plan.model import Plan, Round, Task
from almanac.words.dates import weekday
from almanac.words.lock_screen import urgency
from almanac.words.lots import named, places_named
from almanac.words.overdue import Overdue, alike, overdue
from almanac.words.sentences import capital, with_sign
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


def foremost(plan: Plan) -> Foremost:
    """`Treat mould, no leaf yet: 5a; Last post: 1c by Wed 25 Feb.`: frost tonight, troubles, what is late, what closes.

    A sign that is overdue, of which nothing can be done but to look, is told where nothing else is.
    """
    today = [each for each in plan.rounds if each.day == plan.as_of]
    late = left_overdue(plan, today)
    every = list(_one_by_one(plan, today, [each for each in late if each.task])) or list(_late(late))
    more = len(every) - _MOST
    told = every[:_MOST]
    said = "; ".join(each.text for each in told)
    text = with_sign(f"{said}{f'; {more} more' if more > 0 else ''}", ".")
    # What is late is drawn as late: here only if the line begins with it, else where it is listed.
    ids = frozenset(name for each in told if told[0].late or not each.late for name in each.ids)
    return Foremost(capital(text), ids, told[0].late) if told else Foremost("")


def _one_by_one(plan: Plan, today: Collection[Round], late: Iterable[Overdue]) -> Iterator[Foremost]:
    open_now, visit = plan.windows_open(), next_visit(plan)
    tonight = [task for task in open_now if isinstance(task.derivation, FrostNear) and task.rule.scope == "nursery"]
    spreads = [task for task in open_now if pressing(task.rule)]
    closing = [task for task in open_now if task.latest < visit and task not in tonight and task not in spreads]
    yield from (Foremost(title(task), frozenset({task.id})) for task in tonight)
    yield from _troubles(today)
    for same in together(spreads, kind_of).values():
        yield Foremost(_title(same), frozenset(task.id for task in same))
    yield from _late(late)
    if today:  # else what closes is the next thing on the screen
        on_one_day = together(closing, lambda task: (kind_of(task), task.latest))
        yield from (_closing(same, plan.as_of) for same in on_one_day.values())


def _troubles(rounds: Iterable[Round]) -> Iterator[Foremost]:
    """What rounds have to treat, each trouble once with all it is on, what spreads in front."""
    found: dict[str, dict[str, None]] = {}
    jobs = (line for each in rounds for line in each.lines if line.task and pressing(line.rule))
    for line in sorted(jobs, key=urgency):
        what = line.task.rule.title.rstrip("?.") if line.task else line.rule.title
        found.setdefault(what, {})[about(line) or places_named(line.places) or "elsewhere"] = None
    return (Foremost(f"{what}: {', '.join(whom)}") for what, whom in found.items())


def asked_in(rounds: Iterable[Round]) -> frozenset[EntryId]:
    """The tasks, and lots' own parts in them, that rounds ask for."""
    tasks = (line.task for each in rounds for line in each.lines if line.task)
    return frozenset(own.id for task in tasks for own in (task, *task.own))


def left_overdue(plan: Plan, rounds: Collection[Round], said: Collection[EntryId] = ()) -> list[Overdue]:
    """What is overdue and neither `said` nor asked for by some rounds."""
    known = asked_in(rounds) | frozenset(said)
    return [each for each in overdue(plan) if each.id not in known and not _asked_why(each, rounds)]


def _asked_why(late: Overdue, rounds: Collection[Round]) -> bool:
    """Whether one of some rounds asks what became of a sign that has not shown."""
    asking = (line for each in rounds for line in each.lines if line.rule.overdue and line.lot == late.id.about)
    return late.task is None and any(line.rule.after == late.id.rule for line in asking)


def _late(every: Iterable[Overdue]) -> Iterator[Foremost]:
    """What is overdue, alike together, with the longest late."""
    for what, same in alike(every):
        whole = len(same) <= _MOST * 2
        ids = frozenset(each.id for each in same) if whole else frozenset[EntryId]()
        since: dict[str, list[str]] = {}
        for each in sorted(same, key=lambda each: each.latest):
            since.setdefault(each.since, []).append(each.whom)
        if len(since) == 1 or not whole:
            names = named([each.whom for each in same if each.whom], _MOST * 2)
            first = f"{'' if len(since) == 1 else 'the first '}{next(iter(since))}"
            yield Foremost(f"{': '.join(filter(None, (what, names)))} overdue {first}", ids, late=True)
        else:
            told = ", ".join(f"{', '.join(whom)} {when}" for when, whom in since.items())
            yield Foremost(f"{what} overdue: {told}", ids, late=True)


def _title(same: list[Task]) -> str:
    """`Into the light: 8b (1)`, or of several `Into the light: 10a, 11a and 4 more`."""
    return title(same[0]) if len(same) == 1 else f"{with_sign(kind_of(same[0]), ':')} {named(_lots(same), _MOST * 2)}"


def _lots(same: list[Task]) -> list[str]:
    return list(dict.fromkeys(each for task in same for each in lots_of(task)))


def _closing(same: list[Task], as_of: date) -> Foremost:
    latest = same[0].latest
    told = f"{_title(same)} {'today' if latest == as_of else f'by {weekday(latest, as_of)}'}"
    return Foremost(told, frozenset(task.id for task in same if len(_lots(same)) <= _MOST * 2))
