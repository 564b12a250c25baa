"""The page's reading is kept while nothing changes, and what goes over the wire is packed."""

from __future__ import annotations

import gzip
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta
from pathlib import Path
from time import sleep
from typing import Any

import pytest
from flask.testing import FlaskClient

from almanac.actions.look import Reading, look
from almanac.actions.record import record
from almanac.actions.request import Request
from almanac.faults import InputFaults
from almanac.web.app import create_app
from almanac.web.keys import load_keys
from almanac.web.readings import Readings
from tests.nurseries import bench

NOW = datetime(2027, 1, 13, 17, tzinfo=UTC)
LOG = """
2027-01-05 received 7a --count 12 --stage rooting --bin A
2027-01-05 received 8a --count 8 --stage rooting --bin A
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    bench(tmp_path, LOG, NOW.date())
    return tmp_path


def test_a_reading_is_kept_while_nothing_changes(folder: Path) -> None:
    readings = Readings(folder, lambda: NOW)

    assert readings.get() is readings.get()


def test_what_is_logged_shows_at_once(folder: Path) -> None:
    readings = Readings(folder, lambda: NOW)
    before = readings.get()

    record(folder, NOW, Request(what="mould", about=("7a",)))

    assert "mould" not in before.nursery.stock.lots["7a"].troubles
    assert "mould" in readings.get().nursery.stock.lots["7a"].troubles


@pytest.mark.parametrize("name", ["nursery.toml", "varieties.csv", "logbook.backup.csv", "calendar/bench.ics"])
def test_a_file_changed_by_hand_is_read_again(folder: Path, name: str) -> None:
    readings = Readings(folder, lambda: NOW)
    before = readings.get()

    (folder / name).parent.mkdir(exist_ok=True)
    with (folder / name).open("a", encoding="utf-8") as stream:
        stream.write("\n")

    assert readings.get() is not before


def test_rules_of_ones_own_are_read_when_they_come(folder: Path) -> None:
    readings = Readings(folder, lambda: NOW)
    readings.get()

    (folder / "rules" / "care").mkdir(parents=True)
    own = '[[task]]\nid = "pot_up"\ntitle = "Into bigger pots"\n'
    (folder / "rules" / "care" / "potting.toml").write_text(own, encoding="utf-8")

    assert "Into bigger pots" in {task.rule.title for task in readings.get().plan.tasks}


def test_a_record_of_the_station_that_grew_is_read_again(folder: Path) -> None:
    days = (datetime(1995, 1, 1) + timedelta(days=n) for n in range(365 * 12))
    lows = "".join(f"{day:%Y-%m-%d},{-5 if day.month in (12, 1, 2) else 8}\n" for day in days)
    (folder / "station.csv").write_text("date,low\n" + lows, encoding="utf-8")
    settings = (folder / "nursery.toml").read_text(encoding="utf-8")
    head, frost = settings.split("[frost.dates]")
    rest = frost[frost.index("\n[") :]
    settings = f'{head}[frost]\nrecord = {{ file = "station.csv", unit = "C" }}\n{rest}'
    (folder / "nursery.toml").write_text(settings, encoding="utf-8")
    readings = Readings(folder, lambda: NOW)
    before = readings.get()

    with (folder / "station.csv").open("a", encoding="utf-8") as stream:
        stream.write("2007-06-01,9\n")

    assert readings.get() is not before


def test_after_midnight_at_the_nursery_it_is_another_day(folder: Path) -> None:
    moment = [NOW]
    readings = Readings(folder, lambda: moment[0])
    before = readings.get()

    moment[0] = NOW + timedelta(days=1)

    assert readings.get().plan.as_of == before.plan.as_of + timedelta(days=1)


def test_of_phones_that_ask_at_once_one_has_it_worked_out(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    made: list[int] = []

    def slow(*given: Any) -> Reading:
        made.append(1)
        sleep(0.1)
        return look(*given)

    monkeypatch.setattr("almanac.web.readings.look", slow)
    readings = Readings(folder, lambda: NOW)

    with ThreadPoolExecutor(8) as phones:
        found = [each.result() for each in [phones.submit(readings.get) for _ in range(8)]]

    assert len(made) == 1
    assert len(set(map(id, found))) == 1


def test_faults_are_looked_for_anew_each_time(folder: Path) -> None:
    readings = Readings(folder, lambda: NOW)
    sound = (folder / "logbook.csv").read_bytes()
    (folder / "logbook.csv").write_bytes(sound.replace(b",received,", b",recieved,"))
    with pytest.raises(InputFaults):
        readings.get()

    (folder / "logbook.csv").write_bytes(sound)

    assert set(readings.get().nursery.stock.lots) == {"7a", "8a"}


@pytest.fixture
def phone(folder: Path) -> FlaskClient:
    client: FlaskClient = create_app(folder, lambda: NOW, ["localhost"]).test_client()
    client.get(f"/k/{load_keys(folder).write}")
    return client


@pytest.mark.parametrize("path", ["/lot/7a", "/look/page.css", "/look/page.js"])
def test_what_a_phone_takes_packed_is_the_same_in_fewer_bytes(phone: FlaskClient, path: str) -> None:
    plain = phone.get(path)

    answer = phone.get(path, headers={"Accept-Encoding": "gzip"})

    assert plain.headers.get("Content-Encoding") is None
    assert answer.headers["Content-Encoding"] == "gzip"
    assert "Accept-Encoding" in plain.headers["Vary"]
    assert len(answer.data) == int(answer.headers["Content-Length"]) < len(plain.data) / 2
    unpacked = gzip.decompress(answer.data)
    assert unpacked.count(b"\n") == plain.data.count(b"\n")
    assert unpacked == plain.data or path == "/lot/7a"  # each form has its own key


def test_the_style_is_not_sent_again_while_it_is_the_same(phone: FlaskClient) -> None:
    asked = {"Accept-Encoding": "gzip"}
    tag = phone.get("/look/page.css", headers=asked).headers["ETag"]

    again = phone.get("/look/page.css", headers={**asked, "If-None-Match": tag})

    assert (again.status_code, again.data) == (304, b"")


@pytest.mark.parametrize("taken", ["", "br", "gzip;q=0", "identity"])
def test_who_takes_nothing_packed_gets_it_plain(phone: FlaskClient, taken: str) -> None:
    answer = phone.get("/", headers={"Accept-Encoding": taken})

    assert "Content-Encoding" not in answer.headers
    assert answer.data.startswith(b"<!doctype html>")


def test_a_feed_goes_as_the_bytes_its_tag_stands_for(phone: FlaskClient, folder: Path) -> None:
    answer = phone.get(f"/f/{load_keys(folder).read}/bench.ics", headers={"Accept-Encoding": "gzip"})

    assert "Content-Encoding" not in answer.headers
    assert answer.data.startswith(b"BEGIN:VCALENDAR")


def test_a_lots_page_has_the_sums_of_no_other_lot(tmp_path: Path) -> None:
    lots = "\n".join(f"2027-01-05 received {number}a --count 6 --stage pot" for number in (7, 8))
    bench(tmp_path, lots, NOW.date())
    client = create_app(tmp_path, lambda: NOW, ["localhost"]).test_client()
    client.get(f"/k/{load_keys(tmp_path).write}")

    page = client.get("/lot/7a").get_data(as_text=True)

    assert "7a, 8a" in page  # they share an entry
    assert "<li>8a:" not in page
