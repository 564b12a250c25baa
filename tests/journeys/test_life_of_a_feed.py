"""The life of a feed: what phones hold of it, through all that can befall a nursery's folder, its clock and its grower.

The phone splits a feed into items as vdirsyncer does, by its own code, and copies those whose hash is another. It
shouts when an entry stands there twice, when a stamp falls, when bytes change without one, or what is over vanishes.
"""

from __future__ import annotations

import importlib.util
import os
import re
import shutil
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from flask.testing import FlaskClient

from almanac.actions.publish import publish_folder
from almanac.actions.record import record
from almanac.actions.refresh import refresh
from almanac.actions.request import Request
from almanac.actions.undo import undo
from almanac.feed.entry import MEND
from almanac.feed.previous import Published, published
from almanac.feed.publish import KEPT_DAYS
from almanac.feed.whole import events, is_whole
from almanac.web.app import create_app
from almanac.web.keys import load_keys
from tests.command import stickdate
from tests.nurseries import WEEK, logbook, settings, write_nursery

ZONE = ZoneInfo("America/New_York")
LOG = """
2026-01-05 received 7a --count 12 --stage rooting --bin A
2026-01-05 received 8a --count 9 --stage rooting --bin A
2026-01-12 looked 7a
"""
LATE = f'{WEEK}\nbench_time = "23:50"'  # rounds that end after midnight
START = datetime(2026, 1, 13, 17, tzinfo=UTC)


class Phone:
    """A synchroniser and what it holds: by UID the entry, and the hash of the item."""

    def __init__(self) -> None:
        self.entries: dict[str, Published] = {}
        self.hashes: dict[str, str] = {}

    def sync(self, feed: bytes, today: date, *, renamed: bool = False) -> set[str]:
        """Take a feed in; gives the ids of what was copied."""
        from vdirsyncer.vobject import Item, split_collection  # type: ignore[import-untyped]

        assert is_whole(feed)
        found = [entry for data in events(feed) if (entry := published(data, ZONE))]
        items = {Item(text).uid: Item(text).hash for text in split_collection(feed.decode())}
        now = {re.findall(rb"^UID:(.*)\r$", entry.data, re.M)[0].decode(): entry for entry in found}
        assert len(now) == len(found) == len(items) == len({entry.id for entry in found})
        changed = set()
        for uid, entry in now.items():
            old = self.entries.get(uid)
            if old is None or entry.data != old.data:
                changed.add(uid)
                assert old is None or (entry.sequence > old.sequence and entry.modified > old.modified), entry.id
        for uid, old in self.entries.items():
            if uid not in now and old.id.kind != "empty" and old.id != MEND:
                assert not today - timedelta(days=KEPT_DAYS) <= old.first < today, f"{old.id} was over and vanished"
        copied = {uid for uid in items if items[uid] != self.hashes.get(uid)}
        assert copied == (set(items) if renamed else changed)
        self.entries, self.hashes = now, items
        return {str(now[uid].id) for uid in copied}


class Nursery:
    """A nursery whose clock can be set; its feed as a server or a published folder gives it."""

    def __init__(self, folder: Path, way: str) -> None:
        self.folder, self.way, self.now = folder, way, START
        write_nursery(folder, LOG, week=LATE)
        self.keys = load_keys(folder)
        self.servers: dict[str, FlaskClient] = {}
        self.phone = Phone()

    def served(self, by: str = "shed") -> bytes:
        if by not in self.servers:
            app = create_app(self.folder, lambda: self.now, ["localhost"], page=lambda: f"http://{by}.local/")
            self.servers[by] = app.test_client()
        return bytes(self.servers[by].get(f"/f/{self.keys.read}/everything.ics").data)

    def published(self) -> bytes:
        web = self.folder.parent / "web"
        done = publish_folder(self.folder, web, self.keys.published, (), self.now)
        return (web / done.names["everything.ics"]).read_bytes()

    def sync(self, *, renamed: bool = False) -> set[str]:
        feed = self.served() if self.way == "served" else self.published()
        return self.phone.sync(feed, self.now.astimezone(ZONE).date(), renamed=renamed)

    def later(self, **passed: int) -> None:
        self.now += timedelta(**passed)

    def log(self, what: str, lot: str, count: int | None = None) -> None:
        self.later(minutes=1)
        record(self.folder, self.now, Request(what=what, about=(lot,), count=count))


