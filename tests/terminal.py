"""A terminal to hold a conversation in: what the command says is read, what a grower types is sent, as by hand."""

from __future__ import annotations

import os
import re
import select
import subprocess
import sys
import time
from collections.abc import Mapping
from pathlib import Path
from types import TracebackType

_STYLE = re.compile(r"\x1b\[[0-9;?]*[A-Za-z]")
PATIENCE_S = 30


def _own_terminal() -> None:
    """Make it the terminal of the new session, so that Ctrl-C reaches the command."""
    import fcntl
    import signal
    import termios

    signal.signal(signal.SIGINT, signal.SIG_DFL)  # tests in the background may have it ignored
    fcntl.ioctl(0, termios.TIOCSCTTY, 0)


class Terminal:
    """A command started in a pseudo-terminal 80 wide; `screen` is all that it said so far, without colour."""

    def __init__(self, *words: object, cwd: Path, environment: Mapping[str, str] | None = None) -> None:
        self._ours, theirs = os.openpty()
        surroundings = {**os.environ, "TERM": "xterm", "COLUMNS": "80", **(environment or {})}
        command = [sys.executable, "-m", "almanac.cli.main", *map(str, words)]
        self._run = subprocess.Popen(
            command,
            cwd=cwd,
            env=surroundings,
            stdin=theirs,
            stdout=theirs,
            stderr=theirs,
            start_new_session=True,
            preexec_fn=_own_terminal,
        )
        os.close(theirs)
        self.raw, self.answers, self._read_to = "", 0, 0

    @property
    def screen(self) -> str:
        """What stands on the screen, line by line."""
        return _STYLE.sub("", self.raw).replace("\r\n", "\n")

    def sees(self, text: str) -> str:
        """Wait until the command says something further on, and give all that it said up to there."""
        until = time.monotonic() + PATIENCE_S
        while text not in (unread := self.screen[self._read_to :]):
            left = until - time.monotonic()
            assert left > 0, f"never said {text!r} after\n{unread}"
            assert self._more(left), f"ended without {text!r} after\n{unread}"
        said = unread[: unread.index(text) + len(text)]
        self._read_to += len(said)
        return said

    def answer(self, question: str, typed: str = "") -> str:
        """Answer a question; what was said up to it is given back."""
        said = self.sees(question)
        self.sees(": ")
        self.answers += 1
        self.types(typed + "\n")
        return said

    def types(self, keys: str) -> None:
        """Send keys as they are."""
        os.write(self._ours, keys.encode())

    def ends(self) -> int:
        """Wait for the end; the exit status."""
        while self._more(PATIENCE_S):
            pass
        return self._run.wait(PATIENCE_S)

    def _more(self, patience_s: float) -> bool:
        if not select.select([self._ours], [], [], patience_s)[0]:
            return True
        try:
            said = os.read(self._ours, 65536)
        except OSError:  # how Linux says that nobody holds the other side any more
            return False
        self.raw += said.decode("utf-8", "replace")
        return bool(said)

    def __enter__(self) -> Terminal:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        if self._run.poll() is None:
            self._run.terminate()
            self._run.wait(PATIENCE_S)
        os.close(self._ours)
