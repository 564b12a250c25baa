"""What was logged stays: power cuts, spreadsheets, several hands at once, days looked back to.

STICKDATE_KILLS says how many times a command is killed at a random moment (6 if not said).
"""

from __future__ import annotations

import csv
import os
import random
import re
import time
from pathlib import Path
from typing import Any
from unittest.mock import patch

import pytest

from tests.command import Ran, in_python
from tests.faults.bench import LOGBOOK, kept, make_nursery, run
from tests.faults.power import child, needs_fork

KILLS = int(os.environ.get("STICKDATE_KILLS", "6"))


@pytest.fixture
def lane(tmp_path: Path) -> Path:
    """A faultless nursery with a calendar made before."""
    folder = make_nursery(tmp_path / "lane")
    assert run("--nursery", folder, "calendar").status == 0
    return folder


def rows(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


def check(folder: Path) -> Ran:
    return run("--nursery", folder, "check")


# --- a write cut short ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "torn",
    [
        "r7",
        "r7,2026-03-",
        "r7,2026-03-19,died,7b,,1,roo",
        "r7,2026-03-19,died,7b,,1,rooting,,rot,,,2026-03-19T18:00:0",
        'r7,2026-03-19,noted,7b,,,,,,,"bent, half',
        "\x00\x00\x00\x00",
    ],
)
def test_a_torn_last_line_is_told_never_read_and_set_aside_by_the_next_log(torn: str, lane: Path) -> None:
    logbook = lane / "logbook.csv"
    logbook.write_text(LOGBOOK + torn, encoding="utf-8")

    told = check(lane)
    logged = run("--nursery", lane, "log", "looked", "7b")

    assert told.status == 0
    assert "logbook.csv:8: the last line was cut short" in told.stdout
    assert "6 rows" in told.stdout
    assert logged.status == 0
    assert "set aside" in logged.stderr
    assert [row["id"] for row in rows(logbook)] == ["r1", "r2", "r3", "r4", "r5", "r6", "r7"]
    assert rows(logbook)[-1]["what"] == "looked"
    assert (lane / "logbook.torn.txt").read_text(encoding="utf-8") == torn + "\n"
    assert "cut short" not in check(lane).stdout


def test_a_line_torn_within_a_letter_of_two_bytes_is_a_torn_line_too(lane: Path) -> None:
    torn = "r7,2026-03-19,noted,7b,,,,,,,tr\u00e8".encode()[:-1]
    (lane / "logbook.csv").write_bytes(LOGBOOK.encode() + torn)

    logged = run("--nursery", lane, "log", "looked", "7b")

    assert logged.status == 0
    assert (lane / "logbook.torn.txt").read_bytes() == torn + b"\n"
    assert check(lane).status == 0


@pytest.mark.parametrize("text", [LOGBOOK.rstrip("\n"), LOGBOOK + "r7,2026-03-19,died,7b,,1,rooting,,rot,,,"])
def test_a_whole_last_line_without_its_end_is_a_row(text: str, lane: Path) -> None:
    (lane / "logbook.csv").write_text(text, encoding="utf-8")
    count = len(text.splitlines())

    logged = run("--nursery", lane, "log", "looked", "7b")

    assert (logged.status, logged.stderr) == (0, "")
    assert len(rows(lane / "logbook.csv")) == count
    assert (lane / "logbook.csv").read_text(encoding="utf-8").startswith(text + "\n")


def test_a_note_over_two_lines_at_the_end_is_whole_even_without_the_last_line_end(lane: Path) -> None:
    text = LOGBOOK + 'r7,2026-03-19,noted,7b,,,,,,,"one\ntwo",'
    (lane / "logbook.csv").write_text(text, encoding="utf-8")

    logged = run("--nursery", lane, "log", "looked", "7b")

    assert (logged.status, logged.stderr) == (0, "")
    assert rows(lane / "logbook.csv")[6]["note"] == "one\ntwo"


def test_blank_lines_and_columns_in_another_order_do_not_lose_the_next_row(lane: Path) -> None:
    cells = [line.split(",") for line in LOGBOOK.splitlines()]
    text = "\n\n" + "".join(",".join([*reversed(row), ""]) + "\r\n" for row in cells)
    (lane / "logbook.csv").write_text("\ufeff" + text, encoding="utf-8", newline="")

    logged = run("--nursery", lane, "log", "died", "7b", "--count", "1", "--stage", "rooting", "--value", "rot")

    assert (logged.status, logged.stderr) == (0, "")
    assert "7 rows" in check(lane).stdout
    assert "7 rooting" in run("--nursery", lane, "lots", "7b").stdout


