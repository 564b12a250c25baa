"""A tray is called a tray and a bed a bed, wherever a season speaks of them: on screens, in letters, in refusals."""

from __future__ import annotations

import json
import re
from datetime import UTC, datetime
from html import unescape
from pathlib import Path

import pytest

from almanac.web.app import create_app
from almanac.web.keys import load_keys
from tests.command import run
from tests.drawn import pieces
from tests.nurseries import VARIETIES, Parts, write_nursery

PLACES = Parts(
    store="""temperature = "2 C"
[[place]]
name = "T"
kind = "tray"
holds = 24
mat = "16 C"
air = "14 C"
[[place]]
name = "U"
kind = "tray"
holds = 6
mat = "16 C"
air = "14 C"
[[place]]
name = "ditch"
kind = "bed"
holds = 30""",
    week='bench_days = ["sun"]\naway = [ { from = 2027-01-28, to = 2027-02-09 } ]',
    gnats='way = "nematodes"',
    hardening='nights = "fleece"',
    orders=("o1,2027-01-10,4,rooted,6,,2027-06-01,US,,,",),
    varieties=f"{VARIETIES}4,Invented red,red_currant,,\n",
)
SEASON = """2026-11-10 taken 4a --variety 4 --count 60
2026-11-12 stuck 4a --count 20 --bin ditch --refers 4b
2027-01-05 taken 7a --variety 7 --count 9
2027-01-06 stuck 7a --bin A
2027-01-08 stuck 4a --count 20 --bin T --refers 4c
2027-01-08 planned 4 --count 10 --value 2027-02-14 --bin T
2027-01-09 planned 4 --count 15 --value 2027-02-16 --bin ditch
2027-01-10 looked --bin T
2027-01-10 looked --bin A
2027-01-17 looked --bin T
2027-01-26 roots 4c --count 9
2027-01-26 gnats --bin T --count 30
2027-01-26 gnats --bin A --count 30
2027-01-27 mould --bin T
2027-01-30 leaves 4c --count 9
2027-02-20 treated --bin T --value nematodes
2027-02-21 mat --bin T --value "18 C"
2027-02-21 lamp --bin T --value "12 h"
2027-04-01 potted 4c --count 10
2027-04-20 gnats --bin ditch
2027-05-01 leaves 4b --count 9
"""
DAYS = ("2027-01-09", "2027-01-20", "2027-01-27", "2027-02-12", "2027-02-20", "2027-05-03")
LATER = "2027-05-04"
ASKED: tuple[tuple[str, ...], ...] = (
    ("today", "--days", "30"),
    ("calendar",),
    ("why", "4c"),
)
ONCE: tuple[tuple[str, ...], ...] = (
    ("lots",),
    ("check",),
    ("space",),
    ("site",),
    ("season",),
    ("season", "--method", "covered_tray"),
    ("season", "--method", "open_ground"),
    ("wood",),
    ("forsale",),
    ("order",),
    ("buy",),
    ("strike",),
    ("stick-by", "2027-08-01", "--plants", "30", "--crop", "red_currant", "--method", "covered_tray"),
    ("stick-by", "2028-02-01", "--plants", "300", "--crop", "red_currant", "--method", "open_ground"),
)
# What cannot be logged: more than there is room for, where none stands, warmth that none roots at.
REFUSED: tuple[tuple[str, ...], ...] = (
    ("stuck", "4a", "--count", "18", "--bin", "T"),
    ("stuck", "4a", "--count", "18", "--bin", "ditch"),
    ("stuck", "4a", "--count", "19", "--method", "covered_tray"),
    ("stuck", "4a", "--count", "19", "--method", "open_ground"),
    ("roots", "--bin", "U"),
    ("looked", "--bin", "T", "--except", "9z"),
    ("looked", "--bin", "T", "--except", "4c"),
    ("moved", "7a", "--bin", "T"),
    ("stuck", "7a", "--bin", "ditch"),
)
LOGGED: tuple[tuple[str, ...], ...] = (
    ("looked", "--bin", "T"),
    ("mould", "--bin", "ditch"),
    ("mat", "T", "--value", "6 C"),
    ("stuck", "4a", "--count", "4", "--method", "covered_tray"),
    ("stuck", "4a", "--count", "3", "--method", "open_ground"),
    ("undo",),
)
# A tray or a bed that is called a bin; `--bin T` is the name of an option.
MISCALLED = re.compile(r"(?<!--)\bbins? (?:'?[\w-]+'?(?:,| and) )*'?(?:T|U|ditch)\b", re.IGNORECASE)


def miscalled(text: str) -> set[str]:
    """What calls a tray or a bed a bin, with the words round it; folded lines are read as one."""
    joined = " ".join(re.sub(r"\r\n ", "", text).replace("\\n", " ").replace("\\,", ",").split())
    return {joined[max(found.start() - 40, 0) : found.end() + 20] for found in MISCALLED.finditer(joined)}


