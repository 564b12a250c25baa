"""A grower names a town, looks at the site, prints it: `stickdate new`, `site` and its picture, as run by hand."""

from __future__ import annotations

import json
import xml.etree.ElementTree as ET
from datetime import date, timedelta
from pathlib import Path

import pytest

from tests.command import in_python, stickdate
from tests.conftest import Writes

FROST = ("--last-frost", "90%=04-13,50%=04-28,10%=05-12", "--first-frost", "10%=09-22,50%=10-04,90%=10-17")


def test_a_town_is_all_that_a_new_nursery_needs_to_know_where_it_is(tmp_path: Path) -> None:
    folder = tmp_path / "bramble-yard"

    stickdate("new", folder, "--town", "Ames, Iowa", *FROST)

    written = (folder / "nursery.toml").read_text(encoding="utf-8")
    for line in ("latitude = 42.035", "longitude = -93.62", 'timezone = "America/Chicago"', 'region = "IA"'):
        assert line in written
    place = json.loads(stickdate("--nursery", folder, "--json", "site").stdout)["place"]
    assert (place["town"], place["country"], place["timezone"]) == ("Ames, Iowa", "US", "America/Chicago")


@pytest.mark.parametrize(
    ("town", "told"),
    [("Amse, Iowa", 'did you mean "Ames, Iowa, United States"?'), ("Paris", 'or "Paris, Texas, United States"')],
)
def test_a_town_that_is_not_known_makes_no_nursery(tmp_path: Path, town: str, told: str) -> None:
    refused = stickdate("new", tmp_path / "yard", "--town", town, *FROST, code=1)

    assert told in refused.stderr
    assert refused.stderr.count("\n") == 1
    assert not (tmp_path / "yard").exists()


def test_a_town_without_position_in_nursery_toml_will_do(nursery: Writes) -> None:
    folder = nursery()
    file = folder / "nursery.toml"
    text = file.read_text(encoding="utf-8")
    start, end = text.index("[site]"), text.index("[frost")
    file.write_text(f'{text[:start]}[site]\ntown = "Ames, Iowa"\n\n{text[end:]}', encoding="utf-8")

    found = json.loads(stickdate("--nursery", folder, "--as-of", "2026-02-24", "--json", "site").stdout)

    assert found["place"]["latitude"] == pytest.approx(42.03, abs=0.02)
    assert found["place"]["region"] == "IA"
    assert any(holiday["name"] == "Memorial Day" for holiday in found["holidays"])


@pytest.mark.start
def test_a_nursery_that_writes_its_position_reads_no_table_of_towns(nursery: Writes) -> None:
    program = """
import sys
from datetime import UTC, datetime
from pathlib import Path
from almanac.nursery.load import load_nursery
load_nursery(Path(sys.argv[1]), datetime(2026, 2, 24, 12, tzinfo=UTC))
tables = ("almanac.site.towns", "almanac.site.stations", "fpdf", "holidays")
print([name for name in sys.modules if name in tables])
"""

    read = in_python(program, nursery())

    assert (read.status, read.stdout) == (0, "[]\n")


def test_a_town_that_is_not_known_in_nursery_toml_gets_one_line(nursery: Writes) -> None:
    folder = nursery()
    file = folder / "nursery.toml"
    text = file.read_text(encoding="utf-8")
    start, end = text.index("[site]"), text.index("[frost")
    file.write_text(f'{text[:start]}[site]\ntown = "Amse, Iowa"\n\n{text[end:]}', encoding="utf-8")

    refused = stickdate("--nursery", folder, "site", code=1)

    assert refused.stderr.startswith(
        'nursery.toml:5: site: town "Amse, Iowa" is not among those of over 15,000 people;'
    )
    assert refused.stderr.count("\n") == 1


@pytest.mark.parametrize(
    ("radiation", "told"),
    [
        ('["2 kWh", "3 kWh"]', "site, radiation: has 2 values; write the mean of each month, January first"),
        (f"[{'20, ' * 12}'MJ m-2 d-1']", "radiation of month 1 is 20.0 MJ, where a clear sky gives"),
        (f"[{'2, ' * 12}'W m-2']", "'W' is no unit of radiation"),
        (f"[{'2, ' * 12}]", "has no unit"),
    ],
)
def test_monthly_radiation_that_cannot_be_right_gets_one_line(nursery: Writes, radiation: str, told: str) -> None:
    folder = nursery(site=f"radiation = {radiation}")

    assert told in stickdate("--nursery", folder, "site", code=1).stderr


def test_with_monthly_radiation_the_screen_shows_usual_light_and_says_so(nursery: Writes) -> None:
    means = '[8.2, 11.3, 15.2, 18.9, 20.9, 22.4, 21.8, 19.7, 16.3, 12.9, 9.1, 7.5, "MJ m-2 d-1"]'
    clear = stickdate("--nursery", nursery(), "site").stdout
    folder = nursery(site=f"radiation = {means}")

    usual = stickdate("--nursery", folder, "site").stdout

    assert "clear sky" in clear
    assert "usual day, from your monthly means" in usual
    found = json.loads(stickdate("--nursery", folder, "--json", "site").stdout)
    assert found["light"] == "usual"
    assert all(day["dli_usual_mol"] < day["dli_clear_mol"] for day in found["days"])


def test_the_chance_accepted_on_the_command_line_goes_before_that_in_the_file(nursery: Writes) -> None:
    folder = nursery()

    dates = [
        json.loads(stickdate("--nursery", folder, "--as-of", "2026-02-24", "--json", "site", *more).stdout)["frost"]
        for more in ((), ("--accept", "0.05"))
    ]

    assert [(each["accept"], each["safe_from"]) for each in dates] == [(0.1, "2026-04-30"), (0.05, "2026-05-04")]
    assert stickdate("--nursery", folder, "site", "--accept", "1.5", code=2).stderr


