"""From a reading to what the bench page shows: today by bin, one lot, the week, what is for sale. Pure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta

from almanac.actions.first_steps import next_step
from almanac.actions.look import Reading
from almanac.faults import Refusal
from almanac.forecast.model import Milestone
from almanac.nursery.events import EVENTS
from almanac.nursery.lots import Lot
from almanac.plan.model import Line, Plan, Round, Task
from almanac.units import temperature
from almanac.web.choices import ButtonGroup, bin_choices, choices, stages_of
from almanac.words.dates import day, weekday
from almanac.words.derivation import rule_of, rule_of_line
from almanac.words.faults import page_text
from almanac.words.lots import next_words, place_and_count, status
from almanac.words.milestones import arithmetic, forecast
from almanac.words.overdue import overdue
from almanac.words.tasks import about, minutes, title
from almanac.words.warnings import AWAY_ON_PAGE, near_warnings, warning_text
from almanac.words.why import conditions, find, worked_out

_DAYS = 7


@dataclass(frozen=True)
class Due:
    """One thing to look for or do; `late` says that its day has passed."""

    id: str
    title: str
    how: str
    checklist: tuple[str, ...] = ()
    when: str = ""
    late: bool = False
    event: str = ""
    lots: str = ""


@dataclass(frozen=True)
class Card:
    """One lot on the bench, with what is due of it and what can be logged."""

    lot: Lot
    name: str
    where: str
    going: str
    coming: str
    due: tuple[Due, ...]
    groups: tuple[ButtonGroup, ...]
    stages: tuple[str, ...]
    looked: bool


@dataclass(frozen=True)
class BenchPlace:
    """A bin, or where `bin` is empty all that stands elsewhere and is due today."""

    bin: str
    title: str
    warmth: str
    due: tuple[Due, ...]
    cards: tuple[Card, ...]
    group: ButtonGroup | None
    troubles: tuple[str, ...]
    looked: bool


@dataclass(frozen=True)
class Bench:
    """Today, as the page shows it."""

    headline: str
    places: tuple[BenchPlace, ...]
    others: tuple[Card, ...]
    open: tuple[Due, ...]
    overdue: tuple[str, ...]
    warnings: tuple[str, ...]
    next_step: str = ""


@dataclass(frozen=True)
class Reason:
    """Why an entry of a lot says its day."""

    id: str
    title: str
    day: str
    why: str
    steps: tuple[str, ...]
    how: str
    checklist: tuple[str, ...]
    source: str


@dataclass(frozen=True)
class Mark:
    """A milestone of a lot: what is known or expected, and how that was worked out."""

    title: str
    text: str
    steps: tuple[str, ...]


def bench_of(reading: Reading) -> Bench:
    """Today's round by bin, every other lot after it."""
    plan, stock = reading.plan, reading.nursery.stock
    today = next((each for each in plan.rounds if each.day == plan.as_of), None)
    lines = today.lines if today else ()
    open_lots = [lot for lot in stock.lots.values() if not lot.closed]
    elsewhere = {name for line in lines if not line.bin for name in _lots_of(line)}
    places = [_bin(reading, item.name, lines, open_lots) for item in reading.nursery.settings.places]
    stand = [card_of(reading, lot, lines) for lot in open_lots if not lot.bin]
    here = [card for card in stand if card.lot.id in elsewhere]
    jobs = tuple(_of_line(line, plan) for line in lines if not line.bin and not _lots_of(line))
    if here or jobs:
        places.append(BenchPlace("", "Elsewhere", "", jobs, tuple(here), None, (), all(card.looked for card in here)))
    return Bench(
        _headline(plan, today),
        tuple(place for place in places if place.cards or place.due),
        tuple(card for card in stand if card.lot.id not in elsewhere),
        tuple(_of_task(task, plan) for task in plan.windows_open() if task.rule.scope != "bin"),
        tuple(f"{each.title}, {each.since}" for each in overdue(plan)),
        tuple(warning_text(warning, plan.as_of, AWAY_ON_PAGE) for warning in near_warnings(plan, 14)),
        page_text(step) if (step := next_step(reading.nursery, by_phone=True)) else "",
    )


def card_of(reading: Reading, lot: Lot, lines: Sequence[Line] = ()) -> Card:
    """One lot, with the lines of today's round that are about it."""
    plan, nursery = reading.plan, reading.nursery
    found = plan.milestones[lot.id]
    due = [_of_line(line, plan) for line in lines if lot.id in _lots_of(line)]
    due += [_of_task(task, plan, of_lot=True) for task in plan.windows_open() if _is_about(task, lot)]
    names = [item.event for item in due] + _coming(found)
    log, past, rest = nursery.stock.bins.get(lot.bin), plan.past_range.get(lot.id), plan.at_rest.get(lot.id)
    groups = choices(lot, names, len(nursery.settings.places), log.troubles if log else ())
    return Card(
        lot,
        nursery.varieties[lot.number].name,
        place_and_count(lot, rest, plan.as_of),
        status(lot, found, plan.as_of, past, rest),
        next_words(lot, found, plan.as_of, past, rest),
        tuple(due),
        tuple(groups),
        tuple(stages_of(lot)),
        lot.looked == plan.as_of,
    )


