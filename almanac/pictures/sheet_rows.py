"""From a plan to what a bench sheet asks: places and lots in walking order, what to look for, what is due. Pure."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date, timedelta
from itertools import groupby

from almanac.nursery.events import STAGES
from almanac.nursery.lots import lot_order
from almanac.nursery.nursery import Nursery
from almanac.plain import dataclass
from almanac.plan.agenda.cautioned import cautions_of_round, cautions_of_task
from almanac.plan.model import Line, Plan, Round, Task
from almanac.units import temperature
from almanac.words.derivation import rule_of, rule_of_line
from almanac.words.lots import stage_words
from almanac.words.tasks import about, event_of, lots_of_line, minutes, title

_LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ"  # none that a hand writes like a number


@dataclass(frozen=True, kw_only=True)
class Entry:
    """What a letter on the sheet stands for: what to look for or how to do it, and the event that logs it."""

    letter: str
    title: str
    how: str
    points: tuple[str, ...]
    look: bool
    log: str

    @property
    def told(self) -> str:
        """How it is done, then what to look at."""
        return " ".join(filter(None, (self.how, "; ".join(self.points))))


@dataclass(frozen=True)
class Box:
    """One box to tick: its letter, and of a job the last day."""

    letter: str
    until: date | None = None


@dataclass(frozen=True, kw_only=True)
class LotLine:
    """One lot on the sheet; of a lot to come, `lot` says how many of which variety."""

    lot: str
    boxes: tuple[Box, ...]
    name: str = ""
    count: int = 0
    where: str = ""


@dataclass(frozen=True, kw_only=True)
class Place:
    """A bin, or what stands elsewhere: what its letters mean, its own boxes, its lots in walking order."""

    bin: str
    title: str
    warmth: str
    entries: tuple[Entry, ...]
    own: tuple[Box, ...]
    lots: tuple[LotLine, ...]


@dataclass(frozen=True, kw_only=True)
class Due:
    """A window that is open: what, and till when."""

    title: str
    how: str
    points: tuple[str, ...]
    latest: date
    log: str


@dataclass(frozen=True, kw_only=True)
class Sheet:
    """One day at the bench; without a round only what is due."""

    day: date
    minutes: int
    places: tuple[Place, ...]
    due: tuple[Due, ...]
    cautions: tuple[str, ...]


def sheets_of(
    plan: Plan, nursery: Nursery, days: Iterable[date], windows: Callable[[Task, date], bool] | None = None
) -> list[Sheet]:
    """A sheet for each of these days, with the windows open on it; or those that are wanted on it."""
    wanted = windows or (lambda task, day: task.earliest <= day <= task.latest)
    return [_sheet(plan, nursery, day, wanted) for day in days]


def days_asked(plan: Plan, day: date | None, days: int | None) -> list[date]:
    """The day named, the rounds of so many days from today, or the next round: today where there is none at all."""
    if days is not None:
        until = plan.as_of + timedelta(days=days - 1)
        return [each.day for each in plan.rounds if each.day <= until] or [plan.as_of]
    return [day or next((each.day for each in plan.rounds), plan.as_of)]


def _sheet(plan: Plan, nursery: Nursery, day: date, wanted: Callable[[Task, date], bool]) -> Sheet:
    each = next((found for found in plan.rounds if found.day == day), None)
    windows = [task for task in plan.tasks if not task.in_round and wanted(task, day)]
    windows.sort(key=lambda task: (task.latest, task.id))
    protected = {lot.id for lot in nursery.stock.lots.values() if lot.protected}
    names = [*(cautions_of_round(each, nursery.book, protected) if each else ())]
    for task in windows:
        names += cautions_of_task(task, nursery.book)
    return Sheet(
        day=day,
        minutes=minutes(each) if each else 0,
        places=tuple(_places(each, nursery)) if each else (),
        due=tuple(_due(task) for task in windows),
        cautions=tuple(dict.fromkeys(names)),
    )


def _due(task: Task) -> Due:
    rule = rule_of(task)
    return Due(
        title=title(task),
        how=rule.how,
        points=tuple(rule.checklist),
        latest=task.latest,
        log=event_of(rule),
    )


def _places(each: Round, nursery: Nursery) -> Iterable[Place]:
    entries: dict[tuple[str, str, tuple[str, ...], str], Entry] = {}
    order = {item.name: number for number, item in enumerate(nursery.settings.places)}  # as the bench page has them
    walk = sorted(each.lines, key=lambda line: order.get(line.bin, len(order)))
    for name, found in groupby(walk, key=lambda line: line.bin):
        lines = list(found)
        own: list[Box] = []
        lots: dict[str, list[Box]] = {}
        used: list[Entry] = []
        for line in lines:
            entry = _entry(line, entries)
            if entry not in used:
                used.append(entry)
            box = Box(entry.letter, line.task.latest if line.task else None)
            planned = line.task is not None and line.task.counted_from == "planned"
            for lot in (about(line),) if planned else lots_of_line(line) or ("",):
                (lots.setdefault(lot, []) if lot else own).append(box)
        log = nursery.stock.bins.get(name)
        warmth = log.base_c[-1][1] if log and not log.outdoors else None
        yield Place(
            bin=name,
            title=nursery.settings.called(name),
            warmth=temperature(warmth, nursery.units) if warmth is not None else "",
            entries=tuple(used),
            own=tuple(dict.fromkeys(own)),
            lots=tuple(_lot(lot, boxes, name, nursery) for lot, boxes in _in_order(lots, nursery)),
        )


def _in_order(lots: Mapping[str, list[Box]], nursery: Nursery) -> Sequence[tuple[str, list[Box]]]:
    """Lots by number and letter, then those to come, which have no letter yet."""
    known = [name for name in lots if name in nursery.stock.lots]
    return [(name, lots[name]) for name in [*sorted(known, key=lot_order), *(n for n in lots if n not in known)]]


def _lot(name: str, boxes: list[Box], place: str, nursery: Nursery) -> LotLine:
    """A lot as it stands in a bin, or of one elsewhere what stands there; nothing where none does yet."""
    lot = nursery.stock.lots.get(name)
    boxes = list(dict.fromkeys(boxes))
    if lot is None:
        return LotLine(lot=name, boxes=tuple(boxes))
    here = [stage for stage in STAGES if lot.count(stage) and (stage == "rooting") == bool(place and lot.bin == place)]
    if not place and not lot.bin:
        here = [stage for stage in STAGES if lot.count(stage)]
    where = ", ".join(f"{lot.count(stage)} {stage_words(stage)}" for stage in here)
    return LotLine(
        lot=name,
        name=nursery.varieties[lot.number].name,
        count=sum(map(lot.count, here)),
        where=where,
        boxes=tuple(boxes),
    )


def _entry(line: Line, entries: dict[tuple[str, str, tuple[str, ...], str], Entry]) -> Entry:
    rule = rule_of_line(line)
    look = line.look is not None
    how, points = "" if look else rule.how, tuple(rule.checklist)
    key = rule.title, how, points, rule.logged_as
    if key not in entries:
        again, letter = divmod(len(entries), len(_LETTERS))
        entries[key] = Entry(
            letter=_LETTERS[letter] + (str(again + 1) if again else ""),
            title=rule.title,
            how=how,
            points=points,
            look=look,
            log=event_of(rule),
        )
    return entries[key]
