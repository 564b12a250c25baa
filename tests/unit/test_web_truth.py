"""What the page says when something is wrong: no word of what is not on the disk, what to do, and how to mend it."""

from __future__ import annotations

import re
from html import unescape
from pathlib import Path

import pytest
from werkzeug.test import TestResponse

from almanac.nursery.events import EVENTS
from almanac.nursery.load import load_nursery
from almanac.web.fields import FIELD_OF, INSISTED, fields_of
from almanac.web.stranger import WORDS
from almanac.words.faults import SENTENCES
from almanac.words.refused_entries import ON_THE_PAGE
from tests.nurseries import bench
from tests.unit.test_web_page import KEY, LOG, NOW, ORIGIN, Bench

COMMAND = re.compile(r".{0,60}(?:stickdate|--[a-z]).{0,30}")


@pytest.fixture
def page(tmp_path: Path) -> Bench:
    bench(tmp_path, LOG, NOW.date(), bins=("A", "B"), sale="dormant = true\nrooted = true")
    return Bench(tmp_path)


def shown(answer: TestResponse) -> str:
    """What a person reads of an answer."""
    body = answer.get_data(as_text=True).partition('<main id="main" tabindex="-1">')[2].partition("</main>")[0]
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", body)).split())


def fields(answer: TestResponse) -> dict[str, str]:
    """What the first form of an answer would send, as a browser without scripts does."""
    form = answer.get_data(as_text=True).partition('<form method="post"')[2].partition("</form>")[0]
    found = dict(re.findall(r'name="([^"]+)"[^>]*? value="([^"]*)"', form))
    for name, options in re.findall(r'<select[^>]* name="([^"]+)".*?>(.*?)</select>', form, re.S):
        chosen = re.findall(r'value="([^"]*)" selected', options)
        found[name] = chosen[0] if chosen else ""
    return {name: unescape(value) for name, value in found.items()}


# --- nothing is said to be logged that is not ------------------------------------------------------------------------


def test_while_a_file_is_at_fault_nothing_is_said_to_be_logged_and_what_was_tapped_can_be_sent_on(page: Bench) -> None:
    path = page.folder / "logbook.csv"
    good = path.read_text(encoding="utf-8")
    path.write_text(good.replace(",looked,", ",lokked,"), encoding="utf-8")

    looked = page.phone.get("/")
    posted = page.post(what="leaves", about="7a", note="two of them", **{"count.sign": "2"})

    assert "ogged." not in shown(looked) + shown(posted)
    assert "Undo" not in shown(looked) + shown(posted)
    assert "Not logged yet: First leaves 7a." in shown(posted)
    assert "logbook.csv:7: 'lokked' is not an event" in shown(posted)
    path.write_text(good, encoding="utf-8")
    sent = fields(posted)
    assert (sent["key"], sent["note"], sent["count.sign"]) == (KEY, "two of them", "2")
    first = page.post(**sent)
    again = page.post(**sent)
    assert "Logged. First leaves: 7a, 2" in page.said(first)
    assert again.headers["Location"] == first.headers["Location"]
    assert [row.what for row in page.rows()].count("leaves") == 1


