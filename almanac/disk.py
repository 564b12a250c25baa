"""Bytes onto the disk so that they stay: whole, and with their name. What a cut-off write left behind is cleared."""

from __future__ import annotations

import os
import re
import tempfile
from collections.abc import Iterable
from pathlib import Path


def write_whole(path: Path, data: bytes, mode: int = 0o644) -> None:
    """Replace a file's bytes in one step: a reader finds the old ones or the new ones (POSIX rename).

    Raises:
        OSError: it cannot be written; the old bytes stand
    """
    handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        Path(temporary).chmod(mode)  # mkstemp makes it readable by its owner alone; web servers read feeds too
        Path(temporary).replace(path)
    except BaseException:
        Path(temporary).unlink(missing_ok=True)
        raise
    sync_folder(path.parent)


def sync_folder(folder: Path) -> None:
    """Bring new names to the disk: they reach it with their folder alone (fsync(2)). Windows cannot, and needs not."""
    if hasattr(os, "O_DIRECTORY"):
        handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def leftovers(folder: Path, names: Iterable[str]) -> list[Path]:
    """What `write_whole` of these files left when it was killed; remove it under the lock they are written under."""
    known = set(names)
    found = [(re.fullmatch(r"\.(.+)\.[a-z0-9_]{8}", path.name), path) for path in folder.glob(".*")]
    return sorted(path for match, path in found if match and match[1] in known)


def clear_leftovers(folder: Path, names: Iterable[str]) -> None:
    """Remove them."""
    for path in leftovers(folder, names):
        path.unlink(missing_ok=True)
