"""The bench page over HTTP: what phones that were let in see and log, what is refused; strangers get nothing."""

from __future__ import annotations

import re
from datetime import UTC, datetime
from html import unescape
from html.parser import HTMLParser
from pathlib import Path

import pytest
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from almanac.actions.look import look
from almanac.actions.record import record
from almanac.actions.request import Request
from almanac.actions.undo import undo
from almanac.faults import Refusal
from almanac.nursery.events import EVENTS
from almanac.nursery.load import load_nursery
from almanac.nursery.logbook import Row, read_rows
from almanac.web.app import create_app
from almanac.web.choices import choices, usual
from almanac.web.keys import load_keys
from almanac.web.stranger import WORDS
from almanac.words.foremost import left_overdue
from almanac.words.tasks import how_to_log_task
from tests.feeds import by_id
from tests.nurseries import bench
from tests.saying import refused
from tests.unit.given import planned

LOG = """
2026-11-20 taken 8a --count 12
2027-01-04 received 9a --count 6 --stage pot
2027-01-05 received 7a --count 12 --stage rooting --bin A
2027-01-05 received 7b --count 8 --stage rooting --bin A
2027-01-06 received 8b --count 8 --stage rooting --bin B
2027-01-12 looked --bin A
2027-01-12 looked --bin B
"""
ORIGIN = "http://localhost"
KEY = "pabcdefghjk2"
PAGES = ("/", "/lots", "/lot/7a", "/week", "/sale", "/log", "/log/potted", "/undo/r6")
NOW = datetime(2027, 1, 13, 17, tzinfo=UTC)


