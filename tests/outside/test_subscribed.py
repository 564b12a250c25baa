"""A feed as a phone meets it: subscribed to over HTTP by a synchroniser, shown by a viewer, before and after.

vdirsyncer asks `stickdate serve`, khal shows what it brought: two programs that know nothing of ours. Both come with
the development extra; where one is missing the check is skipped, but under STICKDATE_CI=1 it fails.
"""

from __future__ import annotations

import importlib.util
import os
import re
import subprocess
import sys
from collections import Counter
from collections.abc import Iterator
from datetime import date, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from icalendar import Calendar

from almanac.actions.publish import publish_folder
from almanac.web.keys import load_keys
from tests.nurseries import bench, logbook

pytestmark = pytest.mark.start
LOG = """
2026-01-05 received 7a --count 12 --stage rooting --bin A
2026-01-05 received 8a --count 9 --stage rooting --bin A
2026-01-12 looked 7a
"""
MORE = LOG + "2026-01-13 roots 7a --count 9\n2026-01-13 leaves 7a --count 9\n"
DAY, ZONE = date(2026, 1, 13), ZoneInfo("America/New_York")
SYNC = """[general]
status_path = "{folder}/status/"
[pair feed]
a = "remote"
b = "local"
collections = null
conflict_resolution = "a wins"
partial_sync = "revert"
[storage remote]
type = "http"
url = "{url}"
[storage local]
type = "filesystem"
path = "{folder}/cal/feed/"
fileext = ".ics"
"""
KHAL = """[calendars]
[[feed]]
path = {folder}/cal/feed/
readonly = True
[locale]
timeformat = %H:%M
dateformat = %Y-%m-%d
longdateformat = %Y-%m-%d
datetimeformat = %Y-%m-%d %H:%M
longdatetimeformat = %Y-%m-%d %H:%M
default_timezone = America/New_York
local_timezone = America/New_York
[sqlite]
path = {folder}/khal.db
"""
Shown = Counter[tuple[str, str]]  # day and title


@pytest.fixture
def nursery(tmp_path: Path) -> Path:
    for module in ("vdirsyncer", "khal"):
        if importlib.util.find_spec(module) is None:
            reason = f"{module} is missing; install it with: pip install -e '.[dev]'"
            if os.environ.get("STICKDATE_CI"):
                pytest.fail(reason)
            pytest.skip(reason)
    folder = tmp_path / "nursery"
    folder.mkdir()
    bench(folder, LOG, DAY, week='bench_days = ["tue", "fri", "sun"]\nbench_time = "18:30"')
    return folder


@pytest.fixture
def address(nursery: Path) -> Iterator[str]:
    """Where the nursery's calendar is served."""
    command = [sys.executable, "-m", "almanac.cli.main", "--nursery", str(nursery), "--as-of", str(DAY)]
    with subprocess.Popen([*command, "serve", "--port", "0"], stdout=subprocess.PIPE, text=True) as server:
        try:
            assert server.stdout is not None
            for line in server.stdout:
                if found := re.search(r"http://\S+/everything\.ics", line):
                    yield found[0]
                    break
            else:
                pytest.fail("it said no address")
        finally:
            server.terminate()


