"""README and the guide as tests read them: the chapters, what they have a grower do, the example they stand on."""

from __future__ import annotations

import re
import shutil
from datetime import datetime
from importlib import import_module
from pathlib import Path
from typing import Any

import pytest

from almanac.actions.look import Reading, look

HERE = Path(__file__).parents[1]
GUIDE = HERE / "almanac" / "guide"
EXAMPLE, DAY = HERE / "examples" / "quince-lane", "2026-02-24"  # where the chapters stand, as the first one says
PAGES = (HERE / "README.md", *sorted(GUIDE.glob("*.md")))
LINKED = (*PAGES, HERE / "DEVELOPERS.md", HERE / "CHANGELOG.md", *(HERE / "examples").glob("*/*.md"))
READINGS: dict[object, Reading] = {}


def chapter_text(name: str) -> str:
    """A chapter as it stands in the file."""
    return (GUIDE / f"{name}.md").read_text(encoding="utf-8")


def fenced(text: str) -> list[str]:
    """What a chapter has a grower do: its command lines, and what is to be written into a file, as one item."""
    blocks = re.findall(r"^```(sh|csv|toml)\n(.*?)^```$", text, re.MULTILINE | re.DOTALL)
    return [each for kind, block in blocks for each in (block.splitlines() if kind == "sh" else [block])]


def copy_to(folder: Path) -> Path:
    """The example as it is shipped."""
    left_out = shutil.ignore_patterns("calendar", "*.backup.csv", "*.lock", "phone-keys.toml", "*.md", "pictures")
    return shutil.copytree(EXAMPLE, folder / "quince-lane", ignore=left_out)


def plan_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Commands that show what the same files say share one plan, as a hundred are asked here."""
    import_module("almanac.actions.refresh")  # which shares nothing: it took the true one with it
    monkeypatch.setattr("almanac.actions.look.look", _look)


def _look(folder: Path, now: datetime, as_of: Any = None, calendar: Path | None = None) -> Reading:
    shown = ("nursery.toml", "varieties.csv", "logbook.csv", "orders.csv", "calendar/everything.ics")
    texts = [path.read_bytes() if (path := folder / name).is_file() else b"" for name in shown]
    key = (now.date(), as_of, calendar, *texts)
    if key not in READINGS:
        READINGS[key] = look(folder, now, as_of, calendar)
    return READINGS[key]