class Bench:
    """A nursery's page, and a phone that was let in."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.app = create_app(folder, lambda: NOW, ["localhost"], page=lambda: "http://localhost/")
        self.phone: FlaskClient = self.app.test_client()
        self.stranger: FlaskClient = self.app.test_client()
        self.keys = load_keys(folder)
        self.phone.get(f"/k/{self.keys.write}")

    def rows(self) -> list[Row]:
        rows, faults = read_rows((self.folder / "logbook.csv").read_text(encoding="utf-8"))
        assert not faults
        return rows

    def post(self, path: str = "/log", /, origin: str | None = ORIGIN, **fields: object) -> TestResponse:
        data = {"key": KEY, **fields} if path == "/log" else fields
        return self.phone.post(path, data=data, headers={"Origin": origin} if origin else {})

    def page(self, path: str = "/") -> str:
        answer = self.phone.get(path)
        assert answer.status_code == 200
        return unescape(re.sub(r"\s+", " ", answer.get_data(as_text=True)))

    def said(self, answer: TestResponse) -> str:
        """The confirmation that an answer leads to."""
        assert answer.status_code == 303
        page = self.page(answer.headers["Location"])
        text = re.sub(r"<[^>]+>", " ", page.split('id="said">')[1].split("</section>")[0])
        return re.sub(r"\s+(?=[.,])|\s+(?=\s)", "", text)


@pytest.fixture
def page(tmp_path: Path) -> Bench:
    bench(tmp_path, LOG, NOW.date(), bins=("A", "B"), sale="dormant = true\nrooted = true")
    return Bench(tmp_path)


@pytest.mark.parametrize("path", [*PAGES, "/lot/99z", "/look/page.js", "/look/page.css", "/look/nothing"])
def test_a_phone_that_was_not_let_in_learns_nothing(page: Bench, path: str) -> None:
    nowhere = page.stranger.get("/nothing/here")
    page.stranger.set_cookie("stickdate_phone", "0" * 64)

    answer = page.stranger.get(path)
    posted = page.stranger.post("/log", data={"what": "looked", "about": "7a", "key": KEY}, headers={"Origin": ORIGIN})

    assert (answer.status_code, answer.data) == (nowhere.status_code, nowhere.data) == (404, WORDS)
    assert (posted.status_code, posted.data) == (404, WORDS)
    assert len(page.rows()) == 7


def test_the_bench_shows_each_lot_in_its_bin(page: Bench) -> None:
    found = page.page()

    bin_a, bin_b = found.split('id="place-A"')[1].split('id="place-B"')
    assert 'id="lot-7a"' in bin_a
    assert 'id="lot-8b"' in bin_b.split("</section>")[0]
    assert 'id="lot-9a"' in bin_b  # all that is not in a bin can be logged from here, too


def test_each_page_answers_and_no_key_stands_in_one(page: Bench) -> None:
    for path in PAGES:
        found = page.page(path)
        assert page.keys.read not in found
        assert page.keys.write not in found
        assert page.keys.phone not in found
    assert "Pot up" in page.page("/lot/7a")
    assert "12 dormant cuttings free" in re.sub(r"<[^>]+>", "", page.page("/sale"))


def test_no_page_needs_more_than_its_own_server(page: Bench) -> None:
    answer = page.phone.get("/")

    policy = answer.headers["Content-Security-Policy"]
    assert "default-src 'self'" in policy
    assert "unsafe" not in policy
    assert answer.headers["Cache-Control"] == "no-store"
    assert answer.headers["Referrer-Policy"] == "same-origin"
    text = answer.get_data(as_text=True)
    assert not re.search(r"<script(?! src=\"/look/page.js\" defer></script>)|<style|\sstyle=|\son[a-z]+=\"", text)


def test_what_can_be_logged_goes_by_where_the_cuttings_are(page: Bench) -> None:
    lots = load_nursery(page.folder, NOW).stock.lots

    def names(lot: str) -> set[str]:
        return {button.what for group in choices(lots[lot], (), 2) for button in group.buttons}

    assert {"stuck", "pushing", "mould", "sold"} <= names("8a")
    assert not {"potted", "roots", "fed", "moved"} & names("8a")
    assert {"potted", "roots", "moved", "opened", "died"} <= names("7a")
    assert not {"set_out", "hardened", "woke", "all_clear"} & names("7a")
    assert {"set_out", "outside", "hardened"} <= names("9a")
    assert not {"potted", "callus"} & names("9a")


def test_a_lots_buttons_stand_by_its_stage_whatever_is_due_or_was_logged(page: Bench) -> None:
    def standing(lot: str, due: tuple[str, ...]) -> list[str]:
        return [button.what for button in usual(load_nursery(page.folder, NOW).stock.lots[lot], due).buttons]

    before = standing("7a", ())
    page.post(what="roots", about="7a", **{"count.next": "3"})
    page.post(what="callus", about="7b")
    page.post(what="mould", about="7a")

    assert before[:4] == ["looked", "roots", "potted", "mould"]
    assert standing("7b", ("potted",)) == before
    assert standing("7a", ("potted", "leaves")) == [*before, "all_clear"]  # the last, so that nothing gives way


def test_what_is_due_is_marked_where_it_stands_and_what_was_seen_with_its_day(page: Bench) -> None:
    page.post(what="roots", about="7a")
    lot = load_nursery(page.folder, NOW).stock.lots["7a"]

    buttons = {button.what: button for button in usual(lot, ["potted", "roots", "noted"], as_of=NOW.date()).buttons}

    assert [name for name, button in buttons.items() if button.due] == ["potted"]
    assert (buttons["roots"].seen, buttons["leaves"].seen) == ("seen 13 Jan", "")


def test_what_cannot_be_said_of_a_lot_now_keeps_its_place_and_takes_no_tap(page: Bench) -> None:
    before = usual(load_nursery(page.folder, NOW).stock.lots["9a"], ())
    page.post(what="set_out", about="9a")

    after = usual(load_nursery(page.folder, NOW).stock.lots["9a"], ())

    assert [button.what for button in before.buttons] == [button.what for button in after.buttons]
    assert [button.what for button in before.buttons if button.off] == []
    assert [button.what for button in after.buttons if button.off] == ["set_out"]


def test_of_a_lot_in_two_stages_no_button_leaves_open_from_which(page: Bench) -> None:
    page.post(what="potted", about="7a", **{"count.next": "4"})
    lot = load_nursery(page.folder, NOW).stock.lots["7a"]

    offered = [button.what for button in usual(lot, ()).buttons]

    assert {"potted", "set_out", "looked", "watered"} <= set(offered)
    assert not {"died", "sold"} & set(offered)
    assert "died" in [button.what for group in choices(lot, (), 2)[1:] for button in group.buttons]


def test_it_is_said_how_many_went_and_how_many_are_left(page: Bench) -> None:
    part = page.said(page.post(what="potted", about="7a", **{"count.next": "4"}))
    rest = page.said(page.post(what="potted", about="7a"))
    gone = page.said(page.post(what="died", about="7b", **{"count.next": "8"}))

    assert "4 potted up of 7a, 8 left in A." in part
    assert "All potted up of 7a, none left in A." in rest
    assert "8 died of 7b, none left." in gone


def test_a_bin_that_is_done_folds_unless_a_trouble_is_open(page: Bench) -> None:
    page.post(what="looked", bin="A")
    page.post(what="looked", bin="B", key="pabcdefghjk3")
    page.post(what="mould", about="8b")

    found = page.page()

    assert '<details class="tray folded" id="tray-A">' in found
    assert '<details class="tray" id="tray-B" open>' in found


def test_a_lots_page_begins_with_where_it_stands_what_is_next_and_why(page: Bench) -> None:
    found = page.page("/lot/7a")

    order = [
        "12 in A",
        'id="ahead"',
        "Counted from",
        "Expected:",
        'id="tell-7a"',
        'id="expected"',
        'id="todo"',
        'id="history"',
    ]
    places = [found.index(part) for part in order]
    assert places == sorted(places)
    assert (
        "likely" in found.split('id="expected"')[1].split("</section>")[0]
    )  # a forecast is told apart from what was seen


def test_a_tap_is_logged_and_said_with_what_moves(page: Bench) -> None:
    answer = page.post(what="roots", about="7a", on="2027-01-12", note="white tips", **{"count.sign": "3"})

    row = page.rows()[-1]
    assert (row.what, row.lot, row.count, row.day.isoformat(), row.note) == (
        "roots",
        "7a",
        3,
        "2027-01-12",
        "white tips",
    )
    assert row.id.startswith(KEY)
    assert answer.headers["Location"] == f"/?said={row.id}"
    said = page.said(answer)
    assert "Logged. Roots: 7a, 3, Tue 12 Jan" in said
    assert "in the calendar" in said
    assert "sooner" in said


def test_the_same_sent_again_is_logged_once_and_answered_alike(page: Bench) -> None:
    first = page.post(what="leaves", about="7a")

    again = page.post(what="leaves", about="7a")

    assert again.headers["Location"] == first.headers["Location"]
    assert page.said(again) == page.said(first)
    assert [row.what for row in page.rows()].count("leaves") == 1


def test_another_tap_in_a_form_used_before_is_an_entry_of_its_own(page: Bench) -> None:
    page.post(what="leaves", about="7a")

    page.post(what="mould", about="7a")
    page.post(what="leaves", about="7a", **{"count.sign": "2"})

    assert [row.what for row in page.rows()[-3:]] == ["leaves", "mould", "leaves"]


def test_a_confirmation_outlives_the_server(page: Bench) -> None:
    answer = page.post(what="leaves", about="7a")

    later = Bench(page.folder)

    assert "Logged. First leaves: 7a" in later.said(answer)
    assert "First leaves: 7a" in later.said(later.post(what="leaves", about="7a"))
    assert len(later.rows()) == 8


def test_a_bin_is_all_well_but_for_one(page: Bench) -> None:
    answer = page.post(what="looked", bin="A", **{"but.A": "7b", "but.B": "8b"})

    assert [(row.what, row.lot, row.bin) for row in page.rows()[7:]] == [("looked", "7a", "")]
    assert "Now say what 7b has" in page.said(answer)


def test_everything_is_all_well_but_those_ticked_in_any_bin(page: Bench) -> None:
    page.post(what="looked", everything="yes", **{"but.A": "7b", "but.B": "8b"})

    assert [row.lot or row.bin for row in page.rows()[7:]] == ["7a", "8a", "9a"]


def test_all_well_says_no_roots_only_of_lots_whose_roots_the_round_asked_for(tmp_path: Path) -> None:
    # 7a is in the bag for 30 days and is looked through for roots; 8a, a week in, for sweat and mould alone.
    stuck = "{} received {} --count 8 --stage rooting --bin A"
    log = "\n".join(stuck.format(*each) for each in (("2026-12-14", "7a"), ("2027-01-06", "8a")))
    bench(tmp_path, log, NOW.date(), week='bench_days = ["wed"]')
    page = Bench(tmp_path)

    shown = page.page()
    page.post(what="looked", bin="A", **{"asks.A": "7a"})

    assert 'name="asks.A" value="7a"' in shown
    assert "no trouble, no roots yet on 7a<" in shown
    assert [(row.lot, row.value) for row in page.rows()[2:] if row.what == "looked"] == [
        ("7a", ""),
        ("8a", "no_trouble"),
    ]
    lots = load_nursery(tmp_path, NOW).stock.lots
    assert [lots[name].looked for name in ("7a", "8a")] == [NOW.date()] * 2
    assert lots["7a"].known_at == NOW.date()
    assert lots["8a"].known_at.isoformat() == "2027-01-06"


def test_what_was_done_today_is_asked_for_no_more(tmp_path: Path) -> None:
    bench(tmp_path, "2026-12-14 received 7a --count 8 --stage rooting --bin A", NOW.date(), week='bench_days = ["wed"]')
    page = Bench(tmp_path)

    def told() -> tuple[str, str]:
        lot = page.page("/lot/7a")
        return lot.split('id="tell-7a"')[1].split('value="roots"')[0], lot.split('id="ahead"')[1].split("</section>")[0]

    before = told()
    page.post(what="looked", about="7a")
    after = told()

    assert ["asked for" in buttons for buttons, _ in (before, after)] == [True, False]
    assert ["Today." in ahead for _, ahead in (before, after)] == [True, False]


def test_an_entry_of_several_rows_is_undone_whole_and_once(page: Bench) -> None:
    page.post(what="looked", everything="yes", **{"but.A": "7b"})
    entry = page.rows()[-1].id

    first = page.post("/undo", row=entry)
    again = page.post("/undo", row=entry)

    assert [row.what for row in page.rows()].count("void") == 4
    assert "Undone: Looked: 7a" in page.said(first)
    assert "Undone: Looked" in page.said(again)
    assert len(page.rows()) == 7 + 4 + 4


def test_what_cannot_be_undone_is_said(page: Bench) -> None:
    refused = page.post("/undo", row="r3")  # the looks of 7a rest on it
    none = page.post("/undo", row="r99")
    empty = page.post("/undo")

    assert [each.status_code for each in (none, empty)] == [409, 409]
    assert refused.status_code in (303, 409)
    assert "there is no row 'r99' to undo" in unescape(none.get_data(as_text=True))


@pytest.mark.parametrize(
    ("fields", "told"),
    [
        ({"what": "died", "about": "7a"}, "died needs a count; add how many"),
        ({"what": "died", "about": "7a", "count.gone": "90"}, "7a has 12 rooting; 90 cannot be logged as died"),
        ({"what": "died", "about": "7a", "count.gone": "a few"}, "count 'a few' is not a whole number"),
        ({"what": "died", "about": "7a", "count.gone": "1" * 40}, "is not a whole number"),
        ({"what": "roots", "about": "7x"}, "there is no lot '7x'"),
        ({"what": "rootz", "about": "7a"}, "'rootz' is not an event; did you mean 'roots'?"),
        ({"what": "void", "about": "r3"}, "to undo a row"),
        ({"what": "roots", "about": "7a", "on": "2027-01-14"}, "2027-01-14 is after today"),
        ({"what": "roots", "about": "7a", "on": "soon"}, "'soon' is not a date"),
        ({"what": "roots", "about": "7a", "key": ""}, "this form has no key"),
        ({"what": "roots", "about": "7a", "key": "r123456789012"}, "this form has no key"),
        ({"what": "roots", "about": "7a", "key": "../../etc/passwd"}, "this form has no key"),
        ({"what": "noted", "about": "7a", "note": "x" * 401}, "the note has 401 letters; at most 400"),
        ({"what": "mould", "about": "7a", "count.trouble": "3"}, "mould takes no count"),
        ({"what": "weighed", "about": "7a"}, "weighed needs a value"),
        ({}, "'' is not an event"),
    ],
)
def test_what_cannot_be_logged_is_told_in_place_and_nothing_is_written(
    page: Bench, fields: dict[str, str], told: str
) -> None:
    answer = page.phone.post("/log", data={"key": KEY, **fields}, headers={"Origin": ORIGIN})

    assert answer.status_code == 409
    assert told in unescape(answer.get_data(as_text=True))
    assert len(page.rows()) == 7


def test_what_was_refused_can_be_mended_where_it_is_told(page: Bench) -> None:
    answer = page.post(what="died", about="7a", note="soft at the base")

    form = unescape(answer.get_data(as_text=True))
    assert '<input type="hidden" name="what" value="died">' in form
    assert 'name="about" value="7a"' in form
    assert 'value="soft at the base"' in form
    count = form.split('<label for="field-count">')[1].split("<label")[0]
    assert "Died needs a count; add how many." in count  # the remedy stands at its field
    assert 'aria-invalid="true"' in count


def test_a_full_bin_is_filled_only_by_one_who_insists(page: Bench) -> None:
    fields = {"what": "stuck", "about": "8a", "bin.move": "A", "count.move": "5"}
    refused = page.phone.post("/log", data={"key": KEY, **fields}, headers={"Origin": ORIGIN})
    insisted = page.phone.post("/log", data={"key": KEY, **fields, "force": "yes"}, headers={"Origin": ORIGIN})

    assert refused.status_code == 409
    assert "tick “all the same” if they do stand there" in refused.get_data(as_text=True)
    assert "--" not in re.sub(r"<[^>]+>|<!--.*?-->", "", refused.get_data(as_text=True))
    assert "Stuck: 8a, 5, into bin A" in page.said(insisted)
    assert "This makes lot 8c" in page.said(insisted)


@pytest.mark.parametrize("origin", [None, "null", "http://elsewhere.example", "http://localhost.elsewhere.example"])
def test_a_form_of_another_site_logs_nothing(page: Bench, origin: str | None) -> None:
    answers = [page.post(origin=origin, what="looked", about="7a"), page.post("/undo", origin=origin, row="r7")]

    assert [(answer.status_code, answer.data) for answer in answers] == [(404, WORDS)] * 2
    assert len(page.rows()) == 7


@pytest.mark.parametrize("back", ["//elsewhere.example", "http://elsewhere.example/", "/k/x", "/lot/../k", "/\r\nX: y"])
def test_the_way_back_leads_to_a_page_of_ours(page: Bench, back: str) -> None:
    assert page.post(what="looked", about="7a", back=back).headers["Location"].startswith("/?said=")


def test_the_way_back_is_where_it_was_logged(page: Bench) -> None:
    answer = page.post(what="looked", about="7a", back="/lot/7a")

    assert answer.headers["Location"].startswith("/lot/7a?said=")
    assert "Logged. Looked: 7a" in page.said(answer)


def test_while_a_file_is_at_fault_the_page_says_which_line_and_nothing_is_written(page: Bench) -> None:
    path = page.folder / "logbook.csv"
    path.write_text(path.read_text(encoding="utf-8").replace(",looked,", ",lokked,"), encoding="utf-8")
    before = path.read_bytes()

    shown = page.phone.get("/")
    posted = page.post(what="leaves", about="7a")

    assert (shown.status_code, posted.status_code) == (503, 503)
    assert "logbook.csv:7: 'lokked' is not an event" in unescape(shown.get_data(as_text=True))
    assert path.read_bytes() == before


def test_a_nursery_that_is_busy_asks_the_phone_to_keep_the_entry(page: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    def busy(*_: object) -> None:
        raise TimeoutError("the lock")

    monkeypatch.setattr("almanac.web.page.record", busy)

    assert page.post(what="leaves", about="7a").status_code == 503


def test_a_body_too_large_is_not_read(page: Bench) -> None:
    answer = page.post(what="noted", about="7a", note="x" * 70_000)

    assert answer.status_code == 413
    assert len(page.rows()) == 7


@pytest.mark.parametrize("name", ["../page.py", "..%2fpage.py", "%2e%2e/page.py", "../../../nursery.toml", "."])
def test_only_what_belongs_to_the_look_is_read(page: Bench, name: str) -> None:
    assert page.phone.get(f"/look/{name}").status_code == 404


@pytest.mark.parametrize("method", ["PUT", "DELETE", "PATCH", "OPTIONS", "TRACE"])
@pytest.mark.parametrize("path", ["/", "/log", "/undo", "/lot/7a"])
def test_other_methods_are_told_nothing(page: Bench, path: str, method: str) -> None:
    answer = page.phone.open(path, method=method, headers={"Origin": ORIGIN})

    assert (answer.status_code, "Allow" in answer.headers) == (404, False)


def test_an_entry_of_the_served_calendar_leads_to_its_lot_and_tells_no_key(page: Bench) -> None:
    feed = page.phone.get(f"/f/{page.keys.read}/everything.ics").data
    events = by_id(feed)

    links = {name: str(event.get("URL", "")) for name, event in events.items()}

    for lot in ("7a", "8b", "9a"):
        of_lot = {link for name, link in links.items() if lot in re.split(r"[.~]", name)}
        assert of_lot <= {f"http://localhost/lot/{lot}"}
    assert "http://localhost/lot/7a" in links.values()
    assert {link for name, link in links.items() if name.startswith("round.")} == {"http://localhost/"}
    assert page.phone.get("/lot/7a").status_code == 200
    assert page.stranger.get("/lot/7a").status_code == 404
    assert max(map(len, feed.split(b"\r\n"))) <= 75


NASTY = (
    '"><script>alert(1)</script>',
    "{{ 7 * 7 }}{% raw %}",
    "a\r\nEND:VEVENT\r\nBEGIN:VEVENT\r\nSUMMARY:injected",
    'x"\nr99,2027-01-13,died,7a,,12,,,,,,',
    "\x00\x1b[31m\x7f\u2028\u202e",
    "' onmouseover='alert(1)",
)
FIELDS = """
    what about on note value.any count.any bin.any stage.any variety refers key back force everything but.A group
