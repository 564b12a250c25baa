"""Why an entry says the day it says, printed: rule, milestone, arithmetic, conditions, source. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from typing import Any

from almanac.forecast.model import Milestone
from almanac.nursery.events import EVENTS
from almanac.nursery.nursery import Nursery
from almanac.plan.agenda.cautioned import cautions_of
from almanac.plan.model import Plan
from almanac.rulebook.models import TaskRule
from almanac.terminal.encoded import Shape, band
from almanac.terminal.table import paragraph, paragraphs, table
from almanac.words.dates import span, weekday
from almanac.words.lots import named
from almanac.words.milestones import arithmetic, forecast
from almanac.words.rounds import line_text
from almanac.words.tasks import cautions, how_to_log, how_to_log_task
from almanac.words.why import Answer, Asked, conditions, worked_out


def why_text(answer: Answer, plan: Plan, nursery: Nursery) -> str:
    near, system = plan.as_of, nursery.units
    headline = answer.headline + (f", {answer.day}" if answer.day else "")
    rule = f"Rule: {answer.rule.id} ({rule_place(answer.rule.id, nursery)})" if answer.rule else ""
    lines = [*paragraph(headline), "", *paragraph(rule), *paragraph(answer.why)]
    lines += _days(answer, near)
    lines += _listed(worked_out(answer, system))
    if answer.each:
        day = answer.each.day
        lines += _listed(
            f"{line.lot or line.bin or 'all'}: {line_text(line, day)} [{line.id}]" for line in answer.each.lines
        )
    if answer.milestone:
        lines += _milestone(answer.milestone, nursery, near)
    told = conditions(answer, nursery)
    lines += ["", "Conditions", *_listed(told)] if told else []
    if answer.rule:
        lines += _what_to_do(answer, answer.rule, nursery)
    return "\n".join(lines) + "\n"


def _listed(texts: Iterable[str]) -> list[str]:
    """Each with a dash before it, indented beneath its heading."""
    return paragraphs(texts, 2, "- ")


def _days(answer: Answer, near: date) -> list[str]:
    """The task's window, that of each lot where they differ, and the entry it shares with which lots."""
    lines, task, shared = [], answer.task, answer.shared
    if task:
        lines += paragraph(f"Window: {span(task.earliest, task.latest, near)}, good day {weekday(task.due, near)}.")
        if len(task.own) > 1:
            lines += _listed(f"{', '.join(own.lots)}: {span(own.earliest, own.latest, near)}" for own in task.own)
    if shared:
        others = named([lot for lot in shared.lots if lot not in answer.lots])
        on = weekday(shared.due, near)
        lines += paragraph(f"In the calendar with {others}, on {on}: stickdate why {shared.id}")
    return lines


def _milestone(milestone: Milestone, nursery: Nursery, near: date) -> list[str]:
    """The milestone it is counted from, forecast, with the figures behind it and their source."""
    lines = ["", *paragraph(f"{milestone.title}: {forecast(milestone, near)}")]
    lines += _listed(arithmetic(milestone, nursery.units, near))
    if milestone.basis:
        duration = milestone.basis.duration
        lines += _listed([f"Source: {nursery.book.sources[duration.source]}. {duration.note}".strip()])
    return lines


def _what_to_do(answer: Answer, rule: TaskRule, nursery: Nursery) -> list[str]:
    """How it is done, what is looked at, the cautions, the source, and how to log it."""
    lines = ["", *paragraph(rule.how)] if rule.how else []
    lines += _listed(rule.checklist)
    crop = nursery.book.crops.get(answer.task.crop) if answer.task else None
    for text in cautions(cautions_of(rule, protected=answer.protected, crop=crop), nursery.book):
        lines += ["", *paragraph(text)]
    lines += ["", *paragraph(f"Source: {nursery.book.sources[rule.source]}")]
    log = how_to_log_task(answer.task) if answer.task else how_to_log(rule, answer.lots, answer.bin)
    return lines + (paragraph(f"Log it: {log}") if log else [])


def askable_text(lot: str, asked: Sequence[Asked], nursery: Nursery) -> str:
    """What can be asked of a lot, as it is typed."""
    variety = nursery.varieties[nursery.stock.lots[lot].number].name
    rows = [(f"why {each.id}", each.title, each.day) for each in asked]
    return "\n".join([f"{lot}, {variety}: ask one of these.", *table(rows, indent=2)]) + "\n"


def askable_json(lot: str, asked: Sequence[Asked]) -> dict[str, Any]:
    return {"lot": lot, "ids": _ASKED(asked)}


_ASKED = Shape(Asked, "id title day")


def rule_place(rule_id: str, nursery: Nursery) -> str:
    """The files a rule comes from, the grower's own last."""
    document = nursery.book.tasks()[rule_id][1]
    return ", ".join(nursery.book.files.get(document, (document,)))


def why_json(answer: Answer, plan: Plan, nursery: Nursery) -> dict[str, Any]:
    milestone = answer.milestone
    if milestone:
        counted = {"milestone": milestone.name, "logged": milestone.logged is not None}
        shown = milestone.shown(plan.as_of) or (None, None, None)
        counted |= {"date": milestone.known} if milestone.known else band(shown)
    else:
        counted = {"milestone": answer.counted_from or None, "logged": answer.counted_from in EVENTS}
        counted |= {"date": answer.since} if answer.since else {}
    told = ([answer.why] if answer.why else []) + worked_out(answer, nursery.units)
    told += arithmetic(milestone, nursery.units, plan.as_of) if milestone else []
    basis = milestone.basis if milestone else None
    key = answer.rule.source if answer.rule else basis.duration.source if basis else None
    return {
        "id": answer.id,
        "rule": answer.rule.id if answer.rule else None,
        "lots": answer.lots,
        "from": counted,
        "arithmetic": told,
        "conditions": conditions(answer, nursery),
        "source": str(nursery.book.sources[key]) if key else None,
    }
