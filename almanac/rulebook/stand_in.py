"""The rules by which a bench can log while files of its own are at fault: as many as are sound, the rest stood in for.

Nothing is planned or published by them. A row says which lot, how many and where, and all that must be known of the
rules for it are the names of crops and methods: those of files left out go by the numbers of a shipped one.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import replace
from pathlib import Path
from typing import TypeVar

from almanac.rulebook.book import Rulebook
from almanac.rulebook.files import own_files
from almanac.rulebook.load import load_without
from almanac.rulebook.models import Crop, Method

_Rule = TypeVar("_Rule", Crop, Method)


def stand_in(own: Path, events: Collection[str]) -> Rulebook | None:
    """The rules without those own files that are at fault; None where the shipped ones are, which no nursery can mend.

    Args:
        own: the nursery's own rules folder
        events: the names of all events that may be logged
    """
    files = own_files(own)
    left_out: set[Path] = set()
    while True:
        book, faults = load_without(own, events, left_out)
        if not faults and book is not None:
            return replace(
                book, crops=_with_names(book.crops, own / "crops"), methods=_with_names(book.methods, own / "methods")
            )
        if left_out == set(files.values()):
            return None
        named = {files[fault.file] for fault in faults if fault.file in files} - left_out
        left_out |= named or set(files.values())


def _with_names(known: Mapping[str, _Rule], folder: Path) -> Mapping[str, _Rule]:
    like = next(iter(known.values()))
    more = (path.stem for path in sorted(folder.glob("*.toml")) if path.stem not in known)
    return {**known, **{name: replace(like, id=name, title=name) for name in more}}
