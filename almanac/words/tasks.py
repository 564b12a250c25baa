"""A task or a round as a title, a reason and a text: for calendar, terminal and page alike. Pure."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from datetime import date
from itertools import groupby
from math import ceil

from almanac.nursery.events import EVENTS
from almanac.plan.agenda.cautioned import cautions_of_round, cautions_of_task
from almanac.plan.model import Line, Look, Round, Task
from almanac.plan.wood.cuts import Taking
from almanac.rulebook.book import Rulebook
from almanac.rulebook.models import TaskRule
from almanac.words.dates import day, span, weekday
from almanac.words.derivation import rule_of, rule_of_line
from almanac.words.lots import bins_named, named
from almanac.words.milestones import told
from almanac.words.warnings import forced_text, part_text, warning_text

COMMAND = "stickdate"
LOCK_SCREEN = 40  # letters of a line that a locked phone shows


def title(task: Task) -> str:
    """What to do and for whom, short enough for a phone: `Pot up: 7a (9)`."""
    return ": ".join(filter(None, what_and_whom(task)))


def what_and_whom(task: Task) -> tuple[str, str]:
    """The two halves of its title, the latter empty where the first says of what: `Pot up` and `7a (9)`."""
    what = rule_of(task).title
    if task.counted_from == "ordered":
        return what, ""
    if task.counted_from == "planned":
        return what, f"{task.count} of {task.lots[0]}"
    if task.rule.scope == "nursery":
        return what, ""
    if task.rule.scope == "crop" and not task.lots:
        if isinstance(task.derivation, Taking) and task.derivation.cuts:
            return what, ""  # its numbers say of what
        return what, task.crop.replace("_", " ")
    if task.rule.scope == "bin":
        return what, f"bin {task.bin}"
    if task.to_come:
        return what, f"{named(task.lots, 4)} (planned)"
    ready = _ready(task)
    number = f"{ready} of {task.count}" if ready else f"{task.count}"
    counted = f" ({number})" if task.count and task.rule.kind == "window" and len(task.lots) == 1 else ""
    lots, whom = named(task.lots, 4), _with_part(named(task.lots, 4), task.part)
    fits = len(f"{what}: {whom}{counted}") <= LOCK_SCREEN
    return what, f"{whom if fits else lots}{counted}"


def _with_part(lot: str, part: str) -> str:
    """A lot, and which part of it is meant where it stands in several places: `7a in bags`, `7a outside`."""
    if not lot or not part:
        return lot
    return f"{lot} outside" if part == "outside" else f"{lot} in {part}s"


def reason(task: Task, as_of: date) -> str:
    """Why this day: what it counts from, and the days between which it may be done."""
    near = task.due
    rule = task.rule
    if task.rule.overdue and task.milestone and task.milestone.overdue_on:
        since = day(task.milestone.overdue_on, near)
        return f"{task.milestone.title} not logged; 95 lots in 100 would have shown it by {since}."
    text = told(task.counted_from, task.milestone, task.since, near, as_of)
    if task.to_come:
        text = f"Not stuck yet: {task.count} planned, dates as if they were stuck on their day. {text}"
    if len(task.own) > 1:
        last = (min if rule.kind == "deadline" else max)(task.own, key=lambda own: (own.due, own.earliest))
        text = f"{', '.join(last.lots)} dates it. {text}"
    if rule.kind == "deadline":
        return f"{text} Last day {weekday(task.due, near)}."
    if task.earliest == task.latest:
        return text
    return f"{text} To be done {span(task.earliest, task.latest, near)}."


def latest_days(task: Task) -> str:
    """Each lot of an entry that several share with its own latest day: `By 14 Mar: 7a, 7b. By 20 Mar: 8a.`"""
    by_day: dict[date, list[str]] = {}
    for own in sorted(task.own, key=lambda own: own.latest):
        by_day.setdefault(own.latest, []).extend(own.lots)
    return "\n".join(f"By {day(latest, task.due)}: {', '.join(lots)}." for latest, lots in by_day.items())


def how_to_log(rule: TaskRule, lots: Iterable[str], bin_name: str = "", count: int = 0) -> str:
    """The command that logs it, empty where nothing hangs on its being logged."""
    if rule.logged_as in ("", "noted"):
        return ""
    named_lots = list(lots)
    one_by_one = rule.log_counts and len(named_lots) > 1
    about = "LOT" if one_by_one or not named_lots else " ".join(named_lots)
    if rule.scope == "bin":
        about = f"--bin {bin_name}"
    return f"{COMMAND} {rule.log_of(about, count)}"


def how_to_log_task(task: Task) -> str:
    """The command that logs a task as done; for a lot to come it names the row that planned it."""
    if task.counted_from == "ordered":
        return f"{COMMAND} order --ship {task.own[0].id.about}"
    if task.counted_from == "planned":
        where = f" --bin {task.bin}" if task.bin else ""
        return f"{COMMAND} log stuck {task.lots[0]} --count {task.count}{where} --refers {task.own[0].id.about}"
    return how_to_log(rule_of(task), task.lots, task.bin, _ready(task))


def _ready(task: Task) -> int:
    """How many of a lot showed what its task counts from; 0 where nobody counted, or the lot is not what it was."""
    showing = task.milestone.showing if task.milestone and len(task.lots) == 1 else None
    return showing.count if showing and showing.of == task.count else 0


def cautions(names: Iterable[str], book: Rulebook) -> list[str]:
    """Each caution's whole text, once, in the order first named, and who has the last word."""
    texts = [book.cautions[name].text for name in dict.fromkeys(names)]
    return [*texts, book.closing] if texts else []


