"""Lots named in a line: few by name, many by number; where cuttings are, how a lot goes, what comes next. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import get_args

from almanac.alike import together
from almanac.forecast.model import Milestone
from almanac.nursery.events import Stage
from almanac.nursery.logbook import Row
from almanac.nursery.lots import Lot
from almanac.plan.model import Plan
from almanac.plan.spaces import Place
from almanac.rulebook.models import Where
from almanac.words.dates import day
from almanac.words.milestones import forecast
from almanac.words.season import past_range
from almanac.words.sentences import listed

_STAGES: dict[Stage, str] = {"store": "in store", "rooting": "rooting", "pot": "in pots", "outside": "outside"}


def stage_words(stage: Stage) -> str:
    """Where cuttings of a stage are: `in pots`."""
    return _STAGES[stage]


def named(lots: Sequence[str], most: int = 6) -> str:
    """`7a, 7b and 2 more`: short enough for a phone."""
    if len(lots) <= most:
        return ", ".join(lots)
    return listed([*lots[: most - 1], f"{len(lots) - most + 1} more"])


def whereabouts(lot: Lot, plan: Plan | None = None, *, short: bool = False) -> str:
    """`8 rooting in A, 4 in pots, 14 lifted`, or that it is closed; by a plan also what rests, and in which shelter."""
    asleep = bool(plan and lot.id in plan.at_rest and plan.at_rest[lot.id].sleeps(plan.as_of))
    counts = {stage: lot.in_place if stage == "rooting" else lot.count(stage) for stage in _STAGES}
    here = [f"{count} {_where(lot, stage, asleep, short)}" for stage, count in counts.items() if count]
    return ", ".join([*here, *([f"{lot.lifted} lifted"] if lot.lifted else [])]) or "closed"


def _where(lot: Lot, stage: Stage, asleep: bool, short: bool) -> str:
    place = f"in {lot.bin}" if stage == "rooting" and lot.bin else ""
    if asleep and stage == "pot":
        return f"at rest in {lot.shelter or 'pots'}"
    if asleep and stage != "store":
        return f"at rest {place if stage == 'rooting' else _STAGES[stage]}".rstrip()
    return place if short and place else f"{_STAGES[stage]} {place}".rstrip()


def place_and_count(lot: Lot, plan: Plan | None = None) -> str:
    """The same as short as a column wants it: `8 in A, 4 in pots`."""
    return whereabouts(lot, plan, short=True)


def places_named(places: Iterable[Place]) -> str:
    """`bin A`, `bins A, B`, or `bins A, B and tray T`: each by what it is."""
    kinds = together(dict.fromkeys(places), lambda place: place.kind)
    return listed(
        f"{kind}{'s' * (len(kinds[kind]) > 1)} {', '.join(place.name for place in kinds[kind])}"
        for kind in get_args(Where)
        if kind in kinds
    )


def next_milestone(found: Mapping[str, Milestone]) -> Milestone | None:
    """The forecast milestone that comes first; one often missed only where there is no other."""
    coming = [((m.often_missed, m.days[1]), m) for m in found.values() if m.known is None and m.days]
    return min(coming, key=lambda item: item[0])[1] if coming else None


def status(lot: Lot, plan: Plan) -> str:
    """`closed`, `overdue`, `early`, `on time`, `late`, `growing` once ready, or `waiting` where nothing is forecast.

    Wood in store is `past its time` from a day on; plants are `at rest`, or `awake?` where nobody has said so.

    Early or late by its latest sign: logged before the day by which one lot in ten would have shown it, or after the
    day by which nine in ten would have.
    """
    found, as_of, rest = plan.milestones[lot.id], plan.as_of, plan.at_rest.get(lot.id)
    if lot.closed:
        return "closed"
    if lot.id in plan.past_range:
        return "past its time"
    if rest and (rest.logged or rest.sleeps(as_of)):
        return "awake?" if rest.unsure(as_of) else "at rest"
    if _ready(lot):
        return "growing"
    if any(milestone.overdue(as_of) for milestone in found.values()):
        return "overdue"
    signs = [(m.logged, m.usual) for m in found.values() if m.logged and m.usual]
    if signs:
        logged, usual = max(signs, key=lambda sign: sign[0])
        if not usual[0] <= logged <= usual[2]:
            return "early" if logged < usual[0] else "late"
    return "on time" if next_milestone(found) else "waiting"


def next_words(lot: Lot, plan: Plan, in_span: str = " ") -> str:
    """What is expected next of a lot and when; of a closed one where its cuttings went.

    `in_span` stands between the words of a span of days instead of a space.
    """
    found, as_of, rest = plan.milestones[lot.id], plan.as_of, plan.at_rest.get(lot.id)
    if lot.closed:
        return f"closed: {listed(gone(lot))}"
    if past := plan.past_range.get(lot.id):
        return past_range(past, as_of)
    if rest and (rest.logged or rest.sleeps(as_of)):
        if rest.unsure(as_of):
            return f"taken to be awake since {day(rest.granted, as_of)}: log woke or died"
        asked = rest.logged and rest.wakes <= as_of
        return f"awake? log woke; by {day(rest.granted, as_of)}" if asked else f"wakes from {day(rest.wakes, as_of)}"
    if _ready(lot):
        return "ready: nothing to wait for"
    late = next((milestone for milestone in found.values() if milestone.overdue(as_of)), None)
    coming = late or next_milestone(found)
    return f"{coming.title.lower()} {forecast(coming, as_of, in_span=in_span)}" if coming else "nothing forecast"


def gone(lot: Lot) -> list[str]:
    """`8 sold`, `2 died`: where cuttings of a lot went."""
    return [f"{count} {what.replace('_', ' ')}" for what, count in lot.gone.items() if count > 0]


def _ready(lot: Lot) -> bool:
    """Whether all of it stands outside and some are hardened, or is lifted: signs that nobody logged came long ago."""
    outside = lot.count("outside") == lot.total and "hardened" in lot.signs
    return bool(lot.total) and (outside or lot.lifted == lot.total)


def label_first(rows: Iterable[Row], made: Sequence[str] = ()) -> str:
    """What was in hand, and to label it; empty where nothing was.

    Args:
        rows: as they were logged
        made: the lots they make
    """
    held = [row.lot for row in rows if row.event.handles and not (row.event.makes_lot and made)]
    lots = named(list(dict.fromkeys(filter(None, [*made, *held]))), 8)
    return f"Label {lots} before you put it down: a mixed-up variety cannot be told apart again." if lots else ""
