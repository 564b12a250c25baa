"""Looks logged at the bench in one command, and what a nursery that logs them is told when a round was missed."""

from __future__ import annotations

import csv
import json
import re
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from almanac.actions.record import record
from almanac.actions.refresh import refresh
from almanac.actions.request import Request
from almanac.actions.undo import undo
from almanac.faults import Refusal
from almanac.nursery.load import load_nursery
from almanac.nursery.logbook import Row
from tests.command import stickdate
from tests.conftest import Writes
from tests.feeds import entries_in
from tests.saying import refused

ROOTING = """
2026-01-05 received 1a --count 8 --stage rooting --bin A
2026-01-05 received 2a --count 8 --stage rooting --bin A
2026-01-05 received 7a --count 8 --stage rooting --bin A
2026-01-05 received 2b --count 8 --stage rooting --bin B
2026-01-05 taken 7b --count 8
2026-01-05 received 1b --count 3 --stage pot
"""
FRIDAY = date(2026, 1, 9)


def noon(day: date) -> datetime:
    return datetime(day.year, day.month, day.day, 17, 0, tzinfo=UTC)


def about(rows: tuple[Row, ...]) -> list[str]:
    return [row.lot or f"bin {row.bin}" for row in rows]


def looked(folder: Path) -> dict[str, date | None]:
    return {name: lot.looked for name, lot in load_nursery(folder, noon(FRIDAY)).stock.lots.items()}


def test_a_bin_all_well_is_one_row(nursery: Writes) -> None:
    folder = nursery(ROOTING)

    done = record(folder, noon(FRIDAY), Request(what="looked", bin="A"))

    assert about(done.rows) == ["bin A"]
    assert [name for name, day in looked(folder).items() if day == FRIDAY] == ["1a", "2a", "7a"]


def test_a_bin_all_well_but_for_some_lots_is_a_row_for_each_of_the_others(nursery: Writes) -> None:
    folder = nursery(ROOTING)

    done = record(folder, noon(FRIDAY), Request(what="looked", bin="a", but=("7a", "1A")))

    assert about(done.rows) == ["2a"]
    assert looked(folder)["7a"] is looked(folder)["1a"] is None


def test_everything_well_is_a_row_for_each_bin_and_for_each_lot_elsewhere(nursery: Writes) -> None:
    folder = nursery(ROOTING)

    every = record(folder, noon(FRIDAY), Request(what="looked", everything=True))
    undo(folder, noon(FRIDAY))
    some = record(folder, noon(FRIDAY), Request(what="looked", everything=True, but=("2a", "7b")))

    assert about(every.rows) == ["bin A", "bin B", "1b", "7b"]
    assert about(some.rows) == ["1a", "7a", "bin B", "1b"]


def test_one_undo_takes_the_whole_command_back(nursery: Writes) -> None:
    folder = nursery(ROOTING)
    record(folder, noon(FRIDAY), Request(what="looked", everything=True, but=("7a",)))

    undo(folder, noon(FRIDAY) + timedelta(minutes=1))

    assert set(looked(folder).values()) == {None}


def test_a_lot_is_left_out_as_it_stood_on_the_day_that_is_logged(nursery: Writes) -> None:
    folder = nursery(ROOTING + "2026-01-08 moved 7a --bin B\n")

    done = record(folder, noon(FRIDAY), Request(what="looked", bin="A", on="2026-01-07", but=("7a",)))

    assert about(done.rows) == ["1a", "2a"]


@pytest.mark.parametrize(
    ("request_", "told"),
    [
        (
            Request(what="looked", but=("7a",)),
            "--except needs --bin or --all, such as: stickdate log looked --bin A --exc",
        ),
        (
            Request(what="looked", bin="A", but=("2b",)),
            "--except 2b: there is no such lot in bin A; expected 1a | 2a | 7a",
        ),
        (
            Request(what="looked", about=("1a",), bin="A", but=("7a",)),
            "name lots, or leave some out with --except; not both",
        ),
        (Request(what="looked", bin="A", everything=True), "--all is every bin; leave out --bin, or --all"),
        (
            Request(what="watered", everything=True),
            "--all goes with looked alone; say --bin BIN, or name the lots for wat",
        ),
        (Request(what="potted", bin="A", but=("7a",)), "potted is not logged of a bin; name its lots one by one"),
        (Request(what="looked", bin="B", but=("2b",)), "no lot is left in bin B on 2026-01-09 to be logged as looked"),
    ],
)
def test_options_that_say_nothing_together_are_refused_and_nothing_is_written(
    request_: Request, told: str, nursery: Writes
) -> None:
    folder = nursery(ROOTING)
    before = (folder / "logbook.csv").read_bytes()

    with refused(Refusal, f"^{re.escape(told)}"):
        record(folder, noon(FRIDAY), request_)

    assert (folder / "logbook.csv").read_bytes() == before