@pytest.fixture
def season(tmp_path: Path) -> Path:
    return write_nursery(tmp_path, SEASON, **PLACES)


def ids(folder: Path, day: str) -> list[str]:
    """What `why` can be asked of on a day, each rule once."""
    told = json.loads(run("--nursery", folder, "--as-of", day, "--json", "today", "--days", "30", noon_of=LATER).stdout)
    found: dict[str, str] = {}

    def gather(part: object) -> None:
        if isinstance(part, dict):
            if isinstance(name := part.get("id"), str):
                found.setdefault(re.sub(r"\d+", "", name), name)
            for each in part.values():
                gather(each)
        elif isinstance(part, list):
            for each in part:
                gather(each)

    gather(told)
    return list(found.values())


def test_a_tray_or_a_bed_is_never_called_a_bin_through_a_season(season: Path) -> None:
    wrong: set[str] = set()
    for day in DAYS:
        asked = [*ASKED, *(("why", name) for name in ids(season, day)), *(ONCE if day == DAYS[1] else ())]
        for words in asked:
            done = run("--nursery", season, "--as-of", day, *words, noon_of=LATER)
            wrong |= {f"{words[0]}: {said}" for said in miscalled(done.stdout + "\n" + done.stderr)}
        assert list((season / "calendar").glob("*.ics"))
        for feed in (season / "calendar").glob("*.ics"):
            wrong |= {f"{feed.name}: {said}" for said in miscalled(feed.read_bytes().decode())}

    assert not wrong, "\n".join(sorted(wrong))


def test_what_is_logged_and_what_is_refused_names_a_tray_and_a_bed_by_its_kind(tmp_path: Path) -> None:
    logged = "\n".join(row for row in SEASON.splitlines() if row[:10] <= DAYS[1])
    season = write_nursery(tmp_path, logged, **PLACES)
    wrong: set[str] = set()
    for words in (*REFUSED, *LOGGED):
        log = words if words[0] == "undo" else ("log", *words)
        done = run("--nursery", season, *log, noon_of=DAYS[1])
        if words in REFUSED:
            assert done.status, words
        else:
            assert not done.status, (words, done.stderr)
        wrong |= {f"{words[0]}: {said}" for said in miscalled(done.stdout + "\n" + done.stderr)}

    assert not wrong, "\n".join(sorted(wrong))


def test_the_bench_page_names_a_tray_and_a_bed_by_its_kind(season: Path) -> None:
    phone = create_app(season, lambda: datetime(2027, 5, 4, 17, tzinfo=UTC), ["localhost"]).test_client()
    phone.get(f"/k/{load_keys(season).write}")

    shown = [phone.get(page) for page in ("/", "/lots", "/lot/4b", "/week", "/log/stuck", "/log/mat", "/log/looked")]
    text = unescape(" ".join(page.get_data(as_text=True) for page in shown))
    said = " ".join(re.sub(r"<(script|style).*?</\1>|<[^>]+>", " ", text, flags=re.DOTALL).split())

    assert {page.status_code for page in shown} == {200}
    assert not miscalled(text) | miscalled(said)
    assert not re.search(r"Into bin|whole bin", said)
    assert "Tray T" in said
    assert "Bed ditch" in said


def test_warmth_at_odds_with_the_logbook_and_a_first_look_are_told_of_a_tray(tmp_path: Path) -> None:
    day = "2027-01-12"
    young = write_nursery(tmp_path, "2027-01-05 taken 4a --variety 4 --count 20", **PLACES)
    run("--nursery", young, "log", "stuck", "4a", "--count", "10", "--bin", "T", noon_of=day)
    run("--nursery", young, "calendar", noon_of=day)
    (young / "phone-keys.toml").touch()
    first = run("--nursery", young, "lots", noon_of=day).stdout
    settings = young / "nursery.toml"
    settings.write_text(settings.read_text("utf-8").replace('mat = "16 C"', 'mat = "48 C"', 1), "utf-8")
    checked = run("--nursery", young, "check", noon_of=day).stdout
    run("--nursery", young, "log", "mat", "T", "--value", "-1 C", noon_of=day)
    cold = run("--nursery", young, "log", "stuck", "4a", "--count", "9", "--method", "covered_tray", noon_of=day).stderr

    assert "been through tray T?" in first
    assert "nothing roots at the present warmth of tray T" in cold
    assert "tray 'T', mat" in checked
    assert "tray 'T': at" in checked
    assert not miscalled(" ".join((first, cold, checked)))


def test_sheets_name_a_tray_and_a_bed_by_its_kind(season: Path) -> None:
    bench, helper = season / "bench.pdf", season / "helper.pdf"
    for words in (("sheet", bench), ("sheet", "--away", helper)):
        assert run("--nursery", season, "--as-of", DAYS[2], *words, noon_of=LATER).status == 0
    told = " ".join(" ".join(pieces(paper.read_bytes())) for paper in (bench, helper))

    assert "Tray T" in told
    assert "Bed ditch" in told
    assert not miscalled(told)
