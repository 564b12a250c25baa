"""The plants that wood is cut from: those that the settings name, and those kept as the logbook says. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from almanac.nursery.lots import Kept, Lot
from almanac.nursery.settings import Mother, Settings


def mothers_of(settings: Settings, kept: Iterable[Kept]) -> tuple[Mother, ...]:
    """All of them, those of the settings first; one that they name where it stands is not counted again."""
    named = {(each.variety, each.place.strip().lower()) for each in settings.mother}
    return (*settings.mother, *_of_kept(kept, named))


def in_doubt(lot: Lot, mothers: Iterable[Mother]) -> bool:
    """Whether own wood came from a plant whose health is in doubt; of several, if that is all that may be meant."""
    of_variety = [each for each in mothers if each.variety == lot.number]
    its = [each for each in of_variety if lot.mother and each.place.strip().lower() == lot.mother.lower()] or of_variety
    return lot.origin == "own_wood" and bool(its) and all(each.health != "sound" for each in its)


def _of_kept(kept: Iterable[Kept], named: set[tuple[str, str]]) -> Iterator[Mother]:
    together: dict[tuple[str, str], list[Kept]] = {}
    for each in kept:
        together.setdefault((each.number, each.place), []).append(each)
    for (number, place), plants in together.items():
        if (number, place.lower()) not in named:
            count = sum(each.count for each in plants)
            note = f"{count} plants" if count > 1 else ""
            yield Mother(variety=number, place=place, since=plants[0].day.year, note=note)
