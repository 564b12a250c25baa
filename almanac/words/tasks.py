"""A task as a title, a reason and a text: for calendar, terminal and page alike. Pure."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping
from datetime import date
from math import ceil

from almanac.nursery.events import EVENTS, Stage
from almanac.plan.agenda.cautioned import cautions_of_task
from almanac.plan.model import Line, Look, Round, Task
from almanac.plan.wood.cuts import Taking
from almanac.rulebook.book import Rulebook
from almanac.rulebook.models import TaskRule
from almanac.words.dates import day, span, weekday
from almanac.words.derivation import rule_of, rule_of_line
from almanac.words.lots import named
from almanac.words.milestones import anchor, told, waits_for_frost
from almanac.words.sentences import with_sign
from almanac.words.wood import of_number

COMMAND = "stickdate"
LOCK_SCREEN = 40  # letters of a line that a locked phone shows
ENTRY = 1500  # letters of an entry that is read to its end; cautions may make it longer


def title(task: Task) -> str:
    """What to do and for whom, short enough for a phone: `Pot up: 7a (9)`."""
    what, whom = what_and_whom(task)
    return f"{with_sign(what, ':')} {whom}" if whom else what


def what_and_whom(task: Task) -> tuple[str, str]:
    """The two halves of its title, the latter empty where the first says of what: `Pot up` and `7a (9)`."""
    what = rule_of(task).title
    if task.counted_from == "planned":
        return what, of_number(task.count, task.lots[0])
    if (whole := of_no_lots(task)) is not None:
        return what, whole
    if task.to_come:
        return what, f"{named(task.lots, 4)} (planned)"
    some = ready(task)
    number = counted(task.count, stage_of(task), some) if some else f"{task.count}"
    told_count = f" ({number})" if task.count and task.rule.kind == "window" and len(task.lots) == 1 else ""
    lots, whom = named(task.lots, 4), named_part(named(task.lots, 4), task.part)
    fits = len(f"{what}: {whom}{told_count}") <= LOCK_SCREEN
    return what, f"{whom if fits else lots}{told_count}"


def of_no_lots(task: Task) -> str | None:
    """A bin or a crop that a task is of as a whole, empty where its title says of what; None where it is of lots."""
    scope = task.rule.scope
    if task.counted_from == "ordered" or scope == "nursery":
        return ""
    if scope == "crop" and not task.lots:
        says = isinstance(task.derivation, Taking) and bool(task.derivation.cuts)  # by its numbers
        return "" if says else task.crop.replace("_", " ")
    return f"{task.of_kind} {task.bin}" if scope == "bin" else None


def lots_of(task: Task, but: Collection[str] = ()) -> list[str]:
    """Each of whom it is, where it is named beside others like it; `but` are tasks of lots that are left out."""
    if not task.lots or task.rule.scope in ("bin", "nursery") or task.counted_from in ("planned", "ordered"):
        return list(filter(None, (what_and_whom(task)[1],)))
    lots = [lot for own in task.own if own.id not in but for lot in own.lots]
    return [f"{lot} (planned)" for lot in lots] if task.to_come else lots


def kind_of(task: Task) -> str:
    """What it is called together with others of its rule, where their titles differ by lot, day or hour alone."""
    what, whom = what_and_whom(task)
    return task.rule.listed if task.rule.listed and whom else what


def counted(count: int, stage: Stage | None, of_these: int = 0) -> str:
    """`9 cuttings`, `1 plant`, `6 of 9 cuttings`: what they are called where they stand."""
    what = f"{'plant' if stage in ('pot', 'outside') else 'cutting'}{'s' * (count != 1)}"
    return f"{of_these} of {count} {what}" if of_these else f"{count} {what}"


def stage_of(task: Task) -> Stage | None:
    """Where those a task is about stand, where one thing can be said."""
    return task.stage or task.rule.while_in


def named_part(lot: str, part: str) -> str:
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
    text = f"{_dated_by(task)}{_not_stuck(task)}{text}{waiting(task)}"
    if rule.kind == "deadline":
        return f"{text} Last day {weekday(task.due, near)}."
    if task.earliest == task.latest:
        return text
    return f"{text} To be done {span(task.earliest, task.latest, near)}."


def _not_stuck(task: Task) -> str:
    return f"Not stuck yet: {task.count} planned, dates as if they were stuck on their day. " if task.to_come else ""


def waiting(task: Task) -> str:
    """What must be done, and logged, before there is anything to do: ` Waits for potting up.`"""
    lots = [lot for own in task.own if own.waits_for for lot in own.lots]
    if not lots:
        return ""
    some = "" if len(lots) == len(task.lots) else f" {', '.join(lots)}"
    return f" Waits for potting up, not logged yet: only if{some} potted by then."


def _dated_by(task: Task) -> str:
    """Which lot's day an entry that several share has, where their days differ."""
    if len({own.due for own in task.own}) == 1:
        return ""
    last = (min if task.rule.kind == "deadline" else max)(task.own, key=lambda own: (own.due, own.earliest))
    return f"{', '.join(last.lots)} dates it. "


def reason_in_entry(task: Task, as_of: date) -> str:
    """The same for a calendar: of what hangs on a forecast without the days that change with every look.

    `why`, lots and page tell those.
    """
    if not task.guessed or waits_for_frost(task.milestone):
        return reason(task, as_of)
    counted = f"Counted from {anchor(task.counted_from, task.milestone)}, not logged yet: a forecast, which may move."
    return f"{_not_stuck(task)}{counted}{waiting(task)}"


