"""A table beside its copy: whatever the two do not agree in, after mending each row that was logged is there once."""

from __future__ import annotations

import random
from collections import Counter
from pathlib import Path

import pytest

from almanac.nursery.copies import difference, put_back
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
    assert lost_orders("0" + PLACED.replace("rooted", "Rooted"), PLACED) == []


def test_an_order_under_the_number_of_another_goes_back_under_a_new_one_with_all_that_became_of_it() -> None:
    typed = "12,2027-02-03,8,dormant,9,,,,,by hand\n"

    assert lost_orders(typed, PLACED + SENT) == [("", "13"), ("2027-02-10", "13")]


EVENTS = ("looked,7b", "noted,1a", "opened,7b", "looked,1a")


def line(chance: random.Random, name: str, stamp: str) -> str:
    note = chance.choice(["", '"a, b"'])
    return f"{name},2026-03-{chance.randint(7, 20):02},{chance.choice(EVENTS)},,,,,,,{note},{stamp}\n"


def disagreeing(chance: random.Random) -> tuple[list[str], str, str]:
    """Rows that were logged, and what a bad day made of the logbook and of its copy."""
    stamps = (f"2026-03-20T08:00:00.{number:03}-04:00" for number in range(999))
    logged = [line(chance, f"r{number}", next(stamps)) for number in range(7, 7 + chance.randint(0, 9))]
    here, copy = list(logged), list(logged)
    for _ in range(chance.randint(0, 4)):
        way = chance.choice(["lost", "end lost", "typed", "typed over", "uncopied", "shuffled"])
        if way == "end lost":
            del here[chance.randint(0, len(here)) :]
        elif way == "typed":
            here.insert(chance.randint(0, len(here)), line(chance, f"x{chance.randint(1, 9**6)}", ""))
        elif way == "shuffled":
            chance.shuffle(here)
        elif here:
            at = chance.randrange(len(here))
            name = here[at].split(",")[0]
            if way == "lost":
                del here[at]
            elif way == "typed over" and here[at].count("2026-") > 1:
                here[at] = f"{name},2026-03-06,counted,7b,,9,rooting,,lost,,typed,\n"
            elif way == "uncopied" and here[at] in copy and here[at] in logged:
                copy.remove(here[at])
    kept = [each for each in logged if each in here or each in copy]
    return kept, LOGBOOK + "".join(here), LOGBOOK + "".join(copy)


def said(rows: str) -> Counter[str]:
    """What rows say, whatever their ids."""
    return Counter(each.partition(",")[2] for each in rows.splitlines() if each)


@pytest.mark.parametrize("number", range(12))
def test_after_mending_each_row_that_was_logged_is_there_once_and_mending_again_does_nothing(
    number: int, tmp_path: Path
) -> None:
    chance = random.Random(number)
    logged, here, copy = disagreeing(chance)
    lane = make_nursery(tmp_path / "lane")
    (lane / "logbook.csv").write_text(here, encoding="utf-8")
    (lane / "logbook.backup.csv").write_text(copy, encoding="utf-8")
    if chance.random() < 0.2:
        (lane / "logbook.csv").unlink()
        logged = copy.removeprefix(LOGBOOK).splitlines(keepends=True)

    first = run("--nursery", lane, "check", "--mend")
    after = {name: (lane / name).read_text(encoding="utf-8") for name in ("logbook.csv", "logbook.backup.csv")}
    again = run("--nursery", lane, "check", "--mend")

    assert (first.status, again.status) == (0, 0), first
    told = said(after["logbook.csv"])
    assert all(told[row] == 1 for row in said(LOGBOOK + "".join(logged))), (first, here, copy)
    assert "missing" not in again.stdout
    assert {name: (lane / name).read_text(encoding="utf-8") for name in after} == after
    ids = [row.split(",")[0] for row in after["logbook.csv"].removeprefix(HEADER).splitlines()]
    assert len(set(ids)) == len(ids)
