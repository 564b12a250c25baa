"""Rule files that several tests of one process read are taken apart once, and the same files make one rulebook.

Most tests read the rules that ship, or those with one file beside them; a fault among a nursery's own rules has all
read again. What is read here is bytes already: from the same bytes come the same tables, rulebook and faults. While it
is watched which test runs which line (`tests.planted`), each test reads its own. Commands that are started keep what
they read as they would for a grower, in a folder of the tests' own.
"""

from __future__ import annotations

import os
import pickle
from collections.abc import Collection, Iterable, Iterator
from contextlib import ExitStack, contextmanager
from functools import lru_cache
from pathlib import Path
from typing import Any
from unittest.mock import patch

from almanac import kept
from almanac.faults import Fault
from almanac.rulebook import load
from almanac.rulebook.book import Rulebook
from almanac.rulebook.files import RuleFile
from almanac.rulebook.toml_text import read_toml

_made, _found = load._book_of, kept._folder
_Made = tuple[Rulebook | None, tuple[Fault, ...]]
_BOOKS: dict[object, _Made] = {}
_OURS = [""]


def kept_book(files: Iterable[RuleFile], events: Collection[str]) -> tuple[Rulebook | None, list[Fault]]:
    """What some files make: the same object each time."""
    files = tuple(files)
    if _tried():
        return _made(files, events)
    if any(file.data is None for file in files):  # which is told only where it is read
        return _made(files, events)
    key = frozenset(events), tuple((file.shown, file.relative, file.ships, file.data) for file in files)
    if key not in _BOOKS:
        book, faults = _made(files, events)
        _BOOKS[key] = book, tuple(faults)
    book, told = _BOOKS[key]
    return book, list(told)


def kept_toml(data: bytes, file: str) -> Any:
    """What a file says, in tables of its own: they are written into."""
    return pickle.loads(_read(data, file))


@lru_cache(maxsize=2048)
def _read(data: bytes, file: str) -> bytes:
    return pickle.dumps(read_toml(data, file))


def _tried() -> bool:
    """Whether a test tries what the program itself keeps, in a folder of its own."""
    return os.environ.get("XDG_CACHE_HOME") != _OURS[-1]


def _folder() -> Path | None:
    return _found() if _tried() else None


@contextmanager
def read_once(caches: Path) -> Iterator[None]:
    """All rules are read so; what is started keeps them in a folder."""
    _OURS[:] = [str(caches)]
    with ExitStack() as around:
        around.enter_context(patch.dict(os.environ, {"XDG_CACHE_HOME": str(caches)}))
        around.enter_context(patch.object(kept, "_folder", _folder))
        if "STICKDATE_WATCHED" not in os.environ:
            around.enter_context(patch.object(load, "_book_of", kept_book))
            around.enter_context(patch.object(load, "read_toml", kept_toml))
        yield