class Phone:
    """The synchroniser and the viewer, with a folder of their own."""

    def __init__(self, folder: Path, url: str) -> None:
        self.folder = folder
        (folder / "cal" / "feed").mkdir(parents=True)
        (folder / "sync.conf").write_text(SYNC.format(folder=folder, url=url), encoding="utf-8")
        (folder / "khal.conf").write_text(KHAL.format(folder=folder), encoding="utf-8")
        self._run("vdirsyncer", "-c", str(folder / "sync.conf"), "discover", said="y\n" * 9)

    def sync(self) -> Shown:
        """Look for news, as a phone does; gives every entry then shown."""
        self._run("vdirsyncer", "-c", str(self.folder / "sync.conf"), "sync")
        form = ("--once", "--day-format", "", "--format", "{start-date}|{title}")
        told = self._run("khal", "-c", str(self.folder / "khal.conf"), "list", *form, "2025-12-01", "900d")
        lines = (line.partition("|") for line in told.splitlines() if "|" in line)
        return Counter((day, title.strip()) for day, _, title in lines)

    def _run(self, module: str, *arguments: str, said: str = "") -> str:
        environment = {**os.environ, "HOME": str(self.folder), "LC_ALL": "C.UTF-8", "LANG": "C.UTF-8"}
        program = str(Path(sys.executable).with_name(module))
        done = subprocess.run(
            [program, *arguments], input=said, env=environment, capture_output=True, text=True, check=False
        )
        assert done.returncode == 0, done.stdout + done.stderr
        return done.stdout


def in_feed(nursery: Path) -> Shown:
    """Every entry of the feed by its day at the nursery and its title."""
    calendar = Calendar.from_ical((nursery / "calendar" / "everything.ics").read_bytes())
    found: Shown = Counter()
    for event in calendar.walk("VEVENT"):
        start = event["DTSTART"].dt  # type: ignore[union-attr]  # a property of its kind
        day = start.astimezone(ZONE).date() if isinstance(start, datetime) else start
        found[str(day), str(event["SUMMARY"])] += 1
    return found


def days_of(shown: Shown, title: str) -> list[str]:
    return sorted(day for day, said in shown.elements() if said == title)


def test_a_subscribed_calendar_shows_each_entry_once_and_moves_those_that_move(
    nursery: Path, address: str, tmp_path: Path
) -> None:
    phone = Phone(tmp_path / "phone", address)
    before = phone.sync()
    assert before == in_feed(nursery)
    assert sum(before.values()) > 20

    (nursery / "logbook.csv").write_text(logbook(MORE), encoding="utf-8")
    after = phone.sync()

    assert after == in_feed(nursery)
    titles = {title for _, title in before} & {title for _, title in after}
    moved = [title for title in titles if days_of(before, title) != days_of(after, title)]
    assert any("7a" in title for title in moved)
    gone = {key for key in before if key not in after}
    assert gone, "what moved has left its old day"
    assert phone.sync() == after


def test_a_faulty_file_leaves_the_subscribed_calendar_as_it_was_and_says_so(
    nursery: Path, address: str, tmp_path: Path
) -> None:
    phone = Phone(tmp_path / "phone", address)
    good = phone.sync()

    (nursery / "logbook.csv").write_text("what is this\n", encoding="utf-8")
    bad = phone.sync()
    (nursery / "logbook.csv").write_text(logbook(LOG), encoding="utf-8")

    [(day, title)] = (bad - good).elements()
    assert (day, title) == (str(DAY), "Calendar stands still: mend logbook.csv:1")
    assert good - bad == Counter()
    assert phone.sync() == good


def test_a_published_folder_shown_by_a_plain_web_server_reads_the_same(nursery: Path, tmp_path: Path) -> None:
    web = tmp_path / "web"
    keys = load_keys(nursery)
    noon = datetime(2026, 1, 13, 12, tzinfo=ZONE)
    names = publish_folder(nursery, web, keys.published, keys.before, noon).names
    command = [sys.executable, "-u", "-m", "http.server", "0", "--bind", "127.0.0.1", "--directory", str(web)]

    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True) as server:
        try:
            assert server.stdout is not None
            port = re.search(r"port (\d+)", server.stdout.readline())
            assert port is not None
            phone = Phone(tmp_path / "phone", f"http://127.0.0.1:{port[1]}/{names['everything.ics']}")
            first = phone.sync()
            (nursery / "logbook.csv").write_text(logbook(MORE), encoding="utf-8")
            publish_folder(nursery, web, keys.published, keys.before, noon)
            second = phone.sync()
        finally:
            server.terminate()

    assert first != second
    assert second == in_feed(nursery)
