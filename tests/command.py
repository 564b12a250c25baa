"""The command `stickdate` as a grower runs it: in this process, which is quick, or in an interpreter of its own.

`stickdate` runs all of it but the start: words as a shell passes them, both outputs, the exit status, the folder stood
in. What only a start can show (encodings, pipes, locks, kills, what is imported) runs `started`; such tests carry the
mark `start`.
"""

from __future__ import annotations

import contextlib
import io
import os
import subprocess
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, tzinfo
from pathlib import Path
from unittest.mock import patch

from almanac.cli.main import main


@dataclass(frozen=True)
class Ran:
    """How a command ended."""

    status: int
    stdout: str
    stderr: str

    @property
    def lines(self) -> list[str]:
        """The lines it told the grower of what is wrong."""
        return self.stderr.splitlines()


def run(
    *words: object, cwd: Path | None = None, noon_of: str = "", encoding: str = "utf-8", out: io.RawIOBase | None = None
) -> Ran:
    """Run `stickdate` as a shell would, in this process; whatever `main` lets through is raised.

    Args:
        words: what stands after `stickdate`
        cwd: the folder stood in
        noon_of: a day whose noon (UTC) the command takes for now; otherwise it reads the clock
        encoding: of the terminal
        out: where the output goes instead of into what is given back
    """
    buffers = io.BufferedWriter(out) if out else io.BytesIO(), io.BytesIO()
    told, err = (io.TextIOWrapper(buffer, encoding, newline="\n") for buffer in buffers)
    with contextlib.ExitStack() as around:
        around.enter_context(patch("sys.argv", ["stickdate", *map(str, words)]))
        around.enter_context(patch("sys.stdin", io.TextIOWrapper(io.BytesIO(), "utf-8")))
        around.enter_context(contextlib.redirect_stdout(told))
        around.enter_context(contextlib.redirect_stderr(err))
        if cwd is not None:
            around.enter_context(contextlib.chdir(cwd))
        if noon_of:
            around.enter_context(patch("almanac.cli.common.datetime", _stopped(noon_of)))
        status = _status()
    if out:
        with contextlib.suppress(OSError):
            told.close()
    return Ran(status, "" if out else _written(told), _written(err))


def _status() -> int:
    try:
        main()
    except SystemExit as ended:
        return ended.code if isinstance(ended.code, int) else int(ended.code is not None)
    return 0


def _written(stream: io.TextIOWrapper) -> str:
    stream.flush()
    stream.seek(0)
    return stream.read()


def _stopped(day: str) -> type[datetime]:
    class Clock(datetime):
        """Noon of the day that stands still."""

        @classmethod
        def now(cls, tz: tzinfo | None = None) -> Clock:
            return cls.fromisoformat(f"{day}T12:00:00").replace(tzinfo=UTC).astimezone(tz)

    return Clock


def stickdate(*words: object, cwd: Path | None = None, code: int = 0) -> Ran:
    """Run the command, in this process, on the day it is; `code` is the exit status it must end with."""
    return _as_wanted(words, run(*words, cwd=cwd), code)


def started(
    *words: object, cwd: Path | None = None, code: int = 0, environment: Mapping[str, str] | None = None
) -> Ran:
    """Run the command in an interpreter of its own; `environment` stands over that of the tests."""
    done = in_python("from almanac.cli.main import main; main()", *words, cwd=cwd, environment=environment)
    assert "Traceback" not in done.stderr, done.stderr
    return _as_wanted(words, done, code)


def in_python(code: str, *words: object, cwd: Path | None = None, environment: Mapping[str, str] | None = None) -> Ran:
    """Run some lines in an interpreter of their own, with `words` as its arguments."""
    done = subprocess.run(
        [sys.executable, "-c", code, *map(str, words)],
        cwd=cwd,
        env=os.environ | (environment or {}),
        capture_output=True,
        encoding="utf-8",
        check=False,
    )
    return Ran(done.returncode, done.stdout, done.stderr)


def _as_wanted(words: tuple[object, ...], done: Ran, code: int) -> Ran:
    assert done.status == code, f"{words}\n{done.stdout}\n{done.stderr}"
    return done