@pytest.fixture(params=["served", "published"])
def nursery(request: pytest.FixtureRequest, tmp_path: Path) -> Nursery:
    if importlib.util.find_spec("vdirsyncer") is None:
        reason = "vdirsyncer is missing; install it with: pip install -e '.[dev]'"
        if os.environ.get("STICKDATE_CI"):
            pytest.fail(reason)
        pytest.skip(reason)
    return Nursery(tmp_path / "nursery", request.param)


def lost_calendar(nursery: Nursery) -> None:
    shutil.rmtree(nursery.folder / "calendar")


def lost_memory(nursery: Nursery) -> None:
    (nursery.folder / "calendar" / "everything.ics").unlink()


def spoiled_memory(nursery: Nursery) -> None:
    file = nursery.folder / "calendar" / "everything.ics"
    whole = file.read_bytes()
    file.write_bytes(whole.replace(b"SUMMARY:Bench", b"SUMMARY:Bunch")[: len(whole) * 3 // 4])


def test_nothing_doubles_falls_or_vanishes_whatever_befalls_the_folder(nursery: Nursery) -> None:
    folder, phone = nursery.folder, nursery.phone
    first = nursery.sync()
    assert len(first) > 20
    assert nursery.sync() == set()

    nursery.log("leaves", "7a", 9)
    assert 0 < len(nursery.sync()) < len(first)
    nursery.later(minutes=1)
    undo(folder, nursery.now)
    assert nursery.sync()

    backup = shutil.copytree(folder, folder.parent / "backup")
    away = f"{LATE}\naway = [ {{ from = 2026-01-20, to = 2026-01-30 }} ]"
    (folder / "nursery.toml").write_text(settings(week=away), encoding="utf-8")
    assert nursery.sync()
    for number in range(3):  # three changes within a second, then the files are lost
        record(folder, nursery.now, Request(what="roots", about=("8a",), count=number + 1))
        nursery.sync()
    for befalls in (lost_memory, spoiled_memory, lost_calendar):
        befalls(nursery)
        nursery.sync()

    nursery.later(days=1)  # 14 January: the round of the 13th ran past midnight
    nursery.sync()
    over = {entry.id: entry.data for entry in phone.entries.values() if entry.first < date(2026, 1, 14)}
    assert "round.2026-01-13" in over
    nursery.later(days=3)
    nursery.sync()
    assert over.items() <= {entry.id: entry.data for entry in phone.entries.values()}.items()

    good = shutil.copytree(folder, folder.parent / "good")
    for put_back in (backup, good):
        shutil.rmtree(folder)
        shutil.copytree(put_back, folder)
        nursery.later(minutes=1)
        nursery.sync()
    assert over.items() <= {entry.id: entry.data for entry in phone.entries.values()}.items()

    (folder / "nursery.toml").write_text(settings(week=away, name="Yard, the; old one"), encoding="utf-8")
    nursery.sync(renamed=True)
    assert nursery.sync() == set()


def test_a_clock_set_back_a_day_stands_still_or_waits_and_goes_on_when_it_is_right(nursery: Nursery) -> None:
    nursery.sync()

    nursery.later(days=-1)
    if nursery.way == "served":
        assert nursery.sync() == {"files.mend"}
    nursery.later(days=1, minutes=5)
    nursery.log("roots", "7a", 3)
    assert nursery.sync()

    assert MEND not in {entry.id for entry in nursery.phone.entries.values()}


def test_served_entries_lead_to_one_address_and_published_ones_nowhere(tmp_path: Path) -> None:
    nursery = Nursery(tmp_path / "nursery", "served")
    shed, web = nursery.served(), nursery.published()
    asked_otherwise = nursery.servers["shed"].get(
        f"/f/{nursery.keys.read}/everything.ics", base_url="http://localhost:80/"
    )
    nursery.log("looked", "8a")
    with_setting = settings(week=LATE, calendar='page = "https://yard.example/bench"')

    assert b"URL:http://shed.local/lot/7a\r\n" in shed
    assert asked_otherwise.data == shed
    assert b"\r\nURL:" not in web
    assert b"URL:http://shed.local/lot/7a\r\n" in (nursery.folder / "calendar" / "everything.ics").read_bytes()
    (nursery.folder / "nursery.toml").write_text(with_setting, encoding="utf-8")
    assert b"URL:https://yard.example/bench/lot/7a\r\n" in nursery.served()


def test_a_phone_that_asks_two_machines_in_turn_sees_one_calendar(nursery: Nursery) -> None:
    phone, today = nursery.phone, START.date()
    phone.sync(nursery.served("shed"), today)
    phone.sync(nursery.served("office"), today)
    assert phone.sync(nursery.served("shed"), today) == set()

    for by in ("office", "shed", "office"):
        nursery.log("looked", "8a")
        phone.sync(nursery.served(by), today)
        assert phone.sync(nursery.served("office" if by == "shed" else "shed"), today) == set()


def without_logbook(folder: Path) -> None:
    (folder / "logbook.csv").unlink()


def empty_logbook(folder: Path) -> None:
    (folder / "logbook.csv").write_bytes(b"")


def half_a_logbook(folder: Path) -> None:
    lines = (folder / "logbook.csv").read_bytes().splitlines(keepends=True)
    (folder / "logbook.csv").write_bytes(b"".join(lines[:-1]))


def dangling_logbook(folder: Path) -> None:
    (folder / "logbook.csv").unlink()
    (folder / "logbook.csv").symlink_to(folder / "not-mounted" / "logbook.csv")


@pytest.mark.parametrize("befalls", [without_logbook, empty_logbook, half_a_logbook, dangling_logbook])
def test_a_logbook_away_or_half_saved_leaves_the_calendar_and_says_so(
    befalls: Callable[[Path], None], nursery: Nursery
) -> None:
    nursery.log("roots", "7a", 3)
    nursery.sync()
    good = {uid: entry.data for uid, entry in nursery.phone.entries.items()}
    rows = (nursery.folder / "logbook.csv").read_bytes()
    written = (nursery.folder / "calendar" / "everything.ics").read_bytes()

    befalls(nursery.folder)
    nursery.later(minutes=5)
    assert nursery.sync() == {"files.mend"}
    told = stickdate("--nursery", nursery.folder, "--as-of", "2026-01-13", "calendar", code=1)
    still = {uid: entry.data for uid, entry in nursery.phone.entries.items()}
    (nursery.folder / "logbook.csv").unlink(missing_ok=True)
    (nursery.folder / "logbook.csv").write_bytes(rows)
    nursery.sync()

    assert told.stderr.startswith("logbook.csv: ")
    assert good.items() < still.items()
    assert (nursery.folder / "calendar" / "everything.ics").read_bytes() == written
    assert {uid: entry.data for uid, entry in nursery.phone.entries.items()} == good


def test_a_torn_file_is_not_taken_for_the_last_good_one_while_another_is_at_fault(nursery: Nursery) -> None:
    nursery.sync()
    bench = nursery.folder / "calendar" / "bench.ics"
    whole = bench.read_bytes()
    bench.write_bytes(whole[: len(whole) // 2])
    (nursery.folder / "logbook.csv").write_text("what is this\n", encoding="utf-8")

    nursery.servers.clear()
    app = create_app(nursery.folder, lambda: nursery.now, ["localhost"]).test_client()
    feed = app.get(f"/f/{nursery.keys.read}/bench.ics").data

    assert is_whole(feed)
    assert [data for data in events(feed) if b"files.mend" not in data] == [*events(whole)]
    assert feed.startswith(whole.partition(b"BEGIN:VEVENT")[0])


def test_after_a_backup_was_put_back_renewing_makes_every_entry_newer(tmp_path: Path) -> None:
    nursery = Nursery(tmp_path / "nursery", "served")
    nursery.sync()
    backup = shutil.copytree(nursery.folder, tmp_path / "backup")
    nursery.later(days=3)
    nursery.log("leaves", "7a", 9)
    nursery.sync()

    shutil.rmtree(nursery.folder)
    shutil.copytree(backup, nursery.folder)
    nursery.later(minutes=1)
    nursery.servers.clear()  # the machine was set up anew
    refresh(nursery.folder, nursery.now, renew=True)

    held = {entry.id: entry.sequence for entry in nursery.phone.entries.values()}
    feed = nursery.served()
    found = [entry for data in events(feed) if (entry := published(data, ZONE))]
    assert all(entry.sequence > held.get(entry.id, 0) for entry in found)


def test_a_look_ahead_is_not_remembered_and_one_that_was_has_a_way_back(tmp_path: Path) -> None:
    folder = write_nursery(tmp_path / "nursery", LOG)
    command = "--nursery", folder
    stickdate(*command, "calendar")
    before = (folder / "calendar" / "everything.ics").read_bytes()
    today = datetime.now(ZONE).date()
    ahead = today + timedelta(days=100)

    told = stickdate(*command, "--as-of", ahead, "calendar", code=1)
    published_ahead = stickdate(*command, "--as-of", ahead, "publish", tmp_path / "web", code=1)
    stickdate(*command, "--as-of", ahead, "calendar", "--dry-run")
    after = (folder / "calendar" / "everything.ics").read_bytes()
    stickdate(*command, "calendar")
    # As an earlier version left it.
    frozen = before.replace(
        b"X-STICKDATE-AS-OF:%s" % f"{today}".encode(), b"X-STICKDATE-AS-OF:%s" % f"{ahead}".encode()
    )
    (folder / "calendar" / "everything.ics").write_bytes(frozen)
    way_back = stickdate(*command, "calendar", code=1)
    stickdate(*command, "calendar", "--renew")
    stickdate(*command, "calendar")

    assert "is to come" in told.stderr
    assert "is to come" in published_ahead.stderr
    assert after == before
    assert way_back.stderr.endswith("go back to today with: stickdate calendar --renew\n")


@pytest.mark.parametrize(
    "name",
    ["Yard, the; old\\one", "two\nlines", "END:VCALENDAR", "BEGIN:VEVENT", "\x07", "Ölmühle " * 20, " ", "\\N\\n;,"],
)
def test_a_nursery_of_any_name_has_whole_feeds(name: str, tmp_path: Path) -> None:
    folder = write_nursery(tmp_path / "nursery", LOG)
    text = (folder / "nursery.toml").read_text(encoding="utf-8")
    written = "".join(f"\\u{ord(letter):04x}" for letter in name)
    (folder / "nursery.toml").write_text(re.sub(r'name = "Quince.*"', lambda _: f'name = "{written}"', text), "utf-8")

    made = refresh(folder, START).publication
    again = refresh(folder, START + timedelta(hours=1)).publication

    assert all(map(is_whole, made.feeds.values()))
    assert again.feeds == made.feeds
    assert again.entries == made.entries == made.feeds["everything"].count(b"\r\nBEGIN:VEVENT\r\n")


def test_a_row_that_the_backup_lacks_is_no_reason_to_stand_still(tmp_path: Path) -> None:
    nursery = Nursery(tmp_path / "nursery", "served")
    nursery.sync()
    text = logbook(f"{LOG}2026-01-13 looked 8a")
    (nursery.folder / "logbook.csv").write_text(text, encoding="utf-8")

    nursery.sync()

    assert MEND not in {entry.id for entry in nursery.phone.entries.values()}


def test_a_lost_memory_is_read_again_from_the_feeds_beside_it(tmp_path: Path) -> None:
    folder = write_nursery(tmp_path / "nursery", LOG)
    first = refresh(folder, START).publication.feeds

    (folder / "calendar" / "everything.ics").unlink()
    again = refresh(folder, START + timedelta(days=1)).publication.feeds

    before = {entry.id: entry for data in events(first["everything"]) if (entry := published(data, ZONE))}
    after = {entry.id: entry for data in events(again["everything"]) if (entry := published(data, ZONE))}
    over = {name for name, entry in before.items() if entry.first == START.date()}
    assert over
    assert all(after[name].data == before[name].data for name in over)
