"""A calendar kept in step on two real CalDAV servers, Radicale and xandikos, each started on loopback for the test.

Both, and the `caldav` client, come with the development extra; where one is missing its checks are skipped, but under
STICKDATE_CI=1 they fail. What is checked is RFC 4791 as two independent servers understand it.
"""

from __future__ import annotations

import importlib.util
import os
import re
import shutil
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from icalendar import Calendar

from almanac.actions.caldav import Address, Synced, address, keep_in_step
from almanac.faults import Refusal
from tests.command import stickdate
from tests.nurseries import bench, logbook
from tests.saying import refused

LOG = """
2027-01-05 received 7a --count 12 --stage rooting --bin A
2027-01-12 looked 7a
"""
PAST = LOG.replace("2027", "2026")  # for the command, which reads the clock
NOW = datetime(2027, 1, 13, 17, tzinfo=UTC)
USER, PASSWORD = "jo", "bare:wood/17"
OWN = """BEGIN:VCALENDAR
VERSION:2.0
PRODID:-//someone else//EN
BEGIN:VEVENT
UID:dentist-1
DTSTAMP:20270101T000000Z
DTSTART;VALUE=DATE:20270115
SUMMARY:Dentist
END:VEVENT
END:VCALENDAR
""".replace("\n", "\r\n")
RADICALE = """[server]
hosts = 127.0.0.1:{port}
[auth]
type = htpasswd
htpasswd_filename = {folder}/users
htpasswd_encryption = plain
delay = 0
[storage]
filesystem_folder = {folder}/store
[web]
type = none
"""


def need(module: str) -> None:
    """Skip where a program is missing; fail where nothing may be."""
    if importlib.util.find_spec(module) is None:
        reason = f"{module} is missing; install it with: pip install -e '.[dev]'"
        if os.environ.get("STICKDATE_CI"):
            pytest.fail(reason)
        pytest.skip(reason)


def free_port() -> int:
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        port: int = found.getsockname()[1]
        return port


@contextmanager
def running(command: list[str], port: int, log: Path) -> Iterator[None]:
    """A server in a process of its own, from when it listens until the test is over."""
    with log.open("wb") as stream, subprocess.Popen(command, stdout=stream, stderr=stream) as server:
        try:
            for _ in range(300):
                with socket.socket() as knock:
                    if knock.connect_ex(("127.0.0.1", port)) == 0:
                        break
                assert server.poll() is None, log.read_text("utf-8")
                time.sleep(0.1)
            yield
        finally:
            server.terminate()


@contextmanager
def radicale(folder: Path) -> Iterator[Address]:
    port = free_port()
    (folder / "users").write_text(f"{USER}:{PASSWORD}\n", encoding="utf-8")
    (folder / "config").write_text(RADICALE.format(port=port, folder=folder), encoding="utf-8")
    with running([sys.executable, "-m", "radicale", "--config", str(folder / "config")], port, folder / "log"):
        yield address(f"caldav+http://{USER}@127.0.0.1:{port}/{USER}/nursery/")


@contextmanager
def xandikos(folder: Path) -> Iterator[Address]:
    port = free_port()
    command = [sys.executable, "-m", "xandikos", "serve", "-d", str(folder / "store"), "--defaults"]
    with running([*command, "-l", "127.0.0.1", "-p", str(port)], port, folder / "log"):
        yield address(f"caldav+http://127.0.0.1:{port}/user/calendars/nursery/")


SERVERS = {"radicale": radicale, "xandikos": xandikos}


class Grower:
    """A nursery and a calendar on a server, with an entry of the grower's own in it."""

    def __init__(self, folder: Path, calendar: Address) -> None:
        from caldav.davclient import DAVClient

        self.folder, self.calendar, self.now = folder, calendar, NOW
        self.client: Any = DAVClient(
            url=calendar.url, username=calendar.user or None, password=PASSWORD, enable_rfc6764=False
        )
        made = self.client.request(calendar.url, "MKCALENDAR", "", {})
        assert made.status == 201
        self.own = self.put("dentist-1", OWN)

    def publish(self) -> Synced:
        return keep_in_step(self.folder, self.calendar, PASSWORD, self.now)

    def log(self, rows: str) -> None:
        (self.folder / "logbook.csv").write_text(logbook(rows), encoding="utf-8")

    def put(self, name: str, text: str) -> str:
        """Write an object as another program would; gives what the server then has."""
        url, head = f"{self.calendar.url}{name}.ics", {"Content-Type": "text/calendar; charset=utf-8"}
        assert self.client.put(url, text, head).status in (200, 201, 204)
        return self.text(name)

    def text(self, name: str) -> str:
        answer = self.client.request(f"{self.calendar.url}{name}.ics", "GET", "", {})
        return answer.raw if answer.status == 200 else ""

    def all(self) -> dict[str, Any]:
        """Every entry there by UID, read by the client's own way of looking."""
        found = self.client.calendar(url=self.calendar.url).get_events()
        events = [event for each in found for event in Calendar.from_ical(each.data).walk("VEVENT")]
        assert len({str(event["UID"]) for event in events}) == len(events)
        return {str(event["UID"]): event for event in events}

    def ours(self) -> dict[str, Any]:
        return {str(event["X-STICKDATE-ID"]): event for event in self.all().values() if "X-STICKDATE-ID" in event}

    def wanted(self) -> dict[str, Any]:
        feed = Calendar.from_ical((self.folder / "calendar" / "everything.ics").read_bytes())
        return {str(event["X-STICKDATE-ID"]): event for event in feed.walk("VEVENT")}


