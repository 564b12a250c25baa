"""A pytest plugin: which lines each test runs, and how long it takes, into the folder that STICKDATE_WATCHED names.

Loaded by `python -m tests.planted` alone: pytest -p tests.planted.watch
"""

from __future__ import annotations

import json
import os
import time
from collections.abc import Generator
from pathlib import Path

import coverage
import pytest

FOLDER = Path(os.environ["STICKDATE_WATCHED"])
_seconds: dict[str, float] = {}
_unfit: set[str] = set()
_watch = coverage.Coverage(data_file=str(FOLDER / f"lines.{os.getpid()}"), source=["almanac"], config_file=False)
_watch.start()


@pytest.hookimpl(wrapper=True, tryfirst=True)
def pytest_runtest_protocol(item: pytest.Item) -> Generator[None, object, object]:
    _watch.switch_context(item.nodeid)
    start = time.process_time()
    try:
        return (yield)
    finally:
        _seconds[item.nodeid] = time.process_time() - start
        _watch.switch_context("")


def pytest_runtest_logreport(report: pytest.TestReport) -> None:
    """A test that is skipped or fails without a fault can find none."""
    if report.outcome != "passed":
        _unfit.add(report.nodeid)


def pytest_unconfigure() -> None:
    _watch.stop()
    _watch.save()
    told = {name: seconds for name, seconds in _seconds.items() if name not in _unfit}
    (FOLDER / f"seconds.{os.getpid()}.json").write_text(json.dumps(told), encoding="utf-8")
