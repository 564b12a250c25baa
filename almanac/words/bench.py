"""A round as it is walked: place by place, what is asked of whom, in as few words as say it. Pure.

Under the name of a bin its lots need not be said to be in bags. Where naming them takes more than a line, a look is
told of "all but 7a": what stands there is labelled, and the few that are meant otherwise are those to know.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from functools import cached_property
from itertools import groupby

from almanac.alike import together
from almanac.nursery.events import STAGES, Stage
from almanac.nursery.lots import Lot
from almanac.plain import dataclass
from almanac.plan.model import Line, Round
from almanac.words.lots import places_named, stage_words
from almanac.words.sentences import capital, small, with_sign
from almanac.words.tasks import about, line_title, lots_of_line, named_part, pressing

LINE = 74  # letters of a line under the name of its place
_FEW = 4  # lots that are left out of "all but" by name


@dataclass(frozen=True, kw_only=True)
class Asked:
    """What is asked of some lots: `whom` they are in words, empty where it is the place itself; `count` is how many."""

    whom: str
    what: str
    count: int


@dataclass(frozen=True, kw_only=True)
class AtPlace:
    """What is asked at a place, `Tray T` or `Elsewhere`: jobs, then looks."""

    title: str
    jobs: tuple[Asked, ...]
    looks: tuple[Asked, ...]


class Standing:
    """Which lots stand where, of those with cuttings left."""

    def __init__(self, lots: Collection[Lot]) -> None:
        self.lots = [lot for lot in lots if not lot.closed]

    @cached_property
    def places(self) -> dict[tuple[str, Stage], set[str]]:
        """The lots in each place and stage; those that root in none are under no name."""
        found: dict[tuple[str, Stage], set[str]] = {}
        for lot in self.lots:
            for stage in STAGES:
                if lot.count(stage):
                    found.setdefault((lot.bin if stage == "rooting" else "", stage), set()).add(lot.id)
        return found

    @cached_property
    def told_apart(self) -> frozenset[str]:
        """Lots of which some stand in no bin in one way, and some in another."""
        seen: list[str] = [lot for (bin_name, _), lots in self.places.items() if not bin_name for lot in lots]
        return frozenset(lot for lot in seen if seen.count(lot) > 1)


def by_place(each: Round, standing: Standing, *, whole: bool = False) -> Iterator[AtPlace]:
    """A round, place by place; with `whole` every lot is named."""
    for name, here in groupby(each.lines, key=lambda line: line.bin):
        lines = list(here)
        jobs = [line for line in lines if line.task is not None]
        looks = [line for line in lines if line.task is None]
        looked = tuple(_looks(looks, each, name, standing, whole=whole))
        yield AtPlace(
            title=capital(places_named(lines[0].places)) or "Elsewhere",
            jobs=tuple(_jobs(jobs, each, standing)),
            looks=looked,
        )


def one_by_one(looks: Collection[Asked]) -> Iterator[Asked]:
    """Looks, those of the same lots together."""
    for whom, found in together(looks, lambda look: look.whom).items():
        yield Asked(whom=whom, what=_joined([look.what for look in found]), count=found[0].count)


def _joined(told: Sequence[str]) -> str:
    """`How far the roots are; light again`, a question with its own end: `Roots well through? Loosen the band`."""
    text = told[0]
    for what in told[1:]:
        ended = with_sign(text, ";")
        text = f"{ended} {what}" if ended == text else f"{ended} {small(what)}"
    return text


def _jobs(lines: list[Line], each: Round, standing: Standing) -> Iterator[Asked]:
    """Jobs with the same words once for all their lots; of the same lots one after the other, but troubles alone."""
    same: dict[tuple[str, bool], dict[str, None]] = {}
    for line in lines:
        alone = pressing(line.rule) or line.late_since is not None
        same.setdefault((line_title(line, each.day), alone), {}).update(dict.fromkeys(_whom(line, standing)))
    by_lots: dict[tuple[str, ...], list[str]] = {}
    for number, ((what, alone), whom) in enumerate(same.items()):
        by_lots.setdefault((*whom, str(number)) if alone else (*whom, ""), []).append(what)
    for (*lots, _), told in by_lots.items():
        yield Asked(whom=", ".join(lots), what=_joined(told), count=len(lots))


def _looks(lines: list[Line], each: Round, place: str, standing: Standing, *, whole: bool) -> Iterator[Asked]:
    same = together(lines, lambda line: (line_title(line, each.day), line.rule.while_in if line.lot else None))
    for (what, stage), found in same.items():
        lots = dict.fromkeys(line.lot for line in found if line.lot)
        names = ", ".join(dict.fromkeys(each for line in found for each in _whom(line, standing)))
        there = standing.places.get((place, stage), set()) if stage else set()
        if not whole and len(f"{names}: {what}") > LINE and lots.keys() <= there:
            others = [lot.id for lot in standing.lots if lot.id in there and lot.id not in lots]
            names = _all_but(others, place, stage) or names
        yield Asked(whom=names, what=what, count=len(lots))


def _all_but(others: list[str], place: str, stage: Stage | None) -> str:
    """`all`, `all but 7a, 8b`, `all in pots but 9a`; empty where too many are left out."""
    if len(others) > _FEW or stage is None:
        return ""
    every = "all" if place else f"all {stage_words(stage)}"
    return f"{every} but {', '.join(others)}" if others else every


def _whom(line: Line, standing: Standing) -> list[str]:
    """The lots of a line, with what holds them only where their place does not say it."""
    planned = line.task is not None and line.task.counted_from == "planned"
    if planned or (not line.lot and line.rule.scope == "bin"):
        return list(filter(None, [about(line)]))
    told_apart = standing.told_apart if not line.bin else ()
    return [named_part(lot, line.part if lot in told_apart else "") for lot in lots_of_line(line)]
