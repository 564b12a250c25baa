"""The example that each command's help shows is typed as it stands, and does what it says it does."""

from __future__ import annotations

import shlex
import shutil
from pathlib import Path
from unittest.mock import patch

import pytest

from tests.command import run
from tests.conftest import teasel_yard
from tests.journeys.test_cli_help import commands

DAY = "2026-02-24"
LOG = """
2025-12-20 received 7a --count 12 --stage rooting --bin A
2025-12-20 received 7b --count 12 --stage rooting --bin A
2025-12-21 taken 7c --count 40
2026-01-05 received 7d --count 20 --stage pot --value plant
2026-02-20 roots 7a --count 9
2026-02-20 looked 7c
2026-02-22 hardened 7d
"""
EXAMPLES = [
    example
    for _, command in commands()
    for example in " ".join((command.help or "").split("Example")[1].split()).partition(": ")[2].split(" | ")
]


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A nursery that has what the examples name."""
    folder = teasel_yard(tmp_path_factory.mktemp("made") / "yard", LOG)
    (folder / "orders.csv").write_text(
        "order,date,variety,form,count,ship_by,country,region,done,note\n12,2026-02-01,7,dormant,5,2026-03-02,,,,\n",
        encoding="utf-8",
    )
    with (folder / "logbook.csv").open("a", encoding="utf-8") as log:
        log.write("r41,2026-02-23,noted,7a,,,,,,,at the window,\n")
    (folder / "typed-on-the-bench.csv").write_text("date;what;lot\n3/2/2026;looked;7a\n", encoding="utf-8")
    (folder / "rules" / "crops").mkdir(parents=True)
    (folder / "rules" / "crops" / "fig.toml").write_text('title = "Fig"\n', encoding="utf-8")
    return folder


@pytest.mark.parametrize("example", EXAMPLES)
def test_the_example_in_the_help_of_a_command_runs(
    example: str, made: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("HOME", str(tmp_path))  # of which `completion` writes to
    monkeypatch.setenv("SHELL", "/bin/bash")
    program, *words = shlex.split(example.replace("/srv/www", str(tmp_path)))
    folder = shutil.copytree(made, tmp_path / "yard")

    with patch("almanac.web.server.create_server") as server:
        server.return_value.effective_port = 8765
        ran = run(*words, cwd=folder, noon_of=DAY)

    assert program == "stickdate"
    assert ran.status == 0, ran.stderr
    assert all(line.startswith("note: ") for line in ran.lines), ran.stderr
    assert ran.stdout
