"""What a grower asks to log, as said or tapped, and the rows that it makes, each a lot's or a bin's. Pure."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date, datetime, timedelta
from typing import assert_never

from almanac.actions.row_ids import numbered
from almanac.actions.soundest import rows_of_number
from almanac.actions.walked import rows_of_round
from almanac.actions.writing import stamp
from almanac.faults import Fact, Miswritten, Refusal, nearest
from almanac.nursery.events import ALIASES, EVENTS, Event
from almanac.nursery.logbook import LOT_ID, Row, read_day
from almanac.nursery.nursery import Nursery
from almanac.plain import dataclass
from almanac.units import in_named_unit


@dataclass(frozen=True, kw_only=True)
class Request:
    """What a grower asks to log, as said on the command line or tapped on the page.

    `everything` stands for every bin and every lot elsewhere; `but` names lots of a bin, or of them all, left out. `id`
    is the one wished for its row: asked for again, nothing more is logged. With `unit_named` the value comes from a
    field that names its unit. `signs` are the lots of a round that were looked through for signs, too; all of
    them where it is not said.
    """

    what: str
    about: tuple[str, ...] = ()
    on: str = "today"
    count: int | None = None
    bin: str = ""
    stage: str = ""
    variety: str = ""
    value: str = ""
    refers: str = ""
    note: str = ""
    everything: bool = False
    but: tuple[str, ...] = ()
    force: bool = False
    id: str = ""
    unit_named: bool = False
    signs: tuple[str, ...] | None = None


def rows_of_request(nursery: Nursery, request: Request, now: datetime) -> list[Row]:
    """One row for each lot named; a bin for all its lots where the event allows one."""
    what = ALIASES.get(request.what.lower(), request.what.lower())
    if what not in EVENTS:
        raise Refusal(Fact("no_event", what=request.what, near=nearest(what, EVENTS)))
    if what == "void":
        raise Refusal(Fact("void_not_logged"))
    event = EVENTS[what]
    day = parse_day(request.on, nursery.as_of)
    if day > nursery.today:
        raise Refusal(Fact("to_come", day=day, today=nursery.today))
    value = request.value
    if request.unit_named:
        value = in_named_unit(value, event.value_kind, nursery.units)
    base = Row(
        id="new",
        day=day,
        what=what,
        variety=request.variety,
        count=request.count,
        stage=request.stage.lower(),
        bin=request.bin,
        value=value,
        refers=request.refers,
        note=request.note,
        logged_at=stamp(nursery, now),
    )
    through = what == "looked" and bool(request.bin) and request.signs is not None
    if request.everything or request.but or through:
        if request.about:
            raise Refusal(Fact("named_and_left_out"))
        about = rows_of_round(nursery, base, everything=request.everything, but=request.but, signs=request.signs)
    else:
        about = [_about(nursery, event, base, word) for word in request.about] or [base]
    if len(about) > 1 and request.count is not None and event.kind == "step":
        if event.count == "must":
            raise Refusal(Fact("count_of_several", what=what))
        raise Refusal(Fact("count_of_several_or_all", what=what))
    if what == "stuck":
        about = [row for each in about for row in _of_number(nursery, each)]
    return numbered(nursery, about, request.id)


def _of_number(nursery: Nursery, row: Row) -> list[Row]:
    """The rows of one that names a number alone, lot by lot; any other as it is."""
    return rows_of_number(nursery, row, row.variety) if row.variety and not row.lot else [row]


def _about(nursery: Nursery, event: Event, row: Row, word: str) -> Row:
    """The row about what was named: a crop, a bin, a number or a lot, as the event asks."""
    match event.target:
        case "crop":
            return replace(row, value=word.lower())
        case "bin":
            return replace(row, bin=word)
        case "variety":
            lot = LOT_ID.fullmatch(word.lower())
            return replace(row, lot=word.lower(), variety=lot[1]) if lot else replace(row, variety=word)
        case "lots_or_bin" if not LOT_ID.fullmatch(word.lower()) and (place := nursery.settings.bin_named(word)):
            return replace(row, bin=place.name)
        case "lot" | "lots" | "lots_or_bin" | "row":
            of_number = word.isdigit() and event.name == "stuck"
            return replace(row, variety=word) if of_number else replace(row, lot=word.lower())
        case _:
            assert_never(event.target)


def parse_day(text: str, as_of: date) -> date:
    """A date as said: ISO, `today`, `yesterday`, `-3d`.

    Raises:
        Refusal: it is none of these, or after today
    """
    match = re.fullmatch(r"-([0-9]{1,3})d?", text)
    if text == "today":
        day = as_of
    elif text == "yesterday":
        day = as_of - timedelta(days=1)
    elif match:
        day = as_of - timedelta(days=int(match[1]))
    else:
        try:
            day = read_day(text)
        except Miswritten as error:
            raise Refusal(Fact("not_a_day_to_log", fact=error.fact)) from None
    if day > as_of:
        raise Refusal(Fact("to_come", day=day, today=as_of))
    return day