def test_at_the_bench_bin_a_all_well_except_one_lot_and_then_what_that_one_has(nursery: Writes) -> None:
    folder = nursery(ROOTING)
    shell = ("--nursery", folder, "--as-of", "2026-01-09")

    told = stickdate(*shell, "log", "looked", "--bin", "A", "--except", "7a").stdout
    stickdate(*shell, "log", "mould", "7a")

    assert told.startswith("Logged: looked at 1a, 2a on Fri 9 Jan (r7 to r8).\n")
    with (folder / "logbook.csv").open(encoding="utf-8", newline="") as file:
        rows = [(row["what"], row["lot"], row["bin"]) for row in csv.DictReader(file)][-3:]
    assert rows == [("looked", "1a", ""), ("looked", "2a", ""), ("mould", "7a", "")]
    tomorrow = json.loads(stickdate("--nursery", folder, "--as-of", "2026-01-10", "today", "--json").stdout)
    assert [warning for warning in tomorrow["warnings"] if warning["kind"] == "missed"] == []


def test_a_round_that_was_missed_is_said_today_and_in_the_calendar_with_the_day_that_makes_up_for_it(
    nursery: Writes,
) -> None:
    folder = nursery(ROOTING)
    record(folder, noon(FRIDAY), Request(what="looked", bin="A"))
    refresh(folder, noon(FRIDAY))
    missed = json.loads(
        stickdate("--nursery", folder, "--as-of", "2026-01-09", "today", "--days", "7", "--json").stdout
    )
    planned = next(date.fromisoformat(r["date"]) for r in missed["rounds"] if date.fromisoformat(r["date"]) > FRIDAY)
    after = planned + timedelta(days=1)

    refresh(folder, noon(after))

    said = json.loads(stickdate("--nursery", folder, "--as-of", after.isoformat(), "today", "--json").stdout)
    [warning] = [warning for warning in said["warnings"] if warning["kind"] == "missed"]
    assert (warning["date"], warning["bins"]) == (planned.isoformat(), ["A"])
    assert set(warning["lots"]) == {"1a", "2a", "7a"}
    assert "No look logged in bin A" in stickdate("--nursery", folder, "--as-of", after.isoformat(), "today").stdout
    entries = entries_in(folder / "calendar" / "bench.ics")
    [makes_up] = [e for e in entries if e["X-STICKDATE-ID"] == f"round.{warning['carried_to']}"]
    first, _, rest = str(makes_up["DESCRIPTION"]).partition("\n")
    assert first.startswith("Missed ")
    assert "No look logged in bin A" in rest


def test_a_locked_phone_shows_what_a_round_is_about_in_two_short_lines(nursery: Writes) -> None:
    folder = nursery(ROOTING + "2026-01-07 gnats 1b --count 3\n2026-01-08 mould 7a\n", calendar='alarm = "bench"')

    refresh(folder, noon(FRIDAY))

    for entry in entries_in(folder / "calendar" / "bench.ics"):
        if str(entry["X-STICKDATE-ID"]).startswith("round."):
            assert len(str(entry["SUMMARY"])) <= 40
            assert len(str(entry["DESCRIPTION"]).partition("\n")[0]) <= 40


def test_lots_that_share_a_window_keep_their_entry_when_another_joins_and_the_oldest_leaves(nursery: Writes) -> None:
    log = ROOTING + "".join(f"2026-01-{n} {what} {lot}\n" for n, what, lot in READY)
    folder = nursery(log.replace("2026-01-05 received 7a", "2026-01-18 received 7a"))  # as yet far from ready
    refresh(folder, noon(date(2026, 2, 2)))
    [name] = [entry for entry, lots in _pot_up(folder).items() if {"1a", "2a"} <= lots and "7a" not in lots]

    record(folder, noon(date(2026, 2, 2)), Request(what="roots", about=("7a",), on="2026-01-20"))
    record(folder, noon(date(2026, 2, 2)), Request(what="well_rooted", about=("7a",), on="2026-02-02"))
    joined = _pot_up(folder)[name]
    record(folder, noon(date(2026, 2, 2)), Request(what="potted", about=("1a",)))

    assert {"1a", "2a", "7a"} <= joined
    assert _pot_up(folder)[name] == joined - {"1a"}


READY = ((20, "roots", "1a"), (21, "roots", "2a"), (30, "well_rooted", "1a"), (31, "well_rooted", "2a"))


def _pot_up(folder: Path) -> dict[str, set[str]]:
    """Entries for potting up, by id, with the lots that their texts name with a latest day."""
    found = {}
    for entry in entries_in(folder / "calendar" / "everything.ics"):
        holds = str(entry.get("X-STICKDATE-HOLDS", entry["X-STICKDATE-ID"])).split()
        lots = {own.split(".")[0] for own in holds if own.endswith(".pot_up")}
        if lots and not str(entry["X-STICKDATE-ID"]).startswith("round."):
            assert len(lots) == 1 or all(lot in str(entry["DESCRIPTION"]) for lot in lots)
            found[str(entry["X-STICKDATE-ID"])] = lots
    return found
