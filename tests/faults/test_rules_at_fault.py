"""A fault in a nursery's own rules never stops the bench: what is done is logged, the last plan shown, feeds stay."""

from __future__ import annotations

import json
import shutil
from datetime import UTC, datetime
from html import unescape
from pathlib import Path

import pytest
from pypdf import PdfReader

from almanac.actions.standing import standing
from almanac.web.app import create_app
from almanac.web.keys import load_keys
from tests import command
from tests.faults.bench import TODAY, kept, run
from tests.faults.test_catalogue import CASES, broken, expected
from tests.feeds import entries_in

OWN = [case for case in CASES if case.startswith("rules/")][::3]  # a third say it; all take ten seconds
NOW = datetime.fromisoformat(f"{TODAY}T16:00:00+00:00").astimezone(UTC)
TYPO = '[cold]\nlowest_nigt = "55 F"\n'
SAID = "rules/crops/fig.toml:2: cold, lowest_nigt: is not a key here; did you mean 'lowest_night'?"


@pytest.fixture
def lane(good: Path, tmp_path: Path) -> Path:
    """The same with a slip of the key in a rule of its own."""
    shutil.copytree(good, tmp_path / "lane")
    own = tmp_path / "lane" / "rules" / "crops" / "fig.toml"
    own.parent.mkdir(parents=True)
    own.write_text(TYPO, encoding="utf-8")
    return tmp_path / "lane"


def calendar(folder: Path) -> dict[str, bytes]:
    return {name: data for name, data in kept(folder).items() if name.startswith("calendar/")}


def written(folder: Path) -> dict[str, str]:
    """The titles of the calendar as it lies, by the entries' ids."""
    events = entries_in(folder / "calendar" / "everything.ics")
    return {str(each["X-STICKDATE-ID"]): str(each["SUMMARY"]) for each in events}


def words_of(file: Path) -> str:
    """What is written on the pages of a PDF."""
    return " ".join(page.extract_text() for page in PdfReader(file).pages)


@pytest.mark.parametrize("case", OWN)
def test_whatever_is_wrong_with_own_rules_a_look_is_logged_and_the_fault_said(
    case: str, good: Path, tmp_path: Path
) -> None:
    folder = broken(good, tmp_path / "lane", case)
    before = kept(folder)

    ran = run("--nursery", folder, "log", "looked", "7b")

    after = kept(folder)
    assert ran.status == 0
    assert ran.stdout == "Logged: looked at 7b on Fri 20 Mar (r7).\n"
    assert expected(case)[0] in ran.stderr
    assert {name for name in after if after[name] != before.get(name)} == {"logbook.csv", "logbook.backup.csv"}
    assert after["logbook.csv"].decode().splitlines()[-1].startswith(f"r7,{TODAY},looked,7b,")


def test_today_shows_the_calendar_as_it_was_last_written_and_the_fault(lane: Path) -> None:
    whole = run("--nursery", lane, "today")

    assert (whole.status, whole.lines) == (1, [SAID])
    text = " ".join(whole.stdout.split())
    assert "Your own rules are at fault: this is the calendar as it was last written, for 20 Mar." in text
    assert written(lane)["A.lamp_on"] in text
    assert f"{written(lane)['round.2026-03-20']} " in text
    assert "1a: how far the roots are" in text  # the round with all that is looked for

    told = json.loads(run("--nursery", lane, "--json", "today", "--days", "7").stdout)
    assert told["faults"] == [SAID]
    assert told["stands_still_since"] == TODAY
    assert {"round.2026-03-20", "round.2026-03-24", "1a.pot_up"} <= {each["id"] for each in told["entries"]}


