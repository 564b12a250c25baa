"""A grower labels bags and plants: `stickdate tags`, the PDF measured, its codes read by an independent reader."""

from __future__ import annotations

import csv
from pathlib import Path

import pypdfium2
import pytest
import zxingcpp
from pypdf import PdfReader

from tests.command import stickdate
from tests.conftest import Writes
from tests.drawn import off_paper, on_paper, pieces

LOG = """
2025-12-20 taken 1a --count 20
2026-01-05 stuck 1a --count 12 --bin A --refers 1b
2026-01-20 received 3a --count 4 --stage pot --value trade
2026-01-20 received 7a --count 6 --stage pot --value trade
"""
DAY = "2026-02-24"
PAGE = "http://shed.local:8765"
LICENSED = """number,name,crop,protected,licence
1,Plain one,fig,,
3,Guarded one,fig,yes,Elm Hill Licences (invented)
7,Late one,fig,yes,
"""


def made(folder: Path, file: Path, *words: object) -> None:
    stickdate("--nursery", folder, "--as-of", DAY, "tags", *words, file)


def codes(paper: Path) -> list[str]:
    """What a phone reads: each page shown at 300 dots an inch."""
    found = []
    document = pypdfium2.PdfDocument(paper)
    for page in document:
        shown = page.render(scale=300 / 72, grayscale=True).to_pil()
        found += [code.text for code in zxingcpp.read_barcodes(shown)]
    document.close()
    return found


def test_the_code_on_a_bag_opens_its_lot_and_holds_no_key(nursery: Writes, tmp_path: Path) -> None:
    folder, paper = nursery(LOG), tmp_path / "bags.pdf"

    made(folder, paper, "--page", PAGE)

    assert sorted(codes(paper)) == [f"{PAGE}/lot/{lot}" for lot in ("1a", "1b", "3a", "7a")]
    assert pieces(paper.read_bytes()) == [
        "1a", "20 Dec 2025 (8)", "1b", "5 Jan 2026 (12)", "3a", "20 Jan 2026 (4)", "7a", "20 Jan 2026 (6)",
    ]  # fmt: skip


@pytest.mark.parametrize("roll", [(62, 29), (57, 32), (50, 20)])
def test_a_roll_has_a_label_a_page_whose_code_can_be_read(
    roll: tuple[int, int], nursery: Writes, tmp_path: Path
) -> None:
    paper = tmp_path / "bags.pdf"

    made(nursery(LOG), paper, "1b", "--each", "--roll", *roll, "--page", "http://192.168.1.20:8765/")

    pages = PdfReader(paper).pages
    assert len(pages) == 12
    assert [round(float(side) * 25.4 / 72) for side in pages[0].mediabox[2:]] == list(roll)
    assert codes(paper) == ["http://192.168.1.20:8765/lot/1b"] * 12