def cautions_in_entry(names: Iterable[str], whole: Collection[str], book: Rulebook) -> str:
    """Each caution in one line, those that the entry is the first to need whole; and who has the last word."""
    lines = [f"! {book.cautions[name].text if name in whole else book.cautions[name].short}" for name in names]
    return "\n".join([*lines, book.closing])


def text(task: Task, book: Rulebook, as_of: date, whole: Collection[str] = ()) -> str:
    """The whole of a task for a calendar entry: how, what to look at, why, cautions, how to log it.

    `whole` are the cautions that it is the first of its season to need.
    """
    rule = rule_of(task)
    parts = [rule.how] if rule.how else []
    ready = _ready(task) if rule.logged_as == "potted" else 0
    if 0 < ready < task.count:
        parts.append(f"Ready: {ready} of {task.count}. The other {task.count - ready} stay in their bags.")
    if rule.checklist:
        parts.append("\n".join(f"- {item}" for item in rule.checklist))
    if len(task.own) > 1:
        parts.append(latest_days(task))
    if task.protected and rule.multiplies:
        parts.append(
            f"Protected: {', '.join(task.protected)} may not be multiplied or sold without the holder's leave."
        )
    parts.append(f"Why: {reason(task, as_of)}")
    names = cautions_of_task(task, book)
    parts += [cautions_in_entry(names, whole, book)] if names else []
    log = how_to_log_task(task)
    parts.append(
        "\n".join(
            line
            for line in (log and f"Log it: {log}", f"{'Whole cautions' if names else 'More'}: {COMMAND} why {task.id}")
            if line
        )
    )
    return "\n\n".join(parts)


def pressing(rule: TaskRule) -> bool:
    """Whether a task is of a trouble, or a treatment: what spreads if it waits."""
    return rule.kind == "treat" or (rule.after in EVENTS and EVENTS[rule.after].kind == "trouble")


