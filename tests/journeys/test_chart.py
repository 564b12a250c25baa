"""A grower looks at the season as a picture: `stickdate chart`, its files parsed and held against the log."""

from __future__ import annotations

import io
import json
from datetime import date, timedelta
from pathlib import Path

import pytest
from PIL import Image
from pypdf import PdfReader

from tests.command import in_python, stickdate
from tests.conftest import Writes
from tests.drawn import Picture, contrast, off_paper
from tests.nurseries import SOUTHERN_FROST

LOG = """
2025-12-20 taken 1a --count 20
2026-01-05 stuck 1a --count 12 --bin A --refers 1b
2026-01-20 received 7a --count 4 --stage pot --value trade
2026-02-01 leaves 1b
2026-02-02 stuck 1a --count 6 --bin B --refers 1c
2026-02-08 roots 1b
2026-02-20 looked 1c
2026-02-20 potted 1b --count 5
"""
DAY = "2026-02-24"
AWAY = 'bench_days = ["tue", "fri", "sun"]\naway = [{ from = 2026-03-14, to = 2026-03-20 }]'


def drawn(folder: Path, file: Path, *words: object, day: str = DAY) -> Picture:
    stickdate("--nursery", folder, "--as-of", day, "chart", file, *words)
    return Picture(file.read_text(encoding="utf-8"))


@pytest.fixture
def picture(nursery: Writes, tmp_path: Path) -> Picture:
    return drawn(nursery(LOG, week=AWAY), tmp_path / "season.svg")


def test_what_was_logged_is_drawn_from_its_first_day_to_its_last(picture: Picture) -> None:
    day = picture.days()

    def ends(kind: str, lot: str) -> list[tuple[str, str]]:
        return [(str(day(each.left)), str(day(each.right))) for each in picture.of(kind, lot)]

    assert ends("store logged", "1a") == [("2025-12-20", DAY)]
    assert ends("rooting logged", "1b") == [("2026-01-05", DAY)]
    assert ends("pot logged", "1b") == [("2026-02-20", DAY)]
    assert ends("rooting logged", "1c") == [("2026-02-02", DAY)]
    assert ends("pot logged", "7a") == [("2026-01-20", DAY)]
    (roots,), (leaves,) = picture.of("sign roots", "1b"), picture.of("sign leaves", "1b")
    assert str(day(roots.points[0][0])) == "2026-02-08"
    assert str(day(leaves.points[0][0])) == "2026-02-01"


def test_what_is_forecast_is_drawn_with_the_days_that_lots_tells(nursery: Writes, tmp_path: Path) -> None:
    folder = nursery(LOG, week=AWAY)
    picture = drawn(folder, tmp_path / "season.svg")
    told = json.loads(stickdate("--nursery", folder, "--as-of", DAY, "--json", "lots", "1c").stdout)["lots"][0]
    day, checked = picture.days(), 0

    for name in ("roots", "leaves", "potted", "outside"):
        expected = told["milestones"][name]
        (band,) = picture.of(f"band {name}", "1c")
        early, likely, late = (str(day(band.points[n][0])) for n in range(3))
        if expected["early"] != expected["likely"] != expected["late"]:  # one of no width is drawn with a little
            assert (early, likely, late) == (expected["early"], expected["likely"], expected["late"]), name
            checked += 1
    assert checked >= 3
    (in_pots,) = picture.of("pot forecast", "1c")
    assert str(day(in_pots.left)) == told["milestones"]["potted"]["likely"]
    assert str(day(in_pots.right)) == told["milestones"]["outside"]["likely"]


def test_today_rounds_and_days_away_stand_where_the_plan_has_them(nursery: Writes, tmp_path: Path) -> None:
    folder = nursery(LOG, week=AWAY)
    picture = drawn(folder, tmp_path / "season.svg")
    ahead = json.loads(stickdate("--nursery", folder, "--as-of", DAY, "--json", "today", "--days", "366").stdout)
    day = picture.days()
    drawn_last = day(max(each.right for each in picture.of("outside forecast")))

    rounds = [str(day(each.left)) for each in picture.of("round")]
    assert rounds == [each["date"] for each in ahead["rounds"] if each["date"] <= str(drawn_last)]
    assert [str(day(each.left)) for each in picture.of("today")] == [DAY]
    (away,) = picture.of("away")
    assert (str(day(away.left)), str(day(away.right))) == ("2026-03-14", "2026-03-21")  # until the morning after