""".split()  # noqa: SIM905  # a table reads better


class Tags(HTMLParser):
    """The names of a page's tags, and of their attributes."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.scripts: list[str | None] = []
        self.attributes: set[str] = set()
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.attributes |= {name for name, _ in attrs}
        if tag == "script":
            self.scripts.append(dict(attrs).get("src"))


@pytest.mark.parametrize("text", NASTY)
def test_no_field_carries_script_or_a_line_into_page_logbook_or_calendar(page: Bench, text: str) -> None:
    sound = {
        "what": "treated",
        "about": "7a",
        "group": "any",
        "on": "2027-01-13",
        "value.any": "neem 1 %",
        "note": "fine",
    }
    bodies = []
    for field in FIELDS:
        before = page.rows()

        answer = page.phone.post("/log", data={"key": KEY, **sound, field: text}, headers={"Origin": ORIGIN})

        assert answer.status_code in (303, 409)
        after = page.rows()
        assert after[: len(before)] == before
        assert len(after) - len(before) <= 2
        assert not any(row.what == "died" or row.id == "r99" for row in after)
        if answer.status_code == 409:
            bodies.append(answer.get_data(as_text=True))
    written = page.rows()[-1].id
    assert len(page.rows()) > 7  # in note and value any text may stand
    bodies += [page.phone.get(path).get_data(as_text=True) for path in (f"/?said={written}", "/lot/7a")]
    for body in bodies:
        tags = Tags(body)
        assert tags.scripts == ["/look/page.js"]
        assert not {name for name in tags.attributes if name.startswith("on") or name == "style"}
        assert not re.search(r"[\x00-\x08\x0b-\x1f\x7f]", body)
    feed = page.phone.get(f"/f/{page.keys.read}/everything.ics").get_data(as_text=True)
    assert "\r\nSUMMARY:injected" not in feed
    assert "files.mend" not in feed