@pytest.fixture(scope="module", params=SERVERS)
def server(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Address]:
    need(request.param)
    need("caldav")
    with SERVERS[request.param](tmp_path_factory.mktemp(request.param)) as calendar:
        yield calendar


@pytest.fixture
def grower(server: Address, tmp_path: Path) -> Iterator[Grower]:
    """Each time a calendar of its own on the one server."""
    bench(tmp_path / "nursery", LOG, NOW.date())
    grower = Grower(tmp_path / "nursery", replace(server, url=server.url.replace("nursery/", f"{tmp_path.name}/")))
    yield grower
    grower.client.close()


SAID = ("UID", "SUMMARY", "DESCRIPTION", "SEQUENCE", "DTSTAMP", "LAST-MODIFIED", "X-STICKDATE-DIGEST", "CATEGORIES")


def said(event: Any) -> list[object]:
    """What an entry says, whatever order a server put it into."""
    return [event["DTSTART"].dt, event["DTEND"].dt, *(event[name].to_ical() for name in SAID)]


def test_the_calendar_there_says_what_the_feed_says_and_the_growers_own_entry_stands(grower: Grower) -> None:
    done = grower.publish()

    there, wanted = grower.ours(), grower.wanted()
    assert (done.new, done.changed, done.deleted, done.same) == (len(wanted), 0, 0, 0)
    assert there.keys() == wanted.keys()
    for name, event in wanted.items():
        assert said(there[name]) == said(event)
    assert grower.text("dentist-1") == grower.own


def test_published_twice_nothing_is_written_the_second_time(grower: Grower) -> None:
    grower.publish()
    before = {uid: event.to_ical() for uid, event in grower.all().items()}

    done = grower.publish()

    assert (done.new, done.changed, done.deleted, done.left) == (0, 0, 0, ())
    assert {uid: event.to_ical() for uid, event in grower.all().items()} == before


def test_a_milestone_moves_its_entries_there_and_doubles_none(grower: Grower) -> None:
    grower.publish()
    before = grower.ours()

    grower.log(LOG + "2027-01-13 roots 7a --count 8\n2027-01-13 leaves 7a --count 8\n")
    done = grower.publish()

    there, wanted = grower.ours(), grower.wanted()
    moved = [name for name in before if name in there and before[name]["DTSTART"].dt != there[name]["DTSTART"].dt]
    assert moved
    assert done.changed >= len(moved)
    assert {name: said(event) for name, event in there.items()} == {n: said(event) for n, event in wanted.items()}
    assert done.deleted == len(before.keys() - there.keys())
    assert grower.text("dentist-1") == grower.own


def test_an_entry_deleted_there_stays_away_until_it_changes_and_one_gone_from_the_feed_goes(grower: Grower) -> None:
    grower.publish()
    name, event = next((name, event) for name, event in grower.ours().items() if name == "7a.pot_up")
    grower.client.delete(f"{grower.calendar.url}{event['UID']}.ics")

    away = grower.publish()
    grower.log(LOG + "2027-01-13 roots 7a --count 8\n")
    back = grower.publish()
    there = grower.ours()
    grower.log("2027-01-05 received 8a --count 12 --stage rooting --bin A\n")
    gone = grower.publish()

    assert (away.new, away.changed, away.deleted, away.away) == (0, 0, 0, 1)
    assert back.away == 0
    assert name in there
    assert gone.deleted > 0
    assert grower.ours().keys() == grower.wanted().keys()
    assert grower.text("dentist-1") == grower.own


def test_what_befalls_the_nurserys_folder_doubles_nothing_there_and_takes_nothing_that_is_over(grower: Grower) -> None:
    grower.publish()
    backup = shutil.copytree(grower.folder, grower.folder.parent / "backup")
    grower.now += timedelta(days=3)
    grower.log(LOG + "2027-01-13 roots 7a --count 8\n")
    grower.publish()
    over = {name for name, event in grower.ours().items() if str(event["DTSTART"].dt)[:10] < "2027-01-16"}
    before = grower.ours()

    shutil.rmtree(grower.folder / "calendar")
    grower.publish()
    without = grower.ours()
    shutil.rmtree(grower.folder)
    shutil.copytree(backup, grower.folder)
    grower.publish()

    # Rounds that name no work yet lie where they lie best, if nobody knows any more where they were told.
    there, far = grower.ours(), {name for name, event in before.items() if str(event["SUMMARY"]) == "Bench round"}
    assert before.keys() - without.keys() <= far
    assert over <= without.keys()
    assert over
    assert over <= there.keys()
    assert all(there[name]["SEQUENCE"] >= event["SEQUENCE"] for name, event in before.items() if name in there)


