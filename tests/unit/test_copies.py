"""A table beside its copy: whatever the two do not agree in, after mending each row that was logged is there once."""

from __future__ import annotations

import csv
import random
from collections import Counter
from collections.abc import Iterable
from pathlib import Path

import pytest

from almanac.nursery.copies import copy_text, difference, put_back, with_rows
from almanac.nursery.logbook import TABLE as LOG
from almanac.nursery.order_rows import COLUMNS
from almanac.nursery.order_rows import TABLE as ORDERS
from tests.faults.bench import HEADER, LOGBOOK, make_nursery, run

ORDER_HEADER = ",".join(COLUMNS) + "\n"
PLACED, SENT = "12,2027-02-01,7,rooted,5,,,,,\n", "12,2027-02-10,7,rooted,5,,,,2027-02-10,\n"


def lost_orders(here: str, copied: str) -> list[tuple[str, str]]:
    found = difference(ORDERS, ORDER_HEADER + here, ORDER_HEADER + copied)
    return [(each.was[8], each.cells[0]) for each in put_back(found)]


def test_orders_that_only_the_copy_holds_are_lost_and_those_changed_by_hand_are_not() -> None:
    other = "13,2027-02-11,8,dormant,2,,,,,\n"

    assert lost_orders(PLACED, PLACED + SENT + other) == [("2027-02-10", "12"), ("", "13")]
    assert lost_orders(PLACED.replace(",5,", ",4,"), PLACED) == []
    assert lost_orders(PLACED.replace(",5,,,,,", ",5,,,,2027-02-12,by hand"), PLACED) == []
    assert lost_orders(PLACED + PLACED.replace("12,", "14,", 1), PLACED + PLACED.replace("12,", "13,", 1)) == [
        ("", "13")
    ]
    assert lost_orders("0" + PLACED.replace("rooted", "Rooted"), PLACED) == []


def test_an_order_under_the_number_of_another_goes_back_under_a_new_one_with_all_that_became_of_it() -> None:
    typed = "12,2027-02-03,8,dormant,9,,,,,by hand\n"

    assert lost_orders(typed, PLACED + SENT) == [("", "13"), ("2027-02-10", "13")]


def line(chance: random.Random, name: str, stamp: str) -> str:
    note = chance.choice(["", '"a, b"', "tr\u00e8s", "0"])
    what = chance.choice(["looked,7b", "noted,1a", "opened,7b", "looked,1a"])
    return f"{name},2026-03-{chance.randint(7, 20):02},{what},,,,,,,{note},{stamp}\n"


def disagreeing(chance: random.Random) -> tuple[list[str], str, str]:
    """Rows that were logged, and what bad days made of the logbook and of its copy."""
    logged = [line(chance, f"r{n}", f"2026-03-20T08:00:00.{n:03}-04:00") for n in range(7, 7 + chance.randint(0, 9))]
    here, copy = list(logged), list(logged)
    for _ in range(chance.randint(0, 4)):
        way = chance.choice(["lost", "end lost", "typed", "typed over", "uncopied", "shuffled", "saved", "noted"])
        at = chance.randrange(len(here)) if here else 0
        if way == "end lost":
            del here[at:]
        elif way == "typed":
            here.insert(at, line(chance, f"x{chance.randint(1, 9**6)}", ""))
        elif way == "shuffled":
            chance.shuffle(here)
        elif way == "lost":
            del here[at : at + 1]
        elif way == "typed over" and here:
            here[at] = f"{here[at].split(',')[0]},2026-03-06,noted,7b,,,,,,,by hand {at},\n"
        elif way == "saved":  # as spreadsheets do
            here = [each.replace("looked", "Looked").rstrip() + "\r\n" for each in here]
        elif way == "noted" and here and "2026-03-20T08" in here[at]:
            here[at] = here[at].replace(",,2026-03-20T08", ",more,2026-03-20T08")
        elif way == "uncopied" and at < len(here) and here[at] in copy and here[at] in logged:
            copy.remove(here[at])
    kept = [each for each in logged if each in copy or each in here]
    return kept, LOGBOOK + "".join(here), LOGBOOK + "".join(copy)


def said(rows: Iterable[str]) -> Counter[tuple[str, ...]]:
    """What rows say, whatever their ids."""
    return Counter(tuple(cells[1:]) for cells in csv.reader(rows) if cells)


def mended(here: str, copy: str) -> tuple[str, str]:
    found = difference(LOG, here, copy)
    text = with_rows(LOG, here, found.here, put_back(found)) if not found.settled else here
    return text, copy_text(found, text, ()) if not found.settled else copy


@pytest.mark.parametrize("number", range(8))
def test_after_mending_each_row_that_was_logged_is_there_once_and_mending_again_does_nothing(number: int) -> None:
    for each in range(40):
        assert_mended(40 * number + each)


def assert_mended(number: int) -> None:
    logged, here, copy = disagreeing(random.Random(number))
    mine = {each.split(",")[-1].strip(): each for each in here.splitlines() if "more" in each}  # as a person wrote on

    text, copied = mended(here, copy)

    rows = text.replace("Looked", "looked").splitlines()
    told = said(rows)
    assert all(told[row] == 1 for row in said(each for each in logged if each.split(",")[-1].strip() not in mine))
    assert [each for each in text.splitlines() if each in here.splitlines()] == here.splitlines()
    ids = [row.split(",")[0] for row in rows]
    assert len(set(ids)) == len(ids)
    lines = iter(copy.splitlines())
    if all(each in lines for each in here.splitlines()):  # only lost rows, and so in their order
        assert rows == copy.splitlines()
    again = difference(LOG, text, copied)
    assert again.settled
    assert mended(text, copied) == (text, copied)
    if (text, copied) != (here, copy):
        assert not again.uncopied


