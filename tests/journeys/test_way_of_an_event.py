"""The way of one logged event through the folders, as DEVELOPERS.md tells it, against what runs."""

from __future__ import annotations

import re
import shutil
import sys
from pathlib import Path
from types import FrameType

from tests.command import stickdate

ROOT = Path(__file__).parents[2]


def told() -> list[str]:
    """The files that DEVELOPERS.md names, in its order."""
    text = (ROOT / "DEVELOPERS.md").read_text("utf-8")
    way = text.partition("**The way of one logged event.**")[2].partition("The rooms of `plan/`")[0]
    steps = "\n".join(re.findall(r"^\d\. .*(?:\n   .*)*", way, re.MULTILINE))
    return re.findall(r"`([a-z_]+/[a-z_/]+\.py)`", steps)


def test_a_logged_event_goes_the_way_that_is_told_of_it(tmp_path: Path) -> None:
    shutil.copytree(ROOT / "examples" / "quince-lane", tmp_path / "nursery", ignore=shutil.ignore_patterns("calendar"))
    words = ("--nursery", tmp_path / "nursery", "--as-of", "2026-02-24")
    stickdate(*words, "calendar")
    entered: dict[str, None] = {}

    def note(frame: FrameType, event: str, _: object) -> None:
        if event == "call" and not frame.f_code.co_name.startswith("<"):
            entered.setdefault(frame.f_code.co_filename.rpartition("/almanac/")[2])

    sys.setprofile(note)
    try:
        stickdate(*words, "log", "leaves", "7b")
    finally:
        sys.setprofile(None)

    order = list(entered)
    assert [file for file in told() if file not in entered] == []
    assert sorted(told(), key=order.index) == told()
