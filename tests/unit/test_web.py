"""The feeds over HTTP: who gets what, what is answered while files are at fault, and what strangers learn: nothing."""

from __future__ import annotations

import errno
import os
import stat
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from unittest.mock import patch

import pytest
from flask.testing import FlaskClient
from hypothesis import given, settings
from hypothesis import strategies as st
from icalendar import Component

from almanac.faults import Refusal
from almanac.feed.publish import handed_out
from almanac.nursery.turns import Turn
from almanac.web.app import create_app
from almanac.web.keys import FILE, Keys, load_keys, renew
from almanac.web.server import Addresses, trusted
from almanac.web.stranger import WORDS
from tests.feeds import by_id
from tests.nurseries import bench, logbook
from tests.saying import refused

LOG = """
2027-01-05 received 7a --count 12 --stage rooting --bin A
2027-01-12 looked 7a
"""
Clock = Callable[[], datetime]


class Server:
    """A nursery served, with a clock that can be turned on."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.now = folder, datetime(2027, 1, 13, 17, tzinfo=UTC)
        self.client: FlaskClient = create_app(folder, lambda: self.now, ["localhost"]).test_client()
        self.keys: Keys = load_keys(folder)

    def path(self, name: str = "everything") -> str:
        return f"/f/{self.keys.read}/{name}.ics"

    def events(self, name: str = "everything") -> dict[str, Component]:
        answer = self.client.get(self.path(name))
        assert answer.status_code == 200
        return by_id(answer.data)

    def says(self, name: str) -> str:
        event = self.events()[name]
        return str(event["DESCRIPTION"])

    def write(self, log: str) -> None:
        (self.folder / "logbook.csv").write_text(logbook(log), encoding="utf-8")


@pytest.fixture
def served(tmp_path: Path) -> Server:
    bench(tmp_path, LOG, datetime(2027, 1, 13, tzinfo=UTC).date())
    return Server(tmp_path)


def test_a_feed_is_a_calendar_with_a_strong_tag_and_is_not_sent_twice(served: Server) -> None:
    first = served.client.get(served.path())

    again = served.client.get(served.path(), headers={"If-None-Match": first.headers["ETag"]})
    since = served.client.get(served.path(), headers={"If-Modified-Since": first.headers["Last-Modified"]})
    head = served.client.head(served.path())

    assert first.headers["Content-Type"] == "text/calendar; charset=utf-8"
    assert first.headers["ETag"].startswith('"')
    written = (served.folder / "calendar" / "everything.ics").read_bytes()
    assert handed_out(written) == first.data != written
    assert (again.status_code, again.data) == (304, b"")
    assert since.status_code == 304
    assert (head.status_code, head.data, head.headers["ETag"]) == (200, b"", first.headers["ETag"])


def test_what_is_logged_shows_at_the_next_request(served: Server) -> None:
    tag = served.client.get(served.path()).headers["ETag"]
    before = served.says("round.2027-01-15")

    served.write(LOG + "2027-01-13 roots 7a --count 3\n")
    after = served.client.get(served.path(), headers={"If-None-Match": tag})

    assert after.status_code == 200
    assert after.headers["ETag"] != tag
    assert "How far the roots are" not in before
    assert "How far the roots are" in served.says("round.2027-01-15")


def test_the_day_turns_and_the_feed_with_it(served: Server) -> None:
    before = served.client.get(served.path())

    served.now += timedelta(days=1)
    next_morning = served.client.get(served.path())
    served.now += timedelta(days=9)
    later = served.client.get(served.path())

    assert before.headers["ETag"] == next_morning.headers["ETag"]  # nothing was logged, nothing is over
    assert b"Missed" not in before.data
    assert b"Missed" in later.data  # looks were logged there, and then no more


@pytest.mark.parametrize("name", ["everything", "bench", "seasons", "sales"])
def test_while_a_file_is_at_fault_the_last_good_feed_says_which_line_to_mend(served: Server, name: str) -> None:
    good = served.events(name)

    served.write(LOG + "2027-01-13 roots 7a --count 3\n")
    text = (served.folder / "logbook.csv").read_text(encoding="utf-8")
    (served.folder / "logbook.csv").write_text(text.replace("roots", "rootz"), encoding="utf-8")
    bad = served.events(name)

    assert set(bad) == {*good, "files.mend"}
    assert "logbook.csv:4" in str(bad["files.mend"]["DESCRIPTION"])


def test_once_mended_the_entry_goes_and_the_feed_is_right(served: Server) -> None:
    served.events()
    (served.folder / "logbook.csv").write_text("what is this\n", encoding="utf-8")
    assert "files.mend" in served.events()

    served.write(LOG)

    assert "files.mend" not in served.events()


def test_a_server_started_on_faulty_files_still_answers_with_what_an_earlier_run_left(served: Server) -> None:
    good = served.events()
    (served.folder / "nursery.toml").write_text("[nursery\n", encoding="utf-8")

    found = Server(served.folder).events()

    assert set(found) == {*good, "files.mend"}


def test_a_server_that_never_saw_a_good_file_answers_with_what_to_mend(served: Server) -> None:
    (served.folder / "nursery.toml").write_text("[nursery\n", encoding="utf-8")

    assert set(served.events()) == {"files.mend"}


def test_what_the_machine_would_not_do_is_told_without_where_the_folder_lies(
    served: Server, monkeypatch: pytest.MonkeyPatch
) -> None:
    good = served.events()

    def refuse(*_: object, **__: object) -> None:
        raise OSError(13, "Permission denied", "/home/jo/yard/.stickdate.lock")

    monkeypatch.setattr("almanac.actions.standing.refresh", refuse)
    served.write(LOG + "2027-01-13 looked 7a\n")
    served.now += timedelta(days=2)
    still = served.events()
    said = served.says("files.mend")
    (served.folder / "nursery.toml").unlink()
    monkeypatch.undo()

    assert set(still) == {*good, "files.mend"}
    assert said.startswith("the calendar could not be renewed since 2027-01-15 12:00: ")
    assert "/home" not in said
    assert "To mend:\nthe nursery's folder has no nursery.toml; put it back\n" in served.says("files.mend")


def test_another_body_is_never_older_for_who_asks_by_its_date_alone(served: Server) -> None:
    first = served.client.get(served.path())
    dates = [first.headers["Last-Modified"]]
    for log in ("what is this\n", logbook(LOG), "what is that\n", logbook(LOG)):
        (served.folder / "logbook.csv").write_text(log, encoding="utf-8")
        os.utime(served.folder / "logbook.csv", (1e9, 1e9 + len(dates)))  # put back with the date it had
        answer = served.client.get(served.path(), headers={"If-Modified-Since": dates[-1]})
        assert answer.status_code == 200
        assert served.client.get(served.path(), headers={"If-None-Match": answer.headers["ETag"]}).status_code == 304
        served.now += timedelta(seconds=1)
        dates.append(served.client.get(served.path()).headers["Last-Modified"])

    moments = [datetime.strptime(each, "%a, %d %b %Y %H:%M:%S %Z") for each in dates]
    assert moments == sorted(set(moments))


def test_a_fault_of_our_own_does_not_empty_the_calendar(served: Server, monkeypatch: pytest.MonkeyPatch) -> None:
    good = served.events()
    monkeypatch.setattr("almanac.actions.standing.refresh", lambda *_: 1 / 0)

    served.write(LOG + "2027-01-13 looked 7a\n")

    assert set(served.events()) == {*good, "files.mend"}


NEAR = st.one_of(
    st.text(max_size=40),
    st.builds(lambda cut: ("cut", cut), st.integers(0, 31)),
    st.builds(lambda at: ("turn", at), st.integers(0, 31)),
)


def _near(key: str, how: object) -> str:
    if isinstance(how, tuple):
        what, at = how
        return key[:at] if what == "cut" else key[:at] + ("A" if key[at] != "A" else "B") + key[at + 1 :]
    return str(how)


@settings(max_examples=200)
@given(how=NEAR, folder=st.sampled_from(["f", "k"]))
def test_a_wrong_key_is_answered_like_a_page_that_never_was(how: object, folder: str) -> None:
    key = _near(_SERVED.keys.read if folder == "f" else _SERVED.keys.write, how).replace("/", "")
    nowhere = _SERVED.client.get("/nothing/here")

    answer = _SERVED.client.get(f"/f/{key}/everything.ics" if folder == "f" else f"/k/{key}")

    assert (answer.status_code, answer.data) == (nowhere.status_code, nowhere.data) == (404, WORDS)
    assert "Set-Cookie" not in answer.headers


@pytest.fixture(autouse=True)
def _one_for_all(served: Server) -> None:
    global _SERVED
    _SERVED = served


_SERVED: Server


@pytest.mark.parametrize("path", ["/f/{read}/../../nursery.toml", "/f/{read}/%2e%2e%2fnursery.toml", "/f/{read}/x.ics"])
def test_only_feeds_are_read(served: Server, path: str) -> None:
    assert served.client.get(path.format(read=served.keys.read)).status_code == 404


@pytest.mark.parametrize("method", ["POST", "PUT", "DELETE", "PATCH", "OPTIONS", "TRACE", "PROPFIND"])
def test_other_methods_are_told_nothing(served: Server, method: str) -> None:
    answer = served.client.open(served.path(), method=method)

    assert answer.status_code == 404
    assert "Allow" not in answer.headers


def test_a_name_that_is_not_its_own_is_not_answered(served: Server) -> None:
    answer = served.client.get(served.path(), headers={"Host": "rebound.example"})

    assert (answer.status_code, answer.data) == (404, WORDS)


def test_the_write_key_becomes_a_cookie_and_leaves_the_address(served: Server) -> None:
    answer = served.client.get(f"/k/{served.keys.write}")

    cookie = answer.headers["Set-Cookie"]
    assert (answer.status_code, answer.headers["Location"]) == (303, "/")
    assert "HttpOnly" in cookie
    assert "SameSite=Strict" in cookie
    assert served.keys.write not in cookie


def test_a_defect_of_ours_is_logged_without_the_key_in_its_address(
    served: Server, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    monkeypatch.setattr("almanac.web.feeds.Feeds.get", lambda *_: 1 / 0)

    answer = served.client.get(served.path())

    assert answer.data == WORDS
    assert "ZeroDivisionError" in caplog.text
    assert served.keys.read not in caplog.text


@pytest.mark.parametrize("origin", ["http://[::1", "null", "", "http://localhost@evil.example", "http://evil.example"])
def test_an_origin_that_is_not_ours_or_none_writes_nothing(served: Server, origin: str) -> None:
    assert served.client.post("/", headers={"Origin": origin}).status_code == 404


def test_a_doubled_slash_does_not_tell_where_it_leads(served: Server) -> None:
    assert served.client.get(served.path().replace("/f/", "/f//")).status_code == 404


def test_no_key_stands_in_a_feed(served: Server) -> None:
    for name in ("everything", "bench", "seasons", "sales"):
        body = served.client.get(served.path(name)).data.decode()
        assert served.keys.read not in body
        assert served.keys.write not in body


@pytest.mark.skipif(os.name != "posix", reason="file modes are those of POSIX")
def test_keys_are_long_and_only_their_owner_reads_them(tmp_path: Path) -> None:
    keys = load_keys(tmp_path)

    assert min(len(keys.read), len(keys.write)) * 6 >= 160  # base 64: six bits a letter
    assert stat.S_IMODE((tmp_path / FILE).stat().st_mode) == 0o600
    (tmp_path / FILE).chmod(0o644)
    assert load_keys(tmp_path) == keys
    assert stat.S_IMODE((tmp_path / FILE).stat().st_mode) == 0o600


def test_renewed_keys_open_and_the_old_open_nothing(served: Server) -> None:
    old = served.path()

    fresh = renew(served.folder, "read")

    assert served.client.get(old).status_code == 404
    assert served.client.get(f"/f/{fresh.read}/everything.ics").status_code == 200
    assert fresh.write == served.keys.write


def test_a_spoiled_file_of_keys_is_told_with_the_remedy(tmp_path: Path) -> None:
    (tmp_path / FILE).write_text('read = "short"\n', encoding="utf-8")

    with refused(Refusal, "make new ones with: stickdate keys renew"):
        load_keys(tmp_path)


@pytest.fixture
def unkeyed(tmp_path: Path) -> Path:
    """A nursery that was never served."""
    return bench(tmp_path / "unkeyed", LOG, date(2027, 1, 13)).folder


def test_first_starts_at_once_have_the_same_keys(unkeyed: Path) -> None:
    with ThreadPoolExecutor(8) as pool:
        found = set(pool.map(lambda _: load_keys(unkeyed), range(8)))

    assert found == {load_keys(unkeyed)}


def test_new_keys_are_on_the_disk_with_their_folder(unkeyed: Path) -> None:
    with patch("almanac.disk.sync_folder") as synced:
        load_keys(unkeyed)

    synced.assert_called_once_with(unkeyed)


def test_two_nurseries_served_on_one_machine_both_know_their_phone(tmp_path: Path) -> None:
    both = [Server(bench(tmp_path / name, LOG, date(2027, 1, 13)).folder) for name in ("a", "b")]
    phone, other = (each.client for each in both)
    phone.get(f"/k/{both[0].keys.write}")
    given = other.get(f"/k/{both[1].keys.write}").headers["Set-Cookie"]
    name, _, value = given.partition(";")[0].partition("=")
    phone.set_cookie(name, value)  # a browser sends to both what either gave

    assert phone.get("/").status_code == 200
    assert name != "stickdate_phone"


def test_a_phone_let_in_by_an_older_version_need_not_be_let_in_again(served: Server) -> None:
    served.client.set_cookie("stickdate_phone", served.keys.phone)

    first = served.client.get("/")

    assert (first.status_code, served.client.get("/").status_code) == (200, 200)
    assert served.client.get_cookie("stickdate_phone") is None
    assert served.client.get_cookie(served.keys.cookie) is not None


def test_the_cookie_of_another_nursery_is_left_alone(served: Server) -> None:
    served.client.set_cookie("stickdate_phone", "0" * 64)

    assert served.client.get("/").status_code == 404
    assert served.client.get_cookie("stickdate_phone") is not None


@pytest.mark.parametrize("name", ["x" * 300, "a..b", ""])
def test_a_name_that_no_machine_can_have_is_refused_at_the_start(name: str) -> None:
    with refused(Refusal, "no name of a machine"):
        trusted(Addresses(("127.0.0.1",), 8765), (name,))


def test_a_stranger_who_asks_by_an_endless_name_is_told_nothing(tmp_path: Path) -> None:
    bench(tmp_path, LOG, date(2027, 1, 13))
    names = trusted(Addresses(("h" * 70, "127.0.0.1"), 8765), ("shed.local",))
    client = create_app(tmp_path, lambda: datetime(2027, 1, 13, 17, tzinfo=UTC), names).test_client()

    assert [client.get("/", headers={"Host": host}).status_code for host in ("x" * 300, "h" * 70)] == [404, 404]


def test_a_machine_s_trouble_is_told_in_the_feed_without_a_path_and_passes(
    served: Server, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("almanac.web.feeds._AGAIN_S", 0.0)
    good = served.events()
    full = OSError(errno.ENOSPC, "No space left on device", str(served.folder / "calendar" / "bench.ics"))
    with patch("almanac.actions.refresh.write_feeds", side_effect=full):
        served.write(LOG + "2027-01-13 looked 7a\n")
        first = served.client.get(served.path()).data.decode()
        served.now += timedelta(minutes=20)
        second = served.client.get(served.path()).data.decode()

    assert first == second
    assert "SUMMARY:Calendar could not be renewed\r\n" in first
    assert "could not be renewed since 2027-01-13 12:00" in first.replace("\r\n ", "")
    assert str(served.folder) not in first.replace("\r\n ", "")
    assert "To mend" not in first
    assert good.keys() < served.events().keys() | {"files.mend"}
    assert "could not be renewed" not in served.client.get(served.path()).data.decode()


def test_a_feed_is_answered_in_time_while_another_writes_on_and_on(
    served: Server, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("almanac.web.feeds._PATIENCE_S", 0.1)
    with Turn(served.folder):
        told = served.client.get(served.path())

    assert told.status_code == 200
    assert "could not be renewed" in told.data.decode()
