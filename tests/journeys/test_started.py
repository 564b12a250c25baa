"""The command started by itself: what its own process, its pipes and its surroundings make of it."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.command import started
from tests.conftest import Writes

pytestmark = pytest.mark.start
WINTER = "2026-01-05 received 7a --count 12 --stage rooting --bin A"
TODAY = ("--as-of", "2026-01-20", "today", "--days", "14")


@pytest.mark.parametrize(
    ("encoding", "name"), [("latin-1", "Süderhof"), ("cp1252", "Hof „Süd“"), ("utf-8", "北"), ("ascii", "北")]
)
def test_a_terminal_is_told_the_day_in_its_own_signs(encoding: str, name: str, nursery: Writes) -> None:
    command = [sys.executable, "-m", "almanac.cli.main", "--nursery", str(nursery(WINTER, name=name)), *TODAY]

    told = subprocess.run(command, env=os.environ | {"PYTHONIOENCODING": encoding}, capture_output=True, check=False)

    assert (told.returncode, told.stderr) == (0, b"")
    # What says that it knows no more than ASCII knows more: it is written to as to all others.
    assert told.stdout.decode("utf-8" if encoding == "ascii" else encoding).startswith(f"{name}, Tue 20 Jan 2026")


def test_a_reader_who_leaves_early_is_no_fault(nursery: Writes) -> None:
    command = [sys.executable, "-m", "almanac.cli.main", "--nursery", str(nursery(WINTER)), *TODAY]

    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as run:
        assert run.stdout is not None
        assert run.stderr is not None
        run.stdout.close()
        told = run.stderr.read()

    assert (run.returncode, told) == (0, b"")


def test_the_nursery_may_stand_in_the_surroundings(nursery: Writes, tmp_path: Path) -> None:
    surroundings = {"STICKDATE_NURSERY": str(nursery(WINTER))}

    assert "7a" in started(*TODAY, cwd=tmp_path, environment=surroundings).stdout


def test_the_exit_status_tells_the_grower_s_fault_from_wrong_usage(nursery: Writes, tmp_path: Path) -> None:
    started("today", cwd=tmp_path, code=1)
    started("tody", cwd=tmp_path, code=2)
    started("--nursery", nursery(WINTER), "check")
