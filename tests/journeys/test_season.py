"""`stickdate season` as a grower uses it: on the first screen, as JSON, and in the calendar."""

from __future__ import annotations

import json
from pathlib import Path

from icalendar import Calendar

from tests.command import stickdate
from tests.conftest import teasel_yard

SCREEN = 24  # lines of a small terminal


def test_the_first_screen_answers_when_to_take_sell_post_and_stick(tmp_path: Path) -> None:
    lane = teasel_yard(tmp_path / "lane")

    told = stickdate("--nursery", lane, "--as-of", "2026-09-01", "season").stdout

    lines = told.splitlines()
    assert all(len(line) <= 80 for line in lines)
    head = "\n".join(lines[:SCREEN])
    for wanted in ("winter 2026/27", "Take wood", "Sell dormant", "Last post", "Stick", "Best", "Fig", "Next: "):
        assert wanted in head
    for step in ("In leaf", "Roots", "Pot up", "Harden", "Outside", "Ready"):
        assert f"\n{step}" in told


def test_one_crop_may_be_asked_for_and_one_not_grown_is_refused_with_the_nearest(tmp_path: Path) -> None:
    lane = teasel_yard(tmp_path / "lane")

    one = stickdate("--nursery", lane, "--as-of", "2026-09-01", "season", "fig", "--json")
    wrong = stickdate("--nursery", lane, "season", "figg", code=1)

    assert [crop["crop"] for crop in json.loads(one.stdout)["crops"]] == ["fig"]
    assert "'figg'" in wrong.stderr
    assert "fig" in wrong.stderr.replace("figg", "")


def test_json_has_the_documented_keys(tmp_path: Path) -> None:
    lane = teasel_yard(tmp_path / "lane")

    found = json.loads(stickdate("--nursery", lane, "--as-of", "2026-09-01", "season", "--json").stdout)

    assert {"as_of", "season", "crops", "post"} <= found.keys()
    fig = next(crop for crop in found["crops"] if crop["crop"] == "fig")
    assert {"leaf_fall", "buds_swell", "collect", "store", "sell", "stick", "lots", "not_possible"} <= fig.keys()
    assert {"roots", "leaves", "potted", "set_out", "outside", "hardened"} <= fig["lots"][0]["milestones"].keys()
    assert {"weekdays", "transit_days", "next", "left_out", "lows_known"} <= found["post"].keys()


def test_the_season_stands_in_its_own_calendar_and_its_sale_in_that_of_sales(tmp_path: Path) -> None:
    lane = teasel_yard(tmp_path / "lane")

    stickdate("--nursery", lane, "--as-of", "2026-09-01", "calendar")

    def ids(name: str) -> list[str]:
        calendar = Calendar.from_ical((lane / "calendar" / name).read_bytes())
        return [str(event["X-STICKDATE-ID"]) for event in calendar.walk("VEVENT")]

    seasons, sales = ids("seasons.ics"), ids("sales.ics")
    assert {"fig.take_wood.2026", "fig.stick_wood.2026", "labels.2026", "clean_kit.2026"} <= set(seasons)
    assert {"fig.offer.2026", "fig.last_post.2026", "licence.2026"} <= set(sales)
    assert len(seasons) == len(set(seasons))
    assert len(sales) == len(set(sales))