def round_title(each: Round) -> str:
    """`Take out rotten sticks 5a +4 jobs, 40 min`: what a locked phone shows, so what presses most comes first.

    A round of looks alone names its bins. One on a day away says first that someone must be asked.
    """
    head, tail = "Ask someone: " if each.away else "", f", {minutes(each)} min"
    jobs = _jobs(each)
    if not jobs:
        return f"{head or 'Bench: '}{_where(each, LOCK_SCREEN - len(head or 'Bench: ') - len(tail))}{tail}"
    named_jobs = [(f"{what} {named(list(whom), 3)}".rstrip(), what) for what, whom in jobs]

    def whole(said: list[str], tail: str = tail) -> str:
        lower = [words[:1].lower() + words[1:] for words in said[1:]]
        return f"{head}{', '.join([*said[:1], *lower])}{_others(each, len(jobs) - len(said))}{tail}"

    # What and for whom before how long; then as many more as there is room for.
    first = [(words, end) for words in named_jobs[0] for end in (tail, "") if len(whole([words], end)) <= LOCK_SCREEN]
    if not first:
        alone = f"{head}{named_jobs[0][1]}"
        counted = f"{head}{len(jobs)} job{'s' * (len(jobs) > 1)}{_others(each, 0)}"
        return alone if len(alone) <= LOCK_SCREEN else counted
    said, tail = [first[0][0]], first[0][1]
    for names in named_jobs[1:]:
        more = next((words for words in names if len(whole([*said, words], tail)) <= LOCK_SCREEN), "")
        if not more:
            break
        said.append(more)
    return whole(said, tail)


def _jobs(each: Round) -> list[tuple[str, dict[str, None]]]:
    """What is more than a look and whom it is for: troubles and treatments first, then what is late."""
    found: dict[str, dict[str, None]] = {}
    lines = [line for line in each.lines if line.task is not None]
    titles = {str(line.id): rule_of_line(line).title.rstrip("?.") for line in lines}

    def rank(line: Line) -> tuple[bool, bool, int]:
        return not pressing(line.rule), line.late_since is None, len(titles[str(line.id)])

    for line in sorted(lines, key=rank):  # among equals the shortest, so that more can be said
        whom = found.setdefault(titles[str(line.id)], {})
        whom |= dict.fromkeys(filter(None, [about(line) or line.bin]))
    return list(found.items())


def _others(each: Round, jobs: int) -> str:
    """` +4 jobs`, or how many looks there are besides."""
    looks = len({line.lot or line.bin for line in each.lines if line.look is not None})
    for number, word in ((jobs, "job"), (looks, "look")):
        if number:
            return f" +{number} {word}{'s' * (number > 1)}"
    return ""


def _where(each: Round, most: int) -> str:
    """`bins A, B, 9 lots`, the bins counted where they are many."""
    bins, count = list(dict.fromkeys(line.bin for line in each.lines if line.bin)), len(each.lots)
    lots = [f"{count} lot{'s' * (count != 1)}"] if count else []
    full = ", ".join([*([bins_named(bins)] if bins else []), *lots])
    return full if len(full) <= most else ", ".join([*([f"{len(bins)} bins"] if len(bins) > 1 else []), *lots])


def first_line(each: Round) -> str:
    """What is more than a look, in the few words that a locked phone shows."""
    if each.away:
        return "You are away: ask someone to do this."
    if each.makes_up:
        since = min(warning.day for warning in each.makes_up)
        where = sorted({name for warning in each.makes_up for name in warning.bins})
        what = bins_named(where) if where else "some lots"
        return _short(f"Missed {weekday(since, each.day)}: {what}") or f"Missed since {weekday(since, each.day)}."
    jobs = list(dict.fromkeys(rule_of_line(line).title.rstrip("?.") for line in each.lines if line.task is not None))
    if not jobs:
        return "Looks only."
    for number in range(len(jobs), 0, -1):
        more = f" and {len(jobs) - number} more" if number < len(jobs) else ""
        if short := _short("; ".join(jobs[:number]) + more):
            return short
    return f"{len(jobs)} kinds of job besides looks."


def _short(words: str) -> str:
    return f"{words}." if len(words) < LOCK_SCREEN else ""


