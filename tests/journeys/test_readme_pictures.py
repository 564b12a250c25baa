"""The pictures in README can be made from the examples, load at once, and stand where README looks for them."""

from __future__ import annotations

import re
from pathlib import Path

from PIL import Image

from tests.drawn import Picture
from tests.journeys import readme_pictures

README = readme_pictures.HERE / "README.md"


def test_they_can_be_made_and_are_small(tmp_path: Path) -> None:
    made = readme_pictures.make(tmp_path)

    assert {path.name for path in made} >= {"chart.svg", "site.svg", "sheet.png"}
    for path in made:
        assert path.stat().st_size < 120_000, path.name
        if path.suffix == ".svg":
            assert Picture(path.read_text(encoding="utf-8")).told("desc")
        else:
            with Image.open(path) as shown:
                assert min(shown.size) > 300


def test_readme_shows_no_picture_that_is_not_there() -> None:
    shown = re.findall(r"!\[[^\]]+\]\(([^)]+)\)", README.read_text(encoding="utf-8"))

    assert len(shown) >= 3
    assert [name for name in shown if not (README.parent / name).is_file()] == []