def test_twelve_monthly_lows_make_the_frost_table_and_a_known_date_mends_it(nursery: Writes) -> None:
    lows = 'lows = ["26 F", "28 F", "35 F", "43 F", "52 F", "60 F", "64 F", "63 F", "56 F", "44 F", "36 F", "29 F"]'
    found = []
    for more in (
        "",
        'daily_sd = ["10 F", "9 F", "9 F", "8 F", "7 F", "6 F", "5 F", "5 F", "7 F", "8 F", "9 F", "9 F"]',
        'known = { last_spring = { "50%" = "04-17" } }',
    ):
        folder = nursery(frost=f"[frost.monthly]\n{lows}\n{more}")
        found.append(json.loads(stickdate("--nursery", folder, "--as-of", "2027-02-24", "--json", "site").stdout))

    plain, own, known = (each["frost"] for each in found)

    assert all(each["estimate"] for each in (plain, own, known))
    assert "usual spread" in plain["notes"][0]
    assert "own spread" in own["notes"][0]
    assert known["last_spring"]["50"] == "2027-04-17"
    assert plain["first_autumn"]["50"] != known["first_autumn"]["50"]
    assert plain["season_days"] is None
    assert "(an estimate)" in stickdate("--nursery", folder, "site").stdout


def test_a_record_tells_how_long_the_season_is(nursery: Writes) -> None:
    folder = nursery(frost='[frost]\nrecord = { file = "station.csv", unit = "C" }')
    days = [date(2000, 1, 1) + timedelta(days=number) for number in range(8 * 365)]
    lows = [f"{day},{-2 if (day.month, day.day) < (4, 20) or (day.month, day.day) > (10, 10) else 6}" for day in days]
    (folder / "station.csv").write_text("\n".join(["date,low", *lows]) + "\n", encoding="utf-8")

    shown = stickdate("--nursery", folder, "--as-of", "2027-02-24", "site").stdout

    # 20 April to 10 October.
    assert "Days without frost: 174 or more in nine years of ten" in shown
    found = json.loads(stickdate("--nursery", folder, "--json", "site").stdout)["frost"]
    assert found["season_days"] == {"10": 174, "50": 174, "90": 174}


def test_every_day_of_a_leap_year_is_listed_when_asked_for(nursery: Writes) -> None:
    found = json.loads(
        stickdate("--nursery", nursery(), "--as-of", "2028-02-24", "--json", "site", "--every", "day").stdout
    )

    assert len(found["days"]) == 366
    assert found["days"][59]["date"] == "2028-02-29"


def test_the_picture_is_a_png_or_an_svg_whose_words_can_be_read(nursery: Writes, tmp_path: Path) -> None:
    folder, png, svg = nursery(), tmp_path / "site.png", tmp_path / "site.svg"
    arguments = ("--nursery", folder, "--as-of", "2026-02-24", "site", "--picture")

    said = stickdate(*arguments, png).stdout
    stickdate(*arguments, svg)

    assert said.endswith(f"Drew {png}.\n")
    assert png.read_bytes().startswith(b"\x89PNG\r\n")
    words = " ".join(ET.parse(svg).getroot().itertext())
    for told in ("still to come", "has come", "30 Apr to 5 Oct", "with civil twilight", "clear sky", "today, 24 Feb"):
        assert told in words


def test_the_same_site_draws_the_same_picture(nursery: Writes, tmp_path: Path) -> None:
    folder, one, other = nursery(), tmp_path / "one.svg", tmp_path / "other.svg"

    for file in (one, other):
        stickdate("--nursery", folder, "--as-of", "2026-02-24", "site", "--picture", file)

    assert one.read_bytes() == other.read_bytes()


def test_a_picture_of_another_kind_is_refused(nursery: Writes, tmp_path: Path) -> None:
    refused = stickdate("--nursery", nursery(), "site", "--picture", tmp_path / "site.gif", code=1)

    assert "does not end in .svg or .pdf or .png; name a file that does, such as site.png" in refused.stderr


@pytest.mark.start
def test_without_the_extra_one_line_says_how_to_get_it(nursery: Writes, tmp_path: Path) -> None:
    program = (
        "import sys; sys.modules['fpdf'] = sys.modules['font_roboto'] = None; from almanac.cli.main import main; main()"
    )
    picture = tmp_path / "site.png"

    done = in_python(program, "--nursery", nursery(), "site", "--picture", picture)

    assert done.status == 1
    assert done.stderr == (
        "stickdate: this needs the extra for pictures and paper; get it with: "
        "python -m pip install 'stickdate[pictures]'\n"
    )
    assert not picture.exists()


@pytest.mark.parametrize(
    ("last", "told"),
    [
        ("17 Apr", 'answers: frost, dates, last_spring: "17 Apr" is not a day of the year'),
        ("50%=04-17,50%=04-18", "stickdate: '50%=04-17,50%=04-18' has two dates for 50%"),
    ],
)
def test_a_frost_date_in_words_or_twice_is_told_and_nothing_is_made(last: str, told: str, tmp_path: Path) -> None:
    words = ("--town", "Ames", "--elevation", "300 m", "--last-frost", last, "--first-frost", "10-18")

    ran = stickdate("new", tmp_path / "new", *words, code=1)

    assert ran.stderr.startswith(told)
    assert not (tmp_path / "new").exists()