def minutes(each: Round) -> int:
    """How long a round takes, to the next five minutes."""
    return max(5, 5 * ceil(each.minutes / 5))


def line_title(line: Line, round_day: date) -> str:
    """What a line of a round is, in a few words, without the lot it is about."""
    title = rule_of_line(line).title
    if line.late_since is not None and line.task is not None:
        passed = line.late_since < round_day
        when = f"{'late since' if passed else 'by'} {day(line.late_since, round_day)}"
        return f"still to do: {title.lower()} ({when})"
    return title if line.look else title.rstrip("?.")


def line_text(line: Line, round_day: date) -> str:
    """The same with what to look at or how to do it."""
    rule, what = rule_of_line(line), line_title(line, round_day)
    if line.late_since is not None and line.task is not None:
        return what
    if line.look is not None:
        return f"{what.rstrip('?')}? {'; '.join(rule.checklist)}".strip()
    log = how_to_log_task(line.task) if line.task else ""
    return f"{what}. {rule.how}{f' Log: {log}' if log else ''}".strip()


def round_text(each: Round, book: Rulebook, protected: Collection[str], whole: Collection[str] = ()) -> str:
    """A whole round: by bin, then lot, each line once for all lots it is the same for; cautions once at the end.

    `protected` are the lots of protected varieties; `whole` the cautions that it is the first of its season to need.
    """
    parts = [first_line(each)]
    parts += [warning_text(warning, each.day) for warning in each.makes_up]
    parts += [forced_text(each.forced, each.day)] if each.forced else []
    parts += [part_text(each)] if each.is_part else []
    for bin_name, lines in groupby(each.lines, key=lambda line: line.bin):
        here = list(lines)
        parts.append("\n".join([f"Bin {bin_name}" if bin_name else "Elsewhere", *_told_once(here, each.day)]))
    names = cautions_of_round(each, book, protected)
    parts.append("\n".join(_log_looks(each)))
    if names:
        parts.append(cautions_in_entry(names, whole, book))
    return "\n\n".join(parts)


def _log_looks(each: Round) -> list[str]:
    """How to log that all was looked through, well: bin by bin, and the lots that stand elsewhere."""
    bins = dict.fromkeys(line.bin for line in each.lines if line.look and line.bin)
    lots = dict.fromkeys(line.lot for line in each.lines if line.look and not line.bin)
    commands = [f"--bin {name}" for name in bins] + ([" ".join(lots)] if lots else [])
    but = ["Not all? Add --except LOT to its bin, then log what that lot has."] if bins else []
    return [f"All well? {COMMAND} log looked {what}" for what in commands] + but


def about(line: Line) -> str:
    """The lots a line of a round is about; nothing where it is the whole bin."""
    if line.task is not None and line.task.counted_from == "planned":
        return f"{line.task.count} of {line.task.lots[0]}"
    if line.lot or line.task is None or line.rule.scope == "bin":
        return _with_part(line.lot, line.part)
    return _with_part(", ".join(line.task.lots), line.part)


def _told_once(lines: list[Line], round_day: date) -> list[str]:
    """Lines of one bin, those with the same words together."""
    same: dict[str, list[str]] = {}
    for line in lines:
        same.setdefault(line_text(line, round_day), []).append(about(line))
    told_lines = []
    for words, lots in same.items():
        who = ", ".join(dict.fromkeys(lot for lot in lots if lot))
        told_lines.append(f"{who}: {words}" if who else words[:1].upper() + words[1:])
    return told_lines


def look_reason(look: Look, as_of: date) -> str:
    """Why a lot is looked at."""
    text = told(look.counted_from, look.milestone, look.start, as_of, as_of)
    if look.longest_days > look.every_days:
        wished = f"wished every {look.every_days} days, {look.longest_days} at most for a bench day"
        return f"{text} A look is {wished}; sooner does no harm."
    return f"{text} A look at least every {look.every_days} days; sooner does no harm."
