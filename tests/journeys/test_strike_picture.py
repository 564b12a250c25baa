"""A grower looks at what strikes and how one lot went: pictures read back and held against what the commands tell."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path

import pytest

from tests.command import stickdate
from tests.conftest import Writes
from tests.drawn import Picture

LOG = """
2025-11-10 taken 1a --count 60
2025-11-20 stuck 1a --count 20 --bin A --refers 1b
2025-12-20 roots 1b
2026-01-02 leaves 1b
2026-01-10 potted 1b --count 14
2026-01-10 died 1b --count 6 --stage rooting
2026-01-12 stuck 1a --count 12 --bin A --refers 1c
2026-01-12 received 2a --count 10 --stage rooting --bin B
2026-02-01 roots 1c
2026-02-10 looked 2a
"""
DAY = "2026-02-12"


def drawn(folder: Path, file: Path, *words: object) -> Picture:
    stickdate("--nursery", folder, "--as-of", DAY, *words, "--picture", file)
    return Picture(file.read_text(encoding="utf-8"))


def test_each_share_is_drawn_where_strike_tells_it_with_its_ranges(nursery: Writes, tmp_path: Path) -> None:
    folder = nursery(LOG)
    told = json.loads(stickdate("--nursery", folder, "--as-of", DAY, "--json", "strike").stdout)["rates"]

    picture = drawn(folder, tmp_path / "strike.svg", "strike")

    ticks = {each.about: sorted({one.left for one in picture.of("share", each.about)}) for each in picture.of("share")}
    for aim, panel in (("rooted", 0), ("finished", 1)):
        none, every = ticks["0"][panel], ticks["100"][panel]
        for rate in told:
            about = rate["variety"] or rate["crop"]
            shapes = picture.of(f"mean {aim}", about)
            if rate["method"] is None or rate["season"] or not shapes:
                continue

            def share(x: float, none: float = none, every: float = every) -> float:
                return (x - none) / (every - none)

            (mean,) = shapes
            assert share((mean.left + mean.right) / 2) == pytest.approx(rate[aim]["mean"], abs=0.002)
            for kind, ends in (("range", ("low", "high")), ("next", ("next_low", "next_high"))):
                (line,) = picture.of(f"{kind} {aim}", about)
                assert [share(line.left), share(line.right)] == pytest.approx([rate[aim][e] for e in ends], abs=0.002)
    assert picture.of("mean rooted", "1")
    assert "14 of 20 rooted, 1 lot" in [each.words for each in picture.texts]
    assert picture.crossing() == []


def test_a_lots_signs_stand_on_their_days_between_the_rules_and_the_growers_own(
    nursery: Writes, tmp_path: Path
) -> None:
    folder = nursery(LOG)
    arguments = ("--nursery", folder, "--as-of", DAY, "--json", "lots", "1c")
    told = json.loads(stickdate(*arguments).stdout)["lots"][0]["milestones"]

    picture = drawn(folder, tmp_path / "1c.svg", "lots", "1c")

    day = picture.days()
    (roots,) = picture.of("seen roots")
    assert day((roots.left + roots.right) / 2) == date(2026, 2, 1)
    (own,), (likely,) = picture.of("own potted"), picture.of("likely own potted")
    assert str(day(own.left)) == told["potted"]["early"]
    assert str(day(likely.left)) == told["potted"]["likely"]
    assert str(day(own.right)) == told["potted"]["late"]
    (rule,) = picture.of("rule potted")
    assert (rule.left, rule.right) != (own.left, own.right)  # 1b taught something
    assert picture.told("title") == "Lot 1c: its year, 12 Feb 2026"
    assert picture.crossing() == []


def test_without_own_lots_the_growers_days_are_the_rules(nursery: Writes, tmp_path: Path) -> None:
    picture = drawn(
        nursery("2026-01-12 received 2a --count 10 --stage rooting --bin B\n"), tmp_path / "2a.svg", "lots", "2a"
    )

    for name in ("roots", "leaves"):
        (own,), (rule,) = picture.of(f"own {name}"), picture.of(f"rule {name}")
        assert (own.left, own.right) == (rule.left, rule.right)


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("lots", "--picture", "x.svg"), "--picture draws the year of one lot; name it"),
        (("strike", "--plants", "4", "--crop", "fig", "--picture", "x.svg"), "--picture draws the shares"),
    ],
)
def test_what_has_no_picture_is_told(words: tuple[str, ...], told: str, nursery: Writes) -> None:
    assert told in stickdate("--nursery", nursery(LOG), *words, code=2).stderr