@pytest.mark.parametrize("number", range(40))
def test_rows_lost_anywhere_go_back_to_where_they_stood(number: int) -> None:
    chance = random.Random(number)
    lines = LOGBOOK.removeprefix(HEADER).splitlines(keepends=True)
    left = [each for each in lines if chance.random() < 0.6]

    assert mended(HEADER + "".join(left), LOGBOOK) == (LOGBOOK, LOGBOOK)
    assert mended("\n" + HEADER.replace("\n", ",\n\n") + "\n".join(left).rstrip(), LOGBOOK)[1] == LOGBOOK


def test_a_row_and_its_undoing_go_back_under_new_ids_together() -> None:
    stamp = "2026-03-20T08:00:00.001-04:00"
    lost = f"r7,2026-03-20,looked,7b,,,,,,,,{stamp}\nr8,2026-03-20,void,,,,,,,r7,,{stamp}\n"
    typed = "r7,2026-03-19,noted,1a,,,,,,,by hand,\nr8,2026-03-19,noted,1a,,,,,,,by hand too,\n"

    text, copied = mended(LOGBOOK + typed, LOGBOOK + lost)

    assert text == LOGBOOK + lost.replace("r8,", "r10,").replace("r7,", "r9,") + typed
    assert copied == text


def test_rows_with_the_same_words_on_one_day_are_each_their_own() -> None:
    one, two = (f"r{n},2026-03-20,looked,7b,,,,,,,,2026-03-20T08:00:00.00{n}-04:00\n" for n in (7, 8))

    assert mended(LOGBOOK + two, LOGBOOK + one + two)[0] == LOGBOOK + one + two
    assert mended(LOGBOOK + one, LOGBOOK + one + two)[0] == LOGBOOK + one + two


def test_a_logbook_that_is_empty_or_has_its_columns_in_another_order_gets_its_rows_back() -> None:
    cells = [each.split(",") for each in LOGBOOK.splitlines()]
    turned = "".join(",".join(reversed(row)) + "\n" for row in cells)

    assert mended("", LOGBOOK)[0] == LOGBOOK
    assert mended("\ufeff\n", LOGBOOK)[0] == LOGBOOK
    assert mended("".join(turned.splitlines(keepends=True)[:-1]), LOGBOOK)[0] == turned
    assert mended(turned.rstrip("\n").rpartition("\n")[0], LOGBOOK)[0] == turned


@pytest.mark.parametrize(
    "copy",
    [
        LOGBOOK.removeprefix(HEADER),
        LOGBOOK.replace("r4,2026", "r4,20\ufffd"),
        LOGBOOK.replace("r2,", '"r2,'),
        LOGBOOK + "r7,2026-03-19,lo",
        LOGBOOK + "r7,2026-03-19,looked,7c\n",
        LOGBOOK + "r7,2026-03-19,l\ufffdoked,7b,,,,,,,,\n",
        "\x00" * 80 + "\n" + LOGBOOK,
    ],
)
def test_what_cannot_be_read_in_a_copy_puts_nothing_back_and_is_written_anew(copy: str) -> None:
    text, copied = mended(LOGBOOK, copy)

    assert text == LOGBOOK
    assert copied in (LOGBOOK, LOGBOOK + "r7,2026-03-19,lo")  # the next row sets that aside
    assert difference(LOG, text, copied).settled


@pytest.mark.parametrize("number", range(5))
def test_mending_by_command_works_whatever_stands_in_the_logbooks_place(number: int, tmp_path: Path) -> None:
    lane = make_nursery(tmp_path / "lane")
    file = lane / "logbook.csv"
    file.unlink()
    if number:
        file.write_bytes((b"", b"\x00" * 300, "\u4e2d".encode("utf-16"), LOGBOOK[:160].encode())[number - 1])

    first = run("--nursery", lane, "check", "--mend")
    again = run("--nursery", lane, "check", "--mend")

    assert (first.status, again.status) == (0, 0), first
    assert file.read_text(encoding="utf-8") == LOGBOOK
    assert again.stdout.endswith("Nothing is wrong.\n")
    kept = [path.name.split("-")[-1] for path in (lane / "replaced").iterdir()]
    # Mending gives the varieties of this old nursery the columns that came later, too.
    assert sorted(kept) == ["logbook.csv"] * (number > 1) + ["varieties.csv"]


def test_a_logbook_that_a_person_must_mend_is_left_alone(tmp_path: Path) -> None:
    lane = make_nursery(tmp_path / "lane")
    lines = LOGBOOK.splitlines(keepends=True)
    for text in (LOGBOOK.replace("r4,", '"r4,'), "".join(lines[1:]), "".join(lines[:-1]).replace(",what,", ",,")):
        for code in ("utf-8", "utf-16"):
            (lane / "logbook.csv").write_text(text, encoding=code)

            assert run("--nursery", lane, "check", "--mend").status == 1
            assert (lane / "logbook.csv").read_text(encoding=code) == text


def test_a_logbook_that_is_a_link_stays_one(tmp_path: Path) -> None:
    lane, elsewhere = make_nursery(tmp_path / "lane"), tmp_path / "synced.csv"
    elsewhere.write_text("".join(LOGBOOK.splitlines(keepends=True)[:-1]), encoding="utf-8")
    (lane / "logbook.csv").unlink()
    (lane / "logbook.csv").symlink_to(elsewhere)

    assert run("--nursery", lane, "check", "--mend").status == 0
    assert (lane / "logbook.csv").is_symlink()
    assert elsewhere.read_text(encoding="utf-8") == LOGBOOK
