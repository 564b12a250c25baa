"""The plants that wood is cut from: those that the settings name, and those kept as the logbook says. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from almanac.nursery.lots import Kept
from almanac.nursery.settings import Mother, Settings


def mothers_of(settings: Settings, kept: Iterable[Kept]) -> tuple[Mother, ...]:
    """All of them, those of the settings first; one that they name where it stands is not counted again."""
    named = {(each.variety, each.place.strip().lower()) for each in settings.mother}
    return (*settings.mother, *_of_kept(kept, named))


def _of_kept(kept: Iterable[Kept], named: set[tuple[str, str]]) -> Iterator[Mother]:
    together: dict[tuple[str, str], list[Kept]] = {}
    for each in kept:
        together.setdefault((each.number, each.place), []).append(each)
    for (number, place), plants in together.items():
        if (number, place.lower()) not in named:
            count = sum(each.count for each in plants)
            note = f"{count} plants" if count > 1 else ""
            yield Mother(variety=number, place=place, since=plants[0].day.year, note=note)
