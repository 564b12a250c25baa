"""The turns at a nursery: one writes at a time, in the order they came, be it a command or a phone.

Instead of a lock alone, for which all race each time it is free, so that one who writes in a loop starves the others.
Who finds the lock taken, or others before it, leaves a ticket beside the lock, named by the moment it came, and tries
the lock only when no earlier ticket is left. The lock alone keeps two apart; tickets say whose turn is next. Its owner
touches a ticket while it waits: one that nobody touches is of a process that was killed or stopped, and is taken away.
"""

from __future__ import annotations

import os
import threading
import time
from pathlib import Path
from typing import Self

from almanac.faults import Fact, MachineTrouble

LOCK = ".stickdate.lock"
_TICKET = ".stickdate.turn."
_PATIENCE_S = 30.0
_LOOK_AGAIN_S = 0.02
_UNTOUCHED_S = 3.0


class Turn:
    """A turn at a nursery: as a context from its beginning to its end.

    Args:
        folder: the nursery's
        patience_s: how long it is waited for [s]
    Raises:
        MachineTrouble: it did not come
    """

    def __init__(self, folder: Path, patience_s: float | None = None) -> None:
        from filelock import FileLock  # who only reads a nursery takes no turn

        self._folder = folder
        self._patience_s = _PATIENCE_S if patience_s is None else patience_s
        self._lock = FileLock(folder / LOCK, fallback_to_soft=False, thread_local=False)

    def __enter__(self) -> Self:
        came = f"{_TICKET}{time.time_ns():020}."
        if self._comes_first(came) and self._taken():
            return self
        until, ticket = (
            time.monotonic() + self._patience_s,
            self._folder / f"{came}{os.getpid()}.{threading.get_ident()}",
        )
        try:
            while True:
                ticket.touch()
                if self._comes_first(ticket.name) and self._taken():
                    return self
                if time.monotonic() >= until:
                    raise MachineTrouble(Fact("busy"))
                time.sleep(_LOOK_AGAIN_S)
        finally:
            ticket.unlink(missing_ok=True)

    def __exit__(self, *_: object) -> None:
        self.end()

    def end(self) -> None:
        """Let the next one, before the context ends."""
        self._lock.release()

    def _taken(self) -> bool:
        from filelock import Timeout

        try:
            self._lock.acquire(timeout=0)
        except Timeout:
            return False
        return True

    def _comes_first(self, name: str) -> bool:
        """Whether nobody waits who came before."""
        for earlier in os.listdir(self._folder):
            if earlier.startswith(_TICKET) and earlier < name:
                ticket = self._folder / earlier
                try:
                    untouched_s = time.time() - ticket.stat().st_mtime
                except FileNotFoundError:  # it has just had its turn
                    continue
                if abs(untouched_s) < _UNTOUCHED_S:
                    return False
                ticket.unlink(missing_ok=True)
        return True
