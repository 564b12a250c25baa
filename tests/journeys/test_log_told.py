"""What `log`, `undo` and `why` tell a grower at the terminal, in the words of the page."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from tests.command import stickdate
from tests.conftest import Writes

DAY = "2026-01-29"
BENCH = "\n".join(f"2026-01-05 received {n}a --count 8 --stage rooting --bin A" for n in (1, 2, 7))
ID = re.compile(r"\b\d+[a-z]+\.[a-z_]+")


def say(folder: Path, *words: str, code: int = 0) -> str:
    ran = stickdate("--nursery", folder, "--as-of", DAY, *words, code=code)
    return ran.stderr if code else ran.stdout


def test_what_moves_is_told_by_its_title_the_lots_next_steps_first(nursery: Writes) -> None:
    folder = nursery(BENCH)

    told = say(folder, "log", "leaves", "7a")

    assert told.startswith("Logged: leaves of 7a on Thu 29 Jan (r4).\n")
    assert not ID.search(told), "an id stands for a title"
    moves = told.partition("Moves:\n")[2].splitlines()
    assert "7a" in moves[0]
    assert re.search(r"day, \d|(sooner|later)$", moves[0])
    assert max(map(len, told.splitlines())) <= 80
    assert len(told.splitlines()) <= 24


def test_later_dates_are_counted_not_listed(nursery: Writes) -> None:
    folder = nursery(BENCH)

    moved = json.loads(say(folder, "--json", "log", "roots", "7a"))["moved"]
    say(folder, "undo")
    told = say(folder, "log", "roots", "7a")

    named = [line for line in told.splitlines() if line.endswith(("sooner", "later"))]
    [later] = re.findall(r"  and (\d+) later dates?, by", told)
    assert len(named) + int(later) == len(moved)
    assert len(named) <= 8


def test_what_is_no_lot_and_the_name_of_a_bin_is_that_bin(nursery: Writes) -> None:
    folder = nursery(BENCH)

    assert say(folder, "log", "looked", "a").startswith("Logged: looked through bin A on Thu 29 Jan (r4).\n")
    assert say(folder, "log", "mould", "A").startswith("Logged: mould in bin A on Thu 29 Jan (r5).\n")
    assert "'k' is not a lot" in say(folder, "log", "looked", "K", code=1)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ("opened 7a", "opened 7a on"),
        ("well_rooted 7a --count 3", "well rooted: 3 of 7a on"),
        ("roots 7a --count 3", "roots on 3 of 7a on"),
        ("potted 7a --count 3", "potted 3 of 7a on"),
        ("gnats --bin A --count 6", "gnats (6) in bin A on"),
        ("dry 7a", "too dry: 7a on"),
        ("leaf_fall fig", "leaves down: fig on"),
        ("died 7a --count 1 --value no_roots", "died 1 of 7a, no roots on"),
        ("mat A --value 24C", "mat of bin A, 24C on"),
        ("moved 7a --bin B", "moved 7a into bin B on"),
    ],
)
def test_what_was_logged_is_said_as_growers_say_it_its_row_last(nursery: Writes, words: str, said: str) -> None:
    told = " ".join(say(nursery(BENCH), "log", *words.split()).split())

    assert told.startswith(f"Logged: {said} "), told
    assert re.match(r"Logged: .* \(r\d+(, r\d+)*( to r\d+)?\)\.", told), told


def test_undo_names_what_it_undid(nursery: Writes) -> None:
    folder = nursery(BENCH)
    say(folder, "log", "looked", "1a", "2a")
    say(folder, "log", "died", "7a", "--count", "1", "--value", "rot")

    one, two = (" ".join(say(folder, "undo").split()) for _ in range(2))

    assert one.startswith("Undone: died 1 of 7a, rot on Thu 29 Jan (r6; to have it count again: stickdate undo r7).")
    assert two.startswith("Undone: looked at 1a, 2a on Thu 29 Jan (r4 to r5; to have it count again: ")


def test_why_of_a_lot_lists_what_can_be_asked_and_each_answers(nursery: Writes) -> None:
    folder = nursery(BENCH)

    told = say(folder, "why", "7a")
    ids = [each["id"] for each in json.loads(say(folder, "--json", "why", "7A"))["ids"]]

    assert told.startswith("7a, Late one: ask one of these.\n")
    assert "7a.pot_up" in ids
    assert all(f"why {name}" in told for name in ids)
    for name in ids:
        assert say(folder, "why", name)


def test_why_of_a_lot_in_a_shared_entry_answers_for_that_lot_first(nursery: Writes) -> None:
    folder = nursery(BENCH)

    told = say(folder, "why", "7a.pot_up")

    assert told.startswith("Pot up: 7a (8), ")
    [entry] = re.findall(r"In the calendar with 1a, 2a, on [^:]*: stickdate why (\S+)", " ".join(told.split()))
    assert say(folder, "why", entry).startswith("Pot up: 1a, 2a, 7a, ")


@pytest.mark.parametrize("name", ["7b", "7a.pot"])
def test_what_cannot_be_asked_says_where_names_stand(nursery: Writes, name: str) -> None:
    assert "ids stand in: stickdate today --ids, stickdate why LOT" in say(nursery(BENCH), "why", name, code=1)
