"""How the command behaves on a terminal: weight where it helps, word of long work, and nothing of either in a pipe."""

from __future__ import annotations

import io
import os
import sys
import time
from pathlib import Path

import pytest

from almanac.cli import waiting
from tests.command import stickdate
from tests.conftest import Writes
from tests.terminal import Terminal

LATE = "2025-12-05 received 7a --count 12 --stage pot --value trade"  # and never carried out to harden
BOLD, RED, PLAIN = "\x1b[1m", "\x1b[1;31m", "\x1b[0m"


@pytest.mark.start
@pytest.mark.skipif(not hasattr(os, "openpty"), reason="needs a pseudo-terminal")
@pytest.mark.parametrize(("surroundings", "drawn"), [({}, True), ({"NO_COLOR": "1"}, False), ({"TERM": "dumb"}, False)])
def test_what_is_due_and_late_has_its_weight_on_a_terminal_unless_it_is_not_wanted(
    surroundings: dict[str, str], drawn: bool, nursery: Writes
) -> None:
    folder = nursery(f"{LATE}\n2026-02-20 received 7b --count 3 --stage rooting --bin A\n2026-05-29 mould 7b")
    with Terminal("--as-of", "2026-05-31", "today", cwd=folder, environment={"NO_COLOR": "", **surroundings}) as today:
        assert today.ends() == 0
    piped = stickdate("--nursery", folder, "--as-of", "2026-05-31", "today").stdout

    assert (BOLD in today.raw, f"{RED}Overdue{PLAIN}" in today.raw) == (drawn, drawn)
    assert today.raw.count("\x1b") == 0 or drawn
    assert today.screen.strip().endswith(piped.strip())  # the weight says nothing that the words do not
    assert "\x1b" not in piped


class Screen(io.StringIO):
    """Standard error as a terminal."""

    def isatty(self) -> bool:
        return True


def test_long_work_is_told_on_a_terminal_and_wiped_once_the_command_speaks(monkeypatch: pytest.MonkeyPatch) -> None:
    screen = Screen()
    monkeypatch.setattr(sys, "stderr", screen)
    monkeypatch.setattr(waiting, "_AFTER_S", 0.01)

    with waiting.waiting():
        time.sleep(0.1)
        waiting.enough()
        said = screen.getvalue()
    assert "at work for" in said
    assert said.endswith("\r")


def test_short_work_and_work_in_a_pipe_is_told_by_nothing(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    screen = Screen()
    monkeypatch.setattr(sys, "stderr", screen)
    with waiting.waiting():
        pass
    assert screen.getvalue() == ""
    assert stickdate("rules", "check", cwd=tmp_path).stderr == ""


@pytest.mark.start
@pytest.mark.skipif(not hasattr(os, "openpty"), reason="needs a pseudo-terminal")
def test_a_long_notice_fits_a_terminal_and_is_one_line_in_a_pipe(nursery: Writes) -> None:
    folder = nursery(LATE, mat={"A": "39 C", "B": "24 C"})
    with Terminal("--as-of", "2026-05-30", "check", cwd=folder) as check:
        assert check.ends() == 0
    piped = stickdate("--nursery", folder, "--as-of", "2026-05-30", "check").stdout

    assert max(len(line.rpartition("\r")[2]) for line in check.screen.split("\n")) <= 80
    assert max(map(len, piped.splitlines())) > 80
    assert " ".join(check.screen.split()).endswith(" ".join(piped.split()))


STUCK = "2026-01-05 received 7a --count 12 --stage rooting --bin A\n2026-01-20 callus 7a\n2026-02-01 roots 7a"


@pytest.mark.start
@pytest.mark.skipif(not hasattr(os, "openpty"), reason="needs a pseudo-terminal")
@pytest.mark.parametrize(
    ("words", "answer", "asks", "rows"), [((), "n", True, 3), ((), "y", True, 4), (("--yes",), "", False, 4)]
)
def test_a_row_that_others_follow_is_shown_on_a_terminal_before_it_is_undone(
    words: tuple[str, ...], answer: str, asks: bool, rows: int, nursery: Writes
) -> None:
    folder = nursery(STUCK)
    with Terminal("--as-of", "2026-02-10", "undo", "r2", *words, cwd=folder) as undo:
        if asks:
            shown = undo.sees("Undo it? [y/N]")
            assert "This undoes: callus of 7a on Tue 20 Jan (r2)." in " ".join(shown.split())
            assert "roots of 7a on Sun 1 Feb (r3)" in shown
            undo.types(f"{answer}\n")
        assert undo.ends() == 0

    logged = (folder / "logbook.csv").read_text(encoding="utf-8").splitlines()[1:]
    assert len(logged) == rows
    assert ("Nothing was undone." in undo.screen) == (answer == "n")


def test_nothing_is_asked_before_a_row_is_undone_in_a_pipe(nursery: Writes) -> None:
    ran = stickdate("--nursery", nursery(STUCK), "--as-of", "2026-02-10", "undo", "r2")

    assert ran.status == 0
    assert ran.stdout.startswith("Undone: callus of 7a on Tue 20 Jan (r2; ")


@pytest.mark.start
@pytest.mark.skipif(not hasattr(os, "openpty"), reason="needs a pseudo-terminal")
def test_a_fault_fits_a_terminal_and_is_one_line_in_a_pipe(nursery: Writes) -> None:
    folder = nursery(f"{STUCK}\n2026-02-03 moved 7a --bin Threshold_of_the_old_house_by_the_lane")
    with Terminal("--as-of", "2026-02-10", "lots", cwd=folder) as lots:
        assert lots.ends() == 1
    piped = stickdate("--nursery", folder, "--as-of", "2026-02-10", "lots", code=1).stderr

    assert max(map(len, piped.splitlines())) > 80
    assert max(len(line.rpartition("\r")[2]) for line in lots.screen.split("\n")) <= 80
    assert " ".join(lots.screen.split()).endswith(" ".join(piped.split()))
