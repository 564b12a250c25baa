"""Orders under several hands, power cuts and spreadsheets: nothing promised twice, nothing shipped lost or doubled."""

from __future__ import annotations

import csv
from collections import Counter
from pathlib import Path

import pytest

from tests.command import Ran
from tests.faults.bench import kept, make_nursery, run
from tests.faults.power import child, die, needs_fork

LOT = """\
r7,2026-03-06,received,1b,1,12,outside,,trade,,,2026-03-06T18:00:00.000-05:00
r8,2026-03-15,hardened,1b,,,,,,,,2026-03-15T18:00:00.000-05:00
"""
ORDERED = ("order", "1", "--form", "rooted", "--count")


@pytest.fixture
def lane(tmp_path: Path) -> Path:
    """The nursery with twelve hardened plants of number 1, which is not protected."""
    folder = make_nursery(tmp_path / "lane")
    for name in ("logbook.csv", "logbook.backup.csv"):
        with (folder / name).open("a", encoding="utf-8") as stream:
            stream.write(LOT)
    return folder


def do(folder: Path, *words: object) -> Ran:
    ran = run("--nursery", folder, *words)
    assert ran.status == 0, ran
    return ran


def table(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8-sig", newline="") as stream:
        return list(csv.DictReader(stream))


# --- several at once -----------------------------------------------------------------------------------------------


def _order(folder: Path, times: int) -> None:
    for _ in range(times):
        run("--nursery", folder, *ORDERED, "1")


@needs_fork
def test_eight_who_order_the_last_plants_at_the_same_moment_get_no_more_than_there_are(lane: Path) -> None:
    processes = [child(_order, lane, 2) for _ in range(8)]
    for process in processes:
        process.join(120)

    written = table(lane / "orders.csv")
    assert [process.exitcode for process in processes] == [0] * 8
    assert sum(int(row["count"]) for row in written) == 12  # sixteen were asked for
    assert len({row["order"] for row in written}) == 12
    assert table(lane / "orders.backup.csv") == written


def _ship(folder: Path, order: str) -> None:
    run("--nursery", folder, "order", "--ship", order)


@needs_fork
def test_an_order_that_eight_ship_at_the_same_moment_leaves_once(lane: Path) -> None:
    do(lane, *ORDERED, "5")

    processes = [child(_ship, lane, "1") for _ in range(8)]
    for process in processes:
        process.join(120)

    sold = [row for row in table(lane / "logbook.csv") if row["what"] == "sold"]
    assert [row["count"] for row in sold] == ["5"]
    assert Counter(row["done"] for row in table(lane / "orders.csv")) == {"": 1, "2026-03-20": 1}


# --- a power cut in the middle -------------------------------------------------------------------------------------


def sold_and_noted(folder: Path) -> tuple[int, int]:
    """How many left for order 1 by the logbook, and by `orders.csv`."""
    rows = table(folder / "logbook.csv")
    undone = {row["refers"] for row in rows if row["what"] == "void"}
    sold = sum(int(row["count"]) for row in rows if row["what"] == "sold" and row["id"] not in undone)
    counts = [(row["done"], int(row["count"])) for row in table(folder / "orders.csv") if row["done"]]
    return sold, sum(-count if done == "reopened" else count for done, count in counts)


@needs_fork
@pytest.mark.parametrize("point", range(1, 13))
def test_a_power_cut_while_shipping_ships_once_when_it_is_asked_for_again(point: int, lane: Path) -> None:
    do(lane, *ORDERED, "5")
    child(die, lane, point, "order", "--ship", "1").join(60)

    do(lane, "order", "--ship", "1")
    again = do(lane, "order", "--ship", "1")

    assert sold_and_noted(lane) == (5, 5)
    assert "5 shipped" in again.stdout
    assert "Left to promise: 7 rooted plants" in again.stdout


@needs_fork
@pytest.mark.parametrize("point", range(1, 13))
def test_a_power_cut_while_a_shipment_is_undone_leaves_it_undone_once_or_not_at_all(point: int, lane: Path) -> None:
    do(lane, *ORDERED, "5")
    do(lane, "order", "--ship", "1")
    child(die, lane, point, "undo").join(60)

    sold = sold_and_noted(lane)[0]
    if sold:
        do(lane, "undo")

    assert sold_and_noted(lane) == (0, 0)
    assert "1  5 rooted plants of no. 1" in do(lane, "order").stdout


# --- spreadsheets --------------------------------------------------------------------------------------------------


def test_orders_lost_to_a_spreadsheet_are_named_and_put_back(lane: Path) -> None:
    do(lane, *ORDERED, "2")
    opened = (lane / "orders.csv").read_bytes()
    do(lane, "order", "--ship", "1")
    do(lane, *ORDERED, "3")
    (lane / "orders.csv").write_bytes(opened)  # the spreadsheet, opened before, saves what it knew

    told = do(lane, "check")
    mended = do(lane, "check", "--mend")

    assert "orders.csv: 2 rows of orders.backup.csv are missing (order 1, 2); put back what is lost" in told.stdout
    assert "Put back order 1, order 2." in mended.stdout
    assert "  1 2026-03-20 1 rooted 2 2026-03-20 from 1b\n" in mended.stdout
    assert table(lane / "orders.csv") == table(lane / "orders.backup.csv")
    assert do(lane, "check").stdout.endswith("Nothing is wrong.\n")


def test_an_order_written_or_changed_in_a_spreadsheet_counts(lane: Path) -> None:
    do(lane, *ORDERED, "2")
    text = (lane / "orders.csv").read_text(encoding="utf-8").replace(",2,", ",4,")
    text += "shop-7,2026-03-19,1,Rooted,3,,,,,\n"
    (lane / "orders.csv").write_text("\ufeff" + text.replace("\n", "\r\n"), encoding="utf-8", newline="")

    told = do(lane, *ORDERED, "5")
    refused = run("--nursery", lane, *ORDERED, "1")

    assert "Left to promise: no rooted plants of no. 1." in told.stdout
    assert refused.lines == [
        "stickdate: no rooted plants of no. 1 can be promised (12 there and 12 promised), not 1; see stickdate forsale"
    ]
    assert [row["order"] for row in table(lane / "orders.csv")][-1] == "2"


def test_a_last_line_cut_short_is_told_and_set_aside_by_the_next_order(lane: Path) -> None:
    do(lane, *ORDERED, "2")
    with (lane / "orders.csv").open("a", encoding="utf-8") as stream:
        stream.write("2,2026-03-19,1,roo")

    told = do(lane, "check")
    placed = do(lane, *ORDERED, "3")

    assert "orders.csv:3: the last line was cut short ('2,2026-03-19,1,roo')" in told.stdout
    assert "set aside" in placed.stderr
    assert [row["count"] for row in table(lane / "orders.csv")] == ["2", "3"]
    assert (lane / "orders.torn.txt").read_text(encoding="utf-8") == "2,2026-03-19,1,roo\n"


def test_a_file_of_orders_that_cannot_be_written_leaves_the_logbook_as_it_was(lane: Path) -> None:
    do(lane, *ORDERED, "2")
    (lane / "orders.backup.csv").unlink()
    (lane / "orders.backup.csv").mkdir()
    before = kept(lane)

    ran = run("--nursery", lane, "order", "--ship", "1")

    assert ran.status == 3
    assert len(ran.lines) == 1
    assert kept(lane) == before
