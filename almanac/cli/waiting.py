"""That a command is at work, told on a terminal after two seconds; nowhere else, and gone once it speaks."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from threading import Event, Thread
from time import monotonic

_AFTER_S, _EACH_S = 2.0, 1.0
_done: Event | None = None
_teller: Thread | None = None


@contextmanager
def waiting() -> Iterator[None]:
    """Around what may take long."""
    global _done, _teller
    if not sys.stderr.isatty():
        yield
        return
    _done = Event()
    _teller = Thread(target=_tell, args=(_done,), daemon=True)
    _teller.start()
    try:
        yield
    finally:
        enough()


def enough() -> None:
    """From here on the command speaks for itself."""
    global _done, _teller
    if _done is not None and _teller is not None:
        _done.set()
        _teller.join()
    _done = _teller = None


def _tell(done: Event) -> None:
    began, told = monotonic(), ""
    wait_s = _AFTER_S
    while not done.wait(wait_s):
        told = f"at work for {monotonic() - began:.0f} s"
        sys.stderr.write(f"\r{told}")
        sys.stderr.flush()
        wait_s = _EACH_S
    if told:
        sys.stderr.write("\r" + " " * len(told) + "\r")
        sys.stderr.flush()
