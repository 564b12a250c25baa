"""A grower asks what to stick when, to have so many plants by a day, and plans it: `stickdate stick-by` run by hand."""

from __future__ import annotations

import csv
import json
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from tests.command import stickdate
from tests.conftest import Writes
from tests.nurseries import FROST_ALL_SUMMER

AS_OF = "2025-12-01"
WOOD = """
2025-11-28 taken 1a --count 60
2025-11-20 received 7a --count 4 --stage rooting --bin A --value trade
"""


def asked(folder: Path, *arguments: str, code: int = 0) -> Any:
    """What `stick-by` says as JSON; the text of its refusal where it refuses."""
    said = stickdate("--nursery", folder, "--as-of", AS_OF, "--json", "stick-by", *arguments, code=code)
    return said.stderr if code else json.loads(said.stdout)


def cuttings(said: Any) -> list[int]:
    return [way["cuttings"] for way in said["ways"]]


def test_more_chance_asks_for_more_cuttings_and_an_earlier_day(nursery: Writes) -> None:
    said = asked(nursery(WOOD), "2026-07-20", "--plants", "15", "--variety", "1")

    days = [way["waves"][0]["date"] for way in said["ways"]]
    assert [way["chance"] for way in said["ways"]] == [0.5, 0.8, 0.9]
    assert cuttings(said) == sorted(cuttings(said))
    assert len(set(cuttings(said))) == 3
    assert days == sorted(days, reverse=True)
    for way in said["ways"]:
        assert way["chance"] <= way["reached"] < way["chance"] + 0.04
        assert sum(wave["count"] for wave in way["waves"]) == way["cuttings"]


def test_what_does_not_fit_at_once_is_stuck_in_waves_that_never_overfill_a_bin(nursery: Writes) -> None:
    folder = nursery(WOOD, bags=20)

    said = asked(folder, "2026-10-20", "--plants", "18", "--crop", "fig")

    for way in said["ways"][1:]:
        waves = [(date.fromisoformat(w["date"]), date.fromisoformat(w["bin_free"]), w) for w in way["waves"]]
        assert len({stuck for stuck, _, _ in waves}) > 1
        for stuck, _, wave in waves:
            there = sum(w["count"] for begins, ends, w in waves if w["bin"] == wave["bin"] and begins <= stuck <= ends)
            assert there <= 20


def test_what_cannot_be_is_said_with_the_nearest_that_can(nursery: Writes) -> None:
    folder = nursery(WOOD)

    said = asked(folder, "2026-02-01", "--plants", "15", "--variety", "1")
    late = said["ways"][0]["instead"]
    then = asked(folder, late, "--plants", "15", "--variety", "1")
    before = asked(
        folder, str(date.fromordinal(date.fromisoformat(late).toordinal() - 1)), "--plants", "15", "--variety", "1"
    )

    assert cuttings(said) == [0, 0, 0]
    assert [way["short"] for way in said["ways"]] == [["time"]] * 3
    assert said["ways"][0]["at_most"] == 0
    assert cuttings(then)[0] > 0
    assert cuttings(before)[0] == 0


def test_where_fewer_can_be_ready_in_time_it_says_how_many(nursery: Writes) -> None:
    folder = nursery(WOOD, bags=8)

    [half, *_] = asked(folder, "2026-07-01", "--plants", "30", "--variety", "1")["ways"]
    fewer = asked(folder, "2026-07-01", "--plants", str(half["at_most"]), "--variety", "1")

    assert 0 < half["at_most"] < 30
    assert half["short"] == ["bags"]
    told = stickdate("--nursery", folder, "--as-of", AS_OF, "stick-by", "2026-07-01", "--plants", "30", "--crop", "fig")
    assert "50%     short of bags" in told.stdout
    assert "your bins have too few places left" in " ".join(told.stdout.split())
    assert cuttings(fewer)[0] > 0


def test_frost_in_every_month_says_that_it_is_never(nursery: Writes) -> None:
    folder = nursery(WOOD, frost=FROST_ALL_SUMMER)

    said = stickdate("--nursery", folder, "--as-of", AS_OF, "stick-by", "2026-08-20", "--plants", "5", "--variety", "1")

    assert "cannot be" in said.stdout
    assert "short of time" in said.stdout
    assert "nor so many within two years" in " ".join(said.stdout.split())


def test_accepted_it_is_planned_and_shows_with_what_follows(nursery: Writes) -> None:
    folder = nursery(WOOD)
    way = asked(folder, "2026-07-20", "--plants", "15", "--variety", "1")["ways"][2]

    stickdate(
        "--nursery",
        folder,
        "--as-of",
        AS_OF,
        "stick-by",
        "2026-07-20",
        "--plants",
        "15",
        "--variety",
        "1",
        "--accept",
        "90%",
    )

    log = (folder / "logbook.csv").read_text(encoding="utf-8")
    rows = [row for row in csv.DictReader(log.splitlines()) if row["what"] == "planned"]
    assert [(row["value"], int(row["count"]), row["variety"]) for row in rows] == [
        (wave["date"], wave["count"], "1") for wave in way["waves"]
    ]
    today = json.loads(stickdate("--nursery", folder, "--as-of", AS_OF, "--json", "today", "--days", "300").stdout)
    titles = [each["title"] for each in today["coming"]]
    assert f"Stick the cuttings: {way['waves'][0]['count']} of no. 1" in titles
    assert any(title.startswith("Pot up: 1") and title.endswith("(planned)") for title in titles)
    stickdate("--nursery", folder, "--as-of", AS_OF, "undo")
    again = json.loads(stickdate("--nursery", folder, "--as-of", AS_OF, "--json", "today", "--days", "300").stdout)
    assert not any("planned" in each["title"] for each in again["coming"])


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (("2025-11-01", "--plants", "5", "--variety", "1"), "2025-11-01 is not after 2025-12-01"),
        (("2026-07-20", "--plants", "5"), "say of what: --variety NUMBER"),
        (("2026-07-20", "--plants", "5", "--variety", "12"), "variety '12' is not in varieties.csv"),
        (("2026-07-20", "--plants", "5", "--crop", "figg"), "did you mean 'fig'?"),
        (("2026-07-20", "--plants", "5", "--crop", "fig", "--accept", "90%"), "only a variety can be planned"),
        (("2026-01-20", "--plants", "5", "--variety", "1", "--accept", "90%"), "there is no way with a chance of 90%"),
    ],
)
def test_what_cannot_be_asked_is_refused_in_a_line_and_nothing_is_written(
    arguments: tuple[str, ...], told: str, nursery: Writes
) -> None:
    folder = nursery(WOOD)
    before = (folder / "logbook.csv").read_bytes()

    assert told in asked(folder, *arguments, code=1)
    assert (folder / "logbook.csv").read_bytes() == before
