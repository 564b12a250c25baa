"""A lock on a file, taken at once or not at all; it ends with its process, however that ends.

Where the system has such locks itself (flock(2): Linux, macOS) they are asked for directly, and only elsewhere through
the library of locks: to import it takes a command longer than to read a nursery. Both lock the same file the same way.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path


class Held:
    """A lock that others have, nobody has, or this one."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._handle: int | None = None

    if sys.platform == "win32":

        def take(self) -> bool:
            """Take it; whether it was free. Raises OSError where the file cannot be made."""
            from filelock import FileLock, Timeout

            self._lock = FileLock(self._path, thread_local=False)
            try:
                self._lock.acquire(timeout=0)
            except Timeout:
                return False
            return True

        def release(self) -> None:
            """Let it go, if it is this one's."""
            self._lock.release()

    else:

        def take(self) -> bool:
            """Take it; whether it was free. Raises OSError where the file cannot be made."""
            from fcntl import LOCK_EX, LOCK_NB, flock

            handle = os.open(self._path, os.O_RDWR | os.O_CREAT | os.O_NOFOLLOW | os.O_NONBLOCK, 0o644)
            try:
                flock(handle, LOCK_EX | LOCK_NB)
                held = os.fstat(handle).st_nlink > 0  # else the file was deleted meanwhile, and others lock a new one
            except BlockingIOError:
                held = False
            except BaseException:
                os.close(handle)
                raise
            if held:
                self._handle = handle
            else:
                os.close(handle)
            return held

        def release(self) -> None:
            """Let it go, if it is this one's."""
            handle, self._handle = self._handle, None
            if handle is not None:
                os.close(handle)
