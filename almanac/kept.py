"""What was worked out once without fault, kept from run to run in the user's own cache folder.

To check rule files and to ask a library for holidays costs more than half of a cold command, most of it the import of
who does it. So what came of it is kept under a digest of all that went into it: every byte of the files, their names,
the sources of this package that read them, the versions of the library and of Python. Whatever else is found there
counts as nothing found; then it is worked out as ever, and nobody is told.
"""

from __future__ import annotations

import os
import re
import stat
import sys
from collections.abc import Callable, Iterable, Iterator
from functools import cache
from hashlib import sha256
from importlib.util import find_spec
from pathlib import Path
from typing import TypeVar

from almanac.disk import write_whole
from almanac.plain import dataclass

OFF = "STICKDATE_NO_CACHE"
_MOST = 60  # files; the oldest give way
_OURS = re.compile(r"\.?[0-9a-f]{64}\.json.*")
_Of = TypeVar("_Of")


@dataclass(frozen=True)
class Kept:
    """The place of what came of certain files; none where nothing may be kept."""

    file: Path | None

    def found(self, read: Callable[[bytes], _Of]) -> _Of | None:
        """What was kept there, if it is whole and can be read."""
        try:
            if self.file is None or not (
                _is_ours(self.file.parent, stat.S_ISDIR) and _is_ours(self.file, stat.S_ISREG)
            ):
                return None
            sum_, _, text = self.file.read_bytes().partition(b"\n")
            return read(text) if sum_ == _sum(self.file, text) else None
        except (OSError, ValueError, LookupError, TypeError, AttributeError):
            return None

    def keep(self, value: _Of, write: Callable[[_Of], bytes]) -> None:
        """Keep what came of them without fault, if that can be done."""
        if self.file is None:
            return
        folder = self.file.parent
        try:
            text = write(value)
            folder.mkdir(mode=0o700, parents=True, exist_ok=True)
            if _is_ours(folder, stat.S_ISDIR):
                write_whole(self.file, _sum(self.file, text) + b"\n" + text, 0o600)
                _clear(folder)
        except (OSError, TypeError):
            pass


def kept(what: str, files: Iterable[tuple[str, bytes]], *, sources: tuple[str, ...], library: str = "") -> Kept:
    """The place of what comes of files.

    Args:
        what: what they are read as
        files: the name of each, and its bytes
        sources: the files and folders of this package that say what comes of them
        library: the one that works it out; not said where it is Python's own
    """
    folder = _folder()
    if folder is None:
        return Kept(None)
    digest = sha256(_readers(sources, library))
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
def _readers(sources: tuple[str, ...], library: str) -> bytes:
    """What else decides what comes of a file, besides its bytes."""
    spec = find_spec(library) if library else None
    version = Path(spec.origin).with_name("version.py").read_bytes() if spec and spec.origin else b""
    marks = [f"{path} {at.st_size} {at.st_mtime_ns} {at.st_ctime_ns}" for path, at in _marked(sources)]
    return b"\n".join([sys.version.encode(), version, os.fsencode("\n".join(marks))])


def _marked(sources: Iterable[str]) -> Iterator[tuple[str, os.stat_result]]:
    package = Path(__file__).resolve().parent
    for name in ("kept.py", *sources):
        top = package / name
        if top.is_file():
            yield str(top), top.stat()
        for folder, inside, names in os.walk(top):
            inside[:] = sorted(each for each in inside if each != "__pycache__")
            for each in sorted(names):
                path = os.path.join(folder, each)
                yield path, os.stat(path)
