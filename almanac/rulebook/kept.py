"""What was checked once without fault, kept from run to run in the user's own cache folder.

To check rule files and `nursery.toml` costs a third of a cold command, most of it the import of the library that does
it. So what came of it is kept under a digest of all that went into it: every byte of the files, their names, the
sources of this package that read them, the versions of the library and of Python. Whatever else is found there counts
as nothing found; then it is checked as ever, and nobody is told. Kept is JSON that says of each value what it is: to
build tables from it needs neither their types nor their checks, and runs nothing that stands in the file.
"""

from __future__ import annotations

import json
import os
import re
import stat
import sys
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import fields
from datetime import date, datetime, time
from functools import cache
from hashlib import sha256
from importlib.util import find_spec
from pathlib import Path
from types import MappingProxyType
from typing import Any, TypeVar, cast

from almanac.disk import write_whole
from almanac.plain import dataclass
from almanac.rulebook.book import Rulebook
from almanac.rulebook.changes import Change
from almanac.rulebook.fields import Table
from almanac.rulebook.models import care_model
from almanac.rulebook.programmes import NUMBERS

OFF = "STICKDATE_NO_CACHE"
_MOST = 20  # files; the oldest give way
_OURS = re.compile(r"\.?[0-9a-f]{64}\.json.*")
# The sources that say what comes of a file, and the data they look things up in.
_READERS = ("rulebook", "site", "nursery/settings.py", "units.py", "faults.py", "plain.py")
_Of = TypeVar("_Of")


@dataclass(frozen=True)
class Kept:
    """The place of what comes of certain files; none where nothing may be kept."""

    file: Path | None

    def found(self, kind: type[_Of]) -> _Of | None:
        """What was kept there, if it is whole and of that kind."""
        try:
            if self.file is None or not (
                _is_ours(self.file.parent, stat.S_ISDIR) and _is_ours(self.file, stat.S_ISREG)
            ):
                return None
            sum_, _, text = self.file.read_bytes().partition(b"\n")
            made = from_json(text) if sum_ == _sum(self.file, text) else None
        except (OSError, ValueError, LookupError, TypeError):
            return None
        return made if isinstance(made, kind) else None

    def keep(self, value: object) -> None:
        """Keep what came of them without fault, if that can be done."""
        if self.file is None:
            return
        folder = self.file.parent
        try:
            text = to_json(value)
            folder.mkdir(mode=0o700, parents=True, exist_ok=True)
            if _is_ours(folder, stat.S_ISDIR):
                write_whole(self.file, _sum(self.file, text) + b"\n" + text, 0o600)
                _clear(folder)
        except (OSError, TypeError):
            pass


def kept(what: str, files: Iterable[tuple[str, bytes]]) -> Kept:
    """The place of what comes of files.

    Args:
        what: what they are read as
        files: the name of each, and its bytes
    """
    folder = _folder()
    if folder is None:
        return Kept(None)
    digest = sha256(_readers())
    for name, data in ((what, b""), *files):
        known = os.fsencode(name)
        digest.update(b"%d %d\n" % (len(known), len(data)) + known + data)
    return Kept(folder / f"{digest.hexdigest()}.json")


def _folder() -> Path | None:
    """The folder in the user's own cache (XDG Base Directory Specification: a path that is not absolute is none)."""
    if os.environ.get(OFF):
        return None
    named = os.environ.get("XDG_CACHE_HOME") or (os.environ.get("LOCALAPPDATA") if sys.platform == "win32" else "")
    if named and Path(named).is_absolute():
        return Path(named) / "stickdate"
    try:
        home = Path.home()
        if not home.is_absolute() or not _is_owned(home.stat()):
            return None
    except (OSError, RuntimeError):
        return None
    return home / ("Library/Caches" if sys.platform == "darwin" else ".cache") / "stickdate"


def _is_owned(found: os.stat_result) -> bool:
    return not hasattr(os, "getuid") or found.st_uid == os.getuid()