# --- spreadsheets --------------------------------------------------------------------------------------------------


def test_rows_lost_to_a_spreadsheet_are_named_and_put_back(lane: Path) -> None:
    opened = (lane / "logbook.csv").read_bytes()
    run("--nursery", lane, "log", "died", "7b", "--count", "1", "--stage", "rooting")
    run("--nursery", lane, "log", "looked", "1a")
    (lane / "logbook.csv").write_bytes(opened)  # the spreadsheet, opened before, saves what it knew

    told = check(lane)
    mended = run("--nursery", lane, "check", "--mend")

    assert "logbook.csv: 2 rows of logbook.backup.csv are missing (r7, r8)" in told.stdout
    assert "check --mend" in told.stdout
    assert mended.status == 0
    assert "Put back r7, r8." in mended.stdout
    assert [row["id"] for row in rows(lane / "logbook.csv")][-2:] == ["r7", "r8"]
    assert "missing" not in check(lane).stdout
    assert rows(lane / "logbook.backup.csv") == rows(lane / "logbook.csv")


def test_a_row_logged_after_the_loss_takes_no_id_of_those_lost(lane: Path) -> None:
    opened = (lane / "logbook.csv").read_bytes()
    run("--nursery", lane, "log", "looked", "7b")
    (lane / "logbook.csv").write_bytes(opened)

    run("--nursery", lane, "log", "looked", "1a")
    run("--nursery", lane, "check", "--mend")

    assert sorted(row["id"] for row in rows(lane / "logbook.csv"))[-2:] == ["r7", "r8"]


def test_a_lost_row_that_no_longer_fits_goes_back_and_is_undone_at_once(lane: Path) -> None:
    opened = (lane / "logbook.csv").read_text(encoding="utf-8")
    run("--nursery", lane, "log", "potted", "7b", "--count", "8")
    edited = opened + "x1,2026-03-19,died,7b,,8,rooting,,rot,,,\n"
    (lane / "logbook.csv").write_text(edited, encoding="utf-8")

    told = check(lane)
    mended = run("--nursery", lane, "check", "--mend")

    line = "logbook.csv: r7 of the copy no longer fits what is logged: it goes back as r7, undone at once"
    assert line in told.stdout
    assert line in mended.stdout
    assert [(row["id"], row["what"], row["refers"]) for row in rows(lane / "logbook.csv")[6:]] == [
        ("r7", "potted", ""), ("x1", "died", ""), ("r8", "void", "r7")
    ]  # fmt: skip
    assert (check(lane).stdout, kept(lane)) == (check(lane).stdout, kept(lane))
    assert check(lane).stdout.endswith("Nothing is wrong.\n")


def test_a_row_that_a_spreadsheet_wrote_under_the_id_of_another_loses_neither(lane: Path) -> None:
    opened = (lane / "logbook.csv").read_text(encoding="utf-8")
    run("--nursery", lane, "log", "died", "7b", "--count", "3", "--stage", "rooting")
    edited = opened + "r7,2026-03-20,looked,7b,,,,,,,,\n"
    (lane / "logbook.csv").write_text(edited, encoding="utf-8")

    told = check(lane)
    mended = run("--nursery", lane, "check", "--mend")

    assert "logbook.csv: a row of logbook.backup.csv is missing (r7)" in told.stdout
    assert "r7 is another row here than in the copy, whose row goes back as r8" in told.stdout
    assert "check --mend would put back r8:\n  r8 2026-03-20 died 7b 3 rooting 2026-" in told.stdout
    assert "Put back r8.\n  r8 2026-03-20 died 7b 3 rooting 2026-" in mended.stdout
    assert sorted((row["id"], row["what"]) for row in rows(lane / "logbook.csv")[6:]) == [
        ("r7", "looked"),
        ("r8", "died"),
    ]
    assert "5 rooting" in run("--nursery", lane, "lots", "7b").stdout
    assert "kept in replaced/" in mended.stdout
    assert edited in [kept_file.read_text(encoding="utf-8") for kept_file in (lane / "replaced").iterdir()]
    assert run("--nursery", lane, "check", "--mend").stdout.endswith("Nothing is wrong.\n")
    assert len(rows(lane / "logbook.csv")) == 8


