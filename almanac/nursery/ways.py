"""How a crop is rooted here where nobody says: by the nursery's usual method or the crop's first, as its place asks."""

from __future__ import annotations

from almanac.nursery.settings import Settings
from almanac.rulebook.book import Rulebook


def method_for(book: Rulebook, settings: Settings, crop: str, place: str = "") -> str:
    """The usual way if it suits the crop, else the crop's first; in a place that is named one for its kind.

    Args:
        book, settings: the rules and the nursery's places
        crop: what
        place: the name of a bin, tray or bed; empty where none is named
    """
    usual = book.method_for(crop, settings.nursery.method)
    item = settings.bin_named(place) if place else None
    if item is None or usual not in book.methods or book.methods[usual].place == item.kind:
        return usual
    methods = (name for name in book.crops[crop].methods if name in book.methods)
    return next((name for name in methods if book.methods[name].place == item.kind), usual)
