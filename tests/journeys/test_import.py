"""Rows typed elsewhere come in as a whole or not at all; a logbook that a spreadsheet saved over is mended."""

from __future__ import annotations

import json
import os
import re
from pathlib import Path

import pytest

from tests.command import run
from tests.conftest import Writes
from tests.faults.bench import kept
from tests.terminal import Terminal

LOG = """
2026-01-05 received 7a --count 12 --stage rooting --bin A
2026-01-13 looked 7a
"""
TYPED = """\
Date;What;Lot;Count;Note;Weather
3.2.2026;leaves;7a;4;gr\xfcn;rain
24.2.2026;roots;7A;3,0;;sun
"""


@pytest.fixture
def yard(nursery: Writes) -> Path:
    return nursery(LOG)


def told(yard: Path, *words: object) -> str:
    ran = run("--nursery", yard, *words, noon_of="2026-03-20")
    assert ran.status == 0, ran.stderr
    return ran.stdout


def typed(yard: Path, text: str, encoding: str = "cp1252") -> Path:
    file = yard.parent / "typed.csv"
    file.write_bytes(text.encode(encoding))
    return file


def test_rows_of_a_spreadsheet_are_shown_and_written_on_yes_alone(yard: Path) -> None:
    before = kept(yard)

    shown = told(yard, "import", typed(yard, TYPED))

    assert "columns parted by semicolons, Windows-1252, dates day first (line 3 tells)" in " ".join(shown.split())
    assert "Left out: weather" in shown
    assert "2 rows to be written to logbook.csv." in shown
    assert shown.endswith("Nothing was written; add --yes to write them.\n")
    assert kept(yard) == before
    told(yard, "import", typed(yard, TYPED), "--yes")
    rows = (yard / "logbook.csv").read_text("utf-8").splitlines()
    assert [row.split(",")[1:4] for row in rows[-2:]] == [["2026-02-03", "leaves", "7a"], ["2026-02-24", "roots", "7a"]]
    assert "gr\xfcn" in rows[-2]
    assert (yard / "logbook.backup.csv").read_text("utf-8").splitlines()[-2:] == rows[-2:]
    assert told(yard, "check").endswith("Nothing is wrong.\n") or "note" in told(yard, "check")


def test_the_same_file_a_second_time_adds_nothing(yard: Path) -> None:
    told(yard, "import", typed(yard, TYPED), "--yes")
    before = kept(yard)

    again = told(yard, "import", typed(yard, TYPED), "--yes")

    assert "0 rows to be written to logbook.csv; 2 rows are there already." in again
    assert kept(yard) == before


@pytest.mark.parametrize(
    ("text", "lines"),
    [
        (
            "date,what,lot,count\n2026-02-24,lefs,7a,\n2026-02-25,potted,9z,2\n",
            ["typed.csv:2: 'lefs' is not an event; did you mean 'leaves'?"],
        ),
        (
            "date,what,lot,count\n2026-02-25,potted,9z,2\n2026-02-26,potted,7a,50\n",
            ["typed.csv:2: there is no lot '9z'; expected 7a", "typed.csv:3: 7a has 12 rooting; 50 cannot be potted"],
        ),
        ("date,what,lot\n24/2/2026,looked,7a\n2/25/2026,looked,7a\n",
         ["typed.csv: dates on lines 2 and 3 are written in two orders of day and month; write all in one"]),
        ("date,what,lot\n1/2/2026,looked,7a\n",
         ["stickdate: typed.csv:2: '1/2/2026' may be written day first or month first; say which: --dates day-first, "
          "or --dates month-first"]),
        ("date,what,lot\n2026-04-01,looked,7a\n",
         ["typed.csv:2: '2026-04-01' is after today, 2026-03-20; only what has happened is logged"]),
        ("number,name,crop\n20,Sky,hydrangea\n7,Twice,fig\n",
         ["typed.csv:2: 'hydrangea' is not a crop with a rule file: it is rooted from cuttings in leaf, not from "
          "dormant wood; what you know of it may stand in rules/crops of your nursery",
          "typed.csv:3: number 7 is already 'Late one'; give this one another"]),
        ("variety,form,count,date\n7,dormant,many,2026-02-24\n",
         ["typed.csv:2: count 'many' is not a whole number; write digits alone"]),
        ("a,b\n1,2\n",
         ["typed.csv:1: is no table of logbook or varieties or orders; its first line must name columns, such as: "
          "date,what,lot,count"]),
    ],
)  # fmt: skip
def test_what_cannot_be_is_told_with_its_lines_and_nothing_is_written(text: str, lines: list[str], yard: Path) -> None:
    before = kept(yard)

    ran = run("--nursery", yard, "import", typed(yard, text), "--yes", noon_of="2026-03-20")

    assert (ran.lines, ran.status, ran.stdout) == (lines, 1, "")
    assert kept(yard) == before


def test_varieties_and_orders_come_in_the_same_way(yard: Path) -> None:
    told(yard, "import", typed(yard, "number\tname\tcrop\tprice_cutting\n21\tNew one\tfig\t4,50\n"), "--yes")
    order = typed(yard, "date;variety;form;count;ship_by\n24/2/2026;21;dormant;5;1/3/2026\n")
    told(yard, "import", order, "--yes")

    orders = json.loads(told(yard, "--json", "order"))["orders"]
    assert [(each["number"], each["count"], each["ship_by"]) for each in orders] == [("21", 5, "2026-03-01")]
    assert "21,New one,fig" in (yard / "varieties.csv").read_text("utf-8")


def test_a_logbook_that_a_spreadsheet_saved_over_is_written_as_it_should_be(yard: Path) -> None:
    log = yard / "logbook.csv"
    told(yard, "log", "leaves", "7a", "--count", "3", "--on", "2026-02-01")
    good = log.read_text("utf-8")
    spoilt = (
        good.replace("2026-02-01,", "1/2/2026,")
        .replace("2026-01-05,", "5/1/2026,")
        .replace("2026-01-13,", "13/1/2026,")
    )
    stamps = re.findall(r",([^,\n]*)$", good, re.MULTILINE)
    for stamp in filter(None, stamps[1:]):
        spoilt = spoilt.replace(f",{stamp}\n", ",2/1/2026 18:00\n")  # a moment goes the way of the dates
    log.write_bytes("\ufeff".encode() + spoilt.replace(",", ";").encode())
    assert run("--nursery", yard, "today", noon_of="2026-03-20").status == 1

    said = told(yard, "import", log, "--yes")

    assert log.read_text("utf-8") == good
    assert "kept in replaced/" in said
    told(yard, "today")


@pytest.mark.start
@pytest.mark.skipif(not hasattr(os, "openpty"), reason="needs a pseudo-terminal")
def test_in_a_terminal_the_order_of_dates_is_asked_and_then_whether_to_write(yard: Path) -> None:
    file = typed(yard, "date,what,lot\n1/2/2026,looked,7a\n")
    with Terminal("--nursery", yard, "import", file, cwd=yard.parent) as asked:
        asked.answer("Is 1/2/2026 on line 2 written day first or month first?", "day-first")
        asked.answer("Write them?", "y")
        assert asked.ends() == 0
    assert "2026-02-01,looked,7a" in (yard / "logbook.csv").read_text("utf-8")
