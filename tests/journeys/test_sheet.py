"""A grower takes the round along on paper, or leaves pages for a helper: `stickdate sheet`, the PDF read back."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from pypdf import PdfReader

from tests.command import stickdate
from tests.conftest import Writes
from tests.drawn import off_paper, on_paper, pieces

LOG = """
2026-01-05 received 1a --count 12 --stage rooting --bin A
2026-01-05 received 10a --count 8 --stage rooting --bin A
2026-01-05 received 2a --count 6 --stage rooting --bin B
2026-01-12 received 7a --count 4 --stage pot --value trade
2026-01-09 looked 1a 10a 2a
"""
DAY = "2026-01-16"
AWAY = 'bench_days = ["tue", "fri", "sun"]\naway = [{ from = 2026-01-20, to = 2026-01-28 }]'
VARIETIES = "number,name,crop\n1,Plain one,fig\n2,Second one,fig\n7,Late one,fig\n10,Tenth one,fig\n"


def words_of(paper: Path) -> str:
    return "\n".join(pieces(paper.read_bytes()))


def made(folder: Path, paper: Path, *words: object, day: str = DAY) -> str:
    stickdate("--nursery", folder, "--as-of", day, "sheet", paper, *words)
    return words_of(paper)


def test_the_sheet_has_bins_and_lots_in_walking_order_with_count_and_what_to_log(
    nursery: Writes, tmp_path: Path
) -> None:
    folder = nursery(LOG, varieties=VARIETIES)
    today = json.loads(stickdate("--nursery", folder, "--as-of", DAY, "--json", "today").stdout)["rounds"][0]

    told = made(folder, tmp_path / "bench.pdf")

    lots = re.findall(r"^(\d+[a-z])$", told, re.MULTILINE)
    assert lots == ["1a", "10a", "2a", "7a"]  # bin A by number, bin B, then what stands in no bin
    assert set(lots) == set(today["lots"])
    for count in ("of 12", "of 8", "of 6", "of 4"):
        assert count in told
    assert "Fri 16 Jan 2026" in told
    assert f"about {today['minutes']} min" in told
    assert "log: looked" in told
    for title in {each["title"] for each in today["looks"]}:
        assert title.replace("\n", " ").rstrip(".") in told.replace("\n", " ")


def test_the_jobs_of_a_day_stand_on_its_sheet_and_cautions_once(nursery: Writes, tmp_path: Path) -> None:
    folder = nursery(LOG + "2026-01-14 gnats --bin A --count 8\n", varieties=VARIETIES)
    asked = stickdate("--nursery", folder, "--as-of", DAY, "--json", "today", "--days", "30")
    each = next(found for found in json.loads(asked.stdout)["rounds"] if found["jobs"])

    told = made(folder, tmp_path / "bench.pdf", "--day", each["date"])

    for job in each["jobs"]:
        assert job["title"].partition(":")[0].rstrip(".") in told.replace("\n", " ")
    assert " by " in told
    assert told.count("The product label, local rules and licensed advice come first.") == 1


def test_days_asks_for_every_round_of_the_week_a_page_each(nursery: Writes, tmp_path: Path) -> None:
    folder = nursery(LOG, varieties=VARIETIES)
    ahead = json.loads(stickdate("--nursery", folder, "--as-of", DAY, "--json", "today", "--days", "7").stdout)

    told = made(folder, tmp_path / "week.pdf", "--days", 7)
    other = made(folder, tmp_path / "day.pdf", "--day", ahead["rounds"][1]["date"])

    assert len(ahead["rounds"]) > 1
    found = re.findall(r"^\w{3} (\d+) Jan 2026$", told, re.MULTILINE)
    assert found == [each["date"][-2:].lstrip("0") for each in ahead["rounds"]]
    assert ahead["rounds"][1]["date"][-2:].lstrip("0") + " Jan 2026" in other


def test_a_helper_gets_the_days_away_alone_and_is_told_from_the_beginning(nursery: Writes, tmp_path: Path) -> None:
    folder = nursery(LOG, varieties=VARIETIES, week=AWAY)
    ahead = json.loads(stickdate("--nursery", folder, "--as-of", DAY, "--json", "today", "--days", "30").stdout)
    visits = [each["date"] for each in ahead["rounds"] if each["away"]]

    told = made(folder, tmp_path / "helper.pdf", "--away")

    assert visits
    days = re.findall(r"^\w{3} (\d+) Jan 2026$", told, re.MULTILINE)
    assert days == [each[-2:].lstrip("0") for each in visits]
    for part in ("How good looks", "Leave alone", "Telephone if you see", "as it should be", "Take care"):
        assert part in told
    assert "Spores from a mouldy bag can set off asthma" in told.replace("\n", " ")  # whole, not in short
    assert "beads of water" in told


def test_the_warning_of_a_day_away_names_the_command_that_makes_those_pages(nursery: Writes) -> None:
    folder = nursery(LOG, varieties=VARIETIES, week=AWAY)

    told = stickdate("--nursery", folder, "--as-of", DAY, "today", "--days", "14").stdout

    assert "stickdate sheet --away helper.pdf" in " ".join(told.split())


def test_who_is_never_away_is_told_where_to_write_it(nursery: Writes, tmp_path: Path) -> None:
    refused = stickdate("--nursery", nursery(), "sheet", tmp_path / "x.pdf", "--away", code=1)

    assert "no days away are to come; write them under [week] in nursery.toml" in refused.stderr


@pytest.mark.parametrize(("lots", "units"), [(12, "us"), (45, "metric"), (100, "us")])
def test_nothing_on_paper_stands_on_something_else(lots: int, units: str, nursery: Writes, tmp_path: Path) -> None:
    name = "Wide Meadow Walnut Mill Warden of Wexham"
    varieties = "number,name,crop\n" + "".join(f"{n},{name},fig\n" for n in range(1, lots + 1))
    rows = (
        f"2025-12-27 received {n}a --count {1200 // lots} --stage {'rooting --bin A' if n % 3 else 'pot'}\n"
        for n in range(1, lots + 1)
    )
    log = "".join(sorted(rows)) + "2025-12-30 gnats --bin A --count 20\n"
    week = AWAY.replace("2026-01-20", "2026-01-03").replace("2026-01-28", "2026-01-07") + '\nlongest = "24 h"'
    folder = nursery(log, units=units, varieties=varieties, bags=100_000, week=week)
    sheet, helper = tmp_path / "bench.pdf", tmp_path / "helper.pdf"

    told = made(folder, sheet, day="2025-12-31")
    made(folder, helper, "--away", day="2025-12-31")

    for paper in (sheet, helper):
        for number, page in enumerate(PdfReader(paper).pages, 1):
            assert off_paper(page) == [], (paper.name, number)
            foot = [box for words, box in on_paper(page) if words.startswith("page ")]
            low = [words for words, box in on_paper(page) if box[3] > foot[0][1]]
            assert [words for words in low if not words.startswith(("page ", "Teasel"))] == []
    found = set(re.findall(r"^(\d+a)$", told, re.MULTILINE))
    assert {f"{n}a" for n in range(1, lots + 1) if n % 3} <= found


@pytest.mark.parametrize(
    ("words", "told", "code"),
    [
        (("bench.docx",), "bench.docx does not end in .pdf; name a file that does, such as bench.pdf", 1),
        (("bench.pdf", "--day", "2020-01-01"), "2020-01-01 is over; ask for", 1),
        (("bench.pdf", "--day", "2026-02-01", "--away"), "name one of them", 2),
    ],
)
def test_a_sheet_that_cannot_be_is_told_in_a_line(
    words: tuple[str, ...], told: str, code: int, nursery: Writes
) -> None:
    folder = nursery(LOG, varieties=VARIETIES)

    assert told in stickdate("--nursery", folder, "--as-of", DAY, "sheet", *words, code=code).stderr
