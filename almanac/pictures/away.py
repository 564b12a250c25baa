"""Pages for whoever helps while the grower is away: only what must be done on those days, told in full. Pure.

The first page says how good looks, what to leave alone and when to telephone; then each visit, with a box for "as it
should be" and one for "not: telephoned"; cautions whole at the end.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from functools import partial

from almanac.nursery.events import STAGES, Stage
from almanac.nursery.nursery import Nursery
from almanac.pictures.drawing import Drawing, Mark, line
from almanac.pictures.measure import wrapped
from almanac.pictures.pages import Block, Page, laid_out, paragraph
from almanac.pictures.sheet import caution_blocks, heading, tick
from almanac.pictures.sheet_rows import Due, Entry, LotLine, Place, Sheet, sheets_of
from almanac.pictures.style import INK, LEADING, PALE, RULE, SOFT, fitted, sheet_size, words
from almanac.plain import dataclass
from almanac.plan.model import Plan, Task
from almanac.words.dates import day, span, weekday
from almanac.words.helping import FIRST, WRITE_DOWN, to_know

_MARGIN = 14.0
_TEXT, _ID = 4.1, 6.6


@dataclass(frozen=True, kw_only=True)
class Absence:
    """A stretch of days away with the visits that cannot wait; `stages` are those of the lots concerned."""

    first: date
    last: date
    visits: tuple[Sheet, ...]
    stages: tuple[Stage, ...]

    @property
    def cautions(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(name for visit in self.visits for name in visit.cautions))


def absences(plan: Plan, nursery: Nursery) -> list[Absence]:
    """The stretches of days away that are not over, each with what must be done in it."""
    found = []
    for stretch in sorted(nursery.settings.week.away, key=lambda stretch: stretch.first):
        if stretch.last < plan.as_of:
            continue
        first = max(stretch.first, plan.as_of)
        bound = [task for task in plan.tasks if _must(task, first, stretch.last)]
        days = {each.day for each in plan.rounds if first <= each.day <= stretch.last}
        days |= {max(task.due, first) for task in bound}
        visits = sheets_of(plan, nursery, sorted(days), partial(_on_its_day, bound, first))
        there = {stage for visit in visits for place in visit.places for stage in _stages(place, nursery)}
        there |= {stage for task in bound for lot in task.lots for stage in _stages_of(lot, nursery)}
        stages = tuple(stage for stage in STAGES if stage in there)
        found.append(Absence(first=first, last=stretch.last, visits=tuple(visits), stages=stages))
    return found


def _stages(place: Place, nursery: Nursery) -> set[Stage]:
    """What will stand in a place; a lot that roots today and is looked for elsewhere will be in pots by then."""
    if place.bin:
        return {"rooting"} if place.lots else set()
    return {"pot" if each == "rooting" else each for lot in place.lots for each in _stages_of(lot.lot, nursery)}


def _stages_of(name: str, nursery: Nursery) -> set[Stage]:
    lot = nursery.stock.lots.get(name)
    return {stage for stage in STAGES if lot.count(stage)} if lot else set()


def _on_its_day(bound: Sequence[Task], first: date, task: Task, day: date) -> bool:
    """Whether a window is one of those that cannot wait, and best done on a day."""
    return task in bound and day == max(task.due, first)


def _must(task: Task, first: date, last: date) -> bool:
    """Whether a task of its own can be done neither before nor after some days, and is not the grower's alone."""
    return not task.in_round and first <= task.earliest and task.latest <= last and task.rule.kind != "deadline"


def away_pages(absence: Absence, nursery: Nursery) -> list[Drawing]:
    """The pages of one stretch of days away."""
    width, height = sheet_size(nursery.units)
    name = nursery.name
    page = Page(
        width=width,
        height=height,
        margin=_MARGIN,
        title=f"{name}: for who helps, {span(absence.first, absence.last, nursery.as_of)}",
        told="What someone does at the bench while the grower is away: how good looks, what to leave alone, when to "
        "telephone, each visit with its boxes, the cautions whole.",
        foot=f"{name}: as planned on {day(nursery.as_of)} {nursery.as_of.year}",
    )
    blocks = [*_cover(absence, nursery, page.room)]
    for visit in absence.visits:
        blocks += _visit_blocks(visit, page.room)
    blocks += caution_blocks(absence.cautions, nursery, page.room)
    return laid_out(blocks, page)


