"""Into which bin a lot goes: how well each mat suits the crop, and where there is room. Pure.

A full bin is refused when something is logged, never when it is read: what stands in a logbook stands there, and is
warned of. A stocktake is never held against the places.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping

from almanac.forecast.thermal import rate
from almanac.nursery.lots import BinLog, Lot
from almanac.nursery.settings import Settings
from almanac.nursery.settings_places import Bin
from almanac.plain import dataclass
from almanac.rulebook.book import Rulebook
from almanac.rulebook.models import Warmth, Where


@dataclass(frozen=True, kw_only=True)
class Seat:
    """A bin as a lot to come finds it: places free, warmth of the base now [°C], and its pace of rooting, 1 at best.

    `kind` is what it is: a tray or a bed, too, whose warmth is that of the year.
    """

    bin: str
    kind: Where
    free: int
    places: int
    base_c: float
    pace: float


@dataclass(frozen=True, kw_only=True)
class Placed:
    """A bin proposed and taken for a row of the logbook; the seat as it is after that."""

    row: str
    crop: str
    seat: Seat


def stand_in_bins(book: Rulebook, method: str) -> bool:
    """Whether lots rooted by a method stand in bins or their like: the warmth of the base drives their milestones."""
    return any(rule.clock == "base" for rule in book.methods[method].milestone)


def places_for(settings: Settings, book: Rulebook, method: str) -> list[Bin]:
    """The places of the kind that a method needs."""
    return [item for item in settings.places if item.kind == book.methods[method].place]


def seats(bins: Iterable[Bin], logs: Mapping[str, BinLog], warmth: Warmth, taken: Callable[[str], int]) -> list[Seat]:
    """Every bin, the one that suits best first: by its mat, then by room, then as the settings list them.

    Args:
        bins, logs: as the settings and the logbook have them
        warmth: how the crop's roots answer to temperature
        taken: how many places are taken in a bin
    """
    best = rate(warmth, warmth.optimum_low)
    found = []
    for item in bins:
        base_c = logs[item.name].base_c[-1][1]
        pace = 1.0 if item.kind == "bed" else rate(warmth, base_c) / best  # every bed is as warm as the site's year
        free = item.bags - taken(item.name)
        found.append(Seat(bin=item.name, kind=item.kind, free=free, places=item.bags, base_c=base_c, pace=pace))
    return sorted(found, key=lambda seat: (-round(seat.pace, 3), -seat.free))


def proposed(found: Iterable[Seat], count: int) -> Seat | None:
    """The first that has room for so many, and is warm enough for anything to go on."""
    return next((seat for seat in found if seat.free >= count and seat.pace > 0), None)


def bags_in(lots: Iterable[Lot], name: str) -> int:
    """How many bags, cells or sticks stand in a place now."""
    return sum(lot.in_place for lot in lots if lot.bin == name)
