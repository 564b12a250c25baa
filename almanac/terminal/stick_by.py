"""What to stick when to have so many plants by a day, for a person and as JSON. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import groupby
from typing import Any

from almanac.alike import together
from almanac.nursery.nursery import Nursery
from almanac.plan.backwards.aim import Aim, Backwards, Short, Wave, Way
from almanac.terminal.encoded import Shape
from almanac.terminal.table import paragraph, paragraphs, table
from almanac.words.dates import day, weekday
from almanac.words.sentences import listed, percent, percent_asked
from almanac.words.warnings import HELD, warning_text

_ON_THE_WAY = {
    "roots": "roots",
    "leaves": "leaves",
    "lifted": "lifted",
    "potted": "potted up",
    "set_out": "out to harden",
}


_SHORT: Mapping[Short, str] = {
    "time": "the time is short, from today on",
    "wood": "there is no wood to stick on the days that would do",
    "bags": "your {kind}s have too few places left on the days that would do",
    "warmth": "no {kind} is warm enough for it, see your mats",
}


def stick_by_text(found: Backwards, nursery: Nursery) -> str:
    """A row a chance, then what each way brings and what it leaves too little room for."""
    aim, near = found.aim, nursery.as_of
    lines = [*paragraph(f"{aim.plants} of {_what(found, nursery)} ready by {weekday(aim.by, near)}"), ""]
    held = f"{HELD[nursery.book.methods[aim.method].place]}s"
    rows = [row for way in found.ways for row in _rows(way, held, nursery)]
    lines += [*table(rows, ("Chance", "Stick", "Cuttings", "Where")), ""]
    lines += _impossible(found, nursery)
    for way, crowded in zip(found.ways, found.crowded, strict=True):
        if way.waves:
            lines += paragraph(f"{percent(way.chance)}: {_brings(way, found, nursery)}")
            lines += [*paragraphs((warning_text(warning, near) for warning in crowded), 2, "! "), ""]
    hardened = nursery.book.methods[aim.method].ready == "hardened"
    ready = "hardened off" if hardened else "lifted from its bed, bare"
    lines += paragraph(
        f"Ready means {ready}. {percent(found.rate.mean)} of the cuttings finish, on average; "
        "that figure is not sure, lots differ, and so do their days: the chance covers all three. More: stickdate "
        "strike"
    )
    for method, ways in groupby(found.otherwise, key=lambda item: item[0]):
        each = "; ".join(
            f"{percent(way.chance)} with {way.cuttings} cuttings, the last stuck {weekday(way.waves[-1].day, near)}"
            for _, way in ways
        )
        title = nursery.book.methods[method].title.lower()
        lines += paragraph(f"By {title} there is a way: {each}. More: --method {method}")
    if aim.number and any(way.waves for way in found.ways):
        best = next(way for way in reversed(found.ways) if way.waves)
        lines += paragraph(f"Plan it: add --accept {percent_asked(best.chance)}")
    if aim.number and nursery.varieties[aim.number].protected:
        lines += paragraph(nursery.book.cautions["protected"].short)
    return "\n".join(lines) + "\n"


def _impossible(found: Backwards, nursery: Nursery) -> Iterator[str]:
    """Why some chances cannot be had, those of one reason together."""
    ways = (way for way in found.ways if not way.waves)
    for why, alike in together(ways, lambda way: _cannot(way, found, nursery)).items():
        yield from (*paragraph(f"{listed(percent_asked(way.chance) for way in alike)}: {why}"), "")


def _what(found: Backwards, nursery: Nursery) -> str:
    number = found.aim.number
    return f"number {number}, {nursery.varieties[number].name} ({found.aim.crop})," if number else found.aim.crop


def _rows(way: Way, held: str, nursery: Nursery) -> list[tuple[str, str, str, str]]:
    """A row a day of sticking; the chance stands in the first; `held` are bags, cells or sticks."""
    chance = percent(way.chance)
    if not way.waves:
        lacks = [held if each == "bags" else each for each in way.short]
        return [(chance, f"short of {listed(lacks)}" if lacks else "cannot be", "", "")]
    rows: list[tuple[str, str, str, str]] = []
    for stuck, waves in together(way.waves, lambda wave: wave.day).items():
        count = sum(wave.count for wave in waves)
        where = ", ".join(f"{wave.count} in {wave.bin}" if wave.bin else str(wave.count) for wave in waves)
        rows.append(("" if rows else chance, weekday(stuck, nursery.as_of), str(count), where))
    return rows


def _brings(way: Way, found: Backwards, nursery: Nursery) -> str:
    """What the last wave comes to, from when on wood for it may be cut, and the room that all of them take."""
    wave = way.waves[-1]
    likely = dict(wave.likely)
    rooted = found.rate.made_of[0].mean if found.rate.made_of else found.rate.mean
    told = [f"{words} {day(likely[name], nursery.as_of)}" for name, words in _ON_THE_WAY.items() if name in likely]
    method = nursery.book.methods[found.aim.method]
    ready = day(likely[method.ready], nursery.as_of)
    leaves = day(wave.leaves, nursery.as_of)
    where = f"{method.place.capitalize()} {wave.bin} is" if wave.bin else f"The {HELD[method.place]}s are"
    wood = day(wave.day - found.keeps, nursery.as_of)
    pots = f" About {round(way.cuttings * rooted)} pots then stand under the lamps, and later outside."
    return (
        f"of wood cut after {wood}, or it does not keep; {', '.join(told)}, ready {ready}, each likely. {where} free "
        f"again by {leaves}, nine times in ten.{pots if method.ends == 'potted' else ''}"
    )


def _cannot(way: Way, found: Backwards, nursery: Nursery) -> str:
    aim, near = found.aim, nursery.as_of
    kind = nursery.book.methods[aim.method].place
    why = listed(_SHORT[each].format(kind=kind) for each in way.short) or "in the time and room there is"
    parts = [f"{aim.plants} cannot be ready by {weekday(aim.by, near)} with this chance: {why}."]
    if way.instead:
        parts.append(f"By {weekday(way.instead, near)} they can.")
    if way.at_most:
        parts.append(f"By {weekday(aim.by, near)} up to {way.at_most} can.")
    if not way.instead and not way.at_most:
        parts.append("Nor can any by then, nor so many within two years: see frost in stickdate site, and your mats.")
    return " ".join(parts)


def stick_by_json(found: Backwards, nursery: Nursery) -> dict[str, Any]:
    return {
        "as_of": nursery.as_of,
        **_AIM(found.aim),
        "ways": [
            {**_WAY(way), "crowded": [warning_text(warning, nursery.as_of) for warning in crowded]}
            for way, crowded in zip(found.ways, found.crowded, strict=True)
        ],
        "otherwise": [{"method": method, **_OTHERWISE(way)} for method, way in found.otherwise],
    }


_AIM = Shape(Aim, "variety=number? crop method plants by share:4")
_WAVE = Shape(Wave, "date=day bin? count likely bin_free=leaves", likely=lambda wave: dict(wave.likely))
_WAY = Shape(
    Way,
    "chance reached:4 cuttings waves instead at_most short",
    waves=_WAVE,
    at_most=lambda way: None if way.waves else way.at_most,
)
_OTHERWISE = Shape(Way, "chance cuttings last", last=lambda way: way.waves[-1].day)
