"""A young nursery is told its next step, one at a time, until it is made; an old one is left in peace."""

from __future__ import annotations

from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from almanac.actions.first_steps import next_step, subscribed
from almanac.faults import Fact
from almanac.terminal.first_steps import with_next
from almanac.web.app import create_app
from almanac.web.keys import load_keys
from almanac.words.faults import fact_text
from tests.command import run
from tests.nurseries import bench

STUCK = "2027-01-05 received 7a --count 12 --stage rooting --bin A\n"
DAY = date(2027, 1, 9)
NO_VARIETIES = "number,name,crop\n"


def step(folder: Path, log: str, day: date = DAY, **parts: str) -> str:
    """The kind of the next step, with what an earlier command left in the folder."""
    found = next_step(bench(folder, log, day, **parts))  # type: ignore[arg-type]  # one part's text
    return found.kind if found else ""


def left(folder: Path, *names: str) -> None:
    """Files as `calendar`, `serve` or `publish` leave them."""
    for name in names:
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).touch()


def test_first_come_varieties_then_lots_then_the_calendar_then_the_phone_then_a_look(tmp_path: Path) -> None:
    assert step(tmp_path, "", varieties=NO_VARIETIES) == "next_varieties"
    assert step(tmp_path, "") == "next_lots"
    assert step(tmp_path, STUCK) == "next_calendar"
    left(tmp_path, "calendar/everything.ics")
    assert step(tmp_path, STUCK) == "next_phone"
    load_keys(tmp_path)  # as the first `serve` or `publish` makes them
    assert step(tmp_path, STUCK) == "next_looks"
    assert step(tmp_path, STUCK + "2027-01-08 looked --bin A") == ""


@pytest.mark.parametrize("seen", ["leaves 7a", "mould 7a", "watered 7a", "potted 7a --count 3"])
def test_whoever_logs_what_was_seen_or_done_needs_not_be_told_of_looks(seen: str, tmp_path: Path) -> None:
    left(tmp_path, "calendar/everything.ics", "phone-keys.toml")

    assert step(tmp_path, f"{STUCK}2027-01-08 {seen}") == ""


def test_a_calendar_kept_on_a_server_is_on_the_phone(tmp_path: Path) -> None:
    left(tmp_path, "calendar/everything.ics", "calendar/caldav-0a1b.txt")

    assert step(tmp_path, STUCK) == "next_looks"


def test_of_a_lot_that_stands_in_no_bin_the_look_is_its_own(tmp_path: Path) -> None:
    left(tmp_path, "calendar/everything.ics", "phone-keys.toml")

    assert step(tmp_path, STUCK.replace(" --bin A", "")) == "next_look"


def test_wood_in_store_and_lots_planned_ask_for_no_look(tmp_path: Path) -> None:
    left(tmp_path, "calendar/everything.ics", "phone-keys.toml")

    assert step(tmp_path, "2027-01-05 taken 7a --count 12") == ""
    assert step(tmp_path, "2027-01-05 planned 7 --count 12 --value 2027-02-01") == ""


def test_a_grower_who_wants_no_calendar_is_asked_for_two_months(tmp_path: Path) -> None:
    assert step(tmp_path, STUCK, date(2027, 3, 6)) == "next_calendar"
    assert step(tmp_path, STUCK, date(2027, 3, 7)) == ""


def test_today_lots_and_calendar_end_with_it(tmp_path: Path) -> None:
    bench(tmp_path, STUCK, DAY)

    for command in ("today", "lots", "calendar"):
        told = run("--nursery", tmp_path, command, noon_of="2027-01-09").stdout
        wanted = "put the calendar on your phone: stickdate serve --host 0.0.0.0"  # written by the command itself
        wanted = wanted if command == "calendar" else "write the calendar for your phone: stickdate calendar"
        assert told.endswith(f"\n\nNext: {wanted}\n"), command


def test_the_page_leads_to_the_calendar_until_it_is_fetched_and_then_asks_for_a_look(tmp_path: Path) -> None:
    bench(tmp_path, STUCK, DAY)
    phone = create_app(tmp_path, lambda: datetime(2027, 1, 9, 17, tzinfo=UTC), ["localhost"]).test_client()
    keys = load_keys(tmp_path)
    phone.get(f"/k/{keys.write}")

    assert '<strong>Next:</strong> <a href="/calendar">have the calendar on this phone, too</a>' in phone.get("/").text
    assert phone.get("/calendar").status_code == 200
    assert phone.get(f"/f/{keys.write}/bench.ics").status_code == 404  # not the key that reads
    assert "on this phone, too" in phone.get("/").text
    assert phone.get(f"/f/{keys.read}/bench.ics").status_code == 200
    assert "<strong>Next:</strong> once you have looked through a bin, tap that all is well" in phone.get("/").text


def test_a_nursery_that_cannot_be_written_to_still_gives_its_calendar(tmp_path: Path) -> None:
    subscribed(tmp_path / "nowhere")

    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    "fact",
    [
        Fact("next_varieties"),
        Fact("next_lots", number="120"),
        Fact("next_calendar"),
        Fact("next_phone"),
        Fact("next_looks", bin="A", kind="bin"),
        Fact("next_look", lot="7a"),
    ],
)
def test_a_step_is_one_line_and_names_a_command_that_is_there(fact: Fact) -> None:
    text, data = with_next("No lots yet.\n", {"lots": []}, fact)

    assert len(text.splitlines()) == 3
    assert len(text.splitlines()[-1]) <= 80
    assert data["next_step"] == fact_text(fact)
    _, named, words = fact_text(fact).partition("stickdate ")
    assert not named or run(words.split()[0], "--help").status == 0
