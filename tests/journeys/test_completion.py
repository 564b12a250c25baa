"""What a shell offers when Tab is pressed: the words of the program and of the nursery, at once and without a plan."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path
from unittest.mock import patch

import pytest
from click.shell_completion import ShellComplete

from almanac.cli.main import COMPLETING, cli
from tests.command import in_python, stickdate
from tests.conftest import Writes

WINTER = """
2026-01-05 taken 1a --count 30
2026-01-10 stuck 1a --count 12 --bin A --refers 1b
2026-01-12 received 7a --count 4 --stage pot --value trade
"""


@pytest.fixture
def yard(nursery: Writes) -> Path:
    folder = nursery(WINTER)
    stickdate("--nursery", folder, "--as-of", "2026-01-20", "calendar")
    return folder


def offered(line: str, folder: Path | None) -> set[str]:
    """What may stand for the last word of a line."""
    *words, begun = line.split(" ")
    where = ["--nursery", str(folder)] if folder else []
    with patch.dict(os.environ, {COMPLETING: "bash_complete"}):
        found = ShellComplete(cli, {}, "stickdate", COMPLETING).get_completions(where + words, begun)
    return {item.value for item in found}


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("t", {"today", "tags"}),
        ("today --d", {"--days"}),
        ("log lea", {"leaves", "leaf_fall"}),
        ("log leaves ", {"1a", "1b", "7a"}),
        ("log leaves 7", {"7a"}),
        ("log mat ", {"A", "B"}),
        ("log leaf_fall f", {"fig", "forsythia"}),
        ("log taken ", {"1", "2", "3", "7"}),
        ("log looked --bin ", {"A", "B"}),
        ("log died 1b --value r", {"rot"}),
        ("lots 1", {"1a", "1b"}),
        ("undo ", {"r1", "r2", "r3"}),
        ("why 1b.l", {"1b.leaves", "1b.light"}),
        ("rules show fungus_g", {"fungus_gnats"}),
        ("rules show ble", {"bleach"}),
        ("stick-by 2026-08-01 --crop mul", {"mulberry"}),
        ("order --form d", {"dormant"}),
        ("guide fr", {"frost"}),
    ],
)
def test_each_place_offers_what_may_stand_there(line: str, words: set[str], yard: Path) -> None:
    assert offered(line, yard) == words


def test_outside_a_nursery_and_in_a_spoilt_one_nothing_is_said(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    assert offered("lots ", None) == set()
    (tmp_path / "nursery.toml").write_text("[nursery", encoding="utf-8")
    (tmp_path / "logbook.csv").write_bytes(b'id,"date\xff\n1,2')
    assert offered("lots ", None) == set()
    assert offered("log looked --bin ", None) == set()


@pytest.mark.start
def test_a_shell_is_answered_without_a_plan(yard: Path) -> None:
    program = (
        "import sys; from almanac.cli.main import main\n"
        "try: main()\n"
        "finally: print([n for n in ('pydantic', 'icalendar', 'almanac.plan', 'almanac.nursery.load') "
        "if n in sys.modules], file=sys.stderr)"
    )
    asked = {COMPLETING: "bash_complete", "COMP_WORDS": f"stickdate --nursery {yard} why 1b.l", "COMP_CWORD": "4"}

    told = in_python(program, environment=asked)

    assert "plain,1b.light" in told.stdout.splitlines()
    assert told.stderr.strip() == "[]"


# Tab as each shell gives it, by its own way to try a completion without a keyboard.
ASKED = {
    "bash": "COMP_WORDS=(stickdate log lea); COMP_CWORD=2; _stickdate_completion stickdate; echo ${COMPREPLY[@]}",
    "fish": "complete -C 'stickdate log lea'",
}


@pytest.mark.start
@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_one_command_teaches_the_shell_and_one_takes_it_away(shell: str, tmp_path: Path) -> None:
    environment = {"HOME": str(tmp_path), "SHELL": f"/bin/{shell}", "PATH": f"{tmp_path}:{os.environ['PATH']}"}
    environment |= {"XDG_DATA_HOME": "", "XDG_CONFIG_HOME": "", "ZDOTDIR": "", "PYTHONPATH": os.pathsep.join(sys.path)}
    command = tmp_path / "stickdate"
    command.write_text(f'#!/bin/sh\nexec {sys.executable} -m almanac.cli.main "$@"\n', encoding="utf-8")
    command.chmod(0o755)
    own = tmp_path / f".{shell}rc"
    own.write_text("# mine", encoding="utf-8")
    quiet = os.environ | environment

    def run(*words: str) -> str:
        return subprocess.run(words, env=quiet, capture_output=True, text=True, check=True).stdout

    run(str(command), "completion")
    run(str(command), "completion")  # a second time adds nothing
    assert own.read_text("utf-8").count("stickdate completion") == (shell != "fish")
    if shell in ASKED and shutil.which(shell):
        read = f". {own}; " if shell == "bash" else ""
        told = run(shell, "-c", read + ASKED[shell])
        assert {word.split("\t")[0] for word in told.split()} >= {"leaves", "leaf_fall"}
    elif shutil.which(shell):
        run(shell, "-c", f". {own}; (( $+functions[_stickdate_completion] ))")
    run(str(command), "completion", "--remove")
    assert own.read_text("utf-8").strip() == "# mine"
    assert not list(tmp_path.rglob("completion.*")) + list(tmp_path.rglob("stickdate.fish"))
