"""A round as the text of its entry: bin by bin what is special, how it is done, what to look for once. Pure.

What is too long for a phone is shortened from its end: first what to look for, then how the least pressing jobs are
done; what is to be done, where and of which lots, and cautions, never.
"""

from __future__ import annotations

from collections.abc import Collection
from datetime import date

from almanac.plan.agenda.cautioned import cautions_of_round
from almanac.plan.model import Line, Round
from almanac.rulebook.book import Rulebook
from almanac.words.bench import Asked, Standing, by_place, one_by_one
from almanac.words.dates import weekday
from almanac.words.derivation import rule_of_line
from almanac.words.lock_screen import jobs_of, urgency
from almanac.words.lots import places_named
from almanac.words.sentences import capital, small, with_sign
from almanac.words.tasks import (
    COMMAND,
    LOCK_SCREEN,
    about,
    cautions_in_entry,
    how_to_log,
    how_to_log_task,
    line_title,
    longest_that_fits,
    told_whole,
)
from almanac.words.warnings import forced_text, part_text, warning_text

_AWAY = "You are away: ask someone to do this."


def first_line(each: Round) -> str:
    """What a locked phone shows below the title: that someone must be asked, what was missed, every kind of job."""
    if each.away:
        return _AWAY
    if each.makes_up:
        since = min(warning.day for warning in each.makes_up)
        where = sorted({place for warning in each.makes_up for place in warning.places})
        what = places_named(where) if where else "some lots"
        return _short(f"Missed {weekday(since, each.day)}: {what}") or f"Missed since {weekday(since, each.day)}."
    jobs = [what for what, _ in jobs_of(each)]
    if not jobs:
        return "Looks only."
    for number in range(len(jobs), 0, -1):
        more = f" and {len(jobs) - number} more" if number < len(jobs) else ""
        if short := _short("; ".join(jobs[:number]) + more):
            return short
    return f"{len(jobs)} kinds of job besides looks."


def _short(words: str) -> str:
    return f"{words}." if len(words) < LOCK_SCREEN else ""


def line_text(line: Line, round_day: date) -> str:
    """The same with what to look at or how to do it."""
    rule, what = rule_of_line(line), line_title(line, round_day)
    if line.late_since is not None and line.task is not None:
        return what
    if line.look is not None:
        return f"{what.rstrip('?')}? {'; '.join(rule.checklist)}".strip()
    log = how_to_log_task(line.task) if line.task else ""
    return f"{with_sign(what, '.')} {rule.how}{f' Log: {log}' if log else ''}".strip()


def round_text(
    each: Round,
    book: Rulebook,
    protected: Collection[str],
    whole: Collection[str] = (),
    *,
    served: bool = False,
    standing: Standing | None = None,
) -> str:
    """A whole round: by bin each line once for all lots it is the same for, how, what to look for, cautions.

    Args:
        each: the round
        book: whose cautions it names
        protected: the lots of protected varieties
        whole: the cautions that it is the first of its season to need
        served: whether its entry leads to the bench page, where it is logged: then it names no command
        standing: which lots stand where; without it each look names its lots
    """
    head = [first_line(each)]
    head += [warning_text(warning, each.day) for warning in each.makes_up]
    head += [forced_text(each.forced, each.day)] if each.forced else []
    head += [part_text(each)] if each.is_part else []
    for place in by_place(each, standing or Standing(())):
        asked = (*place.jobs, *one_by_one(place.looks))
        head.append("\n".join([place.title, *map(_asked, asked)]))
    hows = _hows(each, served=served)
    longest = max((len(rule_of_line(line).checklist) for line in each.lines if line.look), default=0)
    names = cautions_of_round(each, book, protected)
    tail = [cautions_in_entry(names, whole, book)] if names else []
    tail += [] if served else ["\n".join(_log_looks(each))]
    more = "The rest is told on the bench page." if served else f"The rest: {COMMAND} why {each.id}"

    def told_with(level: int) -> str:
        points, jobs = max(level - len(hows), 0), min(level, len(hows))
        parts = [*head, "\n".join(hows[:jobs]), "\n".join(_look_for(each, points))]
        whole_text = points >= longest and jobs == len(hows)
        return "\n\n".join(filter(None, (*parts, *tail, "" if whole_text else more)))

    return longest_that_fits(told_with, range(len(hows) + longest, -1, -1), told_whole(names, whole, book))


def title_ahead(each: Round) -> str:
    """A round some weeks off: what each lot wants then is not sure yet."""
    return "Ask someone: bench round" if each.away else "Bench round"


def text_ahead(each: Round, *, served: bool = False) -> str:
    """The same in full, in words that do not change, so that a calendar stays still where nothing is sure."""
    away = f"{_AWAY}\n\n" if each.away else ""
    sooner = "" if served else f" Sooner: {COMMAND} today --days 60"
    return (
        f"{away}Looks, and jobs that are due by then.\n\nWhat each lot wants, with its cautions, is written here in "
        f"the days before.{sooner}"
    )


def _asked(one: Asked) -> str:
    """`7a, 8a: how far the roots are`."""
    return f"{one.whom}: {small(one.what)}" if one.whom else capital(one.what)


def _hows(each: Round, *, served: bool) -> list[str]:
    """How each job is done, once for all that it is the same for, what presses most first; and how it is logged."""
    same: dict[tuple[str, str], list[Line]] = {}
    for line in sorted((line for line in each.lines if line.task is not None), key=urgency):
        rule = rule_of_line(line)
        same.setdefault((rule.title.rstrip("."), rule.how), []).append(line)
    titles = [title for title, _ in same]
    told = []
    for (title, how), lines in sorted(same.items(), key=lambda item: (urgency(item[1][0]), len(item[0][1]))):
        whom = ", ".join(dict.fromkeys(filter(None, map(about, lines))))
        named = f"{title}, {whom}" if titles.count(title) > 1 and whom else title
        log = "" if served else _log(lines)
        told.append(f"{with_sign(named, '.')} {how}{f' Log: {log}' if log else ''}".strip())
    return told


def _log(lines: list[Line]) -> str:
    """The command that logs a job of all its lots."""
    [first, *others] = [line.task for line in lines if line.task is not None]
    lots = list(dict.fromkeys(lot for line in lines if line.task for lot in line.task.lots))
    if not others or first.counted_from == "planned" or first.rule.scope != "lot":
        return how_to_log_task(first)
    return how_to_log(rule_of_line(lines[0]), lots)


def _look_for(each: Round, points: int) -> list[str]:
    """What each kind of look looks for, in so many points."""
    looks = {rule.title: rule for line in each.lines if line.look for rule in [rule_of_line(line)]}
    told = [f"{title.rstrip('?')}? {'; '.join(rule.checklist[:points])}" for title, rule in looks.items()]
    return told if points and any(rule.checklist for rule in looks.values()) else []


def _log_looks(each: Round) -> list[str]:
    """How to log that all was looked through, well: bin by bin, and the lots that stand elsewhere."""
    bins = dict.fromkeys(line.bin for line in each.lines if line.look and line.bin)
    lots = dict.fromkeys(line.lot for line in each.lines if line.look and not line.bin)
    places = [f"--bin {name}" for name in bins] + ([" ".join(lots)] if lots else [])
    if not places:
        return []
    first, *others = places
    then = f"; then {', '.join(others)}" if others else ""
    but = ["Not all? Add --except LOT to its bin, then log what that lot has."] if bins else []
    return [f"All well? {COMMAND} log looked {first}{then}", *but]
