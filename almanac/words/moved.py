"""What moved by what was logged, in words: by its title, what concerns those lots first, the rest as a count. Pure."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from datetime import date, timedelta

from almanac.plain import dataclass
from almanac.plan.changes import Changes, Moved
from almanac.plan.ids import EntryId
from almanac.plan.model import Round
from almanac.words.dates import day, days, shift, weekday
from almanac.words.tasks import title

_STEPS = 4  # of the lots logged: the next ones
_SOON, _OTHERS = timedelta(days=7), 4  # of all else: what comes so soon, so many of it


@dataclass(frozen=True, kw_only=True)
class Said:
    """One thing that moved, came or went: what, and its day in words, empty where it is no longer asked for."""

    what: str
    when: str = ""


@dataclass(frozen=True, kw_only=True)
class Told:
    """What is named of what moved, came and went, and how many of each are not; `far` is how far those moved."""

    moved: tuple[Said, ...]
    later: int
    far: str
    added: tuple[Said, ...]
    more: int
    removed: tuple[Said, ...]
    fewer: int

    @property
    def nothing(self) -> bool:
        return not (self.moved or self.later or self.added or self.more or self.removed or self.fewer)


def titles_of(changes: Changes) -> dict[EntryId, str]:
    """By id, what each thing is called."""
    return {
        name: f"Bench round {weekday(thing.day)}" if isinstance(thing, Round) else title(thing)
        for name, thing in changes.things.items()
    }


def told(changes: Changes, titles: Mapping[EntryId, str], as_of: date, lots: Collection[str] = ()) -> Told:
    """What a person wants to know of what moved.

    Args:
        changes: what moved, came and went
        titles: by id what each is called
        as_of: today
        lots: those that something was logged of
    """
    named = _first(changes, as_of, lots)
    rest = [move for move in changes.moved if move not in named]
    far = max((abs((move.after - move.before).days) for move in rest), default=0)
    came, went = (
        sorted(names, key=lambda name: (_day(name, changes) or date.max, name))
        for names in (changes.added, changes.removed)
    )
    again = {titles.get(name, name) for name in came} & {titles.get(name, name) for name in went}
    added = [Said(what=titles.get(name, name), when=_day_of(name, changes, as_of)) for name in came]
    removed = [Said(what=what) for what in dict.fromkeys(titles.get(name, name) for name in went) if what not in again]
    moved = [Said(what=titles.get(move.id, move.id), when=_moved(move, as_of)) for move in named]
    moved += [
        each for each in added if each.what in again
    ]  # what comes again as another entry is one thing to a person
    added = [each for each in added if each.what not in again]
    return Told(
        moved=tuple(moved),
        later=len(rest),
        far=f"by up to {days(far)}" if far > 1 else "by a day",
        added=tuple(added[:_OTHERS]),
        more=len(added[_OTHERS:]),
        removed=tuple(removed[:_OTHERS]),
        fewer=len(removed[_OTHERS:]),
    )


def _first(changes: Changes, as_of: date, lots: Collection[str]) -> list[Moved]:
    """The next steps of those lots, then what else is soon, or was to be."""
    moved, things = changes.moved, changes.things
    own = [move for move in moved if move.id in things and set(things[move.id].lots) & set(lots)]
    soon = [move for move in moved if move not in own and min(move.before, move.after) <= as_of + _SOON]
    return [*own[:_STEPS], *soon[:_OTHERS]]


def _moved(move: Moved, as_of: date) -> str:
    return f"{weekday(move.after, as_of)}, {shift(move.before, move.after)}"


def _day_of(name: EntryId, changes: Changes, as_of: date) -> str:
    """When a thing that came is to be done: of one whose good day is over, now, or how late it is."""
    found, thing = _day(name, changes), changes.things.get(name)
    if not found or name.kind == "round":
        return ""
    if found < as_of and thing is not None and not isinstance(thing, Round):
        return "now" if thing.latest >= as_of else f"overdue since {day(thing.latest, as_of)}"
    return weekday(found, as_of)


def _day(name: EntryId, changes: Changes) -> date | None:
    thing = changes.things.get(name)
    return None if thing is None else thing.day if isinstance(thing, Round) else thing.due