def marks_of(reading: Reading, lot: Lot) -> list[Mark]:
    """The milestones of a lot."""
    system, as_of = reading.nursery.settings.nursery.units, reading.plan.as_of
    found = reading.plan.milestones[lot.id].values()
    return [Mark(each.title, forecast(each, as_of), tuple(arithmetic(each, system, as_of))) for each in found]


def reasons_of(reading: Reading, lot: Lot) -> list[Reason]:
    """Why each entry about a lot says the day it says."""
    plan = reading.plan
    names = [own.id for task in plan.tasks for own in task.own if lot.id in own.lots]
    names += [look.id for look in plan.looks if look.lot == lot.id]
    return [_reason(reading, name) for name in dict.fromkeys(names)]


def week_of(reading: Reading) -> list[tuple[str, list[Due]]]:
    """The next seven days, each with what falls on it."""
    plan = reading.plan
    found = []
    for number in range(_DAYS):
        when = plan.as_of + timedelta(days=number)
        items = [_of_round(each) for each in plan.rounds if each.day == when]
        items += [_of_task(task, plan) for task in plan.tasks if not task.in_round and task.due == when]
        found.append(("Today" if number == 0 else weekday(when, plan.as_of), items))
    return found


def _bin(reading: Reading, name: str, lines: Sequence[Line], lots: Sequence[Lot]) -> BenchPlace:
    plan, log = reading.plan, reading.nursery.stock.bins[name]
    cards = [card_of(reading, lot, lines) for lot in lots if lot.bin == name]
    of_bin = [_of_line(line, plan) for line in lines if line.bin == name and not _lots_of(line)]
    of_bin += [_of_task(task, plan) for task in plan.windows_open() if task.bin == name and task.rule.scope == "bin"]
    warmth = temperature(log.base_c[-1][1], reading.nursery.settings.nursery.units)
    looked = bool(cards) and all(card.looked for card in cards)
    troubles = tuple(label.replace("_", " ") for label in log.troubles)
    return BenchPlace(
        name, f"Bin {name}", warmth, tuple(of_bin), tuple(cards), bin_choices(log.troubles), troubles, looked
    )


def _is_about(task: Task, lot: Lot) -> bool:
    return lot.id in task.lots and task.rule.scope == "lot"


def _coming(found: Mapping[str, Milestone]) -> list[str]:
    """The milestones expected next, the first in front."""
    waiting = [each for each in found.values() if each.known is None and each.days]
    return [each.name for each in sorted(waiting, key=lambda each: (each.often_missed, each.days or ()))]


def _headline(plan: Plan, today: Round | None) -> str:
    if today is None:
        following = next((each.day for each in plan.rounds if each.day > plan.as_of), None)
        return "No round today" + (f"; the next is {weekday(following, plan.as_of)}" if following else "")
    return "Round done" if today.done else f"Round, about {minutes(today)} min"


def _lots_of(line: Line) -> tuple[str, ...]:
    return (line.lot,) if line.lot else line.task.lots if line.task and line.rule.scope != "bin" else ()


def _of_line(line: Line, plan: Plan) -> Due:
    rule = rule_of_line(line)
    late = line.late_since is not None and line.late_since < plan.as_of
    when = f"by {day(line.late_since, plan.as_of)}" if line.late_since else ""
    event = rule.logged_as if rule.logged_as in EVENTS else ""
    return Due(line.id, rule.title, rule.how, tuple(rule.checklist), when, late, event, about(line))


def _of_task(task: Task, plan: Plan, *, of_lot: bool = False) -> Due:
    rule, late = rule_of(task), task.latest < plan.as_of
    when = f"by {day(task.latest, plan.as_of)}"
    event = rule.logged_as if rule.logged_as in EVENTS else ""
    said = rule.title if of_lot else title(task)
    return Due(task.id, said, rule.how, tuple(rule.checklist), when, late, event, ", ".join(task.lots))


def _of_round(each: Round) -> Due:
    lots = ", ".join(each.lots)
    return Due(each.id, f"Bench round, {minutes(each)} min", "", (), "", False, "", lots)


def _reason(reading: Reading, name: str) -> Reason:
    nursery, plan = reading.nursery, reading.plan
    try:
        answer = find(name, plan)
    except Refusal:  # pragma: no cover  # the names come from the plan itself
        return Reason(name, name, "", "", (), "", (), "")
    rule = answer.rule
    steps = (*worked_out(answer, nursery.settings.nursery.units), *conditions(answer, nursery))
    source = str(nursery.book.sources[rule.source]) if rule else ""
    how, checklist = (rule.how, tuple(rule.checklist)) if rule else ("", ())
    return Reason(answer.id, answer.headline, answer.day, answer.why, steps, how, checklist, source)