def test_a_busy_nursery_says_so_and_not_that_its_files_are_at_fault(
    page: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    def busy(*_: object) -> None:
        raise TimeoutError("the lock")

    monkeypatch.setattr("almanac.web.page.record", busy)
    answer = page.post(what="leaves", about="7a")

    assert answer.headers["Retry-After"]
    assert shown(answer).startswith("The nursery is busy for a moment Not logged yet: First leaves 7a.")
    assert "mend" not in shown(answer)
    assert fields(answer)["key"] == KEY


def test_a_defect_of_the_program_has_a_page_for_a_phone_and_none_for_a_stranger(
    page: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("almanac.web.page.bench_of", lambda *_: 1 / 0)
    monkeypatch.setattr("almanac.web.page.record", lambda *_: 1 / 0)

    seen, posted = page.phone.get("/"), page.post(what="leaves", about="7a")

    assert (seen.status_code, posted.status_code) == (503, 503)
    assert shown(seen).startswith("The program stumbled")
    assert "Perhaps not logged yet: First leaves 7a." in shown(posted)
    assert page.stranger.get("/").data == WORDS


def test_a_row_that_is_in_is_said_to_be_logged_though_the_calendar_cannot_be_read(
    page: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    def unreadable(*_: object) -> None:
        raise PermissionError(13, "Permission denied", "everything.ics")

    monkeypatch.setattr("almanac.actions.writing.plan_of", unreadable)
    answer = page.post(what="leaves", about="7a")
    monkeypatch.undo()

    assert [row.what for row in page.rows()].count("leaves") == 1
    assert "Logged. First leaves: 7a" in page.said(answer)
    assert "The calendar was not refreshed: the program may not read" in page.said(answer)


# --- a refused entry is mended in its form ----------------------------------------------------------------------------


def test_a_refused_entry_is_logged_once_its_field_is_mended(page: Bench) -> None:
    refused = page.post(what="died", about="7a", note="soft", **{"count.gone": "90", "value.gone": "rot"})

    told = refused.get_data(as_text=True).partition('<label for="field-count">')[2].partition("<label")[0]
    assert "7a has 12 rooting; 90 cannot be logged as died." in unescape(told)
    mended = {**fields(refused), "count.any": "9"}
    answer = page.post(**mended)
    row = page.rows()[-1]
    assert "Logged. Died: 7a, 9" in page.said(answer)
    assert (row.what, row.count, row.value, row.note) == ("died", 9, "rot", "soft")


def test_a_refused_round_keeps_the_lots_that_were_left_out(page: Bench) -> None:
    refused = page.post(what="looked", bin="A", on="2027-02-30", **{"but.A": "7b"})

    answer = page.post(**{**fields(refused), "on": "2027-01-13"})

    assert answer.status_code == 303
    assert [(row.what, row.lot) for row in page.rows()[7:]] == [("looked", "7a")]


def test_who_knows_better_may_insist_where_that_helps_and_nowhere_else(page: Bench) -> None:
    full = page.post(what="stuck", about="8a", **{"bin.move": "A", "count.move": "5"})
    wrong = page.post(what="died", about="7a")

    assert 'name="force"' in full.get_data(as_text=True)
    assert 'name="force"' not in wrong.get_data(as_text=True)
    assert page.post(**{**fields(full), "force": "yes"}).status_code == 303


def test_each_event_has_a_form_with_the_fields_it_takes_and_no_others(page: Bench) -> None:
    for event in EVENTS.values():
        answer = page.phone.get(f"/log/{event.name}")

        body = answer.get_data(as_text=True)
        assert answer.status_code == (404 if event.name == "void" else 200)
        assert ('name="count.any"' in body) == (event.count != "no"), event.name
        assert ('name="value.any"' in body) == (event.value != "no"), event.name
        assert len(re.findall(r'<label for="field-', body)) <= 8
        assert not COMMAND.findall(shown(answer))


@pytest.mark.parametrize(
    ("what", "typed", "kept", "unit"),
    [
        ("weighed", "412", "412 g", "Weight, g"),
        ("weighed", "14 oz", "14 oz", "Weight, g"),
        ("temperature", "24.5", "24.5 C", "Temperature in the mix, °C"),
        ("temperature", "74 F", "74 F", "Temperature in the mix, °C"),
        ("mat", "off", "off", "Mat (or off), °C"),
        ("lamp", "14", "14 h", "Lamp, each day (or off), h"),
    ],
)
def test_a_bare_number_is_in_the_unit_that_its_field_names(
    what: str, typed: str, kept: str, unit: str, page: Bench
) -> None:
    form = page.phone.get(f"/log/{what}")

    about = {"bin.any": "A"} if EVENTS[what].target == "bin" else {"about": "7a"}
    answer = page.post(**{**fields(form), **about, "value.any": typed})

    assert unit in unescape(form.get_data(as_text=True))
    assert answer.status_code == 303
    assert (page.rows()[-1].what, page.rows()[-1].value) == (what, kept)


def test_the_fields_of_a_lot_and_of_a_bin_name_their_units_too(page: Bench) -> None:
    page.post(what="weighed", about="7a", **{"value.job": "412"})
    page.post(what="lamp", bin="A", group="bin", about="A", **{"value.bin": "14"})

    assert [(row.what, row.value) for row in page.rows()[7:]] == [("weighed", "412 g"), ("lamp", "14 h")]
    assert "Weight (g), warmth (°C) or product and rate" in page.page("/lot/7a")
    assert "Warmth (°C) or off, lamp (h) or off, product and rate" in page.page()


def test_each_field_s_faults_are_faults_there_are() -> None:
    known = SENTENCES.keys() | ON_THE_PAGE.keys()

    assert (FIELD_OF.keys() | set(INSISTED)) - known == set()
    assert callable(fields_of)


# --- undo asks where it is not the last thing done, and can be undone -------------------------------------------------


def test_the_last_thing_done_is_undone_by_one_tap_and_counts_again_by_another(page: Bench) -> None:
    page.post(what="potted", about="7a", **{"count.move": "4"})

    undone = page.post("/undo", row=page.rows()[-1].id)
    said = page.page(undone.headers["Location"])
    back = page.post("/undo", row=page.rows()[-1].id)

    assert "Undone: Potted up: 7a, 4" in said
    assert "Have it count again" in said
    assert "Counts again: Potted up: 7a, 4" in page.said(back)
    assert "4 in pots" in re.sub(r"<[^>]+>", "", page.page("/lot/7a"))
    assert [row.what for row in page.rows()[7:]] == ["potted", "void", "void"]


def test_of_two_undone_in_the_same_moment_one_counts_again_and_every_page_says_how_it_stands(page: Bench) -> None:
    page.post(what="mould", about="7a")
    page.post(what="fed", about="7b")
    fed, mould = (page.rows()[place].id for place in (-1, -2))
    undone = page.post("/undo", row=fed, force="yes")
    page.post("/undo", row=mould, force="yes")

    page.post("/undo", row=page.rows()[-2].id)

    assert [row.refers for row in page.rows()[9:]] == [fed, mould, page.rows()[-3].id]
    assert "Counts again: Fed: 7b" in page.said(undone)  # the page that said it was undone, looked at again
    assert "mould" not in load_nursery(page.folder, NOW).stock.lots["7a"].troubles


def test_an_earlier_entry_is_named_with_what_rests_on_it_and_undone_only_by_who_is_sure(page: Bench) -> None:
    page.post(what="potted", about="7a", **{"count.move": "4"})
    first = page.rows()[-1].id
    page.post(what="fed", about="7a")
    page.post(what="mould", about="7b")

    asked = page.post("/undo", row=first, back="/lot/7a")

    assert asked.status_code == 409
    assert [row.what for row in page.rows()[7:]] == ["potted", "fed", "mould"]
    assert "Potted up: 7a, 4, Wed 13 Jan" in shown(asked)
    assert "Logged of the same since, and left as it is: Fed: 7a" in shown(asked)
    assert "Mould" not in shown(asked)
    sure = page.post("/undo", **fields(asked))
    assert sure.headers["Location"].startswith("/lot/7a?said=")
    assert page.rows()[-1].refers == first


def test_of_a_whole_bin_undone_what_was_logged_of_its_lots_since_is_named(page: Bench) -> None:
    look = next(row.id for row in page.rows() if row.what == "looked" and row.bin == "A")
    page.post(what="mould", about="7b")
    page.post(what="leaves", about="8b")

    asked = shown(page.phone.get(f"/undo/{look}"))

    assert "Looked: bin A" in asked
    assert "Mould: 7b" in asked
    assert "8b" not in asked


def test_what_rests_on_an_entry_is_shown_with_the_way_to_undo_it(page: Bench) -> None:
    page.post(what="potted", about="7a", **{"count.move": "12"})
    first = page.rows()[-1].id
    page.post(what="died", about="7a", **{"count.gone": "3", "stage.gone": "pot"})
    second = page.rows()[-1].id
    page.post(what="mould", about="7b")

    asked, forced = page.phone.get(f"/undo/{first}"), page.post("/undo", row=second, force="yes")

    assert "cannot be undone while these rest on it" in shown(asked)
    assert f'href="/undo/{second}?back=/"' in asked.get_data(as_text=True)
    assert "<form" not in asked.get_data(as_text=True).partition("<main")[2].partition("</main>")[0]
    assert forced.status_code == 303
    assert page.post("/undo", row=first, force="yes").status_code == 303


def test_an_old_row_of_a_lot_is_undone_in_two_taps_and_restored_in_one(page: Bench) -> None:
    link = re.findall(r'href="(/undo/[^"]+)"', page.page("/lot/7a"))[0]

    asked = page.phone.get(link)
    done = page.post("/undo", **fields(asked))
    restore = re.findall(r'id="restore-[^"]+"><input type="hidden" name="row" value="([^"]+)"', page.page("/lot/7a"))

    assert asked.status_code == 200
    assert done.headers["Location"].startswith("/lot/7a?said=")
    assert len(restore) == 1
    assert "Counts again" in page.said(page.post("/undo", row=restore[0], back="/lot/7a"))


# --- who was not let in -----------------------------------------------------------------------------------------------


def test_every_way_in_is_answered_alike_to_who_was_not_let_in(page: Bench) -> None:
    rules = {rule.rule for rule in page.app.url_map.iter_rules()} - {"/f/<key>/<name>.ics", "/k/<key>"}
    paths = [re.sub(r"<[^>]+>", "7a", rule) for rule in rules] + ["/robots.txt", "/favicon.ico", "/f/x/everything.ics"]

    answers = [page.stranger.open(path, method=method) for path in paths for method in ("GET", "HEAD", "POST", "PUT")]

    assert len(paths) > 15
    assert {answer.status_code for answer in answers} == {404}
    assert {answer.data for answer in answers} == {WORDS, b""}  # nothing stands in what HEAD is answered
    assert len({tuple(sorted(answer.headers.items())) for answer in answers if answer.data}) == 1


def test_who_was_not_let_in_learns_how_to_be_and_not_where_they_are(page: Bench) -> None:
    told = WORDS.decode()

    assert "Scan the square code" in told
    assert not {"Quince", "7a", "stickdate", page.keys.read, page.keys.write} & set(re.split(r"[\s<>.,]+", told))


def test_a_phone_that_was_let_in_is_told_that_a_page_is_not_there(page: Bench) -> None:
    answer = page.phone.get("/lot/99z")

    assert answer.status_code == 404
    assert shown(answer).startswith("There is no such page")


# --- no command line on the page --------------------------------------------------------------------------------------


def test_no_page_names_a_command_or_an_option(tmp_path: Path) -> None:
    log = (
        LOG
        + "2027-01-12 gnats --bin A --count 3\n2027-01-12 mould 7b\n2027-01-12 planned 8 --count 4 --value 2027-01-20\n"
    )
    week = 'bench_days = ["tue", "fri", "sun"]\naway = [ { from = 2027-01-20, to = 2027-02-10 } ]'
    orders = ["1,2027-01-02,8,dormant,12,2027-01-20,,,,"]
    bench(tmp_path, log, NOW.date(), bins=("A", "B"), sale="dormant = true\nrooted = true", week=week, orders=orders)
    page = Bench(tmp_path)
    page.post(what="died", about="8a", **{"count.gone": "5"})
    paths = ["/", "/lots", "/week", "/sale", "/chart", "/log", "/calendar", "/calendar/bench", "/pair", "/lot/99z"]
    paths += [f"/lot/{lot}" for lot in ("7a", "7b", "8a", "8b", "9a")]
    paths += [f"/?said={page.rows()[-1].id}", f"/undo/{page.rows()[0].id}", "/undo/r6", "/undo/nothing"]

    for path in paths:
        text = shown(page.phone.get(path))

        assert text, path
        assert not re.search(r"stickdate|(?<!-)--[a-z]", text), (
            path,
            re.findall(r".{60}(?:stickdate|--[a-z]).{30}", text),
        )


def test_a_form_of_another_site_is_answered_like_a_stranger(page: Bench) -> None:
    answer = page.phone.post("/log", data={"what": "looked"}, headers={"Origin": ORIGIN + ".elsewhere.example"})

    assert (answer.status_code, answer.data) == (404, WORDS)