def test_a_count_that_a_person_mended_is_no_row_lost(lane: Path) -> None:
    run("--nursery", lane, "log", "died", "7b", "--count", "3", "--stage", "rooting")
    edited = (lane / "logbook.csv").read_text(encoding="utf-8").replace("died,7b,,3,", "died,7b,,2,")
    (lane / "logbook.csv").write_text(edited, encoding="utf-8")

    told = check(lane)
    run("--nursery", lane, "check", "--mend")

    assert 'r7 was changed after it was logged (count "3" to "2")' in told.stdout
    assert (lane / "logbook.csv").read_text(encoding="utf-8") == edited
    assert rows(lane / "logbook.backup.csv") == rows(lane / "logbook.csv")


@pytest.mark.parametrize("lost", ["r3", "r5"])
def test_a_row_that_later_ones_rest_on_goes_back_to_where_it_stood(lost: str, lane: Path) -> None:
    """Before the nursery can be read: without it the later ones are faults."""
    lines = LOGBOOK.splitlines(keepends=True)
    (lane / "logbook.csv").write_text("".join(line for line in lines if not line.startswith(lost)), encoding="utf-8")

    told = check(lane)
    mended = run("--nursery", lane, "check", "--mend")

    assert told.status == (1 if lost == "r3" else 0)
    assert f"a row of logbook.backup.csv is missing ({lost})" in told.stdout + told.stderr
    assert f"check --mend would put back {lost}:\n" in told.stdout + told.stderr
    assert mended.status == 0
    assert (lane / "logbook.csv").read_text(encoding="utf-8") == LOGBOOK


def test_a_broken_copy_stops_nobody_is_told_and_written_anew(lane: Path) -> None:
    copy = lane / "logbook.backup.csv"
    copy.write_bytes(LOGBOOK.encode().replace(b"r4,2026", b"r4,20\xff6").replace(b"r2,", b'"r2,'))

    logged = run("--nursery", lane, "log", "looked", "7b")
    told = check(lane)
    mended = run("--nursery", lane, "check", "--mend")

    assert logged.status == 0
    assert (
        "logbook.backup.csv: line 3 cannot be read as a row (1 in all); write it anew: stickdate check --mend"
        in told.stdout
    )
    assert 'r4 was changed after it was logged (date "20\ufffd6-01-05" to "2026-01-05")' in told.stdout
    assert mended.status == 0
    assert rows(copy) == rows(lane / "logbook.csv")
    assert check(lane).stdout.endswith("Nothing is wrong.\n")


def test_a_logbook_away_with_its_copy_is_told(lane: Path) -> None:
    for name in ("logbook.csv", "logbook.backup.csv"):
        (lane / name).unlink()

    assert "logbook.csv: is away, and logbook.backup.csv with it" in check(lane).stdout


def test_a_lost_row_of_a_day_to_come_waits_for_it(lane: Path) -> None:
    row = "r7,2026-03-21,looked,7b,,,,,,,,2026-03-21T08:00:00.000-04:00\n"
    with (lane / "logbook.backup.csv").open("a", encoding="utf-8") as copy:
        copy.write(row)

    told = check(lane)
    mended = run("--nursery", lane, "check", "--mend")

    assert "logbook.backup.csv: rows of days to come (r7) wait here until then" in told.stdout
    assert mended.status == 0
    assert (lane / "logbook.csv").read_text(encoding="utf-8") == LOGBOOK
    assert (lane / "logbook.backup.csv").read_text(encoding="utf-8") == LOGBOOK + row


def test_two_byte_order_marks_cost_no_row_its_id(lane: Path) -> None:
    (lane / "logbook.csv").write_text("\ufeff\ufeff" + LOGBOOK, encoding="utf-8")

    logged = run("--nursery", lane, "log", "looked", "7b")

    assert logged.status == 0
    assert "7 rows" in check(lane).stdout