def _cover(absence: Absence, nursery: Nursery, room: float) -> Iterator[Block]:
    near = nursery.as_of
    marks: list[Mark] = [fitted(0, 8.0, "Thank you for looking after the cuttings", room, 7.6, bold=True)]
    told = f"{nursery.name}, {span(absence.first, absence.last, near)}"
    marks.append(fitted(0, 14.5, told, room, _TEXT, ink=SOFT))
    marks += [words(0, 24, "Telephone", _TEXT, bold=True), line(26, 24.6, room, 24.6, PALE, 0.25)]
    marks.append(line(0, 29, room, 29, INK, 0.6))
    yield Block(height=32, marks=tuple(marks), new_page=True)
    yield _text([FIRST, *([WRITE_DOWN] if absence.visits else [])], room)
    if not absence.visits:
        yield _text(["Nothing has to be done on these days. Nobody needs to come."], room, bold=True)
        return
    yield heading("Your visits", room)
    for visit in absence.visits:
        about = f"about {visit.minutes} min" if visit.minutes else "a few minutes"
        yield _text([f"{weekday(visit.day, near)}, {about}"], room, bold=True, keeps=True)
    for title, texts in to_know(absence.stages).items():
        yield heading(title, room)
        for text in texts:
            yield _text([text], room)


def _text(texts: Sequence[str], room: float, *, bold: bool = False, keeps: bool = False) -> Block:
    lines = [part for text in texts for part in wrapped(text, room - 4, _TEXT, bold=bold)]
    marks = paragraph(lines, 2, 4.4, _TEXT, bold=bold)
    return Block(height=len(lines) * _TEXT * LEADING + 2.0, marks=tuple(marks), keeps=keeps)


def _visit_blocks(visit: Sheet, room: float) -> Iterator[Block]:
    marks: list[Mark] = [fitted(0, 7.4, f"{weekday(visit.day)} {visit.day.year}", room * 0.6, 7.6, bold=True)]
    marks += [words(room - 60, 7.2, "was here at", _TEXT, ink=SOFT), line(room - 36, 7.8, room, 7.8, PALE, 0.25)]
    marks.append(line(0, 11, room, 11, INK, 0.6))
    yield Block(height=14, marks=tuple(marks), new_page=True, keeps=True)
    for place in visit.places:
        yield heading(place.title, room, place.warmth)
        if place.own:
            yield from _line(LotLine(lot=f"{place.title} itself", boxes=place.own), place, room)
        for lot in place.lots:
            yield from _line(lot, place, room)
    if visit.due:
        yield heading("On this day", room)
        for due in visit.due:
            yield _due(due, room)


def _line(lot: LotLine, place: Place, room: float) -> Iterator[Block]:
    """A lot with all that is to be done of it, written out; two boxes a line."""
    head: list[Mark] = [fitted(0, 6.4, lot.lot, room * 0.4, _ID, bold=True, kind="lot", about=lot.lot)]
    who = ", ".join(filter(None, (lot.name, lot.where)))
    head.append(fitted(room, 6.2, who, room * 0.55, _TEXT, ink=SOFT, anchor="end"))
    yield Block(height=8.6, marks=tuple(head), keeps=True)
    letters = [each.letter for each in lot.boxes]
    chosen = [entry for entry in place.entries if entry.letter in letters]
    for number, entry in enumerate(chosen):
        yield _entry(entry, lot.lot, room, last=number == len(chosen) - 1)


def _entry(entry: Entry, lot: str, room: float, *, last: bool) -> Block:
    left, right = 2.0, 52.0
    lines = wrapped(entry.title, room - left - right, _TEXT, bold=True)
    told = wrapped(("Look for: " if entry.look else "") + entry.told, room - left - right, _TEXT * 0.9)
    marks: list[Mark] = [*paragraph(lines, left, 4.8, _TEXT, bold=True)]
    y = 4.8 + len(lines) * _TEXT * LEADING - 0.3
    if entry.told:
        marks += paragraph(told, left, y, _TEXT * 0.9)
    well, not_well = ("as it should be", "not: telephoned") if entry.look else ("done", "not done")
    for number, text in enumerate((well, not_well)):
        down = 5.2 + number * 6.8
        marks.append(tick(room - right + 4, down, f"{lot} {entry.letter}"))
        marks.append(words(room - right + 11, down, text, _TEXT * 0.9))
    height = max(y + (len(told) if entry.told else 0) * _TEXT * 0.9 * LEADING, 14.5)
    marks += [line(0, height, room, height, RULE, 0.2)] if last else []
    return Block(height=height + 0.8, marks=tuple(marks))


def _due(due: Due, room: float) -> Block:
    lines = wrapped(due.title, room - 12, _TEXT, bold=True)
    told = wrapped(" ".join(filter(None, (due.how, "; ".join(due.points)))), room - 12, _TEXT * 0.9)
    marks: list[Mark] = [tick(0, 5.2, about=due.title), *paragraph(lines, 9, 4.9, _TEXT, bold=True)]
    y = 4.9 + len(lines) * _TEXT * LEADING
    marks += paragraph(told, 9, y - 0.3, _TEXT * 0.9)
    return Block(height=y + len(told) * _TEXT * 0.9 * LEADING, marks=tuple(marks))
