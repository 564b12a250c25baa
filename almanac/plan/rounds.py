"""From looks and small jobs to rounds: on which days to go to the bench, and what each visit holds. Pure."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import date, timedelta

from almanac.nursery.lots import lot_order
from almanac.nursery.settings import WEEKDAYS, Settings
from almanac.plan.model import Line, Look, Past, PlanWarning, Round, Task
from almanac.plan.season_days import good_day
from almanac.plan.visits import visit_days

_WEEK = timedelta(days=7)


def rounds_of(
    looks: Sequence[Look],
    jobs: Sequence[Task],
    late: Sequence[Task],
    settings: Settings,
    past: Past,
    as_of: date,
) -> tuple[list[Round], list[PlanWarning]]:
    """The rounds from a day on.

    Args:
        looks: each lot's looks; every visit looks at all lots in bins
        jobs: small jobs, each joining a round inside its window or making one
        late: tasks with an entry of their own whose day has gone by undone; the next round reminds of them
        settings: bench days and days away
        past: rounds published and over; before the first of them the planned ones are taken to have been done
        as_of: the day to plan from
    Returns:
        the rounds, and what cannot be kept
    """
    bench = {WEEKDAYS.index(day) for day in settings.week.bench_days}
    done = {day for day in past.rounds if day < as_of}
    benched = [look for look in looks if look.bin and look.opens <= as_of <= look.end]
    if benched and all(look.looked == as_of for look in benched):
        done.add(as_of)  # today's round took place: it stays in the calendar, whether it was planned or not
    since = min(past.since or as_of, as_of)

    def barred(day: date) -> bool:
        return since <= day < as_of and day not in done

    def days_with(forced: set[date]) -> list[date]:
        return visit_days(looks, forced, barred, settings.is_away, lambda day: day.weekday() in bench)

    waiting = [job for job in jobs if not _told(job, past)]
    visits = days_with(done)
    extra = _extra_days(waiting, [day for day in visits if day >= as_of], settings, as_of)
    if late and not any(day < as_of + _WEEK for day in (*extra, *visits) if day >= as_of):
        extra.add(_reminder_day(done, settings, as_of))
    if extra:
        visits = days_with(done | extra)
    coming = [day for day in visits if day >= as_of]
    held = _assigned(waiting, coming, settings.is_away, as_of)
    lines = _look_lines(looks, visits, as_of)
    rounds = []
    for number, day in enumerate(coming):
        here = lines[day] + held.get(day, []) + ([_reminder(task) for task in late] if number == 0 else [])
        if here:
            here = sorted(here, key=_walking_order)
            rounds.append(Round(day, tuple(here), day.weekday() in bench, settings.is_away(day)))
    return rounds, _warnings(rounds) + _missed(looks, visits, as_of)


def _reminder_day(done: set[date], settings: Settings, as_of: date) -> date:
    """Where no round comes, late work is told on a bench day, and again a week later."""
    first = max([as_of, *(day + _WEEK for day in done)])
    return good_day(first, first, first + _WEEK, settings)


def _walking_order(line: Line) -> tuple[bool, str, tuple[int, int, str], bool]:
    """Bins first, then what stands elsewhere; in a bin its own lines, then lot by lot."""
    return (not line.bin, line.bin, lot_order(line.lot) if line.lot else (0, 0, ""), line.look is None)


def _told(job: Task, past: Past) -> bool:
    """Whether a round gone by asked for the job in its present window; a trouble that comes again has another."""
    return any(job.id in names and day >= job.earliest for day, names in past.rounds.items())


def _extra_days(jobs: Sequence[Task], visits: Sequence[date], settings: Settings, as_of: date) -> set[date]:
    """Days to add for jobs with no visit inside their windows: the fewest, taking the tightest window first."""
    extra: set[date] = set()
    for job in sorted(jobs, key=lambda task: (task.latest, task.id)):
        first = max(job.earliest, as_of)
        guessed = job.milestone is not None and job.milestone.known is None and not job.rule.overdue
        if guessed:
            continue  # what may come on another day makes no visit; it waits until it is known
        if first <= job.latest and not any(first <= day <= job.latest for day in (*visits, *extra)):
            extra.add(good_day(job.latest, first, job.latest, settings))
    return extra


def _assigned(
    jobs: Sequence[Task], visits: Sequence[date], is_away: Callable[[date], bool], as_of: date
) -> dict[date, list[Line]]:
    """Each job on the first visit from its due day on, else the last before it; not while away, if it can be."""
    held: dict[date, list[Line]] = {}
    for job in jobs:
        inside = [day for day in visits if max(job.earliest, as_of) <= day <= job.latest]
        inside = [day for day in inside if not is_away(day)] or inside
        if inside:
            day = min((day for day in inside if day >= job.due), default=inside[-1])
            lot = job.lots[0] if job.rule.scope == "lot" and job.counted_from != "planned" else ""
            held.setdefault(day, []).append(Line(job.id, job.rule, job.bin, lot, task=job))
    return held


def _look_lines(looks: Sequence[Look], visits: Sequence[date], as_of: date) -> Mapping[date, list[Line]]:
    """What each visit looks at: every lot in bins; elsewhere a lot when its look cannot wait for the next visit."""
    lines: dict[date, list[Line]] = {day: [] for day in visits}
    for look in looks:
        last = look.start - timedelta(days=1)
        for number, day in enumerate(visits):
            if not look.opens <= day <= look.end:
                continue
            follows = visits[number + 1] if number + 1 < len(visits) else date.max
            if look.bin or look.latest(last) < follows:
                last = day
                if day >= as_of:
                    lines[day].append(Line(look.id, look.rule, look.bin, look.lot, look=look))
    return {day: _latest_speaks(here) for day, here in lines.items()}


def _latest_speaks(lines: list[Line]) -> list[Line]:
    """Where two looks of a lot count from the same day, the one for its present age is enough."""
    best: dict[tuple[str, str, str], Line] = {}
    for line in lines:
        key = (line.bin, line.lot, line.rule.after)
        if key not in best or (line.rule.first_day or 0) > (best[key].rule.first_day or 0):
            best[key] = line
    return list(best.values())


def _reminder(task: Task) -> Line:
    lot = task.lots[0] if task.rule.scope == "lot" and len(task.lots) == 1 else ""
    return Line(task.id, task.rule, task.bin, lot, late_since=task.latest, task=task)


def _warnings(rounds: Sequence[Round]) -> list[PlanWarning]:
    return [
        PlanWarning("away", each.day, each.lots, tuple(dict.fromkeys(line.bin for line in each.lines if line.bin)))
        for each in rounds
        if each.away
    ]


def _missed(looks: Sequence[Look], visits: Sequence[date], as_of: date) -> list[PlanWarning]:
    """Looks whose latest day no visit keeps."""
    found: dict[date, list[str]] = {}
    bins: dict[date, list[str]] = {}
    for look in looks:
        last = look.start - timedelta(days=1)
        for day in [*(day for day in visits if look.opens <= day <= look.end), look.end + timedelta(days=1)]:
            latest = look.latest(last)
            if latest < day and as_of <= latest <= look.end:
                found.setdefault(latest, []).append(look.lot or look.bin)
                bins.setdefault(latest, []).append(look.bin)
            last = day
    return [
        PlanWarning(
            "missed",
            day,
            tuple(dict.fromkeys(lots)),
            tuple(dict.fromkeys(name for name in bins[day] if name)),
        )
        for day, lots in sorted(found.items())
    ]