def test_a_note_longer_than_a_cell_can_be_is_refused(lane: Path) -> None:
    before = kept(lane)

    ran = run("--nursery", lane, "log", "noted", "7b", "--note", "x" * 131_073)

    assert (ran.status, ran.lines) == (1, ["stickdate: a cell has 131073 letters; write at most 100000"])
    assert kept(lane) == before


def test_a_logbook_gone_altogether_comes_back_from_its_copy(lane: Path) -> None:
    before = rows(lane / "logbook.csv")
    (lane / "logbook.csv").unlink()

    mended = run("--nursery", lane, "check", "--mend")

    assert mended.status == 0
    assert rows(lane / "logbook.csv") == before


# --- beside the files ----------------------------------------------------------------------------------------------


def test_a_copy_that_a_synced_folder_put_beside_the_logbook_is_told_with_what_it_alone_has(lane: Path) -> None:
    row = "r7,2026-03-19,looked,7b,,,,,,,,2026-03-19T18:00:00.000-04:00\n"
    (lane / "logbook (conflicted copy).csv").write_text(LOGBOOK + row, encoding="utf-8")
    (lane / "logbook-old.csv").write_text(LOGBOOK, encoding="utf-8")
    (lane / "nursery (1).toml").write_text("", encoding="utf-8")
    (lane / "notes.csv").write_text("", encoding="utf-8")

    told = check(lane).stdout

    assert "logbook (conflicted copy).csv: looks like another copy of logbook.csv and has a row that it lacks" in told
    assert "logbook-old.csv: looks like another copy of logbook.csv and has no row that it lacks" in told
    assert "nursery (1).toml: looks like a copy of a file of the nursery" in told
    assert "notes" not in told


def test_a_feed_that_is_not_whole_is_told_and_made_anew_by_the_next_calendar(lane: Path) -> None:
    feed = lane / "calendar" / "bench.ics"
    feed.write_bytes(feed.read_bytes()[:-40])

    told = check(lane).stdout
    run("--nursery", lane, "calendar")

    assert "calendar/bench.ics: is no whole calendar" in told
    assert check(lane).stdout.endswith("Nothing is wrong.\n")


def test_what_cut_off_writes_left_is_told_and_removed_and_open_keys_are_closed(lane: Path) -> None:
    left = [lane / "calendar" / ".everything.ics.x8_k2pqa", lane / ".phone-keys.toml.abcdefgh"]
    other = lane / ".notes.txt.abcdefgh"
    for path in (*left, other, lane / "phone-keys.toml"):
        path.touch(0o644)

    told = check(lane).stdout
    mended = run("--nursery", lane, "check", "--mend").stdout

    assert told.count("a write that was cut off left this") == 2
    assert "phone-keys.toml: others on this machine can read the keys" in told
    assert "removed .phone-keys.toml.abcdefgh and calendar/.everything.ics.x8_k2pqa" in mended
    assert mended.endswith("Nothing is wrong.\n")
    assert [path.exists() for path in (*left, other)] == [False, False, True]


def test_files_that_may_not_be_written_and_rules_that_may_not_be_read_are_told(lane: Path) -> None:
    (lane / "rules" / "care").mkdir(parents=True)
    access, scandir = os.access, os.scandir

    def closed(path: Path, wanted: int) -> bool:
        return path.name != "logbook.backup.csv" and access(path, wanted)

    def unread(path: Any) -> Any:
        if str(path).endswith("care") and str(lane) in str(path):
            raise PermissionError(13, "Permission denied", str(path))
        return scandir(path)

    with patch("os.access", closed):
        told = check(lane)
    with patch("os.scandir", unread):
        stopped = run("--nursery", lane, "today")

    assert "logbook.backup.csv: may not be read or written by you" in told.stdout
    assert (stopped.status, len(stopped.lines)) == (3, 1)
    assert "permission denied" in stopped.stderr


def test_a_row_logged_at_a_time_to_come_makes_one_doubt_the_clock(lane: Path) -> None:
    row = "r7,2026-03-20,looked,7b,,,,,,,,2026-03-20T18:00:00.000-04:00\n"
    (lane / "logbook.csv").write_text(LOGBOOK + row, encoding="utf-8")

    assert "logbook.csv:8: r7 was logged at 2026-03-20T18:00:00.000-04:00, which is yet to come" in check(lane).stdout


