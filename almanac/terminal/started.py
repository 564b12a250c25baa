"""What `new` says: the town it took, the frost dates found and how far to trust them, what it made. Pure."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from pathlib import Path

from almanac import units
from almanac.site.frost import FrostTable
from almanac.site.stations import Near
from almanac.site.towns import Town
from almanac.terminal.table import paragraph, paragraphs, table
from almanac.units import System
from almanac.words.dates import day
from almanac.words.faults import note_text

_BETTER_DATES = (
    "Better than a neighbour's dates are those of your weather service or county extension office for a station at "
    "your height; better still is its daily record of lows. Either can be given later, under [frost] in nursery.toml."
)
_YEAR = 2001  # dates are told without one


def town_text(town: Town) -> str:
    """`Roanoke, Virginia, United States: 37.27° N, 79.94° W, America/New_York`."""
    position = units.position(town.latitude_deg, town.longitude_deg)
    return _joined(paragraph(f"That is {town}: {position}, {town.timezone}."))


def frost_text(near: Near, found: FrostTable, system: System) -> str:
    """The dates of the nearest station, and what its distance does to trust."""
    lines = paragraph(f"The nearest frost station is {near.station}.")
    rows = []
    for name, date_for in (("last in spring", found.date_for_spring), ("first in autumn", found.date_for_autumn)):
        dates = [date_for(chance, _YEAR) for chance in (0.9, 0.5, 0.1)]
        rows.append([name, *(day(each) if each else "–" for each in dates)])
    freezing = units.temperature(found.threshold_c, system)
    lines += table(rows, (f"Frost ({freezing}), chance", "90%", "50%", "10%"), indent=2)
    lines += paragraphs((note_text(note, system) for note in found.notes), lead="- ")
    return _joined([*lines, *paragraph(_BETTER_DATES)])


def without_station_text(why: str) -> str:
    """That no station will do, and what else there is."""
    monthly = "Where only mean lows of the months are to be had, monthly under [frost] makes an estimate of them."
    return _joined([*paragraph(f"No frost station will do: {why}."), *paragraph(monthly)])


def crops_text(crops: Collection[str]) -> str:
    return _joined(paragraph(f"Crops there are rules for: {', '.join(crops)}."))


def made_text(folder: Path, name: str, numbers: Sequence[str], *, unshown: bool) -> str:
    """Where the folder is, and what to do first.

    Args:
        folder, name: of the nursery
        numbers: of its first varieties
        unshown: whether its frost dates are a station's that was not shown before
    """
    lines = [f"Made {name}, in the folder", f"  {folder.absolute()}"]
    if unshown:
        lines += ["", *paragraph(f"Its frost dates are those of the nearest station. {_BETTER_DATES}")]
    lines += ["", "Next, one after another:", f"  cd {folder}"]
    if not numbers:
        lines.append("  write your varieties into varieties.csv, a line each: 1,Old brown,fig")
    lines += [
        f"  stickdate log taken {numbers[0] if numbers else 1} --count 12    (or received, stuck: what you have)",
        "  stickdate site                      (what the year brings here)",
        "  stickdate calendar                  (the calendar's files)",
        "  stickdate serve --host 0.0.0.0      (the calendar and the page for phones)",
    ]
    return _joined(lines)


def example_text(folder: Path, day_there: str) -> str:
    """Where the invented nursery is, and on which day to stand in it."""
    lines = ["Made an invented nursery, in the folder", f"  {folder.absolute()}", ""]
    lines += paragraph(
        f"Everything in it is invented, to play with; README.md there says what to notice. It stands in the middle of "
        f"its winter: look at it as of {day_there}, or at any day near it."
    )
    lines += ["", "Next:", f"  cd {folder}"]
    first = ("today --days 14", "lots", "log leaves 2b", "undo")
    lines += [f"  stickdate --as-of {day_there} {rest}" for rest in first]
    return _joined(lines)


def _joined(lines: list[str]) -> str:
    return "\n".join(lines) + "\n"