def test_frost_is_behind_it_until_it_is_no_likelier_than_accepted(picture: Picture) -> None:
    # The grower's own dates: one spring in ten still has a frost after 30 April.
    day = picture.days()
    (frost,) = picture.of("frost")

    assert abs(day(frost.right) - date(2026, 4, 30)) <= timedelta(days=1)
    assert "10% from 30 Apr" in [each.words for each in picture.texts]


def test_in_the_south_frost_ends_in_its_own_spring(nursery: Writes, tmp_path: Path) -> None:
    log = "2026-06-06 taken 1a --count 9\n2026-07-01 stuck 1a --count 9 --bin A\n"
    place = {"latitude": -36.8, "longitude": 144.3, "timezone": "Australia/Melbourne", "country": "AU"}
    folder = nursery(log, frost=SOUTHERN_FROST, **place)

    picture = drawn(folder, tmp_path / "south.svg", day="2026-08-10")

    day = picture.days()
    (frost,) = picture.of("frost")
    assert abs(day(frost.right) - date(2026, 10, 30)) <= timedelta(days=1)
    assert picture.crossing() == []


@pytest.mark.parametrize(("lots", "units"), [(12, "us"), (45, "metric"), (100, "us")])
def test_no_words_stand_on_others_however_many_lots_and_long_names_there_are(
    lots: int, units: str, nursery: Writes, tmp_path: Path
) -> None:
    name = "Wide Meadow Walnut Mill Warden of Wexham"
    assert len(name) == 40
    varieties = "number,name,crop\n" + "".join(f"{n},{name if n > 1 else name * 3},fig\n" for n in range(1, lots + 1))
    log = "".join(
        f"2025-12-{1 + n % 28:02} received {n}a --count 100 --stage rooting --bin {'AB'[n % 2]}\n"
        for n in range(1, lots + 1)
    )
    folder = nursery(log, units=units, varieties=varieties, bags=100_000, week=AWAY)
    svg, paper = tmp_path / "season.svg", tmp_path / "season.pdf"

    picture = drawn(folder, svg, day="2026-01-20")
    stickdate("--nursery", folder, "--as-of", "2026-01-20", "chart", paper)

    assert picture.crossing() == []
    pages = PdfReader(paper).pages
    told = "".join(page.extract_text() for page in pages)
    assert len(pages) <= lots / 10 + 1
    assert [off_paper(page) for page in pages] == [[]] * len(pages)
    assert all(f"{n}a" in told for n in range(1, lots + 1))
    assert sorted(map(float, pages[0].mediabox[2:])) == pytest.approx(
        [612, 792] if units == "us" else [595, 842], abs=1
    )


def test_the_picture_says_what_it_shows_and_every_word_can_be_read(picture: Picture) -> None:
    assert picture.told("title") == "Teasel Yard (invented): the season on 24 Feb 2026"
    assert picture.told("desc").startswith("4 lots from 20 Dec 2025 to ")
    for each in picture.texts:
        assert contrast(each.attributes["fill"], "#eeefe9") >= 4.5, each.words  # the darkest ground words stand on
        assert float(each.attributes["font-size"]) >= 2.0  # mm: some 6 points, as on a seed packet


def test_stages_differ_in_line_and_height_and_not_by_colour(picture: Picture) -> None:
    looks = set()
    for kind in ("store logged", "rooting logged", "pot logged", "pot forecast", "outside forecast"):
        each = picture.of(kind)[0]
        looks.add(tuple(each.attributes.get(name) for name in ("stroke-width", "stroke-dasharray", "fill")))
    greys = {colour for each in picture.shapes for colour in (each.attributes.get("stroke"), each.attributes["fill"])}

    assert len(looks) >= 4
    for colour in greys - {None, "none"}:
        parts = [int(colour[n : n + 2], 16) for n in (1, 3, 5)]  # type: ignore[index]  # None was taken out
        assert max(parts) - min(parts) <= 14, colour


def test_the_pdf_has_its_font_in_it_and_its_words_are_found(nursery: Writes, tmp_path: Path) -> None:
    paper = tmp_path / "season.pdf"
    folder = nursery(LOG)

    stickdate("--nursery", folder, "--as-of", DAY, "chart", paper)

    reader = PdfReader(paper)
    fonts = [font.get_object() for font in reader.pages[0]["/Resources"]["/Font"].values()]  # type: ignore[index]
    below = [font["/DescendantFonts"][0].get_object() for font in fonts]
    assert all("/FontFile2" in each["/FontDescriptor"].get_object() for each in below)
    told = reader.pages[0].extract_text()
    assert "Teasel Yard (invented)" in told
    assert "today, 24 Feb" in told
    assert paper.stat().st_size < 60_000
    again = tmp_path / "again.pdf"
    stickdate("--nursery", folder, "--as-of", DAY, "chart", again)
    assert again.read_bytes() == paper.read_bytes()


