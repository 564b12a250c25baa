"""From lots to what became of the cuttings stuck, and what that tells of the shares that root and that finish. Pure.

*Rooted* are those potted, *finished* those ready to plant or sell, both of those stuck. Cuttings sold, given, planted
or kept out of the bag leave the sum, and so do those a stocktake missed: nobody knows what would have become of them.

A lot does not count sooner for being dead: one of which nothing came waits until a lot stuck on its day or later has
come so far, or nothing of its season is undecided any more.

A variety is judged beside what all others tell. With many varieties that would go through all lots once for each, so it
is what all tell less its own (`Counted`).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from functools import cached_property
from typing import Literal

from almanac.alike import gathered
from almanac.forecast.shares import Tally
from almanac.nursery.lots import Lot
from almanac.plain import dataclass

Aim = Literal["rooted", "finished"]
AIMS: tuple[Aim, ...] = ("rooted", "finished")

_DEAD = ("died", "discarded")
_ELSEWHERE = ("restuck", "joined", "cut_up")  # moved to a lot where they are counted, or new where they are


@dataclass(frozen=True, kw_only=True)
class Outcome:
    """What became of the cuttings of a lot, those of lots restuck from it and those of lots joined with it.

    Every cutting stuck is in one of `taken` (out of the bag: sold, given, planted, kept), `missing` (at a stocktake),
    `dead` (before it was potted), `rooting` (may still be potted) and `rooted`; of the rooted, `finished` are ready
    to plant or sell and `in_pots` may still be.
    """

    lots: tuple[str, ...]
    number: str
    crop: str
    method: str
    stuck_on: date
    taken: int = 0
    missing: int = 0
    dead: int = 0
    rooting: int = 0
    rooted: int = 0
    in_pots: int = 0
    finished: int = 0

    @property
    def stuck(self) -> int:
        """All that were ever stuck."""
        return self.of + self.taken + self.missing

    @property
    def of(self) -> int:
        """Those in the sum."""
        return self.dead + self.rooting + self.rooted

    def struck(self, aim: Aim) -> int:
        return self.rooted if aim == "rooted" else self.finished

    def settled(self, aim: Aim) -> bool:
        """Whether nothing that is left can change the figure."""
        return self.rooting == 0 and (aim == "rooted" or self.in_pots == 0)


def outcomes(lots: Mapping[str, Lot]) -> tuple[Outcome, ...]:
    """What became of all cuttings ever stuck, lot by lot in bench order.

    Lots that were restuck or joined are told with the first of them that was stuck.
    """
    return tuple(found for family in _families(lots) if (found := _outcome(family)).stuck)


def _families(lots: Mapping[str, Lot]) -> list[list[Lot]]:
    """Lots that share cuttings, the first stuck first."""
    head = {name: name for name in lots}

    def first(name: str) -> str:
        while head[name] != name:
            name = head[name]
        return name

    def in_order(name: str) -> tuple[date, tuple[int, str]]:
        return _stuck_on(lots[name]), _letter(name)

    for name in sorted(lots, key=in_order):
        for kin in (lots[name].parent, *lots[name].joined):
            if kin in lots:
                one, other = sorted((first(kin), first(name)), key=in_order)
                head[other] = one
    found = gathered((first(name), lot) for name, lot in lots.items())
    return [sorted(family, key=lambda lot: (lot.id != name, _letter(lot.id))) for name, family in found.items()]


def _letter(lot: str) -> tuple[int, str]:
    """The order of lots of one number by their letters (a … z, aa)."""
    return len(lot), lot


def _stuck_on(lot: Lot) -> date:
    return lot.steps.get("stuck", lot.started)


def _outcome(family: Sequence[Lot]) -> Outcome:
    """Count every cutting once, where it is now or where it left."""
    counts = dict.fromkeys(("taken", "missing", "dead", "rooting", "rooted", "in_pots", "finished"), 0)
    for lot in family:
        for cohort in lot.cohorts:
            reached = lot.reached(cohort)
            if reached:
                counts["rooting"] += cohort.count * (reached == "stuck")
                counts["in_pots"] += cohort.count * (reached == "rooted")
                counts["rooted"] += cohort.count * (reached != "stuck")
                counts["finished"] += cohort.count * (reached == "finished")
        for (what, reached), count in lot.left.items():
            if not reached or what in _ELSEWHERE:
                continue
            if what == "counted":
                counts["missing"] += count
            elif reached == "stuck":
                counts["dead" if what in _DEAD else "taken"] += count
            else:
                counts["rooted"] += count
                counts["finished"] += count * (reached == "finished")
    counts["missing"] = max(counts["missing"], 0)  # found rather than missing: there they are, among the others
    head = family[0]
    names = tuple(lot.id for lot in family)
    return Outcome(
        lots=names, number=head.number, crop=head.crop, method=head.method, stuck_on=_stuck_on(head), **counts
    )


@dataclass(frozen=True)
class _Waits:
    """For whom outcomes of which nothing came wait: until when lots were stuck that came so far, the seasons undecided.

    Each with how many say so: of the last, and of each season.
    """

    came: tuple[date, int]
    undecided: Mapping[int, int]

    @classmethod
    def of(cls, aim: Aim, known: Iterable[Outcome]) -> _Waits:
        every = list(known)
        came = [found.stuck_on for found in every if found.settled(aim) and found.struck(aim)]
        last = max(came, default=date.min)
        open_still = (found for found in every if not found.settled(aim) and not found.struck(aim))
        return cls((last, came.count(last)), Counter(map(_season, open_still)))

    def tells(self, found: Outcome, aim: Aim) -> bool:
        """Whether it is settled, and not so soon only because nothing came of it."""
        if not found.settled(aim):
            return False
        return bool(found.struck(aim)) or found.stuck_on <= self.came[0] or _season(found) not in self.undecided

    def hangs_on(self, some: Sequence[Outcome], aim: Aim) -> bool:
        """Whether others would wait for less or for longer without some."""
        own = _Waits.of(aim, some)
        return own.came == self.came or any(count == self.undecided[season] for season, count in own.undecided.items())


def telling(aim: Aim, known: Iterable[Outcome]) -> list[Outcome]:
    """The settled outcomes, but for those that are settled so soon only because nothing came of them."""
    every = list(known)
    waits = _Waits.of(aim, every)
    return [found for found in every if waits.tells(found, aim)]


def held_back(known: Sequence[Outcome]) -> list[Outcome]:
    """Settled lots of which nothing came that do not count yet for those that root, method by method."""
    ways = {(found.crop, found.method) for found in known}
    found: list[Outcome] = []
    for way in sorted(ways):
        some = [each for each in known if (each.crop, each.method) == way]
        waits = _Waits.of("rooted", some)
        found += (each for each in some if each.settled("rooted") and not waits.tells(each, "rooted"))
    return found


def _season(found: Outcome) -> int:
    """The year about midsummer in which it was stuck: lots of another are no company to wait for."""
    return (found.stuck_on.toordinal() + 184) // 365


@dataclass(frozen=True, kw_only=True)
class Told:
    """What outcomes say, counted: how many `rooted` and `finished` of those stuck, how many finished of the rooted."""

    rooted: Tally
    finished: Tally
    through: Tally

    @classmethod
    def by(cls, known: Iterable[Outcome]) -> Told:
        """By settled outcomes; an open lot says nothing yet, for it may go either way."""
        every = list(known)
        return cls.settled(telling("rooted", every), telling("finished", every))

    @classmethod
    def settled(cls, rooted: Iterable[Outcome], finished: Sequence[Outcome]) -> Told:
        """By the outcomes that tell of the share that roots, and of the one that finishes."""
        return cls(
            rooted=Tally.of((found.rooted, found.of) for found in rooted if found.of),
            finished=Tally.of((found.finished, found.of) for found in finished if found.of),
            through=Tally.of((found.finished, found.rooted) for found in finished if found.rooted),
        )

    def less(self, some: Told) -> Told:
        """What the others say, where some are counted in it."""
        return Told(
            rooted=self.rooted.less(some.rooted),
            finished=self.finished.less(some.finished),
            through=self.through.less(some.through),
        )


class Counted:
    """The outcomes of one crop and method, each gone through once: told by all, by a variety, by all but a variety."""

    def __init__(self, known: Iterable[Outcome]) -> None:
        self._every = list(known)
        self._by_number = gathered((found.number, found) for found in self._every)

    @cached_property
    def every(self) -> Told:
        return Told.by(self._every)

    def own(self, number: str) -> Told:
        return Told.by(self._by_number.get(number, ()))

    def others(self, number: str) -> Told:
        """Less the variety's, where the others wait for no lot of it; else counted anew."""
        own = self._by_number.get(number, [])
        if any(self._waits[aim].hangs_on(own, aim) for aim in AIMS):
            return Told.by(found for found in self._every if found.number != number)
        rooted, finished = ([f for f in own if self._waits[aim].tells(f, aim)] for aim in AIMS)
        return self.every.less(Told.settled(rooted, finished))

    @cached_property
    def _waits(self) -> Mapping[Aim, _Waits]:
        return {aim: _Waits.of(aim, self._every) for aim in AIMS}
