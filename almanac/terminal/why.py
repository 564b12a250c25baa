"""Why an entry says the day it says: rule, milestone, arithmetic, conditions, source. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from almanac.faults import Refusal, suggestion
from almanac.forecast.model import Milestone
from almanac.nursery.events import EVENTS
from almanac.nursery.nursery import Nursery
from almanac.plan.agenda.cautioned import cautions_of
from almanac.plan.derivation import Derivation
from almanac.plan.model import Look, Plan, Round, Task
from almanac.rulebook.models import TaskRule
from almanac.terminal.table import paragraph
from almanac.units import System
from almanac.words.dates import span, weekday
from almanac.words.derivation import rule_of, steps
from almanac.words.milestones import arithmetic, forecast
from almanac.words.tasks import (
    cautions,
    how_to_log,
    how_to_log_task,
    line_text,
    look_reason,
    reason,
    round_title,
    title,
)
from almanac.words.warnings import warning_text


@dataclass(frozen=True)
class Answer:
    """What stands behind one id."""

    id: str
    headline: str
    day: str
    why: str
    rule: TaskRule | None
    lots: tuple[str, ...]
    bin: str = ""
    milestone: Milestone | None = None
    protected: bool = False
    task: Task | None = None
    each: Round | None = None
    derivation: Derivation | None = None
    counted_from: str = ""
    since: date | None = None


def find(name: str, plan: Plan) -> Answer:
    """The task, look, round or milestone of an id.

    Raises:
        Refusal: there is none; the nearest is named
    """
    near = plan.as_of
    wanted = name.lower()
    for task in plan.tasks:
        if wanted in (task.id.lower(), *(own.id.lower() for own in task.own)):
            when = weekday(task.due, near)
            lots = task.lots
            return Answer(
                task.id,
                title(task),
                when,
                reason(task, near),
                rule_of(task),
                lots,
                task.bin,
                task.milestone,
                bool(task.protected),
                task,
                counted_from=task.counted_from,
                since=task.since,
            )
    for look in plan.looks:
        if look.id.lower() == wanted:
            headline = f"{look.rule.title}: {look.lot or 'bin ' + look.bin}"
            lots = (look.lot,) if look.lot else ()
            return Answer(
                look.id,
                headline,
                "",
                look_reason(look, near),
                look.rule,
                lots,
                look.bin,
                look.milestone,
                derivation=look.derivation,
                counted_from=look.counted_from,
                since=look.start,
            )
    for each in plan.rounds:
        if each.id == wanted:
            why = "Rounds are the fewest visits that keep every latest day and window, on bench days where it can be."
            why = " ".join([why, *(warning_text(warning, near) for warning in each.makes_up)])
            return Answer(each.id, round_title(each), weekday(each.day, near), why, None, each.lots, each=each)
    for warning in plan.warnings:
        if warning.shortage and wanted == warning.shortage.id.lower():
            why = "Lots are counted as independent; so much room suffices nine times in ten. By week: stickdate space"
            place = warning.shortage.room.bin
            return Answer(warning.shortage.id, warning_text(warning, near), "", why, None, warning.lots, place)
    lot, _, milestone_name = wanted.partition(".")
    milestone = plan.milestones.get(lot, {}).get(milestone_name)
    if milestone:
        headline = f"{milestone.title}: {lot}"
        return Answer(f"{lot}.{milestone_name}", headline, forecast(milestone, near), "", None, (lot,), "", milestone)
    asked: list[Task | Look] = [*plan.tasks, *plan.looks]
    instead = [each.id for each in asked if each.derivation and str(each.derivation.about or "").lower() == wanted]
    if instead:  # its programme came to no such task, and another says why
        return find(instead[0], plan)
    known = (
        [own.id for task in plan.tasks for own in (task, *task.own)]
        + [look.id for look in plan.looks]
        + [each.id for each in plan.rounds]
    )
    raise Refusal(
        f"there is no '{name}' in the plan{suggestion(wanted, known)}; ids stand in: stickdate today --days 30"
    )


def why_text(answer: Answer, plan: Plan, nursery: Nursery) -> str:
    """As a person reads it."""
    rule, near = answer.rule, plan.as_of
    system: System = nursery.settings.nursery.units
    lines = [*paragraph(answer.headline + (f", {answer.day}" if answer.day else "")), ""]
    if rule:
        lines += paragraph(f"Rule: {rule.id} ({rule_place(rule.id, nursery)})")
    lines += paragraph(answer.why) if answer.why else []
    if answer.task:
        task = answer.task
        lines += paragraph(f"Window: {span(task.earliest, task.latest, near)}, good day {weekday(task.due, near)}.")
        for own in task.own if len(task.own) > 1 else ():
            lines += paragraph(f"- {', '.join(own.lots)}: {span(own.earliest, own.latest, near)}", 2)
    for step in worked_out(answer, system):
        lines += paragraph(f"- {step}", 2)
    if answer.each:
        for line in answer.each.lines:
            lines += paragraph(f"- {line.lot or line.bin or 'all'}: {line_text(line, answer.each.day)} [{line.id}]", 2)
    if answer.milestone:
        lines += ["", *paragraph(f"{answer.milestone.title}: {forecast(answer.milestone, near)}")]
        for step in arithmetic(answer.milestone, system, near):
            lines += paragraph(f"- {step}", 2)
        basis = answer.milestone.basis
        if basis:
            lines += paragraph(
                f"- Source: {nursery.book.sources[basis.duration.source]}. {basis.duration.note}".strip(), 2
            )
    told = conditions(answer, nursery)
    lines += ["", "Conditions", *(part for text in told for part in paragraph(f"- {text}", 2))] if told else []
    if rule:
        if rule.how:
            lines += ["", *paragraph(rule.how)]
        lines += [part for item in rule.checklist for part in paragraph(f"- {item}", 2)]
        crop = nursery.book.crops.get(answer.task.crop) if answer.task else None
        for text in cautions(cautions_of(rule, protected=answer.protected, crop=crop), nursery.book):
            lines += ["", *paragraph(text)]
        lines += ["", *paragraph(f"Source: {nursery.book.sources[rule.source]}")]
        log = how_to_log_task(answer.task) if answer.task else how_to_log(rule, answer.lots, answer.bin)
        lines += paragraph(f"Log it: {log}") if log else []
    return "\n".join(lines) + "\n"


def worked_out(answer: Answer, system: System) -> list[str]:
    """What a programme came to its days by, line by line."""
    if answer.derivation:
        return steps(answer.derivation, system)
    parts = [own for own in answer.task.own if own.derivation] if answer.task else []
    named = len(parts) > 1
    return [
        f"{', '.join(own.lots)}: {step}" if named else step
        for own in parts
        for step in (steps(own.derivation, system) if own.derivation else ())
    ]


def rule_place(rule_id: str, nursery: Nursery) -> str:
    """The files a rule comes from, the grower's own last."""
    document = nursery.book.tasks()[rule_id][1]
    return ", ".join(nursery.book.files.get(document, (document,)))