def test_every_event_the_page_offers_is_one_the_logbook_knows(page: Bench) -> None:
    offered = set(re.findall(r'name="what" value="([a-z_]+)"', page.page()))

    assert offered - set(EVENTS) == set()
    assert len(offered) > 20


def test_an_entry_cut_short_after_its_first_row_is_finished_when_it_is_sent_again(page: Bench) -> None:
    wanted = Request(what="looked", about=("7a", "7b", "8b"), id="kabcdefg")
    record(page.folder, NOW, wanted)
    for name in ("logbook.csv", "logbook.backup.csv"):
        path = page.folder / name
        lines = path.read_text(encoding="utf-8").splitlines(keepends=True)
        path.write_text("".join(lines[:-2]), encoding="utf-8")  # the power went after the first of three rows

    again = record(page.folder, NOW, wanted)
    once_more = record(page.folder, NOW, wanted)

    assert [row.id for row in page.rows()[7:]] == ["kabcdefg.1", "kabcdefg.2", "kabcdefg"]
    assert not again.again
    assert once_more.again


@pytest.mark.parametrize("name", ["r1234567", "short", "Kabcdefgh", "k bcdefgh", "=cmd|abcdefgh", "9abcdefgh"])
def test_an_id_wished_for_is_no_id_that_the_program_gives(page: Bench, name: str) -> None:
    with refused(Refusal, "cannot be a row's id"):
        record(page.folder, NOW, Request(what="looked", about=("7a",), id=name))


