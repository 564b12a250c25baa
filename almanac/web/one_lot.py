"""One lot as its page shows it: what is next and why, what was seen and is expected, each entry's reasons. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date

from almanac.actions.look import Reading
from almanac.forecast.model import Milestone
from almanac.nursery.lots import Lot
from almanac.plain import dataclass
from almanac.plan.ids import EntryId
from almanac.plan.model import Plan
from almanac.web.bench import Card
from almanac.words.dates import weekday
from almanac.words.milestones import arithmetic, forecast
from almanac.words.tasks import title
from almanac.words.why import Answer, conditions, of_look, of_task, worked_out


@dataclass(frozen=True, kw_only=True)
class Reason:
    """Why an entry of a lot says its day."""

    id: EntryId
    title: str
    day: str
    why: str
    steps: tuple[str, ...]
    how: str
    checklist: tuple[str, ...]
    source: str


@dataclass(frozen=True, kw_only=True)
class Mark:
    """A milestone of a lot: what is known or expected, and how that was worked out."""

    title: str
    text: str
    steps: tuple[str, ...]
    known: bool


@dataclass(frozen=True, kw_only=True)
class Ahead:
    """What comes next of a lot: what, when, why that day and how; and when it is looked at again."""

    look: str
    what: str = ""
    when: str = ""
    why: str = ""
    how: str = ""


def ahead_of(reading: Reading, card: Card, reasons: Sequence[Reason]) -> Ahead:
    """What is next of a lot, and why: what is asked today, else the first of its entries, else the next look at it."""
    plan, lot = reading.plan, card.lot
    following = next((each.day for each in plan.rounds if each.day > plan.as_of and lot.id in each.lots), None)
    look = f"Next look {weekday(following, plan.as_of)}." if following else ""
    by_id = {str(reason.id): reason for reason in reasons}
    left = [item for item in card.due if not (card.looked and item.event == "looked")]
    if left:
        first = left[0]
        when = f"{'late, ' if first.late else ''}{first.when}" if first.when else "today"
        why = by_id[first.id].why if first.id in by_id else ""
        return Ahead(what=first.title, when=when, why=why, how=first.how, look=look)
    days = {task.id: task.due for task in plan.tasks if task.due >= plan.as_of}
    dated = [(days[reason.id], number) for number, reason in enumerate(reasons) if reason.id in days]
    if dated:
        reason = reasons[min(dated)[1]]
        return Ahead(what=reason.title, when=reason.day, why=reason.why, look=look)
    return Ahead(look=look)


def marks_of(reading: Reading, lot: Lot) -> list[Mark]:
    system, as_of = reading.nursery.units, reading.plan.as_of
    return [
        Mark(
            title=each.title,
            text=_known_or_likely(each, as_of),
            steps=tuple(arithmetic(each, system, as_of)),
            known=each.known is not None,
        )
        for each in reading.plan.milestones[lot.id].values()
    ]


def reasons_of(reading: Reading, lot: Lot) -> list[Reason]:
    """Why each entry about a lot says the day it says: of one that several share, this lot's own part in it."""
    plan = reading.plan
    found = {answer.shared.id if answer.shared else answer.id: answer for answer in _answers(plan, lot)}
    return [_reason(reading, name, answer) for name, answer in found.items()]


def _answers(plan: Plan, lot: Lot) -> Iterator[Answer]:
    for task in plan.tasks:
        own = next((each for each in task.own if lot.id in each.lots), None)
        if own is not None:
            yield of_task(own, plan.as_of, shared=task if len(task.parts) > 1 else None)
    yield from (of_look(look, plan.as_of) for look in plan.looks if look.lot == lot.id)


def _known_or_likely(milestone: Milestone, as_of: date) -> str:
    """A day that was logged, or one that is likely: on the page the milestone's name alone would tell both alike."""
    text = forecast(milestone, as_of)
    dated = milestone.known is None and milestone.shown(as_of) is not None and not milestone.overdue(as_of)
    return f"likely {text}" if dated else text


def _reason(reading: Reading, name: EntryId, answer: Answer) -> Reason:
    nursery, rule, shared = reading.nursery, answer.rule, answer.shared
    steps = (*worked_out(answer, nursery.units), *conditions(answer, nursery))
    source = str(nursery.book.sources[rule.source]) if rule else ""
    how, checklist = (rule.how, tuple(rule.checklist)) if rule else ("", ())
    headline, day = answer.headline, answer.day
    if shared:  # as the calendar has it
        headline, day = title(shared), weekday(shared.due, reading.plan.as_of)
    return Reason(
        id=name, title=headline, day=day, why=answer.why, steps=steps, how=how, checklist=checklist, source=source
    )
