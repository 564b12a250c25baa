"""How full each bin, the lamps and the room outside will be, day by day, against what there is. Pure.

The tinted ground is what is expected; the line over it what suffices nine times in ten; the dashes what there is. Where
it will not do, the ground is hatched.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

from almanac.pictures.drawing import Drawing, Mark
from almanac.pictures.plot import Field, nice_steps
from almanac.pictures.style import BODY, MARGIN, SHADE, SMALL, SOFT, fitted, hatch, head, words
from almanac.plan.model import Plan
from almanac.plan.spaces import Room
from almanac.words.dates import day, span, weekday
from almanac.words.warnings import HELD

_PANEL, _GAP = 34.0, 15.0


def room_picture(plan: Plan, name: str, width: float = 210.0) -> Drawing:
    """A field for each place, one under another."""
    known = plan.space.days()
    days = [*known, *(known[-1] + timedelta(days=n) for n in range(1, 15 - len(known)))]
    told = f"{span(days[0], days[-1], plan.as_of)}, as of {weekday(plan.as_of)} {plan.as_of.year}"
    marks = [*head(f"{name}: room", told, width)]
    top = MARGIN + 22
    for room in plan.space.rooms:
        marks += _panel(room, known, days, top, width)
        top += _PANEL + _GAP
    if not plan.space.rooms:
        marks.append(words(MARGIN, top, "No bins are given, and nothing is counted.", BODY))
    key = "Ground: expected. Line: suffices nine times in ten. Dashes: there is. Hatched: more."
    marks.append(fitted(MARGIN, top - 3, key, width - 2 * MARGIN, SMALL, ink=SOFT))
    return Drawing(
        width=width,
        height=top + 4,
        title=f"{name}: room from {day(plan.as_of)} {plan.as_of.year}",
        told="How many places are expected to be taken on each day, how many suffice nine times in ten, and how many "
        "there are, for each bin, under the lamps and outside.",
        marks=tuple(marks),
    )


def place_words(room: Room) -> str:
    """A place with what it holds: `Bin A, of 24 bags`."""
    name, what = f"{room.place} {room.bin}".rstrip().capitalize(), "pots"
    if room.place == "bin":
        name, what = f"{room.kind.capitalize()} {room.bin}", f"{HELD[room.kind]}s"
    return f"{name}, {what}" + (f", room for {room.capacity}" if room.capacity is not None else ", room not given")


def _panel(room: Room, known: list[date], days: list[date], top: float, width: float) -> Iterator[Mark]:
    expected = [(when, room.demand.expected(when)) for when in known]
    most = [(when, float(room.demand.up_to(when))) for when in known]
    high = max([1.0, *(value for _, value in most), float(room.capacity or 0)]) * 1.12
    about = room.bin or room.place
    field = Field(
        left=MARGIN + 9, top=top, right=width - MARGIN, foot=top + _PANEL,
        first=days[0], last=days[-1], low=0.0, high=high,
    )  # fmt: skip
    yield field.title(place_words(room))
    yield from field.values([(value, f"{value:g}") for value in nice_steps(high)])
    yield field.area(expected, SHADE, kind=f"expected {about}")
    if room.capacity is not None:
        for first, last in _too_many(most, room.capacity):
            x2 = min(field.x(last + timedelta(days=1)), field.right)
            yield from hatch(field.x(first), x2, field.y(room.capacity), field.foot, 1.6, SOFT)
    yield from field.months()
    yield field.steps(most, kind=f"up-to {about}")
    if room.capacity is not None:
        yield from field.level(room.capacity, f"there are {room.capacity}", kind=f"capacity {about}")


def _too_many(most: list[tuple[date, float]], capacity: int) -> list[tuple[date, date]]:
    """Stretches of days on which there may not be enough."""
    found: list[tuple[date, date]] = []
    for when, value in most:
        if value > capacity:
            begins = not found or (when - found[-1][1]).days > 1
            found = [*found, (when, when)] if begins else [*found[:-1], (found[-1][0], when)]
    return found
