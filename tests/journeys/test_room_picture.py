"""A grower looks at the room ahead: `space --picture`, read back and held against what `space` tells."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path

import pytest

from tests.command import stickdate
from tests.conftest import Writes
from tests.drawn import Picture, Shape, contrast
from tests.nurseries import SOUTHERN_FROST

LOG = """
2026-01-05 received 1a --count 12 --stage rooting --bin A
2026-01-05 received 2a --count 50 --stage rooting --bin B
2026-01-12 received 7a --count 4 --stage pot --value trade
2026-01-20 planned 1 --count 30 --value 2026-02-10 --bin A
"""
DAY = "2026-01-24"


def drawn(folder: Path, file: Path, *words: object, day: str = DAY) -> Picture:
    stickdate("--nursery", folder, "--as-of", day, *words, "--picture", file)
    return Picture(file.read_text(encoding="utf-8"))


def read(shape: Shape, value_at: dict[float, float]) -> list[float]:
    """The values of a line, by two heights known."""
    (y1, one), (y2, two) = value_at.items()
    return [one + (y - y1) * (two - one) / (y2 - y1) for _, y in shape.points]


def test_each_day_of_each_place_is_drawn_as_high_as_space_tells(nursery: Writes, tmp_path: Path) -> None:
    folder = nursery(LOG, bags=40, space="pots_under_light = 20\npots_outside = 30")
    told = json.loads(stickdate("--nursery", folder, "--as-of", DAY, "--json", "space").stdout)["places"]

    picture = drawn(folder, tmp_path / "room.svg", "space")

    assert [place["bin"] or place["place"] for place in told] == ["A", "B", "lamps", "outside"]
    for place in told:
        name = place["bin"] or place["place"]
        (line,), (level,), (ground,) = (picture.of(f"{kind} {name}") for kind in ("up-to", "capacity", "expected"))
        foot = max(y for _, y in ground.points)
        scale = {foot: 0.0, level.points[0][1]: float(place["capacity"])}
        most = read(line, scale)[::2]  # each day has a point at its beginning and one at its end
        expected = read(ground, scale)[1:-1:2]
        assert most == pytest.approx([day["up_to"] for day in place["days"]], abs=0.05)
        assert expected == pytest.approx([day["expected"] for day in place["days"]], abs=0.1)


def test_where_there_may_be_too_many_the_ground_is_hatched(nursery: Writes, tmp_path: Path) -> None:
    crowded = drawn(nursery(LOG, bags=60), tmp_path / "room.svg", "space")
    roomy = drawn(nursery(LOG, bags=60, space="pots_under_light = 500"), tmp_path / "roomy.svg", "space")

    assert "Bin A, bags, room for 60" in [each.words for each in crowded.texts]
    assert "Lamps, pots, room not given" in [each.words for each in crowded.texts]
    assert "Lamps, pots, room for 500" in [each.words for each in roomy.texts]
    for picture in (crowded, roomy):
        assert picture.crossing() == []
        assert picture.told("title") == "Teasel Yard (invented): room from 24 Jan 2026"
        assert all(contrast(each.attributes["fill"], "#dcdfd6") >= 4.5 for each in picture.texts)


def test_a_nursery_with_nothing_to_keep_has_a_picture_too(nursery: Writes, tmp_path: Path) -> None:
    assert drawn(nursery(), tmp_path / "room.svg", "space").of("up-to A")


def test_the_site_is_drawn_in_the_same_style_and_by_its_own_dates(nursery: Writes, tmp_path: Path) -> None:
    # As given: one spring in ten still has a frost after 30 April, one autumn in ten has had one by 5 October.
    north = drawn(nursery(), tmp_path / "north.svg", "site")
    south = drawn(
        nursery(latitude=-36.8, longitude=144.3, timezone="Australia/Melbourne", country="AU", frost=SOUTHERN_FROST),
        tmp_path / "south.svg", "site",
    )  # fmt: skip

    for picture, first, last in ((north, (4, 30), (10, 5)), (south, (10, 30), (4, 5))):
        ((safe,), day) = (picture.of("safe"), picture.days())
        ends = [(found.month, found.day) for found in (day(safe.left), day(safe.right))]
        assert _apart(ends[0], first) <= 1
        assert _apart(ends[1], last) <= 1
        assert picture.crossing() == []


def _apart(one: tuple[int, int], other: tuple[int, int]) -> int:
    return abs((date(2026, *one) - date(2026, *other)).days)
