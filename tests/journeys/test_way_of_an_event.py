"""The ways of two commands through the folders, as DEVELOPERS.md tells them, against what runs."""

from __future__ import annotations

import re
import shutil
import sys
from pathlib import Path
from types import FrameType

import pytest

from almanac.plan.build import build_plan
from tests.command import stickdate

ROOT = Path(__file__).parents[2]
TOLD = (ROOT / "DEVELOPERS.md").read_text("utf-8")


def told(title: str) -> list[str]:
    """The files that DEVELOPERS.md names of a way, in its order."""
    way = TOLD.partition(title)[2].partition("\n\n")[2].partition("\n\n")[0]
    steps = "\n".join(re.findall(r"^\d\. .*(?:\n   .*)*", way, re.MULTILINE))
    return re.findall(r"`([a-z_/]+\.py)`", steps)


@pytest.mark.parametrize(
    ("title", "words", "files"),
    [
        ("**The way of one logged event.**", ("log", "leaves", "7b"), 26),
        ("**The way of `stickdate calendar`**", ("calendar",), 10),
    ],
)
def test_a_command_goes_the_way_that_is_told_of_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, title: str, words: tuple[str, ...], files: int
) -> None:
    monkeypatch.setattr("almanac.actions.look.build_plan", build_plan)  # and none that another test left
    shutil.copytree(ROOT / "examples" / "quince-lane", tmp_path / "nursery", ignore=shutil.ignore_patterns("calendar"))
    here = ("--nursery", tmp_path / "nursery", "--as-of", "2026-02-24")
    if words != ("calendar",):
        stickdate(*here, "calendar")
    entered: dict[str, None] = {}

    def note(frame: FrameType, event: str, _: object) -> None:
        if event == "call" and not frame.f_code.co_name.startswith("<"):
            entered.setdefault(frame.f_code.co_filename.rpartition("/almanac/")[2])

    sys.setprofile(note)
    try:
        stickdate(*here, *words)
    finally:
        sys.setprofile(None)

    order, way = list(entered), told(title)
    assert len(way) == files
    assert [file for file in way if file not in entered] == []
    assert sorted(way, key=order.index) == way


def test_what_is_told_of_the_program_stands_in_it_and_on_four_pages() -> None:
    named = set(re.findall(r"`([a-z_]+(?:/[a-z_]+)+(?:\.py|/)?)`", TOLD))
    roots = (ROOT, ROOT / "almanac", ROOT / "almanac" / "plan")

    assert [name for name in sorted(named) if not any(_stands(root / name) for root in roots)] == []
    assert len(TOLD.encode()) <= 12_000


def _stands(path: Path) -> bool:
    return path.exists() or path.with_suffix(".py").exists()