def test_two_phones_in_the_same_moment_are_undone_apart(page: Bench) -> None:
    record(page.folder, NOW, Request(what="mould", about=("7a",), id="kabcdefg"))
    record(page.folder, NOW, Request(what="rot", about=("7b",), id="mabcdefg"))

    undone = undo(page.folder, NOW)

    assert [row.refers for row in undone.rows] == ["mabcdefg"]


def test_an_overdue_task_is_told_whatever_stands_in_its_title(tmp_path: Path) -> None:
    (tmp_path / "rules" / "care").mkdir(parents=True)
    own = '[[task]]\nid = "pot_up"\ntitle = "Pot up into 3.5 in pots, max. two"\n'
    (tmp_path / "rules" / "care" / "potting.toml").write_text(own, encoding="utf-8")
    bench(tmp_path, "2026-10-05 received 7a --count 12 --stage rooting --bin A\n2026-11-20 well_rooted 7a", NOW.date())

    found = Bench(tmp_path).page()

    assert "<strong>Overdue:</strong> Pot up into 3.5 in pots, max. two: 7a (12), since 8 Dec 2026<" in found


def test_lots_planned_together_from_a_phone_are_each_stuck_by_their_own_row(page: Bench) -> None:
    record(page.folder, NOW, Request(what="planned", about=("7", "9"), count=6, value="2027-01-20", id=KEY))

    planned = [task for task in look(page.folder, NOW).plan.tasks if task.rule.after == "planned"]

    assert [how_to_log_task(task) for task in sorted(planned, key=lambda task: task.lots)] == [
        f"stickdate log stuck 7 --count 6 --refers {KEY}.1",
        f"stickdate log stuck 9 --count 6 --refers {KEY}",
    ]


def test_what_the_round_asks_for_is_not_told_again_as_overdue(tmp_path: Path) -> None:
    log = "2026-12-05 received 7a --count 12 --stage rooting --bin A\n2026-12-20 leaves 7a"
    plan = planned(bench(tmp_path, log, NOW.date(), week='bench_days = ["wed"]'))
    late = {each.title for each in left_overdue(plan, [])}
    here = {each.title for each in left_overdue(plan, [each for each in plan.rounds if each.day == plan.as_of])}

    page = Bench(tmp_path).page()

    assert late - here, "today's round reminds of nothing"
    for title in late - here:
        assert f"<strong>Overdue:</strong> {title}" not in page
