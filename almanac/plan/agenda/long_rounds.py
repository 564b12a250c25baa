"""Rounds longer than a person works in a day: which lots can wait, and the others on several days. Pure.

At each visit the lots that cannot wait for the next come first; then, until the day is full, those wished by then. What
cannot wait and does not fit goes on other days at home, bench days first: on those until the next visit as long as its
latest day allows, else on those since the last; where all are full, on the one with least. What was told for a day
stays on it where it may and there is room: packed anew each morning, every round of a week would read otherwise.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import field
from datetime import date, timedelta
from itertools import pairwise

from almanac.alike import gathered
from almanac.nursery.workdays import Workdays
from almanac.plain import dataclass
from almanac.plan.agenda.kept import Kept
from almanac.plan.ids import EntryId
from almanac.plan.model import Line, Look

Last = Mapping[EntryId, date | None]
_DAY, _AHEAD = timedelta(days=1), timedelta(days=7)  # so far ahead after the last visit foreseen


@dataclass
class Spread:
    """The lines by day; by the day of a part the other days of its round, and how many lots wait for the next."""

    lines: dict[date, list[Line]] = field(default_factory=dict)
    also: dict[date, tuple[date, ...]] = field(default_factory=dict)
    wait: dict[date, int] = field(default_factory=dict)

    def tell_parts(self, chosen: Mapping[date, Sequence[_Bag]], waiting: int) -> None:
        """Remember of each day that holds something of a round on which others the rest is, and how many lots wait."""
        parts = [part for part in sorted(chosen) if chosen[part]]
        for part in parts:
            self.also[part] = tuple(other for other in parts if other != part)
            self.wait[part] = waiting


@dataclass(frozen=True, kw_only=True)
class _Bag:
    """The lines of one lot, or of a bin as a whole: what is opened once, from `opens` on, wished by a day."""

    lines: tuple[Line, ...]
    opens: date
    wished: date
    latest: date
    elsewhere: bool  # than in bins, where a look has waited for this visit already

    @property
    def minutes(self) -> float:
        looks = [line.minutes for line in self.lines if line.look]
        return max(looks, default=0.0) + sum(line.minutes for line in self.lines if not line.look)


def spread(
    looks: Sequence[Look],
    kept: Kept,
    lines: Mapping[date, Sequence[Line]],
    jobs: Mapping[date, Sequence[Line]],
    workdays: Workdays,
    as_of: date,
    told: Mapping[date, Collection[EntryId]],
) -> Spread:
    """Rounds as they can be worked.

    Args:
        looks: every look
        kept: when each was last made
        lines: by day of a visit, all looks that it could make
        jobs: by day, what is done besides
        workdays: what days are like, and how long a person works on one
        as_of: the first day there is
        told: by day of a round published, what it named
    """
    found, last, before = Spread(), dict(kept.last), as_of - _DAY
    by_place = gathered(((look.bin, look.lot), look) for look in looks)
    waiting: list[Line] = []
    used: dict[date, float] = {}
    for day, follows in pairwise([*lines, date.max]):
        bags = _bags([*lines[day], *jobs.get(day, ()), *waiting], by_place, last, day)
        chosen, waiting = {day: bags}, []
        if sum(bag.minutes for bag in bags) > workdays.longest_minutes:
            chosen = _fitted(bags, (before, day, follows), used, workdays, told)
            taken = {bag.lines[0].id for there in chosen.values() for bag in there}
            left = [bag for bag in bags if bag.lines[0].id not in taken]
            waiting = [line for bag in left for line in bag.lines if line.task]
            found.tell_parts(chosen, sum(bag.wished < follows for bag in left))
        for part, there in sorted(chosen.items()):
            held = [line for bag in there for line in bag.lines]
            found.lines.setdefault(part, []).extend(held)
            seen = (look for line in held if line.look for look in by_place[line.bin, line.lot])
            last |= {look.id: part for look in seen if look.is_open(part)}
        before = day
    return found


def _bags(
    lines: Sequence[Line], by_place: Mapping[tuple[str, str], Sequence[Look]], last: Last, day: date
) -> list[_Bag]:
    """The lines by what is opened once."""
    bags = []
    for place, here in gathered(((line.bin, line.lot), line) for line in lines).items():
        looked = any(line.look for line in here)
        # Of two looks for two ages one line is told, and the other's latest day is kept all the same.
        opened = [look for look in by_place.get(place, ()) if looked and look.is_open(day)]
        tasks = [line.task for line in here if line.task]
        due = [latest for look in opened if (latest := look.latest(last[look.id])) <= look.end]
        wished = [wish for look in opened if (wish := look.wished(last[look.id])) <= look.end]
        bags.append(
            _Bag(
                lines=tuple(here),
                opens=max([line.look.opens for line in here if line.look] + [task.earliest for task in tasks]),
                wished=min([*wished, *(task.due for task in tasks)], default=date.max),
                latest=min([*due, *(task.latest for task in tasks)], default=date.max),
                elsewhere=looked and not place[0],
            )
        )
    return bags


def _fitted(
    bags: Sequence[_Bag],
    around: tuple[date, date, date],
    used: dict[date, float],
    workdays: Workdays,
    told: Mapping[date, Collection[EntryId]],
) -> dict[date, list[_Bag]]:
    """By day, what is done on it, around a visit's day between the one before and the next; `used` are its minutes."""
    before, day, follows = around
    days = _days_around(before, day, follows, workdays)
    chosen: dict[date, list[_Bag]] = {day: []}

    def put(bag: _Bag, on: date) -> None:
        chosen.setdefault(on, []).append(bag)
        used[on] = used.get(on, 0.0) + bag.minutes

    def free(on: date) -> float:
        return workdays.longest_minutes - used.get(on, 0.0)

    def has_room(bag: _Bag, on: date) -> bool:
        return free(on) >= bag.minutes

    def was_told(bag: _Bag, on: date) -> bool:
        return any(line.id in told.get(on, ()) for line in bag.lines)

    bags = sorted(bags, key=lambda bag: (bag.latest, before - max(bag.opens, before), bag.lines[0].walking_order))
    urgent = [bag for bag in bags if bag.latest < follows or bag.elsewhere]
    moved = []
    for bag in urgent:
        stays = [each for each in _may_be_on(bag, day, days) if was_told(bag, each) and has_room(bag, each)]
        if stays:
            put(bag, stays[0])
        else:
            moved.append(bag)
    for bag in moved:
        there = _may_be_on(bag, day, days)
        fits = next((each for each in there if has_room(bag, each)), None)
        put(bag, fits or max(there, key=lambda each: (free(each), -each.toordinal())))
    can_wait = [bag for bag in bags if bag.wished < follows <= bag.latest and not bag.elsewhere]
    for bag in sorted(can_wait, key=lambda bag: not was_told(bag, day)):
        if has_room(bag, day):
            put(bag, day)
    return chosen


def _days_around(before: date, day: date, follows: date, workdays: Workdays) -> list[date]:
    """The days at home from one visit to the next, or to a week ahead: first its own, then those after it."""
    until = day + _AHEAD if follows == date.max else follows
    days = [before + timedelta(days=n) for n in range(1, (until - before).days)]
    home = [each for each in days if each == day or not workdays.is_away(each)]
    return sorted(home, key=lambda each: (each != day, each < day, workdays.rank(each), abs(each - day)))


def _may_be_on(bag: _Bag, day: date, days: Sequence[date]) -> list[date]:
    """On which days it may be opened: on that of the visit, or in its own time."""
    return [each for each in days if each == day or bag.opens <= each <= bag.latest]
