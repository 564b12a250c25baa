"""A grower adds a crop that nobody shipped: one file in their own rules, and it is planned like any other."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from icalendar import Calendar

from almanac.rulebook.load import shipped_rules
from tests.command import stickdate
from tests.conftest import Writes

VARIETIES = "number,name,crop\n1,Plain one,fig\n4,First of its kind,moonberry\n"
ROWS = """
2026-01-05 taken 4a --count 20
2026-01-12 stuck 4a --count 12 --bin A --refers 4b
2026-02-01 planned 4 --count 6 --value 2026-02-20
"""
CAUTION = """
[caution.moonberry_juice]
short = "Moonberry juice stains for good (invented)."
text = "Moonberry juice stains skin and cloth for good. Wear gloves. Invented for a test."
source = "memory"
"""


def moonberry() -> str:
    """An invented crop, as DEVELOPERS says to make one: a shipped file copied, and its values changed."""
    text = (shipped_rules() / "crops" / "fig.toml").read_text(encoding="utf-8")
    for old, new in {
        'id = "fig"': 'id = "moonberry"',
        'title = "Fig"': 'title = "Moonberry (invented)"',
        'botanical = "Ficus carica"': 'botanical = "Invented"',
        'cautions = ["sap"]': 'cautions = ["moonberry_juice"]',
        'optimum_low = "24 C"': 'optimum_low = "16 C"',
        'optimum_high = "27 C"': 'optimum_high = "19 C"',
        'lowest_night = "50 F"': 'lowest_night = "41 F"',
        'at = "25 C"': 'at = "18 C"',
    }.items():
        assert old in text, old
        text = text.replace(old, new)
    return re.sub(r'note = ".*"', 'note = "Invented."', text)


@pytest.fixture
def lane(nursery: Writes) -> Path:
    """A nursery that grows the invented crop, its file and its caution in its own rules."""
    folder = nursery(ROWS, varieties=VARIETIES)
    (folder / "rules" / "crops").mkdir(parents=True)
    (folder / "rules" / "crops" / "moonberry.toml").write_text(moonberry(), encoding="utf-8")
    (folder / "rules" / "cautions.toml").write_text(CAUTION, encoding="utf-8")
    return folder


def test_a_crop_nobody_shipped_gets_a_whole_calendar_from_one_file(lane: Path) -> None:
    stickdate("--nursery", lane, "--as-of", "2026-02-02", "calendar")

    calendar = Calendar.from_ical((lane / "calendar" / "everything.ics").read_bytes())
    rules = {str(event["X-STICKDATE-ID"]).split(".")[1] for event in calendar.walk("VEVENT")}
    # Every window and deadline of a lot from the cold store to the sale of the plant, and its rounds at the bench.
    assert {"pot_up", "harden_out", "harden_nights", "offer_rooted", "plant_out", "store_limit", "offer"} <= rules
    events = calendar.walk("VEVENT")
    rounds = [str(each["DESCRIPTION"]) for each in events if str(each["X-STICKDATE-ID"]).startswith("round.")]
    assert len(rounds) > 10
    near = [text for text in rounds if "is written here in the days before" not in text]
    assert len(near) >= 2
    assert all("4b" in text for text in near)


def test_its_own_warmth_and_caution_stand_in_its_entries_and_nothing_of_the_figs(lane: Path) -> None:
    def said(name: str) -> str:
        return " ".join(stickdate("--nursery", lane, "--as-of", "2026-02-02", "why", name).stdout.split())

    # 16 to 19 C is 61 to 66 F, and 41 F is 5 C, by NIST Handbook 44, Appendix C.
    assert "mat 61-66 F (16-19 C)" in said("r3.stick_planned")
    assert "below about 41 F (5 C) leave them in" in said("4b.harden_out")
    for name in ("r3.stick_planned", "4b.pot_up", "4b.offer_rooted"):
        assert "Moonberry juice stains" in said(name)
        assert "Fig sap" not in said(name)


def test_its_lots_are_forecast_by_its_own_file(lane: Path) -> None:
    def roots(as_of: str) -> str:
        lots = json.loads(stickdate("--nursery", lane, "--as-of", as_of, "--json", "lots").stdout)["lots"]
        [lot] = [lot for lot in lots if lot["lot"] == "4b"]
        return str(lot["milestones"]["roots"]["likely"])

    before = roots("2026-01-12")
    own = lane / "rules" / "crops" / "moonberry.toml"
    own.write_text(own.read_text(encoding="utf-8").replace('median = "22 d"', 'median = "33 d"'), encoding="utf-8")

    assert roots("2026-01-12") > before


def test_what_its_file_lacks_is_named_before_anything_is_planned(lane: Path) -> None:
    own = lane / "rules" / "crops" / "moonberry.toml"
    text = own.read_text(encoding="utf-8")
    before, _, after = text.partition("[durations.pushing]")
    own.write_text(before + after[after.index("\n[") :], encoding="utf-8")

    told = stickdate("--nursery", lane, "calendar", code=1).stderr

    assert told.splitlines() == [
        "rules/crops/moonberry.toml: durations: has no duration for 'pushing', which method 'sealed_bag' needs; "
        "add [durations.pushing]"
    ]
    assert not (lane / "calendar").exists()
