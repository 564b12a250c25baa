"""How full bins, lamps and the room outside are, week by week, for a person, and by day as JSON. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from itertools import groupby
from typing import Any

from almanac.nursery.lots import Planned
from almanac.nursery.nursery import Nursery
from almanac.plan.model import Plan, PlanWarning
from almanac.plan.room.pots import PotsNeeded, pots_needed
from almanac.plan.spaces import Room, Space
from almanac.rulebook.programmes.potting import Potting
from almanac.terminal.encoded import Shape
from almanac.terminal.table import WIDTH, paragraph, paragraphs, table
from almanac.terminal.today import SHORTAGE
from almanac.units import quantity
from almanac.words.dates import span, weekday
from almanac.words.lots import named
from almanac.words.programmes.potting import whole
from almanac.words.warnings import warning_text

_NO_BINS = "No bins are given: add a [[bin]] with name, bags, mat and air to nursery.toml, and its room is counted."
_KEYS = {"lamps": "pots_under_light", "outside": "pots_outside"}


def space_text(plan: Plan, nursery: Nursery) -> str:
    """A row a week: the most that is expected, what suffices nine times in ten, and a mark where that is not there."""
    space, as_of = plan.space, plan.as_of
    lines = paragraph(f"{nursery.name}: room from {weekday(as_of)} {as_of.year}")
    if not any(room.place == "bin" for room in space.rooms):
        lines += paragraph(_NO_BINS)
    missing = [_KEYS[room.place] for room in space.rooms if room.capacity is None and room.place in _KEYS]
    if missing:
        lines += paragraph(f"Not given under [space] in nursery.toml, so never warned of: {', '.join(missing)}.")
    if not any(room.demand.stays for room in space.rooms):
        return "\n".join([*lines, *_outside_of_it(space), "", "Nothing takes room, now or planned."]) + "\n"
    lines += ["", *_weeks(space), ""]
    lines += paragraph(
        "The fullest day of each week: what to expect (what suffices nine times in ten); ! is too many. Pots count "
        "as under the lamps until they stay out at night, and outside from their first day out until they are logged "
        "as sold, planted or gone; at rest under cover they count in their shelter. As many cuttings come to be potted "
        "as usually strike."
    )
    lines += _outside_of_it(space)
    for planned, name in space.planned:
        kind = next((room.kind for room in space.rooms if room.place == "bin" and room.bin == name), "bin")
        where = f"in {kind} {name}" if name else "in no bin"
        lines += paragraph(f"{planned.count} of no. {planned.number} (planned, {planned.row}) are counted {where}.")
    lines += _pots(space, nursery)
    told = [warning_text(warning, as_of) for warning in plan.warnings if warning.shortage]
    lines += ["", "Take care", *paragraphs(told, 2)] if told else []
    return "\n".join(lines) + "\n"


def _outside_of_it(space: Space) -> list[str]:
    return paragraph(f"{space.in_no_bin} rooting in no bin, not counted.") if space.in_no_bin else []


def _weeks(space: Space) -> Iterator[str]:
    """Tables no wider than the screen, each with as many places as fit; weeks that are alike in one row."""
    heads = [_head(room) for room in space.rooms]
    weeks = [list(days) for _, days in groupby(space.days(), key=lambda each: each.isocalendar()[:2])]
    cells = [[_cell(room, days) for room in space.rooms] for days in weeks]
    rows: list[tuple[str, list[str]]] = []
    for _, alike in groupby(range(len(weeks)), key=lambda number: cells[number]):
        numbers = list(alike)
        first, last = weeks[numbers[0]][0], weeks[numbers[-1]][-1]
        rows.append((span(first, last, space.first), cells[numbers[0]]))
    label = max(len(row[0]) for row in rows)
    start = 0
    while start < len(heads):
        end, width = start, label
        while end < len(heads) and (end == start or width + 2 + _wide(end, heads, rows) <= WIDTH):
            width += 2 + _wide(end, heads, rows)
            end += 1
        yield from [""] if start else []
        yield from table([(name, *row[start:end]) for name, row in rows], ("", *heads[start:end]))
        start = end


def _wide(column: int, heads: Sequence[str], rows: Sequence[tuple[str, list[str]]]) -> int:
    return max(len(heads[column]), *(len(cells[column]) for _, cells in rows))


def _head(room: Room) -> str:
    kind = room.kind if room.place == "bin" else room.place
    name = f"{kind} {room.bin}".rstrip() if room.place in ("bin", "shelter") else room.place
    return name if room.capacity is None else f"{name}, of {room.capacity}"


def _cell(room: Room, days: Sequence[date]) -> str:
    """`18 (22)!`"""
    expected = round(max(room.demand.expected(day) for day in days))
    most = max(room.demand.up_to(day) for day in days)
    mark = "!" if room.capacity is not None and most > room.capacity else ""
    return _both(expected, most) + mark


def _pots(space: Space, nursery: Nursery) -> list[str]:
    """Pots needed by date: a row for each week in which lots are likely to be potted up."""
    weeks = pots_needed(space)
    if not weeks:
        return []
    rules, system = nursery.book.programme(Potting), nursery.units
    rows = []
    for week in weeks:
        mix = quantity(whole(week.expected) * rules.mix_l, "volume", system)
        rows.append((weekday(week.by, space.first), _both(whole(week.expected), week.up_to), mix, named(week.lots, 4)))
    pot = quantity(rules.pot, "volume", system)
    told = f"Pots of {pot} for what is likely potted up in the week from that day (what suffices nine times in ten)."
    return ["", *table(rows, ("by", "pots", "mix", "for")), "", *paragraph(told)]


def _both(expected: int, up_to: int) -> str:
    return f"{expected} ({up_to})" if up_to > expected else str(expected)


PLANNED = Shape(Planned, "row number count date=day")
_LACK = Shape(PlanWarning, "kind date=day lots bins")
_ROOM = Shape(Room, "place bin? capacity")
_POTS = Shape(PotsNeeded, "by lots expected:1 up_to")


def space_json(plan: Plan, nursery: Nursery) -> dict[str, Any]:
    """The same by day as one object."""
    space, mix_l = plan.space, nursery.book.programme(Potting).mix_l
    return {
        "as_of": plan.as_of,
        "until": space.last,
        "places": [{**_ROOM(room), "days": [_day_json(room, day) for day in space.days()]} for room in space.rooms],
        "in_no_bin": space.in_no_bin,
        "pots": [{**_POTS(week), "mix_l": round(whole(week.expected) * mix_l, 1)} for week in pots_needed(space)],
        "planned": [{**PLANNED(planned), "bin": name or None} for planned, name in space.planned],
        "warnings": [
            {**_LACK(each), "text": warning_text(each, plan.as_of), **SHORTAGE(each.shortage)}
            for each in plan.warnings
            if each.shortage
        ],
    }


def _day_json(room: Room, day: date) -> dict[str, Any]:
    return {"date": day, "expected": round(room.demand.expected(day), 1), "up_to": room.demand.up_to(day)}
