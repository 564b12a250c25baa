"""From looks and small jobs to rounds: on which days to go to the bench, and what each visit holds. Pure.

Small jobs ride on rounds, as a grower who is at the bench anyway does them there; windows have their own entries:
potting up or lighting is a thing to see coming weeks ahead, and to see move.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Sequence
from datetime import date, timedelta
from itertools import pairwise
from operator import attrgetter

from almanac.alike import gathered
from almanac.nursery.workdays import Workdays
from almanac.plain import replace
from almanac.plan.agenda.kept import Kept, carry_day, kept_so_far, planned_so_far
from almanac.plan.agenda.long_rounds import spread
from almanac.plan.agenda.off_bench import forced_days, told_once, treats
from almanac.plan.agenda.visits import Span, visit_days
from almanac.plan.agenda.wanted import wants
from almanac.plan.inertia import may_be_off
from almanac.plan.model import Line, Look, PlanWarning, Round, Task
from almanac.plan.past import Past
from almanac.plan.spaces import Place
from almanac.rulebook.models import TaskRule

_WEEK = timedelta(days=7)
_SLIPS = timedelta(days=42)  # a window that moves on by no more is still the same


def rounds_of(
    looks: Sequence[Look],
    jobs: Sequence[Task],
    late: Sequence[Task],
    workdays: Workdays,
    past: Past,
    as_of: date,
) -> tuple[list[Round], list[PlanWarning]]:
    """The rounds from a day on.

    Args:
        looks: each lot's looks; every visit looks at all lots in bins
        jobs: small jobs, each joining a round inside its window or making one
        late: tasks with an entry of their own whose day has gone by undone; the next round asks for them, and after
            as long as each may wait, a week at least, another
        workdays: bench days and days away
        past: rounds published, over and to come
        as_of: the day to plan from
    Returns:
        the rounds, and what cannot be kept or was not
    """
    waiting = _waiting(looks, jobs, past)
    known = [job for job in waiting if not job.guessed]  # what may come on another day makes no visit
    kept, visits = _visits(looks, known, workdays, past, as_of)
    asked = {task.id: max(_asked_again(task, past), as_of) for task in late}
    soon = min(asked.values(), default=date.max)
    if soon < as_of + _WEEK and not any(soon <= day < as_of + _WEEK for day in visits):
        reminder = workdays.good_day(soon, soon, soon + _WEEK)
        kept, visits = _visits(looks, known, workdays, past, as_of, (Span(earliest=reminder, latest=reminder),))
    held = _assigned(waiting, visits, workdays, past, as_of)
    parts = spread(looks, kept, _look_lines(looks, kept, visits, past), held, workdays, as_of, past.coming)
    forced = forced_days(looks, kept, known, visits, workdays)
    rounds = []
    still = list(late)
    for day in sorted({*visits, *parts.lines}):
        here = parts.lines.get(day, []) + [_reminder(task) for task in still if asked[task.id] <= day]
        if here:
            here = sorted(_in_turn(here), key=attrgetter("walking_order"))
            bench_day, away = workdays.is_bench_day(day), workdays.is_away(day)
            also, wait = parts.also.get(day, ()), parts.wait.get(day, 0)
            rounds.append(
                Round(
                    day=day,
                    lines=tuple(here),
                    on_bench_day=bench_day,
                    away=away,
                    forced=forced.get(day),
                    also=also,
                    wait=wait,
                )
            )
            still = [task for task in still if asked[task.id] > day]
    missed = _missed(looks, kept, rounds, as_of)
    if missed and rounds:
        rounds = [replace(each, makes_up=tuple(w for w in missed if w.carried_to == each.day)) for each in rounds]
    return rounds, [*_while_away(rounds), *missed, *told_once(rounds, workdays), *_too_long(rounds, workdays)]


def _visits(
    looks: Sequence[Look],
    jobs: Sequence[Task],
    workdays: Workdays,
    past: Past,
    as_of: date,
    more: Iterable[Span] = (),
) -> tuple[Kept, list[date]]:
    """What was kept so far, and the days to go from today on.

    A look logged today leaves the plan as it was this morning where today's round was planned; one out of turn is
    counted from like any other.
    """
    spans = [Span(earliest=job.earliest, latest=job.latest) for job in jobs if job.latest >= as_of] + list(more)
    gone = planned_so_far(looks, workdays, past, as_of, morning=True)
    morning = kept_so_far(looks, gone, past, as_of, morning=True)
    days = _days_from(looks, morning, spans, workdays, past, as_of)
    today = [look for look in looks if look.bin and look.is_open(as_of)]
    logged_today = any(look.seen.last == as_of for look in looks)
    took_place = bool(today) and all(look.seen.last == as_of for look in today)
    if past.coming and (not logged_today or as_of in days):
        return morning, days  # the next visit is the one that was published
    if not logged_today or as_of in days:
        # What stands elsewhere than in bins waits for the next visit if it can: now that one is known.
        follows = min(days, default=None)
        return kept_so_far(looks, gone, past, as_of, morning=True, follows=follows), days
    if as_of in past.coming or took_place:
        served = morning.after(as_of, looks)
        later = [span for span in spans if span.earliest > as_of]
        return morning, [as_of, *_days_from(looks, served, later, workdays, past, as_of + timedelta(days=1))]
    gone = planned_so_far(looks, workdays, past, as_of, morning=False)
    evening = kept_so_far(looks, gone, past, as_of, morning=False)
    return evening, _days_from(looks, evening, spans, workdays, past, as_of)


def _days_from(
    looks: Sequence[Look], kept: Kept, spans: Sequence[Span], workdays: Workdays, past: Past, start: date
) -> list[date]:
    """The visits from a day on, when each look was last made as said."""
    latest = {}
    for look in looks:
        due = look.latest(kept.last[look.id])
        if due <= look.end:
            late = look.id in kept.missed or due < start
            latest[look.id] = carry_day(due, workdays, start) if late else due
    wanted = wants(looks, kept.last, latest, start)
    wanted = replace(wanted, spans=sorted({*wanted.spans, *spans}, key=lambda span: (span.earliest, span.latest)))
    return visit_days(wanted, start, workdays.rank, keep=past.coming, before=kept.visited)


def _waiting(looks: Sequence[Look], jobs: Sequence[Task], past: Past) -> list[Task]:
    """Jobs still to be put into a round.

    One that a round gone by asked for in its present window is taken to be done; where looks are logged of its bin,
    only if one was logged on that day or after it, and what treats a trouble only once it is logged: to look is not to
    treat. One that nothing logged would end is not asked for again where its window slips.
    """
    looked: dict[str, date] = {}
    for look in looks:
        if look.bin and look.seen.logs:
            looked[look.bin] = max(look.seen.last or date.min, looked.get(look.bin, date.min))

    def told(job: Task) -> bool:
        until = looked.get(job.bin, date.max)
        if job.bin in looked and treats(job.rule) and _says_more_than_a_look(job.rule):
            return False
        first = job.earliest - (timedelta(0) if job.rule.logged_as not in ("", "noted") else _SLIPS)
        return any(job.id in names and first <= day <= until for day, names in past.rounds.items())

    return [job for job in jobs if not told(job)]


def _says_more_than_a_look(rule: TaskRule) -> bool:
    return rule.logged_as not in ("", "noted", "looked") and not rule.again_days


def _asked_again(task: Task, past: Past) -> date:
    """The first day on which a round asks for late work: once it is late, then after a full interval, until it is done.

    An interval is as long as its rule lets it wait: who was asked at one round was not in time for it by the next.
    """
    told = max((day for day, names in past.rounds.items() if task.id in names), default=date.min)
    if told < task.due:
        return date.min
    return told + max(timedelta(days=(task.rule.closes_day or 0) - (task.rule.due_day or 0)), _WEEK)


def _assigned(
    jobs: Sequence[Task], visits: Sequence[date], workdays: Workdays, past: Past, as_of: date
) -> dict[date, list[Line]]:
    """Each job on the visit it was published for while that is good enough, else on the first from its due day on.

    Where none comes from then on, on the last before it; not while away, if it can be.
    """
    held: dict[date, list[Line]] = {}
    for job in jobs:
        inside = [day for day in visits if max(job.earliest, as_of) <= day <= job.latest]
        inside = [day for day in inside if not workdays.is_away(day)] or inside
        if inside:
            day = min((day for day in inside if day >= job.due), default=inside[-1])
            told = [day for day in inside if job.id in past.coming.get(day, ())]
            day = next((each for each in told if _stays(job, each, day, as_of)), day)
            one = job.rule.scope == "lot" and len(job.lots) == 1 and job.counted_from != "planned"
            lot = job.lots[0] if one else ""
            held.setdefault(day, []).append(Line(id=job.id, rule=job.rule, bin=job.bin, lot=lot, task=job))
    return held


def _stays(job: Task, told: date, best: date, as_of: date) -> bool:
    """Whether a small job may stay in the round that was told: what treats comes as soon as it can."""
    if job.rule.kind == "treat" or treats(job.rule):
        return told == best
    if not job.guessed:
        return told >= min(job.due, best)
    off = may_be_off(told, job.milestone.window if job.milestone else None, as_of)
    return job.due - off <= told <= best + off


def _look_lines(looks: Sequence[Look], kept: Kept, visits: Sequence[date], past: Past) -> dict[date, list[Line]]:
    """What each visit looks at: every lot in bins; elsewhere a lot when its look cannot wait for the next visit.

    One elsewhere that was told of a visit waits for that one, if it can.
    """
    lines: dict[date, list[Line]] = {day: [] for day in visits}
    rivals = Counter(map(_counted_from, looks))
    contested: dict[tuple[date, tuple[str, str, str]], Line] = {}
    steps = list(pairwise([*visits, date.max]))
    for look in looks:
        last, key = kept.last[look.id], _counted_from(look)
        told = () if look.bin else [day for day in visits if look.id in past.coming.get(day, ())]
        line = Line(id=look.id, rule=look.rule, bin=look.bin, lot=look.lot, look=look)
        for day, follows in steps:
            if not look.is_open(day) or not (look.bin or _is_time(look, last, day, follows, told)):
                continue
            last = day
            if rivals[key] == 1:
                lines[day].append(line)
                continue
            # Where two looks of a lot count from the same day, the one for its present age is enough.
            other = contested.get((day, key))
            if other is None or (look.rule.first_day or 0) > (other.rule.first_day or 0):
                contested[day, key] = line
    for (day, _), line in contested.items():
        lines[day].append(line)
    return lines


def _is_time(look: Look, last: date | None, day: date, follows: date, told: Collection[date]) -> bool:
    """Whether a visit looks at what stands elsewhere: it was told, or cannot wait for the next, nor for one told."""
    if day in told:
        return last is None or day > last
    return look.wished(last) < follows and not any(day < each <= look.latest(last) for each in told)


def _in_turn(lines: Sequence[Line]) -> list[Line]:
    """The lines of a round without those that wait for another of the same cuttings on it; a treatment once."""
    turns = {(line.rule.id, line.task.lots): line.id for line in lines if line.task and line.rule.kind == "treat"}
    lines = [line for line in lines if not line.task or turns.get((line.rule.id, line.task.lots), line.id) == line.id]
    of_lot = gathered((line.lot, line) for line in lines)
    return [
        line
        for line in lines
        if not any(
            other.rule.id in line.rule.waits_for and (other.part == line.part or not (other.part and line.part))
            for other in of_lot[line.lot]
        )
    ]


def _counted_from(look: Look) -> tuple[str, str, str]:
    return look.bin, look.lot, look.rule.after


def _reminder(task: Task) -> Line:
    lot = task.lots[0] if task.rule.scope == "lot" and len(task.lots) == 1 else ""
    return Line(id=task.id, rule=task.rule, bin=task.bin, lot=lot, late_since=task.latest, task=task)


def _while_away(rounds: Collection[Round]) -> list[PlanWarning]:
    """What a person who is away must ask someone for."""
    return [
        PlanWarning(
            kind="away",
            day=each.day,
            lots=each.lots,
            places=tuple(dict.fromkeys(place for line in each.lines for place in line.places)),
        )
        for each in rounds
        if each.away
    ]


def _too_long(rounds: Sequence[Round], workdays: Workdays) -> list[PlanWarning]:
    """The first round that is longer than a person works, though it is spread over all the days there are."""
    long = [each for each in rounds if each.minutes > workdays.longest_minutes]
    return [PlanWarning(kind="long_round", day=long[0].day, lots=(), minutes=long[0].minutes)] if long else []


def _missed(looks: Sequence[Look], kept: Kept, rounds: Sequence[Round], as_of: date) -> list[PlanWarning]:
    """Looks that were due, or planned where looks are logged, and not made; and the round that makes up for them."""
    carried = {(line.bin, line.lot): each.day for each in reversed(rounds) for line in each.lines if line.look}
    missed: dict[tuple[str, str], date] = {}
    kinds = {look.bin: look.of_kind for look in looks}
    for look in looks:
        due = look.latest(kept.last[look.id])
        day = kept.missed.get(look.id, due if due < as_of and due <= look.end else None)
        place = (look.bin, look.lot)
        if day is not None and look.end >= as_of and look.seen.last != as_of:
            missed[place] = min(day, missed.get(place, day))
    by_day = gathered(((day, carried[place]), place) for place, day in missed.items() if place in carried)
    return [
        PlanWarning(
            kind="missed",
            day=day,
            lots=tuple(lot for _, lot in places if lot),
            places=tuple(Place(kinds[name], name) for name in sorted({name for name, _ in places if name})),
            carried_to=to,
        )
        for (day, to), places in sorted(by_day.items())
    ]
