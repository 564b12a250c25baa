"""What stands behind an id that was asked about, for command and page alike: found in the plan, in words. Pure."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from almanac.faults import Fact, Refusal, nearest
from almanac.forecast.model import Milestone
from almanac.nursery.nursery import Nursery
from almanac.plain import dataclass
from almanac.plan.derivation import Derivation
from almanac.plan.ids import EntryId, parse
from almanac.plan.model import Look, Plan, Round, Task
from almanac.plan.spaces import Shortage
from almanac.rulebook.models import TaskRule
from almanac.units import System
from almanac.words.dates import weekday
from almanac.words.derivation import rule_of, steps
from almanac.words.lock_screen import round_title
from almanac.words.milestones import forecast
from almanac.words.tasks import look_reason, reason, title
from almanac.words.warnings import forced_text, part_text, warning_text


@dataclass(frozen=True, kw_only=True)
class Answer:
    """What stands behind one id; of a lot's own task `shared` is the entry in which it stands with those of others."""

    id: EntryId
    headline: str
    day: str = ""
    why: str = ""
    rule: TaskRule | None = None
    lots: tuple[str, ...] = ()
    bin: str = ""
    milestone: Milestone | None = None
    protected: bool = False
    task: Task | None = None
    each: Round | None = None
    derivation: Derivation | None = None
    counted_from: str = ""
    since: date | None = None
    shared: Task | None = None


def find(name: str, plan: Plan) -> Answer:
    """The task, look, round, lack of room or milestone of an id, whatever its capitals.

    Raises:
        Refusal: there is none; the nearest is named
    """
    wanted = name.lower()
    for answer in _answers(wanted, plan):
        return answer
    others: list[Task | Look] = [*plan.tasks, *plan.looks]
    for other in others:  # its programme came to no such task, and another says why
        if other.derivation and other.derivation.about and other.derivation.about.lower() == wanted:
            return find(other.id, plan)
    known = [own.id for task in plan.tasks for own in (task, *task.own)]
    known += [look.id for look in plan.looks] + [each.id for each in plan.rounds]
    raise Refusal(Fact("no_entry", name=name, near=nearest(wanted, known)))


def _answers(wanted: str, plan: Plan) -> Iterator[Answer]:
    """All that an id stands for: tasks, or the part of one that is a lot's own, looks, rounds, lacks, milestones."""
    for task in plan.tasks:
        own = next((each for each in task.parts if each.id.lower() == wanted), None)
        if own is not None and len(task.parts) > 1:
            yield of_task(own, plan.as_of, shared=task)
        elif own is not None or task.id.lower() == wanted:
            yield of_task(task, plan.as_of)
    yield from (of_look(look, plan.as_of) for look in plan.looks if look.id.lower() == wanted)
    yield from (_of_round(each, plan.as_of) for each in plan.rounds if each.id == wanted)
    for warning in plan.warnings:
        if warning.shortage and warning.shortage.id.lower() == wanted:
            yield _of_lack(warning.shortage, warning_text(warning, plan.as_of), warning.lots)
    asked = parse(wanted)
    milestone = plan.milestones.get(asked.about, {}).get(asked.rule)
    if milestone is not None and asked == EntryId(asked.about, asked.rule):
        headline, said = f"{milestone.title}: {asked.about}", forecast(milestone, plan.as_of)
        yield Answer(id=asked, headline=headline, day=said, lots=(asked.about,), milestone=milestone)


@dataclass(frozen=True, kw_only=True)
class Asked:
    """One thing that can be asked of a lot: its id, what it is, its day in words."""

    id: EntryId
    title: str
    day: str


def askable(lot: str, plan: Plan) -> list[Asked]:
    """What can be asked of a lot: its tasks, the soonest first, its looks, its milestones."""
    alone = [task for task in plan.tasks if len(task.parts) == 1 and lot in task.lots]  # on the day of its entry
    own = [*alone, *(each for task in plan.tasks if len(task.parts) != 1 for each in task.own if lot in each.lots)]
    own.sort(key=lambda task: (task.due, task.id))
    found = [Asked(id=each.id, title=rule_of(each).title, day=weekday(each.due, plan.as_of)) for each in own]
    found += [Asked(id=each.id, title=each.rule.title, day="at rounds") for each in plan.looks if each.lot == lot]
    names = plan.milestones.get(lot, {}).items()
    return [
        *found,
        *(Asked(id=EntryId(lot, name), title=each.title, day=forecast(each, plan.as_of)) for name, each in names),
    ]


def of_task(task: Task, as_of: date, shared: Task | None = None) -> Answer:
    """What stands behind a task; `shared` is the entry that it is one lot's part of."""
    return Answer(
        id=task.id,
        headline=title(task),
        day=weekday(task.due, as_of),
        why=reason(task, as_of),
        rule=rule_of(task),
        lots=task.lots,
        bin=task.bin,
        milestone=task.milestone,
        protected=bool(task.protected),
        task=task,
        counted_from=task.counted_from,
        since=task.since,
        shared=shared,
    )


def of_look(look: Look, as_of: date) -> Answer:
    return Answer(
        id=look.id,
        headline=f"{look.rule.title}: {look.lot or f'{look.of_kind} {look.bin}'}",
        why=look_reason(look, as_of),
        rule=look.rule,
        lots=(look.lot,) if look.lot else (),
        bin=look.bin,
        milestone=look.milestone,
        derivation=look.derivation,
        counted_from=look.counted_from,
        since=look.start,
    )


def _of_round(each: Round, as_of: date) -> Answer:
    why = "Rounds are the fewest visits that keep every latest day and window, on bench days where it can be."
    told = [forced_text(each.forced, as_of)] if each.forced else []
    told += [part_text(each)] if each.is_part else []
    why = " ".join([why, *told, *(warning_text(warning, as_of) for warning in each.makes_up)])
    headline = round_title(each)
    return Answer(id=each.id, headline=headline, day=weekday(each.day, as_of), why=why, lots=each.lots, each=each)


def _of_lack(lack: Shortage, headline: str, lots: tuple[str, ...]) -> Answer:
    why = "Lots are counted as independent; so much room suffices nine times in ten. By week: stickdate space"
    return Answer(id=lack.id, headline=headline, why=why, lots=lots, bin=lack.room.bin)


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


def conditions(answer: Answer, nursery: Nursery) -> list[str]:
    """What must hold for the task to apply, in words."""
    rule = answer.rule
    if rule is None:
        return []
    only, accepted = rule.only_if, nursery.settings.frost.accept
    chance = accepted if only.frost_chance_at_most == "accepted" else only.frost_chance_at_most
    waits = answer.milestone and answer.milestone.basis and answer.milestone.basis.waits_for_frost
    told: tuple[tuple[object, str], ...] = (
        (rule.while_in, "only while the lot has cuttings in stage '{}'"),
        (", ".join(rule.until), "until one of these is logged: {}"),
        (only.sells, "only where the nursery sells {} stock ([sale] in nursery.toml)"),
        (only.from_elsewhere, "only of what came from elsewhere (received)"),
        (only.protected is False, "not for protected varieties"),
        (chance, "only when the chance of a later frost is at most {:.0%}"),
        (only.frost_free_days, "only if for {} days no frost is likelier than you accept"),
        (only.day_length_below, "only while days are shorter than {:g} h"),
        (only.day_length_at_least, "only while days are at least {:g} h long"),
        (nursery.frost.source if waits else None, "frost: {}"),
    )
    return [text.format(value) for value, text in told if value is not None and value is not False and value != ""]