@pytest.mark.start
@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a device that is always full")
def test_what_was_logged_and_cannot_be_shown_is_said_to_be_logged(lane: Path) -> None:
    code = "import sys; sys.stdout = open('/dev/full', 'w'); from almanac.cli.main import main; main()"

    ran = in_python(code, "--nursery", lane, "log", "looked", "7b")

    assert (ran.status, ran.lines) == (0, ["note: r7 is logged; it could not be shown: no space left on device"])
    assert rows(lane / "logbook.csv")[-1]["what"] == "looked"


# --- days looked back to -------------------------------------------------------------------------------------------


def test_a_day_looked_back_to_does_not_see_later_rows(lane: Path) -> None:
    then = run("--nursery", lane, "--as-of", "2026-02-20", "lots", "7b")
    now = run("--nursery", lane, "lots", "7b")

    assert (then.status, now.status) == (0, 0)
    assert "12 rooting" in then.stdout
    assert "8 rooting" in now.stdout


def test_a_row_after_the_real_today_is_a_fault_whatever_day_is_looked_at(lane: Path) -> None:
    (lane / "logbook.csv").write_text(LOGBOOK + "r7,2026-03-21,looked,7b,,,,,,,,\n", encoding="utf-8")

    for day in ("2026-02-20", "2026-12-01"):
        ran = run("--nursery", lane, "--as-of", day, "today")

        assert ran.status == 1
        assert ran.lines == ["logbook.csv:8: '2026-03-21' is after today, 2026-03-20; only what has happened is logged"]


def test_logging_on_a_day_looked_back_to_dates_the_row_to_it(lane: Path) -> None:
    ran = run("--nursery", lane, "--as-of", "2026-02-20", "log", "looked", "7b")

    assert ran.status == 0
    assert rows(lane / "logbook.csv")[-1]["date"] == "2026-02-20"


def test_a_row_that_later_rows_contradict_is_refused_on_a_day_that_does_not_see_them(lane: Path) -> None:
    before = kept(lane)

    ran = run("--nursery", lane, "--as-of", "2026-03-01", "log", "potted", "7b")

    assert ran.status == 1
    assert ran.lines == [
        "stickdate: that day it would contradict what is logged after it: "
        "logbook.csv:7: 7b has 12 in pots and none rooting; none can be potted"
    ]
    assert kept(lane) == before


@pytest.mark.parametrize("words", [("log", "looked", "7b"), ("log", "looked", "7b", "--on", "2026-03-22")])
def test_nothing_is_logged_on_a_day_to_come(words: tuple[str, ...], lane: Path) -> None:
    before = kept(lane)

    ran = run("--nursery", lane, "--as-of", "2026-03-22", *words)

    assert (ran.status, ran.lines) == (
        1,
        ["stickdate: 2026-03-22 is after today, 2026-03-20; only what has happened is logged"],
    )
    assert kept(lane) == before


# --- undo ----------------------------------------------------------------------------------------------------------


def test_a_row_that_others_rest_on_is_undone_after_them(lane: Path) -> None:
    refused = run("--nursery", lane, "undo", "r3")
    undone = [run("--nursery", lane, "undo", row).status for row in ("r6", "r5", "r3")]

    assert refused.status == 1
    assert refused.stderr.startswith("stickdate: r3 cannot be undone while r5 and r6 rest on it")
    assert undone == [0, 0, 0]
    assert "20 in store" in run("--nursery", lane, "lots", "7a").stdout
    assert [row["what"] for row in rows(lane / "logbook.csv")][-3:] == ["void"] * 3


def test_the_id_of_a_lot_undone_is_never_given_again(lane: Path) -> None:
    for row in ("r6", "r5", "r3"):
        run("--nursery", lane, "undo", row)

    stuck = run("--nursery", lane, "log", "stuck", "7a", "--count", "5", "--bin", "A")

    assert stuck.status == 0
    assert "7c" in stuck.stdout