def test_an_entry_moved_by_hand_on_the_phone_is_put_back(grower: Grower) -> None:
    grower.publish()
    name, event = next((name, event) for name, event in grower.ours().items() if "pot_up" in name)
    text = grower.text(str(event["UID"]))
    start = event["DTSTART"].to_ical().decode()
    grower.put(str(event["UID"]), text.replace(f"DTSTART;VALUE=DATE:{start}", "DTSTART;VALUE=DATE:20270114"))

    done = grower.publish()

    there, wanted = grower.ours()[name], grower.wanted()[name]
    assert (done.new, done.changed) == (0, 1)
    assert there["SEQUENCE"] == wanted["SEQUENCE"] + 1  # newer than what was moved
    there["SEQUENCE"] = wanted["SEQUENCE"]
    assert said(there) == said(wanted)


def test_an_entry_that_lost_its_marks_there_is_still_ours(grower: Grower) -> None:
    grower.publish()
    name, event = next((name, event) for name, event in grower.ours().items() if name == "7a.pot_up")
    text = grower.text(str(event["UID"]))
    kept = grower.put(str(event["UID"]), re.sub(r"^X-STICKDATE-.*\n(?: .*\n)*", "", text, flags=re.MULTILINE))

    done = grower.publish()
    as_it_was = grower.text(str(event["UID"]))
    grower.log(LOG + "2027-01-13 roots 7a --count 8\n")
    grower.publish()

    assert (done.new, done.changed, done.deleted, done.left) == (0, 0, 0, ())
    assert as_it_was == kept
    assert said(grower.ours()[name]) == said(grower.wanted()[name])


def test_while_files_are_at_fault_the_calendar_stands_with_an_entry_of_what_to_mend(grower: Grower) -> None:
    grower.publish()
    good = grower.ours()

    grower.log(LOG + "2027-01-13 rootz 7a\n")
    bad = grower.publish()
    standing = grower.ours()
    grower.log(LOG)
    mended = grower.publish()

    assert bad.faults
    assert standing.keys() == good.keys() | {"files.mend"}
    assert "logbook.csv:4" in str(standing["files.mend"]["DESCRIPTION"])
    assert (mended.new, mended.changed, mended.deleted) == (0, 0, 1)
    assert grower.ours().keys() == good.keys()


def test_a_calendar_that_is_not_there_and_an_address_that_is_none_are_told(grower: Grower) -> None:
    home = f"{grower.calendar.url.rsplit('/', 2)[0]}/"
    nowhere, above = (replace(grower.calendar, url=url) for url in (f"{home}orchard/", home))

    with refused(Refusal, "there is no calendar there; make it on the server first"):
        keep_in_step(grower.folder, nowhere, PASSWORD, NOW)
    with refused(Refusal, "that is no calendar; give the address of one calendar"):
        keep_in_step(grower.folder, above, PASSWORD, NOW)
    assert set(grower.all()) == {"dentist-1"}


def test_a_wrong_password_is_told_in_a_line_and_never_shown(tmp_path: Path) -> None:
    need("radicale")
    need("caldav")
    bench(tmp_path, PAST, date(2026, 1, 13))
    (tmp_path / "secret").write_text("not-the-one\n", encoding="utf-8")
    target = "--as-of", "2026-01-13", "publish"
    with radicale(tmp_path) as calendar:
        url = calendar.url.replace("http://", f"caldav+http://{USER}@")
        told = stickdate("--nursery", tmp_path, *target, url, "--password-file", tmp_path / "secret", code=1)
        (tmp_path / "secret").write_text(f"{PASSWORD}\n", encoding="utf-8")
        missing = stickdate("--nursery", tmp_path, *target, url, "--password-file", tmp_path / "secret", code=1)
    unreachable = stickdate("--nursery", tmp_path, *target, url, "--password-file", tmp_path / "secret", code=1)

    assert told.stderr.endswith("does not accept this user and password\n")
    assert missing.stderr.endswith("there is no calendar there; make it on the server first\n")
    assert unreachable.stderr.endswith(": it cannot be reached\n")
    for each in (told, missing, unreachable):
        assert each.stderr.count("\n") == 1
        assert each.stdout == ""
        assert "not-the-one" not in each.stderr
        assert PASSWORD not in each.stderr


def test_what_is_written_for_a_day_is_what_the_command_counts(grower: Grower) -> None:
    grower.log(PAST)
    (grower.folder.parent / "secret").write_text(f"{PASSWORD}\n", encoding="utf-8")
    target = grower.calendar.url.replace("http://", f"caldav+http://{grower.calendar.user}@".replace("//@", "//"))
    command = ("--nursery", grower.folder, "--as-of", "2026-01-13", "publish", target)

    first = stickdate(*command, "--password-file", grower.folder.parent / "secret")
    again = stickdate(*command, "--password-file", grower.folder.parent / "secret")

    count = len(grower.ours())
    assert first.stdout == f"{grower.calendar.url}: {count} new, 0 changed, 0 deleted, 0 as they were.\n"
    assert again.stdout == f"{grower.calendar.url}: 0 new, 0 changed, 0 deleted, {count} as they were.\n"