def _is_ours(path: Path, kind: Callable[[int], bool]) -> bool:
    """Whether it is no link, belongs to this user, and is open to no other (Windows has no such bits)."""
    found = path.lstat()
    private = not hasattr(os, "getuid") or not found.st_mode & 0o077
    return kind(found.st_mode) and _is_owned(found) and private


def _clear(folder: Path) -> None:
    found = [path for path in folder.iterdir() if _OURS.fullmatch(path.name)]
    for path in sorted(found, key=lambda path: path.lstat().st_mtime_ns)[:-_MOST]:
        path.unlink(missing_ok=True)


def _sum(file: Path, text: bytes) -> bytes:
    return sha256(file.name.encode() + text).hexdigest().encode()


@cache
def _readers() -> bytes:
    """What else decides what comes of a file, besides its bytes."""
    library = find_spec("pydantic")
    version = Path(library.origin).with_name("version.py").read_bytes() if library and library.origin else b""
    package = Path(__file__).resolve().parent.parent
    marks = [f"{path} {at.st_size} {at.st_mtime_ns} {at.st_ctime_ns}" for path, at in _sources(package)]
    return b"\n".join([sys.version.encode(), version, os.fsencode("\n".join(marks))])


def _sources(package: Path) -> Iterator[tuple[str, os.stat_result]]:
    for name in _READERS:
        top = package / name
        if top.is_file():
            yield str(top), top.stat()
        for folder, inside, names in os.walk(top):
            inside[:] = sorted(each for each in inside if each != "__pycache__")
            for each in sorted(names):
                path = os.path.join(folder, each)
                yield path, os.stat(path)


def to_json(value: object) -> bytes:
    """A rulebook or a table with all that it holds: a list says first what it is, an object is a sealed mapping.

    Raises:
        TypeError: it holds what cannot be kept
    """
    names: dict[str, int] = {}

    def told(value: Any) -> Any:
        if isinstance(value, Table | Rulebook | Change):
            number = names.setdefault(_name(type(value)), len(names))
            return [number, *(told(getattr(value, field.name)) for field in fields(cast(Any, value)))]
        if isinstance(value, Mapping):
            if not all(type(key) is str for key in value):
                raise TypeError(value)
            held = {key: told(each) for key, each in value.items()}
            return held if isinstance(value, MappingProxyType) else ["dict", held]
        if type(value) in (tuple, list):
            return [type(value).__name__, *map(told, value)]
        if type(value) in (date, datetime, time):
            return [type(value).__name__, value.isoformat()]
        if value is not None and type(value) not in (str, int, float, bool):
            raise TypeError(value)
        return value

    return json.dumps([told(value), list(names)], separators=(",", ":")).encode()


def from_json(text: bytes) -> Any:
    """What `to_json` was given.

    Raises:
        ValueError, LookupError, TypeError: it is nothing of the kind
    """
    value, names = json.loads(text)
    known = _known()
    classes = [(known[name], [field.name for field in fields(known[name])]) for name in names]

    def made(value: Any) -> Any:
        if type(value) is dict:
            return MappingProxyType({key: made(each) for key, each in value.items()})
        if type(value) is not list:
            return value
        kind, *held = value
        if type(kind) is int:
            table, of = classes[kind]
            found = object.__new__(table)
            found.__dict__.update(zip(of, map(made, held), strict=True))
            return found
        return _MADE[kind](list(map(made, held)))

    return made(value)


_MADE: Mapping[str, Callable[[list[Any]], object]] = {
    "dict": lambda held: dict(held[0]),
    "list": list,
    "tuple": tuple,
    "date": lambda held: date.fromisoformat(held[0]),
    "datetime": lambda held: datetime.fromisoformat(held[0]),
    "time": lambda held: time.fromisoformat(held[0]),
}


def _name(kind: type) -> str:
    return f"{kind.__module__}.{kind.__qualname__}"


def _known() -> dict[str, Any]:
    """Every class that may be kept, by its name."""
    for name in NUMBERS:
        care_model(name)  # its class is made when first asked for
    every: list[type] = [Table]
    for kind in every:
        every += kind.__subclasses__()
    return {_name(kind): kind for kind in (Rulebook, Change, *every)}
