"""A grower hangs up the months ahead, or reads them in the terminal: `calendar --pdf`, `--text`, held to the feeds."""

from __future__ import annotations

import json
from datetime import date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from icalendar import Calendar
from pypdf import PdfReader

from tests.command import stickdate
from tests.conftest import Writes
from tests.drawn import Box, off_paper, on_paper

LOG = """
2026-01-05 received 1a --count 12 --stage rooting --bin A
2026-01-05 received 2a --count 6 --stage rooting --bin B
2026-01-12 received 7a --count 4 --stage pot --value trade
2026-01-16 looked 1a 2a
"""
DAY = "2026-01-20"
WEEK = 'bench_days = ["tue", "fri"]\nbench_time = "18:30"\naway = [{ from = 2026-02-09, to = 2026-02-12 }]'
ZONE = ZoneInfo("America/New_York")


def entries(folder: Path) -> list[tuple[date, str]]:
    """What a phone shows: each entry of the feed by its day in the nursery's own time."""
    stickdate("--nursery", folder, "--as-of", DAY, "calendar", "--out", folder / "out")
    feed = Calendar.from_ical((folder / "out" / "everything.ics").read_bytes())
    found = []
    for event in feed.events:
        start = event.start
        day = start.astimezone(ZONE).date() if isinstance(start, datetime) else start
        found.append((day, str(event["SUMMARY"])))
    return sorted(found)


def test_the_list_in_the_terminal_is_what_the_feed_holds(nursery: Writes) -> None:
    folder = nursery(LOG, week=WEEK)
    arguments = ("--nursery", folder, "--as-of", DAY, "calendar", "--text", "--months", 4)

    told, data = stickdate(*arguments).stdout, json.loads(stickdate("--json", *arguments).stdout)

    shown = sorted((e["date"], e["title"]) for month in data["months"] for e in month["entries"])
    assert shown == [(str(day), title) for day, title in entries(folder) if day < date(2026, 5, 1)]
    assert [month["month"] for month in data["months"]] == ["2026-01", "2026-02", "2026-03", "2026-04"]
    assert "18:30 " in told
    assert max(map(len, told.splitlines())) <= 80
    assert not (folder / "calendar").exists()  # nothing was published


def test_each_entry_hangs_in_the_field_of_its_day(nursery: Writes, tmp_path: Path) -> None:
    folder, paper = nursery(LOG, week=WEEK, units="us"), tmp_path / "wall.pdf"
    wanted = [(day, title) for day, title in entries(folder) if day < date(2026, 4, 1)]

    stickdate("--nursery", folder, "--as-of", DAY, "calendar", "--pdf", paper)

    pages = PdfReader(paper).pages
    assert len(pages) == 3
    for number, page in enumerate(pages, 1):
        words = on_paper(page)
        assert off_paper(page) == []
        days = {int(told): box for told, box in words if told.isdigit()}
        assert sorted(days) == list(range(1, (date(2026, number + 1, 1) - timedelta(days=1)).day + 1))
        for day, title in wanted:
            if day.month == number:
                assert title.replace(" ", "") in _field(day.day, days, words).replace(" ", ""), (day, title)
        # Weeks begin on Sunday where units are US ones: the first Sunday stands furthest to the left.
        first_sunday = next(n for n in range(1, 8) if date(2026, number, n).weekday() == 6)
        assert days[first_sunday][0] == min(box[0] for box in days.values())
    assert [told for told, _ in on_paper(pages[1])].count("away") == 4


def _field(day: int, days: dict[int, Box], words: list[tuple[str, Box]]) -> str:
    """The words under a day's number, until the next number below."""
    left, top = days[day][0], days[day][1]
    right = min((box[0] for box in days.values() if box[0] > left + 5), default=1e9)
    foot = min((box[1] for box in days.values() if box[1] > top + 5), default=1e9)
    return " ".join(told for told, box in words if left - 1 < box[0] < right - 1 and top < box[1] < foot)


def test_what_a_field_cannot_hold_stands_in_full_on_the_page_after(nursery: Writes, tmp_path: Path) -> None:
    name = "Wide Meadow Walnut Mill Warden of Wexham"
    crops = ("fig", "grape", "pomegranate", "mulberry", "elderberry", "willow", "rose", "forsythia")
    varieties = "number,name,crop\n" + "".join(f"{n},{name},{crops[n % 8]}\n" for n in range(1, 101))
    log = "".join(f"2025-12-{1 + n % 28:02} received {n}a --count 9 --stage rooting --bin A\n" for n in range(1, 101))
    folder = nursery(log, week=WEEK, varieties=varieties, bags=2000)
    paper = tmp_path / "wall.pdf"

    stickdate("--nursery", folder, "--as-of", DAY, "calendar", "--pdf", paper, "--months", 6)

    pages = PdfReader(paper).pages
    assert [off_paper(page) for page in pages] == [[]] * len(pages)
    told = "".join("".join(words for words, _ in on_paper(page)) for page in pages).replace(" ", "")
    missing = [title for day, title in entries(folder) if day < date(2026, 7, 1) and title.replace(" ", "") not in told]
    assert missing == []


@pytest.mark.parametrize(
    ("words", "told", "code"),
    [
        (("--pdf", "wall.txt"), "wall.txt does not end in .pdf; name a file that does, such as wall.pdf", 1),
        (("--months", "4"), "--months goes with --pdf FILE or --text", 2),
        (("--text", "--dry-run"), "--pdf and --text write no feeds", 2),
    ],
)
def test_what_does_not_go_together_is_told(words: tuple[str, ...], told: str, code: int, nursery: Writes) -> None:
    assert told in stickdate("--nursery", nursery(LOG), "calendar", *words, code=code).stderr
