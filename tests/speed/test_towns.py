"""What looking up a town costs: at most 50 ms with the reading of its table, nothing where the position is written."""

from __future__ import annotations

import subprocess
import sys

import pytest

from tests.conftest import Writes

# What every command has imported already is not the look-up's.
LOOK_UP = """
import time
import almanac.nursery.settings
start = time.perf_counter()
from almanac.site.towns import find_town
find_town("Ames, Iowa")
print(1000 * (time.perf_counter() - start))
"""
WHAT_IS_READ = """
import sys
from datetime import UTC, datetime
from pathlib import Path
from almanac.nursery.load import load_nursery
load_nursery(Path(sys.argv[1]), datetime(2026, 2, 24, 12, tzinfo=UTC))
print([name for name in sys.modules if name in ("almanac.site.towns", "matplotlib", "holidays")])
"""


def run(program: str, *arguments: str) -> str:
    """What a program prints in an interpreter of its own, where nothing has been read yet."""
    return subprocess.run(
        [sys.executable, "-c", program, *arguments], capture_output=True, text=True, check=True
    ).stdout.strip()


def test_a_town_is_found_within_50_ms_of_being_asked_for() -> None:
    # The best of five: what else the machine does is not the look-up's.
    taken_ms = min(float(run(LOOK_UP)) for _ in range(5))

    assert taken_ms < 50


def test_a_nursery_that_writes_its_position_reads_no_table_of_towns(nursery: Writes) -> None:
    assert run(WHAT_IS_READ, str(nursery())) == "[]"


if __name__ == "__main__":
    sys.exit(pytest.main([__file__, "-q"]))