def test_lots_says_where_they_are_by_what_is_logged_and_what_was_last_written_of_them(lane: Path) -> None:
    assert run("--nursery", lane, "log", "died", "7b", "--count", "1", "--stage", "pot").status == 0

    whole = run("--nursery", lane, "lots")

    assert (whole.status, whole.lines) == (1, [SAID])
    assert "this is the calendar as it was last written" in " ".join(whole.stdout.split())
    one = json.loads(run("--nursery", lane, "--json", "lots", "1a").stdout)
    assert one["faults"] == [SAID]
    assert "1a.pot_up" in {each["id"] for each in one["lots"][0]["entries"]}
    every = json.loads(run("--nursery", lane, "--json", "lots").stdout)["lots"]
    text = run("--nursery", lane, "lots").stdout
    assert all(f"\n{each['lot']} " in text for each in every)
    assert [each["counts"]["pot"] for each in every if each["lot"] == "7b"] == [3]
    assert "as last written" in text


def test_why_shows_the_entry_as_it_was_last_written_with_its_reason(lane: Path) -> None:
    said = {
        str(each["X-STICKDATE-ID"]): str(each["DESCRIPTION"]) for each in entries_in(lane / "calendar/everything.ics")
    }

    whole = run("--nursery", lane, "why", "1a.pot_up")

    assert (whole.status, whole.lines) == (1, [SAID])
    assert "this is the calendar as it was last written" in " ".join(whole.stdout.split())
    assert " ".join(said["1a.pot_up"].split())[:60] in " ".join(whole.stdout.split())
    assert json.loads(run("--nursery", lane, "--json", "why", "1a.pot_up").stdout)["id"] == "1a.pot_up"
    assert "1a.pot_up" in run("--nursery", lane, "why", "1a").stdout
    unknown = run("--nursery", lane, "why", "1a.pot_op")
    assert (unknown.status, unknown.stdout) == (1, "")
    assert "did you mean '1a.pot_up'?" in unknown.stderr


def test_the_sheet_holds_what_was_last_written_for_its_days_and_says_so(lane: Path) -> None:
    file = lane / "bench.pdf"

    drawn = run("--nursery", lane, "sheet", file)

    assert (drawn.status, drawn.lines) == (1, [SAID])
    text = " ".join(words_of(file).split())
    assert "Your own rules are at fault: this is the calendar as it was last written" in text
    assert written(lane)["A.lamp_on"] in text
    assert "1a: how far the roots are" in text


def test_days_later_today_still_names_what_was_written_for_the_days_between(lane: Path) -> None:
    later = command.run("--nursery", lane, "today", noon_of="2026-03-25")

    text = " ".join(later.stdout.split())
    assert f"Since then, if it is not done yet 20 Mar: {written(lane)['7b.light']}" in text
    assert f"22 Mar: {written(lane)['1a.pot_up']}" in text
    assert "Today Nothing was written for it." in text
    assert "The next entry is for " in text


def test_a_fault_elsewhere_too_shows_no_plan_as_nobody_knows_which_nursery_it_was_of(lane: Path) -> None:
    log = lane / "logbook.csv"
    log.write_text(log.read_text(encoding="utf-8").replace(",roots,", ",rots,"), encoding="utf-8")

    ran = run("--nursery", lane, "today")

    assert (ran.status, ran.stdout) == (1, "")
    assert SAID in ran.lines
    assert run("--nursery", lane, "log", "looked", "7b").status == 1


def test_what_is_stuck_and_undone_meanwhile_stands_in_the_logbook_and_counts_once_the_rule_is_mended(
    lane: Path,
) -> None:
    before = calendar(lane)

    stuck = run("--nursery", lane, "log", "stuck", "7", "--count", "2")
    assert "Into bin B; 16 of 24 places left there." in stuck.stdout
    assert "best pace" not in stuck.stdout  # whose warmth cannot be known
    assert run("--nursery", lane, "undo").status == 0
    assert run("--nursery", lane, "log", "stuck", "7", "--count", "3", "--bin", "A").status == 0
    assert "Nothing in the plan moves" not in stuck.stdout
    assert run("--nursery", lane, "calendar").status == 1
    assert calendar(lane) == before

    (lane / "rules" / "crops" / "fig.toml").write_text('[cold]\nlowest_night = "55 F"\n', encoding="utf-8")
    lots = json.loads(run("--nursery", lane, "--json", "lots").stdout)["lots"]
    assert [(each["counts"]["rooting"], each["bin"]) for each in lots if each["lot"] == "7d"] == [(3, "A")]
    assert run("--nursery", lane, "log", "looked", "7b").stderr == ""
    assert calendar(lane) != before