def test_each_label_of_a_sheet_has_its_own_words_within_its_own_edges(nursery: Writes, tmp_path: Path) -> None:
    # As such sheets are sold: 3 by 7 labels of 63.5 by 38.1 mm on A4, the first 7.2 mm from the left, 15.1 from above.
    paper = tmp_path / "bags.pdf"

    made(nursery(LOG), paper, "1b", "--each", "--labels", "a4-64x38", "--skip", 2)

    words = [(x, y, x2, y2) for told, (x, y, x2, y2) in on_paper(PdfReader(paper).pages[0]) if told == "1b"]
    assert len(words) == 12
    for number, (x, y, x2, y2) in enumerate(words, 2):
        left, top = 7.2 + (number % 3) * 66.0, 15.1 + (number // 3) * 38.1
        assert left <= x < x2 <= left + 63.5
        assert top <= y < y2 <= top + 38.1


def test_a_buyer_learns_variety_and_hardiness_and_nothing_of_the_bench(nursery: Writes, tmp_path: Path) -> None:
    folder, paper = nursery(LOG, varieties=LICENSED), tmp_path / "buyers.pdf"

    done = stickdate("--nursery", folder, "--as-of", DAY, "tags", "--buyers", "--page", PAGE, paper)

    told = " ".join(pieces(paper.read_bytes()))
    assert "1 Plain one" in told
    assert "Fig" in told
    assert "Hardy at rest to about -4 °C when young, -9.5 °C when grown" in told  # rules/crops/fig.toml: 25 F and 15 F
    assert "Protected variety: may not be propagated. Labelled under licence: Elm Hill Licences (invented)" in told
    assert "Late one" not in told  # protected, and nobody's leave
    assert "no tags for 7: protected" in done.stderr
    assert not any(lot in told for lot in ("1a", "1b", "3a"))
    assert codes(paper) == []


def test_none_but_protected_ones_without_leave_are_refused(nursery: Writes, tmp_path: Path) -> None:
    folder = nursery(LOG, varieties=LICENSED)

    refused = stickdate("--nursery", folder, "tags", "7a", "--buyers", tmp_path / "x.pdf", code=1)

    assert "7 may not be passed on without leave" in refused.stderr
    assert not (tmp_path / "x.pdf").exists()


@pytest.mark.parametrize(
    "labels", ["letter-67x25", "letter-102x34", "letter-44x13", "a4-70x37", "a4-38x21", "roll-76x25"]
)
def test_the_longest_names_stay_on_their_labels(labels: str, nursery: Writes, tmp_path: Path) -> None:
    name = "Wide Meadow Walnut Mill Warden of Wexham"
    varieties = f"number,name,crop,protected,licence\n123456,{name},fig,yes,{name}\n"
    log = "2026-01-05 received 123456a --count 70 --stage pot --value trade\n"
    folder = nursery(log, varieties=varieties, bags=100)

    for words in (("--buyers",), ("--page", PAGE)):
        paper = tmp_path / "long.pdf"
        made(folder, paper, *words, "--each", "--labels", labels)
        pages = PdfReader(paper).pages
        assert [off_paper(page) for page in pages[:2]] == [[]] * len(pages[:2]), words


def test_a_letter_that_the_font_lacks_is_seen_to_be_missing(nursery: Writes, tmp_path: Path) -> None:
    folder = nursery(LOG, varieties="number,name,crop\n1,北 Ωmega Žár,fig\n3,x,fig\n7,y,fig\n")
    paper = tmp_path / "buyers.pdf"

    made(folder, paper, "1b", "--buyers")

    assert pieces(paper.read_bytes())[0] == "1 ? Ωmega Žár"


def test_the_test_page_has_a_rule_of_its_true_length(nursery: Writes, tmp_path: Path) -> None:
    paper = tmp_path / "test.pdf"

    made(nursery(LOG), paper, "--test", "--labels", "letter-67x25")

    assert "100 mm: measure it." in pieces(paper.read_bytes())
    dots_per_mm = 300 / 25.4
    page = pypdfium2.PdfDocument(paper)[0].render(scale=300 / 72, grayscale=True).to_pil()
    row = [page.getpixel((x, round((12.7 + 25.4 * 0.55) * dots_per_mm))) for x in range(page.width)]
    dark = [x for x, grey in enumerate(row) if isinstance(grey, int) and grey < 100]
    runs = max(_runs(dark), key=len)
    assert len(runs) / dots_per_mm == pytest.approx(100, abs=0.5)


def _runs(dots: list[int]) -> list[list[int]]:
    runs: list[list[int]] = [[]]
    for dot in dots:
        if runs[-1] and dot != runs[-1][-1] + 1:
            runs.append([])
        runs[-1].append(dot)
    return runs


def test_a_table_and_a_text_are_for_any_label_printer(nursery: Writes, tmp_path: Path) -> None:
    folder, table, text = nursery(LOG), tmp_path / "tags.csv", tmp_path / "tags.txt"

    made(folder, table, "1b", "--page", PAGE)
    made(folder, text, "1b", "--page", PAGE)
    made(folder, table, "1b", "--page", PAGE)  # our own may be written again

    with table.open(encoding="utf-8", newline="") as stream:
        rows = list(csv.DictReader(stream))
    assert [(row["lot"], row["date"], row["count"], row["address"]) for row in rows] == [
        ("1b", "2026-01-05", "12", f"{PAGE}/lot/1b")
    ]
    assert text.read_text(encoding="utf-8") == f"Tags by stickdate\n\n1b\nstuck 5 Jan 2026 (12)\n{PAGE}/lot/1b\n"


def test_no_file_of_the_growers_is_written_over(nursery: Writes) -> None:
    folder = nursery(LOG)
    before = (folder / "varieties.csv").read_bytes()

    refused = stickdate("--nursery", folder, "tags", folder / "varieties.csv", code=1)

    assert "varieties.csv is not a file of tags that this program wrote" in refused.stderr
    assert (folder / "varieties.csv").read_bytes() == before


def test_without_a_bench_page_there_is_no_code_and_it_is_told(nursery: Writes, tmp_path: Path) -> None:
    paper = tmp_path / "bags.pdf"

    done = stickdate("--nursery", nursery(LOG), "--as-of", DAY, "tags", paper)

    assert "tags have no code to scan" in done.stderr
    assert codes(paper) == []


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("9z", "x.pdf"), "there is no lot '9z'"),
        (("x.pdf", "--labels", "a4-64x39"), "there are no labels 'a4-64x39'; did you mean 'a4-64x38'?"),
        (("x.pdf", "--roll", "2", "29"), "a label of 2 by 29 mm is none; sides are from 10 to 300 mm"),
        (("x.doc",), "x.doc does not end in .pdf or .csv or .txt"),
    ],
)
def test_what_cannot_be_labelled_is_told_in_a_line(words: tuple[str, ...], told: str, nursery: Writes) -> None:
    assert told in stickdate("--nursery", nursery(LOG), "tags", *words, code=1).stderr
