"""The planting of faults: what it changes, what it leaves alone, and that a nursery drawn twice is the same."""

from __future__ import annotations

import ast
from datetime import date
from pathlib import Path

import pytest

from tests.planted.faults import possible
from tests.planted.generated import KINDS, write_generated
from tests.planted.observe import shown

TEXT = '''"""Days 1."""
LIMIT: int = 3  # 4


@kept(size=5)
def open_on(day: int, days: list[int]) -> str:
    """On day 6."""
    if day >= LIMIT and not day in days:
        return f"{7 + day}" + "8"
    return min(days) - -day if (day) < 2.0 else True
'''


def test_each_fault_changes_one_thing_that_runs() -> None:
    found = {(fault.line, fault.before, fault.after, fault.in_function) for fault in possible("a.py", TEXT)}

    assert found == {
        (2, "3", "4", False),
        (8, ">=", ">", True),
        (8, "and", "or", True),
        (8, "not ", "", True),
        (8, "in", "not in", True),
        (10, "min", "max", True),
        (10, "-", "+", True),
        (10, "-", "", True),
        (10, "<", "<=", True),
        (10, "2.0", "2.5", True),
        (10, "True", "False", True),
    }


def test_a_planted_file_still_reads_and_differs_by_the_fault_alone() -> None:
    for fault in possible("a.py", TEXT):
        planted = fault.planted(TEXT)

        ast.parse(planted)
        assert planted.splitlines()[: fault.line - 1] == TEXT.splitlines()[: fault.line - 1]
        assert planted.splitlines()[fault.line :] == TEXT.splitlines()[fault.line :]


def test_a_generated_nursery_is_the_same_each_time(tmp_path: Path) -> None:
    once, again = (write_generated(tmp_path / name, KINDS[4], date(2026, 5, 1)) for name in ("one", "two"))

    for file in once.iterdir():
        assert file.read_bytes() == (again / file.name).read_bytes()
    assert len((once / "logbook.csv").read_text(encoding="utf-8").splitlines()) > 200


def test_the_command_whose_output_changed_is_named(capsys: pytest.CaptureFixture[str]) -> None:
    old = "=== today\nPot up 7a\n=== lots\n7a: 12\n"

    assert shown("quince-lane", old, old, 3) == 0
    assert shown("quince-lane", old, old.replace("12", "11"), 3) == 1
    assert capsys.readouterr().out.splitlines() == ["--- quince-lane: lots", "    -7a: 12", "    +7a: 11"]