def test_a_row_undone_by_mistake_counts_again_once_its_undoing_is_undone(lane: Path) -> None:
    before = run("--nursery", lane, "--json", "lots").stdout

    undone = run("--nursery", lane, "undo", "r6")
    twice = run("--nursery", lane, "undo", "r6")
    again = run("--nursery", lane, "undo", "r7")

    first = " ".join(undone.stdout.split())
    assert first.startswith("Undone: potted")
    assert "(r6; to have it count again: stickdate undo r7)." in first
    assert twice.lines == ["stickdate: r6 is undone already, by r7; to have it count again: stickdate undo r7"]
    assert again.stdout.startswith("Counts again: potted")
    assert "(r6)." in again.stdout
    assert run("--nursery", lane, "--json", "lots").stdout == before
    assert [row["refers"] for row in rows(lane / "logbook.csv")[6:]] == ["r6", "r7"]
    assert run("--nursery", lane, "undo", "r8").status == 0  # and so on, as often as one likes
    assert "in pots" not in run("--nursery", lane, "lots", "7b").stdout


def test_what_one_command_undid_counts_again_by_one(lane: Path) -> None:
    run("--nursery", lane, "log", "looked", "7b", "1a")
    before = run("--nursery", lane, "--json", "lots").stdout

    undone = run("--nursery", lane, "undo")
    again = run("--nursery", lane, "undo", "r9")

    assert "to have it count again: stickdate undo r9" in " ".join(undone.stdout.split())
    assert again.stdout.startswith("Counts again: looked at 7b, 1a on Fri 20 Mar (r7 to r8).")
    assert run("--nursery", lane, "--json", "lots").stdout == before


def test_a_row_undone_does_not_count_again_beside_what_was_logged_instead(lane: Path) -> None:
    run("--nursery", lane, "undo", "r6")
    run("--nursery", lane, "log", "died", "7b", "--count", "9", "--stage", "rooting")

    refused = run("--nursery", lane, "undo", "r7")

    assert refused.lines == [
        "stickdate: r6 counts again only once these are undone: r8 (7b has 8 rooting; 9 cannot be logged as died)"
    ]


# --- several at once, and a power cut in the middle ----------------------------------------------------------------


def _log_many(folder: Path, name: str, times: int) -> None:
    for number in range(times):
        assert run("--nursery", folder, "log", "noted", "7b", "--note", f"{name} {number}").status == 0


@needs_fork
def test_what_several_log_at_the_same_moment_is_all_kept(lane: Path) -> None:
    names = ("bench", "phone", "shed", "porch")

    processes = [child(_log_many, lane, name, 3) for name in names]
    for process in processes:
        process.join(60)

    written = rows(lane / "logbook.csv")
    assert [process.exitcode for process in processes] == [0, 0, 0, 0]
    assert sorted(row["note"] for row in written[6:]) == sorted(f"{name} {n}" for name in names for n in range(3))
    assert len({row["id"] for row in written}) == 18
    assert rows(lane / "logbook.backup.csv") == written
    assert check(lane).stdout.endswith("Nothing is wrong.\n")


def _log_on(folder: Path) -> None:
    _log_many(folder, "killed", 1000)


@needs_fork
def test_a_command_killed_at_a_random_moment_loses_nothing_that_was_done(lane: Path) -> None:
    chance = random.Random(7)
    before = 6

    for _ in range(KILLS):
        process = child(_log_on, lane)
        time.sleep(chance.uniform(0.02, 0.3))
        process.kill()
        process.join(30)

        told = check(lane)
        written = rows(lane / "logbook.csv")
        assert told.status == 0
        assert len(written) >= before
        assert [row["what"] for row in written[:6]] == ["taken", "taken", "stuck", "stuck", "roots", "potted"]
        before = len(written)
    assert before > 6
    assert run("--nursery", lane, "log", "looked", "7b").status == 0


# --- own rules -----------------------------------------------------------------------------------------------------


def test_a_rule_of_the_growers_own_replaces_one_key_of_a_shipped_one_by_its_id(lane: Path) -> None:
    shipped = run("--nursery", lane, "rules", "show", "mould_look")
    (lane / "rules" / "care").mkdir(parents=True)
    own = '[[task]]\nid = "mould_look"\nevery_days = 2\n'
    (lane / "rules" / "care" / "mould.toml").write_text(own, encoding="utf-8")

    mine = run("--nursery", lane, "rules", "show", "mould_look")

    assert (shipped.status, mine.status, mine.stderr) == (0, 0, "")
    changed = set(shipped.stdout.splitlines()) ^ set(mine.stdout.splitlines())
    assert changed
    # The days between looks, and whose they now are: nothing else of the rule.
    assert all(re.search(r"every|rules/|\bown\b|^source: ", line) for line in changed), changed
