"""Pictures and papers on the bench page: opened by a phone that was let in, by no stranger, in the page's own order."""

from __future__ import annotations

import io
import re
from datetime import UTC, datetime
from pathlib import Path

import pytest
from flask.testing import FlaskClient
from pypdf import PdfReader

from almanac.web.app import create_app
from almanac.web.keys import load_keys
from tests.drawn import Picture, pieces
from tests.nurseries import bench

LOG = """
2026-11-20 taken 8a --count 12
2027-01-04 received 9a --count 6 --stage pot
2027-01-05 received 10a --count 12 --stage rooting --bin A
2027-01-05 received 7a --count 12 --stage rooting --bin A
2027-01-06 received 8b --count 8 --stage rooting --bin Zinc
2027-01-12 looked 7a
"""
VARIETIES = "number,name,crop\n7,Copper <Kettle>,fig\n8,Blue & Ladder,fig\n9,Tin Whistle,fig\n10,Tenth,fig\n"
NOW = datetime(2027, 1, 15, 17, tzinfo=UTC)


@pytest.fixture
def phone(tmp_path: Path) -> FlaskClient:
    week = 'bench_days = ["fri"]\naway = [{ from = 2027-01-18, to = 2027-01-24 }]'
    bench(tmp_path, LOG, NOW.date(), bins=("Zinc", "A"), varieties=VARIETIES, week=week)
    found = create_app(tmp_path, lambda: NOW, ["localhost"]).test_client()
    found.get(f"/k/{load_keys(tmp_path).write}")
    return found


def drawn(phone: FlaskClient) -> list[Picture]:
    text = phone.get("/chart").text.replace("<svg ", '<svg xmlns="http://www.w3.org/2000/svg" ')
    return [Picture(found) for found in re.findall(r"<svg .*?</svg>", text, re.DOTALL)]


def test_the_chart_stands_on_the_page_for_a_wide_screen_and_a_narrow_one_and_leads_to_each_lot(
    phone: FlaskClient,
) -> None:
    wide, narrow = drawn(phone)

    for each in (wide, narrow):
        assert each.links == ["/lot/8b", "/lot/7a", "/lot/10a", "/lot/9a", "/lot/8a"]  # bins as nursery.toml has them
        assert all(phone.get(link).status_code == 200 for link in each.links)
        assert each.crossing() == []
        assert "Copper <Kettle>" in " ".join(text.words for text in each.texts)
    # A screen of 360 px has some 95 mm: words of 2.6 mm are 10 px high there.
    assert min(float(text.attributes["font-size"]) for text in narrow.texts) * 360 / narrow.size[0] >= 9
    assert phone.get("/chart").text.count('id="wide-title"') == 1


def test_nothing_on_the_page_has_a_style_or_a_script_that_its_policy_forbids(phone: FlaskClient) -> None:
    for path in ("/chart", "/"):
        text = phone.get(path).text

        assert " style=" not in text
        assert "<style" not in text


def test_every_paper_opens_and_the_pages_name_it(phone: FlaskClient) -> None:
    names = re.findall(r'href="/paper/([^"]+)"', phone.get("/chart").text)

    assert "sheet.pdf" in names
    for name in names:
        answer = phone.get(f"/paper/{name}")
        assert answer.status_code == 200, name
        assert answer.headers["Content-Type"].startswith(
            "image/svg+xml" if name.endswith(".svg") else "application/pdf"
        )
        if name.endswith(".pdf"):
            assert answer.data.startswith(b"%PDF"), name
            assert PdfReader(io.BytesIO(answer.data)).pages[0].extract_text(), name


def test_a_lot_has_its_year_as_a_picture(phone: FlaskClient) -> None:
    (link,) = re.findall(r'href="(/lot/7a/[^"]+)"', phone.get("/lot/7a").text)

    picture = Picture(phone.get(link).text)

    assert picture.told("title") == "Lot 7a: its year, 15 Jan 2027"
    assert phone.get("/lot/99z/year.svg").status_code == 404


def test_the_warning_of_days_away_says_where_the_page_has_the_papers(phone: FlaskClient) -> None:
    told = phone.get("/").text

    assert "pages for them: under Chart." in told
    assert "stickdate sheet" not in told


def test_a_stranger_gets_none_of_them(tmp_path: Path) -> None:
    bench(tmp_path, LOG, NOW.date(), bins=("Zinc", "A"), varieties=VARIETIES)
    stranger = create_app(tmp_path, lambda: NOW, ["localhost"]).test_client()

    for path in ("/chart", "/paper/sheet.pdf", "/paper/nothing.pdf", "/lot/7a/year.svg"):
        assert stranger.get(path).status_code == 404


def test_the_sheet_has_the_lots_in_the_order_of_the_page_printed_or_not(phone: FlaskClient) -> None:
    page = phone.get("/").text
    on_page = re.findall(r'id="lot-(\w+)"', page)
    printed = re.findall(r"<tr><th>(\d+\w+)</th>", page)
    told = "\n".join(pieces(phone.get("/paper/sheet.pdf").data))

    paper = re.findall(r"^(\d+[a-z])$", told, re.MULTILINE)
    assert printed == paper
    assert paper == [lot for lot in on_page if lot in paper]
    assert paper[:3] == ["8b", "7a", "10a"]


def test_a_nursery_whose_files_are_at_fault_gives_no_paper_and_says_why(phone: FlaskClient, tmp_path: Path) -> None:
    (tmp_path / "varieties.csv").write_text("number,name,crop\n7,,figg\n", encoding="utf-8")

    answer = phone.get("/paper/sheet.pdf")

    assert answer.status_code == 503
    assert "varieties.csv:2" in answer.text
