"""Commands in processes of their own that are killed, and calls of the system that fail, at a moment that is chosen."""

from __future__ import annotations

import multiprocessing
import os
import signal
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import Any
from unittest.mock import patch

import pytest

from tests.faults.bench import run

CALLS = ("write", "fsync", "replace", "truncate", "ftruncate", "chmod", "mkdir", "unlink", "link")
needs_fork = pytest.mark.skipif(not hasattr(os, "fork"), reason="needs processes that start as copies of this one")


def child(work: Callable[..., None], *about: Any) -> Any:
    """Start some work in a copy of this process."""
    process = multiprocessing.get_context("fork").Process(target=work, args=about)
    process.start()
    return process


def die(folder: Path, point: int, *words: str) -> None:
    """Run a command and be killed at the so-manieth call that changes a file: a write is cut in half first."""
    calls = 0
    write = os.write

    def then(name: str, given: tuple[Any, ...]) -> None:
        nonlocal calls
        calls += 1
        if calls == point:
            if name == "write":
                write(given[0], given[1][: len(given[1]) // 2])
            os.kill(os.getpid(), signal.SIGKILL)

    with at_each_call(CALLS, then):
        run("--nursery", folder, *words)


@contextmanager
def at_each_call(names: tuple[str, ...], then: Callable[[str, tuple[Any, ...]], None]) -> Iterator[None]:
    """Do something first at each call of the system of these names."""
    with ExitStack() as around:
        for name in names:
            around.enter_context(patch(f"os.{name}", _first(then, name)))
        yield


def _first(then: Callable[[str, tuple[Any, ...]], None], name: str) -> Callable[..., Any]:
    real = getattr(os, name)

    def call(*given: Any, **more: Any) -> Any:
        then(name, given)
        return real(*given, **more)

    return call