def test_a_png_is_grey_and_large_enough_to_read(nursery: Writes, tmp_path: Path) -> None:
    picture = tmp_path / "season.png"

    stickdate("--nursery", nursery(LOG), "--as-of", DAY, "chart", picture)

    with Image.open(io.BytesIO(picture.read_bytes())) as shown:
        assert shown.width >= 1600
        assert {channel for channel, _ in zip("RGB", shown.convert("RGB").getextrema(), strict=True)} == set("RGB")
        red, green, blue = shown.convert("RGB").split()
        assert red.tobytes() == green.tobytes() == blue.tobytes()


def test_in_the_terminal_it_fits_eighty_columns_of_plain_letters(nursery: Writes) -> None:
    told = stickdate("--nursery", nursery(LOG, week=AWAY), "--as-of", DAY, "chart").stdout

    assert told.isascii()
    assert max(map(len, told.splitlines())) <= 80
    of_1b = next(line for line in told.splitlines() if line.startswith("1b"))
    assert "L" in of_1b.split("|")[0]
    assert "R" in of_1b.split("|")[0]
    assert "=" in of_1b.split("|")[0]
    assert "o" in of_1b.split("|")[1]


def test_only_the_lots_and_days_that_are_asked_for_are_shown(nursery: Writes, tmp_path: Path) -> None:
    folder = nursery(LOG + "2026-02-22 died 1c --count 6\n")

    told = json.loads(stickdate("--nursery", folder, "--as-of", DAY, "--json", "chart", "--lot", "1C").stdout)
    picture = drawn(folder, tmp_path / "season.svg", "--from", "2026-01-01", "--to", "2026-05-01")

    assert [lot["lot"] for place in told["places"] for lot in place["lots"]] == ["1c"]
    assert told["places"][0]["lots"][0]["stretches"] == [
        {"stage": "rooting", "from": "2026-02-02", "to": "2026-02-22", "logged": True}
    ]
    assert "Lots from 1 Jan to 1 May, as of Tue 24 Feb 2026" in [each.words for each in picture.texts]
    assert {"Closed", "1c"} <= {each.words for each in picture.texts}  # it was still there in January


@pytest.mark.parametrize(
    ("words", "told", "code"),
    [
        (("season.gif",), "season.gif does not end in .svg or .pdf or .png; name a file that does", 1),
        (("no-such-folder/season.pdf",), "no-such-folder is not there; make it, or see whether its drive is", 1),
        (("--lot", "9z"), "there is no lot '9z'", 1),
        (("--from", "1 May"), "--from", 2),
        (("--from", "2026-05-01", "--to", "2026-04-01"), "--from 2026-05-01 is not before --to 2026-04-01", 2),
    ],
)
def test_what_cannot_be_drawn_is_told_in_a_line(words: tuple[str, ...], told: str, code: int, nursery: Writes) -> None:
    assert told in stickdate("--nursery", nursery(LOG), "chart", *words, code=code).stderr


def test_a_nursery_without_lots_has_a_chart_that_says_so(nursery: Writes, tmp_path: Path) -> None:
    folder = nursery()

    assert "No lots to show yet." in stickdate("--nursery", folder, "--as-of", DAY, "chart").stdout
    assert "No lots to show yet." in [each.words for each in drawn(folder, tmp_path / "season.svg").texts]


@pytest.mark.start
def test_an_svg_needs_no_library_and_for_a_pdf_one_line_says_what_to_install(nursery: Writes, tmp_path: Path) -> None:
    program = (
        "import sys; sys.modules['fpdf'] = sys.modules['font_roboto'] = None; from almanac.cli.main import main; main()"
    )
    arguments = ("--nursery", nursery(LOG), "--as-of", DAY, "chart")

    of_svg = in_python(program, *arguments, tmp_path / "season.svg")
    of_pdf = in_python(program, *arguments, tmp_path / "season.pdf")

    assert of_svg.status == 0
    assert of_pdf.status == 1
    assert of_pdf.stderr == (
        "stickdate: this needs the extra for pictures and paper; get it with: "
        "python -m pip install 'stickdate[pictures]'\n"
    )
    assert not (tmp_path / "season.pdf").exists()
