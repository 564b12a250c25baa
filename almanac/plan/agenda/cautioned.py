"""Which entry tells which caution whole: the first of a season that needs it; those after it have a line. Pure.

A season is a freeze year, from one midsummer to the next: the winter's work with its spring.

Which entry told a caution whole is written in it (`X-STICKDATE-CAUTIONS`). The text alone would do as a memory, but
then a reworded caution would be told twice.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from datetime import date

from almanac.plan.ids import EntryId
from almanac.plan.model import Round, Task
from almanac.plan.past import Past
from almanac.rulebook.book import Rulebook
from almanac.rulebook.models import Crop, TaskRule
from almanac.site.freeze_year import FreezeYear

PROTECTED = "protected"


def cautions_of(rule: TaskRule, *, protected: bool, crop: Crop | None = None) -> tuple[str, ...]:
    """The cautions of a rule, then the crop's own; that of protected varieties only where one is concerned."""
    own = tuple(name for name in rule.cautions if name != PROTECTED or protected or rule.scope == "crop")
    return (*own, *(crop.cautions if crop and rule.crop_cautions else ()))


def cautions_of_task(task: Task, book: Rulebook) -> tuple[str, ...]:
    """Each caution of a task once."""
    found = cautions_of(task.rule, protected=bool(task.protected), crop=book.crops.get(task.crop))
    return tuple(dict.fromkeys(found))


def cautions_of_round(each: Round, book: Rulebook, protected: Collection[str]) -> tuple[str, ...]:
    """Each caution of a round once, in the order of its lines; `protected` are the lots of protected varieties."""
    found: dict[str, None] = {}
    for line in each.lines:
        guarded = line.lot in protected or bool(line.task and line.task.protected)
        crop = book.crops.get(line.task.crop) if line.task else None
        found |= dict.fromkeys(cautions_of(line.rule, protected=guarded, crop=crop))
    return tuple(found)


def told_whole(
    tasks: Iterable[Task],
    rounds: Iterable[Round],
    book: Rulebook,
    protected: Collection[str],
    past: Past,
    year: FreezeYear,
) -> dict[EntryId, tuple[str, ...]]:
    """By an entry's id, the cautions that it is the first of its season to need.

    Args:
        tasks: those with an entry of their own still to come
        rounds: those to come
        book: which cautions their rules name
        protected: the lots of protected varieties
        past: what was told whole by entries that are over, and by which of those to come
        year: from which day to which a season runs
    """
    entries = [(task.due, task.id, cautions_of_task(task, book)) for task in tasks]
    entries += [(each.day, each.id, cautions_of_round(each, book, protected)) for each in rounds]
    told = {(name, year.start(day)) for name, days in past.cautioned.items() for day in days}
    found = {}
    for day, entry, names in sorted(entries):
        told_there = past.whole.get(entry, frozenset())  # where one comes before it, both tell it: neither is reworded
        fresh = tuple(name for name in names if name in told_there or (name, year.start(day)) not in told)
        told |= {(name, year.start(day)) for name in fresh}
        if fresh:
            found[entry] = fresh
    return found


def days_told(entries: Iterable[tuple[date, Iterable[str]]]) -> Mapping[str, tuple[date, ...]]:
    """By caution, the days of the entries that told it whole."""
    found: dict[str, tuple[date, ...]] = {}
    for day, names in sorted((day, tuple(names)) for day, names in entries):
        for name in names:
            found[name] = (*found.get(name, ()), day)
    return found
