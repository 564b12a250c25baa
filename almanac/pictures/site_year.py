"""The year of a site as a picture: the chance of frost in spring and autumn, day length and light. Pure.

Lines differ by style and carry their names; the tint only repeats what lines and words say.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from itertools import pairwise

from almanac import units
from almanac.nursery.nursery import Nursery
from almanac.pictures.drawing import Drawing, Mark, box, line
from almanac.pictures.measure import wrapped
from almanac.pictures.pages import paragraph
from almanac.pictures.plot import Field, nice_steps
from almanac.pictures.style import BODY, INK, LEADING, MARGIN, SMALL, SOFT, TINT, TITLE, words
from almanac.site.light import clear_day, dli_mol, usual_mj
from almanac.site.sun import CIVIL_TWILIGHT_DEG, day_length_at
from almanac.words.dates import day, days_to
from almanac.words.sentences import percent_asked

_WIDTH, _GAP = 210.0, 17.0
_FROST, _LENGTH, _LIGHT = 58.0, 40.0, 40.0
_DASH = (1.8, 1.0)


def site_picture(nursery: Nursery, accept: float) -> Drawing:
    """The year round `as_of`, from January in the north and from July in the south.

    Args:
        nursery: as loaded
        accept: the chance of a later frost that the grower accepts, 0 to 1
    """
    year = _days(nursery)
    title, room = _title(nursery, year), _WIDTH - 2 * MARGIN
    marks: list[Mark] = []
    heads = wrapped(title, room, TITLE * 0.8, bold=True, most=3)
    marks += paragraph(heads, MARGIN, MARGIN + 4.4, TITLE * 0.8, bold=True)
    top = MARGIN + 12 + len(heads) * TITLE * 0.8 * LEADING
    brightest = max(clear_day(nursery.place, found).dli_mol for found in year)
    fields = []
    ranges = (_FROST, 0.0, 100.0), (_LENGTH, *_hours(nursery, year)), (_LIGHT, 0.0, brightest * 1.1 + 1)
    for high, low, most in ranges:
        fields.append(
            Field(
                left=MARGIN + 11, top=top, right=_WIDTH - MARGIN, foot=top + high,
                first=year[0], last=year[-1] + timedelta(days=1), low=low, high=most,
            )
        )  # fmt: skip
        top += high + _GAP
    for draw, field in zip((_frost, _day_length, _light), fields, strict=True):
        marks += draw(field, nursery, accept, year)
        marks += field.today(nursery.as_of)
    marks += fields[-1].today_words(nursery.as_of)
    source = wrapped(f"Frost: {nursery.frost.source}. Light: clear sky after FAO paper 56.", room, SMALL)
    marks += paragraph(source, MARGIN, top - 4, SMALL, ink=SOFT)
    return Drawing(
        width=_WIDTH,
        height=top - 4 + len(source) * SMALL * LEADING + MARGIN / 2,
        title=title,
        told="The chance of frost through the year, the length of the day, and the light of a clear day.",
        marks=tuple(marks),
    )


def _days(nursery: Nursery) -> list[date]:
    as_of = nursery.as_of
    first = date(as_of.year, 1, 1)
    if nursery.place.southern:
        first = date(as_of.year - (as_of.month < 7), 7, 1)
    return days_to(first, first.replace(year=first.year + 1))[:-1]


def _title(nursery: Nursery, year: Sequence[date]) -> str:
    place, first, last = nursery.place, year[0], year[-1]
    when = f"{first.year}" if first.year == last.year else f"{day(first)} {first.year} to {day(last)} {last.year}"
    where = place.town or f"{place.latitude_deg:g}, {place.longitude_deg:g}"
    return f"{nursery.name}: {where}, {when}"


def _hours(nursery: Nursery, year: Sequence[date]) -> tuple[float, float]:
    low = min(day_length_at(nursery.place, found) for found in year)
    high = max(day_length_at(nursery.place, found, CIVIL_TWILIGHT_DEG) for found in year)
    return max(0.0, low - 1), min(24.5, high + 1)


def _frost(field: Field, nursery: Nursery, accept: float, year: Sequence[date]) -> Iterator[Mark]:
    frost = nursery.frost
    threshold = units.temperature(frost.threshold_c, nursery.units)
    estimate = ", an estimate" if frost.estimate else ""
    yield field.title(f"Chance of a night at or below {threshold}{estimate}")
    if frost.spring is None:
        yield from field.months()
        x, y = (field.left + field.right) / 2, (field.top + field.foot) / 2
        yield words(x, y, "It does not freeze here.", BODY, anchor="middle")
        return
    safe = [found for found in year if min(frost.chance_after(found), frost.chance_before(found)) <= accept]
    whole = bool(safe) and (safe[-1] - safe[0]).days + 1 == len(safe)
    if whole:
        x1, x2 = field.x(safe[0]), field.x(safe[-1] + timedelta(days=1))
        yield box(x1, field.top, x2 - x1, field.foot - field.top, fill=TINT, kind="safe")
    yield from field.values([(value, f"{value}%") for value in (0, 25, 50, 75, 100)])
    yield from field.months()
    turn = next(found for found in year if (found.month, found.day) == ((2, 1) if frost.southern else (8, 1)))
    spring = [(found, 100 * frost.chance_after(found)) for found in year if found < turn]
    autumn = [(found, 100 * frost.chance_before(found)) for found in year if found >= turn]
    yield field.curve(spring, kind="spring")
    yield field.curve(autumn, kind="autumn", dash=_DASH)
    yield from _name(field, spring, "still to come", -1)
    yield from _name(field, autumn, "has come", 1)
    yield field.curve([(year[0], 100 * accept), (year[-1], 100 * accept)], kind="accepted", width=0.2, dash=(0.4, 0.8))
    if whole:
        told = [f"no likelier than the {percent_asked(accept)} accepted:", f"{day(safe[0])} to {day(safe[-1])}"]
        if len(safe) == len(year):
            told = [f"all year no likelier than the {percent_asked(accept)} accepted"]
        middle = (field.x(safe[0]) + field.x(safe[-1])) / 2
        edge = min(max(middle, field.left + 27), field.right - 27)
        for number, text in enumerate(told):
            yield from field.label(edge, field.top + 8 + 4 * number, text, "middle")


def _name(field: Field, series: Sequence[tuple[date, float]], text: str, side: int) -> Iterator[Mark]:
    """The name of a line beside where it passes the half, on its outer side."""
    for (_, before), (when, after) in pairwise(series):
        if (before - 50) * (after - 50) <= 0 and before != after:
            yield from field.label(field.x(when) + 2 * side, field.y(50) + 0.9, text, "end" if side < 0 else "start")
            return


def _day_length(field: Field, nursery: Nursery, _: float, year: Sequence[date]) -> Iterator[Mark]:
    yield field.title("Day length, hours")
    yield from field.values([(n, f"{n:g}") for n in range(0, 25, 2) if field.low <= n <= field.high])
    yield from field.months()
    light = [(found, day_length_at(nursery.place, found)) for found in year]
    twilight = [(found, day_length_at(nursery.place, found, CIVIL_TWILIGHT_DEG)) for found in year]
    yield field.curve(twilight, kind="twilight", width=0.3, dash=_DASH)
    yield field.curve(light, kind="daylight")
    yield from _key(field, light, (("sunrise to sunset", None, 0.45), ("with civil twilight", _DASH, 0.3)))


def _light(field: Field, nursery: Nursery, _: float, year: Sequence[date]) -> Iterator[Mark]:
    yield field.title("Light, mol/m² a day (DLI)")
    yield from field.values([(value, f"{value:g}") for value in nice_steps(field.high)])
    yield from field.months()
    clear = [(found, clear_day(nursery.place, found).dli_mol) for found in year]
    yield field.curve(clear, kind="clear")
    named: list[tuple[str, tuple[float, float] | None, float]] = [("clear sky", None, 0.45)]
    if nursery.place.radiation_mj:
        usual = [(found, dli_mol(usual_mj(nursery.place, found) or 0.0)) for found in year]
        yield field.curve(usual, kind="usual", dash=_DASH)
        named.append(("usual", _DASH, 0.45))
    yield from _key(field, clear, named)


def _key(
    field: Field, series: Sequence[tuple[date, float]], named: Sequence[tuple[str, tuple[float, float] | None, float]]
) -> Iterator[Mark]:
    """The names of the lines, where the lines leave room: under a line that bulges, over one that sags."""
    values = [value for _, value in series]
    bulges = values[len(values) // 2] >= values[0]
    y = field.foot - 3 if bulges else field.top + 4
    x = (field.left + field.right) / 2 - 19 * len(named) + 2
    for text, dash, width in named:
        yield from field.label(x + 9, y, text)
        yield line(x, y - 0.9, x + 7, y - 0.9, INK, width, dash=dash, kind="key")
        x += 40