def test_a_crop_that_only_the_faulty_file_knows_is_logged_all_the_same(lane: Path) -> None:
    (lane / "rules" / "crops" / "fig.toml").unlink()
    (lane / "rules" / "crops" / "moonberry.toml").write_text('title = "Moonberry (invented)\n', encoding="utf-8")
    varieties = lane / "varieties.csv"
    varieties.write_text(varieties.read_text(encoding="utf-8") + "8,Invented Blue,moonberry,,,,,\n", encoding="utf-8")

    assert run("--nursery", lane, "log", "taken", "8", "--count", "5").status == 0
    assert run("--nursery", lane, "log", "stuck", "8", "--count", "5").stdout.startswith("Logged: stuck 5 of 8a")


def test_supplies_and_a_method_of_faulty_files_do_not_make_the_settings_wrong(lane: Path) -> None:
    settings = lane / "nursery.toml"
    text = settings.read_text(encoding="utf-8")
    text = text.replace('units = "us"', 'units = "us"\nmethod = "own_way"') + "\n[supplies]\nmoss = 3\n"
    settings.write_text(text, encoding="utf-8")
    (lane / "rules" / "methods").mkdir()
    (lane / "rules" / "methods" / "own_way.toml").write_text('title = "Own way"\n', encoding="utf-8")
    (lane / "rules" / "supplies.toml").write_text("[supply.moss]\n", encoding="utf-8")

    assert run("--nursery", lane, "log", "looked", "7b").status == 0


def test_the_feeds_stay_with_one_entry_that_says_what_to_mend(lane: Path) -> None:
    before = (lane / "calendar" / "everything.ics").read_bytes()

    found = standing(lane, NOW, None, {})

    events = entries_in(found.feeds["everything"])
    assert [str(each["SUMMARY"]) for each in events if "stands still" in str(each["SUMMARY"])] == [
        "Calendar stands still: mend rules/crops/fig.toml:2"
    ]
    assert found.feeds["everything"].count(b"BEGIN:VEVENT") == before.count(b"BEGIN:VEVENT") + 1


def test_the_page_shows_the_last_plan_says_the_fault_and_takes_what_is_tapped(lane: Path) -> None:
    phone = create_app(lane, lambda: NOW, ["localhost"]).test_client()
    phone.get(f"/k/{load_keys(lane).write}")

    for path in ("/", "/lots", "/lot/7b", "/week"):
        shown = phone.get(path)
        text = unescape(shown.get_data(as_text=True))
        assert shown.status_code == 200
        assert SAID in text
        assert "this is the calendar as it was last written" in text
        assert written(lane)["A.lamp_on"] in text
    assert "What to log" in phone.get("/log").get_data(as_text=True)

    fields = {"what": "leaves", "about": "1a", "key": "pabcdefghjk2", "back": "/", "on": TODAY}
    posted = phone.post("/log", data=fields, headers={"Origin": "http://localhost"})
    assert posted.status_code == 303
    said = unescape(phone.get(posted.headers["Location"]).get_data(as_text=True))
    assert "Logged. First leaves: 1a" in said
    assert "it stands still until your own rules are mended" in said
    assert "Nothing moves in the calendar" not in said
    row = (lane / "logbook.csv").read_text(encoding="utf-8").splitlines()[-1].split(",")[0]
    undone = phone.post("/undo", data={"row": row, "back": "/"}, headers={"Origin": "http://localhost"})
    assert undone.status_code == 303
    wrong = phone.post("/log", data=fields | {"what": "leafs"}, headers={"Origin": "http://localhost"})
    assert wrong.status_code == 409
    assert "is not an event" in unescape(wrong.get_data(as_text=True))