def conditions(answer: Answer, nursery: Nursery) -> list[str]:
    """What must hold for the task to apply, in words."""
    rule = answer.rule
    if rule is None:
        return []
    only, told = rule.only_if, []
    if rule.while_in:
        told.append(f"only while the lot has cuttings in stage '{rule.while_in}'")
    if rule.until:
        told.append(f"until one of these is logged: {', '.join(rule.until)}")
    if only.sells:
        told.append(f"only where the nursery sells {only.sells} stock ([sale] in nursery.toml)")
    if only.protected is False:
        told.append("not for protected varieties")
    if only.frost_chance_at_most is not None:
        accept = nursery.settings.frost.accept if only.frost_chance_at_most == "accepted" else only.frost_chance_at_most
        told.append(f"only when the chance of a later frost is at most {accept:.0%}")
    if only.day_length_below is not None:
        told.append(f"only while days are shorter than {only.day_length_below:g} h")
    if only.day_length_at_least is not None:
        told.append(f"only while days are at least {only.day_length_at_least:g} h long")
    if answer.milestone and answer.milestone.basis and answer.milestone.basis.waits_for_frost:
        told.append(f"frost: {nursery.frost.source}")
    return told


def why_json(answer: Answer, plan: Plan, nursery: Nursery) -> dict[str, Any]:
    """The same as one object."""
    milestone = answer.milestone
    counted: Mapping[str, Any] = {"milestone": answer.counted_from or None, "logged": answer.counted_from in EVENTS}
    if answer.since:
        counted = {**counted, "date": answer.since.isoformat()}
    if milestone:
        counted = {"milestone": milestone.name, "logged": milestone.logged is not None}
        if milestone.known:
            counted = {**counted, "date": milestone.known.isoformat()}
        else:
            shown = milestone.shown(plan.as_of) or (None, None, None)
            counted = {
                **counted,
                **dict(zip(("early", "likely", "late"), (d and d.isoformat() for d in shown), strict=True)),
            }
    system: System = nursery.settings.nursery.units
    told = ([answer.why] if answer.why else []) + worked_out(answer, system)
    told += arithmetic(milestone, system, plan.as_of) if milestone else []
    basis = milestone.basis if milestone else None
    key = answer.rule.source if answer.rule else basis.duration.source if basis else None
    source = nursery.book.sources[key] if key else None
    return {
        "id": answer.id,
        "rule": answer.rule.id if answer.rule else None,
        "lots": list(answer.lots),
        "from": dict(counted),
        "arithmetic": told,
        "conditions": conditions(answer, nursery),
        "source": str(source) if source else None,
    }