def latest_days(task: Task) -> str:
    """Each lot of an entry that several share with its own latest day: `By 14 Mar: 7a, 7b. By 20 Mar: 8a.`"""
    by_day: dict[date, list[str]] = {}
    for own in sorted(task.own, key=lambda own: own.latest):
        by_day.setdefault(own.latest, []).extend(own.lots)
    return "\n".join(f"By {day(latest, task.due)}: {', '.join(lots)}." for latest, lots in by_day.items())


def event_of(rule: TaskRule) -> str:
    """The event that logs it; empty where none does."""
    return rule.logged_as if rule.logged_as in EVENTS else ""


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
    return how_to_log(rule_of(task), task.lots, task.bin, ready(task))


def ready(task: Task) -> int:
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


def told_whole(names: Iterable[str], whole: Collection[str], book: Rulebook) -> int:
    """How many letters cautions told whole take more than their lines would."""
    return sum(len(book.cautions[name].text) - len(book.cautions[name].short) for name in names if name in whole)


def text(
    task: Task,
    book: Rulebook,
    as_of: date,
    whole: Collection[str] = (),
    *,
    varieties: Mapping[str, str] | None = None,
    served: bool = False,
) -> str:
    """The whole of a task for a calendar entry: how, what to look at, why, cautions, how to log it.

    Args:
        task: one with an entry of its own
        book: whose cautions it names
        as_of: today
        whole: the cautions that it is the first of its season to need
        varieties: by lot the variety's name, to be told with it
        served: whether the entry leads to the bench page, where it is logged: then it names no command
    """
    rule = rule_of(task)
    head = [rule.how] if rule.how else []
    some = ready(task) if rule.logged_as == "potted" else 0
    if 0 < some < task.count:
        head.append(f"Ready: {some} of {task.count}. The other {task.count - some} stay in their bags.")
    told_lots = _lots_told(task, varieties or {})
    days = [latest_days(task)] if len(task.own) > 1 and not task.guessed else []
    by_id = f"For {', '.join(task.lots)}." if task.guessed and len(task.own) > 1 else ""
    tail = []
    if task.protected and rule.multiplies:
        tail.append(f"Protected: {', '.join(task.protected)} may not be multiplied or sold without the holder's leave.")
    tail.append(f"Why: {reason_in_entry(task, as_of)}")
    names = cautions_of_task(task, book)
    tail += [cautions_in_entry(names, whole, book)] if names else []
    if not served:
        log = how_to_log_task(task)
        more = f"{'Whole cautions' if names else 'More'}: {COMMAND} why {task.id}"
        tail.append("\n".join(filter(None, (log and f"Log it: {log}", more))))

    def told_with(points: int) -> str:
        checks = "\n".join(f"- {item}" for item in rule.checklist[: max(points, 0)])
        lots = by_id if points < 0 else told_lots or by_id  # names of varieties are what is left out last
        return "\n\n".join(filter(None, (*head, checks, *days, lots, *tail)))

    return longest_that_fits(told_with, range(len(rule.checklist), -2, -1), told_whole(names, whole, book))


def longest_that_fits(told_with: Callable[[int], str], levels: Iterable[int], more: int = 0) -> str:
    """The first level that an entry has room for; the last one where none is short enough.

    `more` letters are allowed it for cautions that it tells whole: these push out nothing of what is to do.
    """
    text = ""
    for level in levels:
        text = told_with(level)
        if len(text) <= ENTRY + more:
            break
    return text


def _lots_told(task: Task, varieties: Mapping[str, str]) -> str:
    """`2b Blue Ladder, 6b Copper Kettle.`"""
    told = [f"{lot} {varieties[lot]}" for lot in task.lots if varieties.get(lot)]
    return f"{', '.join(told)}." if told else ""


def pressing(rule: TaskRule) -> bool:
    """Whether a task is of a trouble, or a treatment: what spreads if it waits."""
    return rule.kind == "treat" or (rule.after in EVENTS and EVENTS[rule.after].kind == "trouble")


def minutes(each: Round) -> int:
    """How long a round takes, to the next five minutes."""
    return max(5, 5 * ceil(each.minutes / 5))


def line_title(line: Line, round_day: date) -> str:
    """What a line of a round is, in a few words, without the lot it is about."""
    title = rule_of_line(line).title
    if line.late_since is not None and line.task is not None:
        if line.late_since < round_day:
            return f"still to do: {title.lower()} (late since {day(line.late_since, round_day)})"
        last = "last day" if line.late_since == round_day else f"by {day(line.late_since, round_day)}"
        return f"{title.rstrip('.')} ({last})"
    if line.look:
        return title
    return f"{title.rstrip('.?')}, only if potted" if line.task and line.task.waits_for else title.rstrip(".")


def about(line: Line) -> str:
    """The lots a line of a round is about; nothing where it is the whole bin."""
    if line.task is not None and line.task.counted_from == "planned":
        return of_number(line.task.count, line.task.lots[0])
    if line.lot or line.task is None or line.rule.scope == "bin":
        return named_part(line.lot, line.part)
    return named_part(", ".join(line.task.lots), line.part)


def lots_of_line(line: Line) -> tuple[str, ...]:
    """The lots a line is about, one by one; none where it is about a whole bin."""
    return (line.lot,) if line.lot else line.task.lots if line.task and line.rule.scope != "bin" else ()


def look_reason(look: Look, as_of: date) -> str:
    """Why a lot is looked at."""
    text = told(look.counted_from, look.milestone, look.start, as_of, as_of)
    if look.longest_days > look.every_days:
        wished = f"wished every {look.every_days} days, {look.longest_days} at most for a bench day"
        return f"{text} A look is {wished}; sooner does no harm."
    return f"{text} A look at least every {look.every_days} days; sooner does no harm."
