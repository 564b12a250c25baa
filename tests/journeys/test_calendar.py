"""The calendar as a phone meets it: written, written again, moved by what is logged, lost, broken, carried on."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
import sys
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from icalendar import Calendar

from almanac.actions.record import record
from almanac.actions.refresh import Refreshed, refresh
from almanac.actions.request import Request
from almanac.actions.undo import undo
from almanac.faults import Fact, Refusal
from almanac.feed.previous import Published, read_previous
from almanac.nursery.load import load_nursery
from tests.command import stickdate
from tests.conftest import Writes
from tests.examples import EXAMPLES, STATES
from tests.feeds import by_id, entries_in
from tests.journeys.year import EVERYWHERE
from tests.nurseries import WEEK
from tests.saying import refused

FEEDS = ("bench", "everything", "sales", "seasons")
WINTER = """
2026-01-05 taken 1a --count 30
2026-01-05 taken 3a --count 9
2026-01-10 stuck 1a --count 12 --bin A --refers 1b
2026-01-12 stuck 3a --bin B
2026-01-12 taken 7a --count 10
2026-01-14 stuck 7a --bin A
"""


def noon(day: date) -> datetime:
    return datetime(day.year, day.month, day.day, 17, 0, tzinfo=UTC)


def written(folder: Path) -> dict[str, bytes]:
    return {name: (folder / "calendar" / f"{name}.ics").read_bytes() for name in FEEDS}


def entries(folder: Path) -> dict[str, Published]:
    zone = load_nursery(folder, datetime(2028, 1, 1, tzinfo=UTC)).place.zone
    found = read_previous((folder / "calendar" / "everything.ics").read_bytes(), zone).entries
    return {str(name): entry for name, entry in found.items()}


def share_changed(done: Refreshed) -> float:
    changes = done.publication.changes
    changed = (*changes.moved, *changes.added, *changes.removed, *done.publication.reworded)
    return len(changed) / done.publication.entries


def mornings(folder: Path, first: date, days: int) -> list[float]:
    """Write the calendar on a day and on each of so many mornings after, nothing logged; the share that changed.

    What is over must stay as it was, every time.
    """
    refresh(folder, noon(first))
    found = []
    for number in range(1, days + 1):
        day, before = first + timedelta(days=number), entries(folder)
        found.append(share_changed(refresh(folder, noon(day))))
        after = entries(folder)
        for name, old in before.items():
            if old.first < day and not name.endswith(".nothing"):
                assert after[name].data == old.data, f"{name} was over on {day} and changed"
    return found


# --- written, and written again ----------------------------------------------------------------------------------


def test_written_again_on_the_same_day_every_file_stays_as_it_was(nursery: Writes) -> None:
    folder = nursery(WINTER)
    refresh(folder, noon(date(2026, 1, 20)))
    before, times = written(folder), [(folder / "calendar" / f"{name}.ics").stat().st_mtime_ns for name in FEEDS]

    again = refresh(folder, noon(date(2026, 1, 20)) + timedelta(hours=5))

    assert written(folder) == before
    assert [(folder / "calendar" / f"{name}.ics").stat().st_mtime_ns for name in FEEDS] == times
    assert again.publication.for_import == b""


# Not millrace, whose five winters take as long as all others.
@pytest.mark.parametrize(("example", "day"), [state for state in STATES.items() if state[0] != "millrace"])
def test_on_mornings_with_nothing_logged_few_entries_change_and_none_that_is_over(
    example: str, day: date, tmp_path: Path
) -> None:
    folder = shutil.copytree(EXAMPLES / example, tmp_path / example, ignore=shutil.ignore_patterns("calendar"))

    found = mornings(folder, day, 5)

    # Where a round nobody logged is asked for again, those after it exchange lots, and what it leaves alone on its day
    # takes over its alarm: one thing rings a morning.
    assert max(found) <= 0.24, found


@pytest.mark.long
@pytest.mark.parametrize("first", [date(2026, 1, 15), *([date(2026, 2, 20)] if EVERYWHERE else [])])
def test_a_grower_who_logs_nothing_for_some_weeks_keeps_a_calm_calendar(first: date, nursery: Writes) -> None:
    found = sorted(mornings(nursery(WINTER), first, 20))

    assert sum(found) / len(found) <= 0.06, found
    assert found[17] <= 0.15, found  # all but two mornings in twenty


@pytest.mark.long
@pytest.mark.parametrize("first", [date(2026, 7, 1), *([date(2026, 4, 10)] if EVERYWHERE else [])])
def test_a_grower_who_logs_nothing_for_months_sees_what_is_undone_put_off_once_a_week_at_most(
    first: date, nursery: Writes
) -> None:
    found = mornings(nursery(WINTER), first, 21)

    # What waits for potting moves once, and the one morning on which it is asked for no more since no roots came.
    assert sum(share > 0.15 for share in found) <= 2, found


def test_a_nursery_with_nothing_to_do_has_an_entry_in_each_feed_that_says_so(nursery: Writes) -> None:
    folder = nursery()
    refresh(folder, noon(date(2026, 1, 20)))
    before = written(folder)

    refresh(folder, noon(date(2026, 1, 22)))

    # RFC 5545, 3.6: a calendar holds at least one component; a client may empty itself on one that does not.
    for data in before.values():
        assert len(entries_in(data)) >= 1
    assert written(folder) == before


def test_what_is_over_is_kept_four_months_and_then_goes_quietly(nursery: Writes) -> None:
    folder, first = nursery(WINTER), date(2026, 1, 20)
    ever: dict[str, Published] = {}

    for week in range(30):
        day = first + timedelta(weeks=week)
        refresh(folder, noon(day))
        found = entries(folder)
        for name, old in ever.items():
            if day - timedelta(days=120) <= old.first < day:
                assert found[name].data == old.data
            elif old.first < day - timedelta(days=120):
                assert name not in found or found[name].first >= day - timedelta(days=120)
        ever = {name: entry for name, entry in found.items() if not name.endswith(".nothing")}


def test_a_planned_lot_that_was_not_stuck_in_time_is_still_told_where_no_round_comes(nursery: Writes) -> None:
    folder = nursery("2026-01-05 planned 1 --count 6 --value 2026-02-10")
    refresh(folder, noon(date(2026, 2, 1)))

    refresh(folder, noon(date(2026, 2, 16)))

    coming = [entry for entry in entries(folder).values() if entry.first >= date(2026, 2, 16)]
    assert any("of 1" in entry.summary or entry.id.startswith("round.") for entry in coming)


# --- what a log moves --------------------------------------------------------------------------------------------


def test_leaves_seen_early_move_that_lots_light_and_little_else(nursery: Writes) -> None:
    folder = nursery(WINTER)
    refresh(folder, noon(date(2026, 1, 22)))
    before = entries(folder)

    recorded = record(folder, noon(date(2026, 1, 22)) + timedelta(minutes=1), Request(what="leaves", about=("1b",)))

    after = entries(folder)
    assert not recorded.stale
    assert after["1b.light"].first < before["1b.light"].first
    assert {move.id for move in recorded.changes.moved} >= {"1b.light"}  # water waits for roots, which come later
    for name in before.keys() & after.keys():
        old, new = before[name], after[name]
        uid = re.findall(rb"^UID:.*", old.data, re.MULTILINE)
        assert re.findall(rb"^UID:.*", new.data, re.MULTILINE) == uid
        if new.data != old.data:
            assert new.sequence > old.sequence
            assert new.modified > old.modified
            about = {"1b", "A"}  # the lot, alone or with others, and the lamp of the bin it stands in
            concerned = {own.split(".")[0] for own in (name, *old.holds, *new.holds)}
            if not name.startswith("round.") and not concerned & about:
                # It was looked at without roots: that is a longer wait, and teaches the others a bench day or so.
                assert abs(new.first - old.first) <= timedelta(days=4), f"{name} moved by what 1b showed"


def test_what_is_logged_and_undone_leaves_the_days_as_they_were(nursery: Writes) -> None:
    folder, now = nursery(WINTER), noon(date(2026, 1, 22))
    refresh(folder, now)
    before = {name: entry.first for name, entry in entries(folder).items()}

    record(folder, now + timedelta(minutes=1), Request(what="leaves", about=("1b",)))
    undo(folder, now + timedelta(minutes=2))

    # Rounds far ahead that would do as well on either day keep the one they were told last.
    soon = date(2026, 3, 31)
    after = {name: entry.first for name, entry in entries(folder).items()}
    assert {name: day for name, day in after.items() if day <= soon or not name.startswith("round.")} == {
        name: day for name, day in before.items() if day <= soon or not name.startswith("round.")
    }


def test_logging_writes_no_calendar_where_none_was_asked_for(nursery: Writes) -> None:
    folder = nursery(WINTER)

    recorded = record(folder, noon(date(2026, 1, 22)), Request(what="looked", about=("1b",)))

    assert not recorded.stale
    assert not (folder / "calendar").exists()


# --- lost and broken files ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("damage", ["lost", "empty", "cut", "zeroes", "another program's", "LF only"])
def test_whatever_became_of_the_last_file_no_sequence_falls_and_no_uid_changes(damage: str, nursery: Writes) -> None:
    folder, now = nursery(WINTER), noon(date(2026, 1, 22))
    refresh(folder, now)
    for minute, lot in enumerate(["1b", "3a", "7a"], 1):
        record(folder, now + timedelta(minutes=5 * minute), Request(what="leaves", about=(lot,)))
    before, file = entries(folder), folder / "calendar" / "everything.ics"
    whole = file.read_bytes()

    if damage == "lost":
        file.unlink()
    else:
        file.write_bytes(
            {
                "empty": b"",
                "cut": whole[: len(whole) * 2 // 3],
                "zeroes": whole[:4000] + b"\0" * (len(whole) - 4000),
                "another program's": b"BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:x\r\nEND:VCALENDAR\r\n",
                "LF only": whole.replace(b"\r\n", b"\n"),
            }[damage]
        )
    refresh(folder, now + timedelta(minutes=30))

    after = entries(folder)
    # What several lots share is named once, after the oldest, and keeps its day while that will do; without the file it
    # is named and dated anew, and rounds go by it from that day on. All else has the name and the day it had.
    shared = {name for name, entry in (before | after).items() if entry.holds and not name.startswith("round.")}
    first_shared = min((before | after)[name].first for name in shared)
    rounds = {name for name in before.keys() | after.keys() if name.startswith("round.")}
    shared |= {name for name in rounds if (before | after)[name].first >= first_shared}
    assert before.keys() - shared == after.keys() - shared
    held = [{entry.holds for name, entry in each.items() if name in shared - rounds} for each in (before, after)]
    assert held[0] == held[1]
    for name in before.keys() & after.keys():
        old = before[name]
        assert after[name].sequence >= old.sequence
        assert name in shared or after[name].first == old.first
        assert re.findall(rb"^UID:.*", after[name].data, re.M) == re.findall(rb"^UID:.*", old.data, re.M)


# --- the options of the command ----------------------------------------------------------------------------------


def test_a_dry_run_says_what_would_change_and_writes_nothing(nursery: Writes) -> None:
    folder = nursery(WINTER)

    told = json.loads(stickdate("--nursery", folder, "--as-of", "2026-01-22", "calendar", "--dry-run", "--json").stdout)

    assert told["written"] == []
    assert told["entries"] == len(told["added"]) > 20
    assert not (folder / "calendar").exists()


def test_a_day_before_the_last_one_written_for_is_refused_unless_it_goes_elsewhere(nursery: Writes) -> None:
    folder = nursery(WINTER)
    stickdate("--nursery", folder, "--as-of", "2026-01-25", "calendar")
    before = written(folder)

    refused = stickdate("--nursery", folder, "--as-of", "2026-01-24", "calendar", code=1)
    stickdate("--nursery", folder, "--as-of", "2026-01-24", "calendar", "--out", folder / "elsewhere")

    assert refused.stderr == (
        "stickdate: the calendar was last changed for 2026-01-25; for 2026-01-24 add --out FOLDER\n"
    )
    assert written(folder) == before
    seen = {path.name for path in (folder / "elsewhere").iterdir() if not path.name.startswith(".")}
    assert seen == {f"{name}.ics" for name in FEEDS}


def test_the_file_of_changes_is_written_only_when_something_changed(nursery: Writes, tmp_path: Path) -> None:
    folder, file = nursery(WINTER), tmp_path / "changes.ics"
    command = ("--nursery", folder, "--as-of", "2026-01-22", "calendar", "--changes", file)

    first = stickdate(*command)
    told = by_id(file).keys()
    file.unlink()
    stickdate(*command)

    assert told == set(entries(folder))
    assert str(file) in first.stdout
    assert not file.exists()


def test_changes_for_import_cancel_what_a_lost_lot_no_longer_asks_for(nursery: Writes, tmp_path: Path) -> None:
    folder, now = nursery(WINTER), noon(date(2026, 1, 22))
    refresh(folder, now)
    before = entries(folder)
    with (folder / "logbook.csv").open("a", encoding="utf-8") as logbook:
        logbook.write("r90,2026-01-22,discarded,1b,1,12,,,,,a mouse,\n")

    refresh(folder, now + timedelta(minutes=3), changes=tmp_path / "changes.ics")

    events: dict[str, Any] = {str(event["UID"]): event for event in entries_in(tmp_path / "changes.ics")}
    gone = before.keys() - entries(folder).keys()
    assert "1b.light" in gone
    for name in gone:
        event = events[str(entries_in(_alone(before[name]))[0]["UID"])]
        assert event["STATUS"] == "CANCELLED"  # RFC 5545, 3.8.1.11
        assert event["SEQUENCE"] > before[name].sequence
    assert b"CANCELLED" not in (folder / "calendar" / "everything.ics").read_bytes()


def _alone(entry: Published) -> bytes:
    head = b"BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//test//EN\r\n"
    return head + entry.data + b"END:VCALENDAR\r\n"


@pytest.mark.start
def test_two_runs_at_once_leave_one_whole_calendar(nursery: Writes) -> None:
    folder = nursery(WINTER)
    command = [sys.executable, "-m", "almanac.cli.main", "--nursery", str(folder), "--as-of", "2026-01-22", "calendar"]

    runs = [subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE) for _ in range(3)]
    told = [run.communicate(timeout=120) for run in runs]

    assert [run.returncode for run in runs] == [0, 0, 0], told
    assert sum(b"Nothing changed." in out for out, _ in told) == 2
    found = {name: Calendar.from_ical(data) for name, data in written(folder).items()}
    assert _ids(found["everything"]) == sorted(_ids(found["bench"]) + _ids(found["seasons"]) + _ids(found["sales"]))
    assert [path.name for path in (folder / "calendar").iterdir() if path.name.startswith(".")] == []


def _ids(calendar: Any) -> list[str]:
    return sorted(str(event["X-STICKDATE-ID"]) for event in calendar.walk("VEVENT"))


# --- notes, names, size ------------------------------------------------------------------------------------------


def test_a_name_in_any_script_reaches_the_phone(nursery: Writes) -> None:
    name = "Schlehenhof, Süd; „北“"
    folder = nursery(WINTER, name=name)

    refresh(folder, noon(date(2026, 1, 22)))

    calendar = Calendar.from_ical(written(folder)["everything"])
    # RFC 7986, 5.1: TEXT, so its commas and semicolons are escaped.
    assert str(calendar["NAME"]).replace("\\,", ",").replace("\\;", ";") == name != str(calendar["NAME"])


def test_three_hundred_lots_make_a_calendar_under_a_megabyte(nursery: Writes) -> None:
    rows, start = [], date(2026, 1, 5)
    for number in range(300):
        lot, day = f"{1 + number // 26 * 2}{chr(97 + number % 26)}", start + timedelta(days=number % 40)
        rows.append((day, f"{day} taken {lot} --count 8"))
        rows.append((day, f"{day} stuck {lot} --bin {'AB'[number % 2]}"))
    varieties = "number,name,crop,source,protected,price_cutting,price_plant,note\n"
    varieties += "".join(f"{number},Number {number},fig,,,,,\n" for number in range(1, 26))
    folder = nursery("\n".join(row for _, row in sorted(rows, key=lambda row: row[0])), varieties=varieties)

    refresh(folder, noon(date(2026, 2, 15)))

    # The size at which some calendar programs give up on a feed, by measurement and report, is not far above.
    assert len(written(folder)["everything"]) < 1_000_000


@pytest.mark.parametrize("zone", ["America/New_York", "Australia/Sydney", "Pacific/Honolulu"])
def test_a_round_whose_day_is_another_in_utc_is_written_the_same_again_and_is_not_said_to_move(
    nursery: Writes, zone: str
) -> None:
    folder = nursery(WINTER, timezone=zone, week=f'{WEEK}\nbench_time = "20:30"')
    day = date(2026, 1, 22)
    refresh(folder, noon(day))
    first = written(folder)

    again = refresh(folder, noon(day) + timedelta(minutes=5))

    assert written(folder) == first
    assert not again.publication.changes.moved
    record(folder, noon(day) + timedelta(minutes=6), Request(what="roots", about=("1b",), count=1))
    days = {name: entry.first for name, entry in entries(folder).items() if name.startswith("round.")}
    assert all(name == f"round.{first_day.isoformat()}" for name, first_day in days.items())


def test_a_row_that_is_written_is_not_refused_where_the_calendar_cannot_be(
    nursery: Writes, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = nursery(WINTER)
    refresh(folder, noon(date(2026, 1, 22)))

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device", "calendar")

    monkeypatch.setattr("almanac.actions.writing.publish_reading", full)
    recorded = record(folder, noon(date(2026, 1, 22)), Request(what="looked", about=("1b",)))

    assert recorded.stale == Fact("disk_full", file="calendar", why="no space left on device")
    assert recorded.rows[0].id in (folder / "logbook.csv").read_text(encoding="utf-8")


def test_a_file_of_changes_replaces_no_other_file_and_none_is_left_where_nothing_changed(nursery: Writes) -> None:
    folder, now = nursery(WINTER), noon(date(2026, 1, 22))
    logbook = (folder / "logbook.csv").read_bytes()
    changes = folder / "changed.ics"

    with refused(Refusal, "is not a file of changes"):
        refresh(folder, now, changes=folder / "logbook.csv")
    refresh(folder, now, changes=changes)
    there = changes.exists()
    refresh(folder, now + timedelta(minutes=1), changes=changes)

    assert (folder / "logbook.csv").read_bytes() == logbook
    assert there
    assert not changes.exists()


def test_a_calendar_of_the_grower_s_own_is_not_written_over(nursery: Writes, tmp_path: Path) -> None:
    (tmp_path / "mine").mkdir()
    own = tmp_path / "mine" / "bench.ics"
    own.write_text("BEGIN:VCALENDAR\r\nPRODID:-//mine//EN\r\nEND:VCALENDAR\r\n", encoding="utf-8")
    before = own.read_bytes()

    told = stickdate("--nursery", nursery(), "calendar", "--out", own.parent, code=1)

    assert told.stderr == (
        f"stickdate: {own} is not a calendar that this program wrote; name another folder for --out\n"
    )
    assert own.read_bytes() == before
