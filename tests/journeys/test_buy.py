"""What to buy, asked at the command line: of the example, and of a nursery of the test's own."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

from tests.command import stickdate
from tests.conftest import Writes
from tests.examples import EXAMPLES

SCREENFUL = 24  # lines of a terminal


def said(folder: Path, *words: str) -> Any:
    return json.loads(stickdate("--nursery", folder, "--as-of", "2026-01-20", "--json", *words).stdout)


def log(folder: Path, *words: str) -> None:
    stickdate("--nursery", folder, "--as-of", "2026-01-20", "log", *words)


def test_on_the_example_the_first_screenful_says_what_how_much_and_by_when(tmp_path: Path) -> None:
    folder = tmp_path / "lane"
    shutil.copytree(EXAMPLES / "quince-lane", folder)

    lines = stickdate("--nursery", folder, "--as-of", "2026-02-24", "buy").stdout.splitlines()

    screen = lines[:SCREENFUL]
    assert [line.split()[0] for line in screen if "order by" in line] == ["pieces", "litres"]
    for what in ("Tall pots", "Labels", "Lay-flat bags", "Potting mix", "Perlite", "Peat or coir", "Gnat drench"):
        [row] = [line for line in screen if line.startswith(what)]
        assert row.endswith(("enough", "now")) or " for " in row, row


def test_what_is_planned_is_bought_and_what_is_stuck_is_not_bought_again(nursery: Writes) -> None:
    folder = nursery("")
    log(folder, "taken", "1", "--count", "12")
    log(folder, "planned", "1", "--count", "12", "--value", "2026-02-10")

    before = {each["id"]: each for each in said(folder, "buy")["supplies"]}
    log(folder, "stuck", "1", "--count", "12", "--bin", "A")
    stickdate("--nursery", folder, "--as-of", "2026-01-20", "undo", "r2")
    after = {each["id"]: each for each in said(folder, "buy")["supplies"]}

    assert before["bags"]["need"] == 12
    assert before["bags"].keys() >= {
        "id", "title", "unit", "need", "need_up_to", "in_hand", "to_buy", "to_buy_up_to", "needed_by", "order_by",
        "late", "reserve",
    }  # fmt: skip
    assert before["perlite"].keys() >= {"to_buy_cu_ft", "to_buy_gal"}
    assert "bags" not in after
    assert after["tall_pots"]["need"] == before["tall_pots"]["need"]
