"""Fungus gnats as logged, place by place: since when, on which lots, how warm these stand, and until when. Pure.

A place is a bin with what was potted out of it, or a lot that stands in none.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date, timedelta

from almanac.forecast.generations import Clock, Series, first_day_with, latest
from almanac.nursery.lots import BinLog, Lot, Sighting
from almanac.plain import dataclass
from almanac.plan.context.day import Context
from almanac.plan.context.opening import first_opening
from almanac.rulebook.book import Rulebook
from almanac.rulebook.programmes.fungus_gnats import FungusGnats, StageDays


@dataclass(frozen=True, eq=False, kw_only=True)
class Home:
    """Cuttings of a lot in bags or in pots, and how warm their mix was from each day on [°C].

    `open_since` is the day from which they may be drenched; None while they are in shut bags. `shut_until` is the last
    day before such bags are expected to be opened, where that is foreseen.
    """

    lot: Lot
    in_pots: bool
    warmth: Series
    open_since: date | None
    shut_until: date | None = None

    @property
    def now_c(self) -> float:
        return self.warmth[-1][1]

    @property
    def count(self) -> int:
        return self.lot.count("pot" if self.in_pots else "rooting")


@dataclass(frozen=True, kw_only=True)
class Outbreak:
    """Gnats in a place: the first sighting in one run, the one to act on if any was, the last; and the end.

    The end is a slow generation after the last adult seen; `cold` where no sum of warmth fills so far.
    """

    place: str
    bin: str
    since: date
    acted: Sighting | None
    last: Sighting
    end: date
    cold: bool
    homes: tuple[Home, ...]


def clock(rules: FungusGnats, stages: StageDays) -> Clock:
    """One of the two clocks of the rule."""
    return Clock.timed(
        rules.threshold.at, stages.level, stages.at, egg=stages.eggs, larva=stages.larvae, pupa=stages.pupae
    )


def outbreaks(context: Context) -> list[Outbreak]:
    """Every place with gnats that were not said to be gone, and with cuttings in bags or pots."""
    book, bins = context.book, context.stock.bins
    room_c = book.programme(FungusGnats).room.air
    by_place: dict[tuple[str, str], list[Lot]] = {}
    for lot in context.open_lots():
        in_bed = book.methods[lot.method].place == "bed" and not lot.count("pot")
        if (lot.count("rooting") or lot.count("pot")) and not in_bed:  # outdoors they are nobody's care
            name = _bin_of(lot, bins)
            if lot.gnats:
                by_place.setdefault((lot.id, ""), []).append(lot)
            elif name:
                by_place.setdefault((name, name), []).append(lot)
    found = []
    for (place, bin_name), lots in by_place.items():
        homes = tuple(home for lot in lots for home in _homes(lot, context, room_c))
        seen = bins[bin_name].gnats if bin_name else lots[0].gnats
        found.append(_outbreak(place, bin_name, seen, homes, book))
    return found


def _bin_of(lot: Lot, bins: Mapping[str, BinLog]) -> str:
    """The bin with gnats that it stands in or was potted out of, or that it left since they were seen there."""
    left = date.max
    for came, name in reversed(lot.places):
        gnats = bins[name].gnats
        if gnats and left >= gnats[0].day:
            return name
        left = came
    return ""


def _outbreak(place: str, bin_name: str, seen: Iterable[Sighting], homes: tuple[Home, ...], book: Rulebook) -> Outbreak:
    """Sightings as one run, as long as each comes while all clear of those before it is still to be said."""
    rules, patience = book.programme(FungusGnats), timedelta(days=book.task("gnat_clear").closes_day or 0)
    slow = clock(rules, rules.slow)
    found: Outbreak | None = None
    for sighting in sorted(seen, key=lambda each: each.day):
        since, acted = (
            (found.since, found.acted) if found and sighting.day <= found.end + patience else (sighting.day, None)
        )
        enough = sighting.count is None or sighting.count >= rules.act_at.adults
        acted = acted or (sighting if enough else None)
        bound = sighting.day + timedelta(days=round(rules.longest.days))
        ends = [first_day_with(slow.pace(home.warmth, sighting.day), slow.generation) for home in homes]
        end = latest(ends, bound)
        found = Outbreak(
            place=place, bin=bin_name, since=since, acted=acted, last=sighting, end=end, cold=end == bound, homes=homes
        )
    assert found is not None  # a place is named for its sightings
    return found


def _homes(lot: Lot, context: Context, room_c: float) -> Iterable[Home]:
    bags = _bag_warmth(lot, context.stock.bins, room_c)
    if lot.count("rooting"):
        opened, foreseen = _opened(lot, context)
        shut_until = foreseen - timedelta(days=1) if foreseen else None
        yield Home(lot=lot, in_pots=False, warmth=bags, open_since=opened, shut_until=shut_until)
    potted = lot.since("pot")
    if potted:
        yield Home(
            lot=lot, in_pots=True, warmth=_pot_warmth(lot, potted, bags, context.stock.bins, room_c), open_since=potted
        )


def _opened(lot: Lot, context: Context) -> tuple[date | None, date | None]:
    """Since when its bags are open, and when they are expected to be.

    As logged; else, once roots were, from the day of the first step. What is logged as opened after part of the lot was
    potted may be the covers of the pots, so it opens no bag.
    """
    stuck, potted = lot.steps.get("stuck", date.min), lot.steps.get("potted", date.max)
    if context.book.methods[lot.method].bag is None:
        return stuck, None  # what drains may be drenched from the first day
    opened = [day for day in lot.jobs.get("opened", ()) if stuck <= day <= potted]
    if opened:
        return opened[0], None
    opening = first_opening(context, lot)
    foreseen = opening.day if opening else None
    rooted = "roots" in lot.signs or "well_rooted" in lot.signs
    return (foreseen, foreseen) if rooted and potted == date.max else (None, foreseen)


def _bag_warmth(lot: Lot, bins: Mapping[str, BinLog], room_c: float) -> Series:
    """The base of the bins it stood in, and what a probe in its own mix showed."""
    found = {} if lot.places else {date.min: room_c}
    for number, (came, name) in enumerate(lot.places):
        start = came if number else date.min
        end = lot.places[number + 1][0] if number + 1 < len(lot.places) else date.max
        found |= {max(day, start): degrees for day, degrees in bins[name].base_c if day < end}
        found |= {day: degrees for day, degrees in lot.readings if start <= day < end}
    return tuple(sorted(found.items()))


def _pot_warmth(lot: Lot, potted: date, bags: Series, bins: Mapping[str, BinLog], room_c: float) -> Series:
    """That of its bag, then the air of the bin it came from, as pots stand beside the mats."""
    air = bins[lot.places[-1][1]].air_c if lot.places else ((date.min, room_c),)
    found = {day: degrees for day, degrees in bags if day < potted}
    found |= {max(day, potted): degrees for day, degrees in air}
    found |= {day: degrees for day, degrees in lot.readings if day >= potted}
    return tuple(sorted(found.items()))
