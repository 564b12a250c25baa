"""Where the next lot goes, and whether there will be room: the command line on a nursery of the test's own."""

from __future__ import annotations

import json
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

from tests.command import stickdate
from tests.conftest import Writes
from tests.feeds import by_id

DAY = "2026-01-20"
# A holds 52 of its 60 bags, B 20 of 60; both mats lie in the best range of the fig.
WINTER = """
2025-12-20 taken 7a --count 40
2025-12-20 taken 1a --count 8
2026-01-05 received 2a --count 52 --stage rooting --bin A
2026-01-06 received 2b --count 20 --stage rooting --bin B
2026-01-08 received 3a --count 6 --stage pot
"""


def log(folder: Path, *words: str, code: int = 0, day: str = DAY) -> str:
    done = stickdate("--nursery", folder, "--as-of", day, "log", *words, code=code)
    return done.stderr if code else done.stdout


def said(folder: Path, *words: str, day: str = DAY) -> Any:
    return json.loads(stickdate("--nursery", folder, "--as-of", day, "--json", *words).stdout)


def change(folder: Path, old: str, new: str) -> None:
    path = folder / "nursery.toml"
    written = path.read_text(encoding="utf-8")
    assert old in written
    path.write_text(written.replace(old, new), encoding="utf-8")


# --- where the next lot goes ---------------------------------------------------------------------------------------


def test_a_lot_stuck_without_a_bin_goes_where_there_is_most_room_and_the_row_says_so(nursery: Writes) -> None:
    folder = nursery(WINTER)

    told = said(folder, "log", "stuck", "7", "--count", "6")
    again = log(folder, "stuck", "7", "--count", "6")

    assert (told["row"]["bin"], told["placed"]) == ("B", [{"row": "r6", "bin": "B", "pace": 1.0, "free": 34}])
    assert "Into bin B: roots of fig come at 100% of their best pace; 28 of 60 places left there." in " ".join(
        again.split()
    )
    lots = {lot["lot"]: lot for lot in said(folder, "lots")["lots"]}
    assert (lots["7b"]["bin"], lots["7c"]["bin"]) == ("B", "B")
    assert lots["7a"]["counts"] == {"store": 28, "rooting": 0, "pot": 0, "outside": 0}


def test_the_mat_that_suits_the_crop_goes_before_the_bin_with_more_room(nursery: Writes) -> None:
    folder = nursery(WINTER)
    log(folder, "mat", "B", "--value", "18 C")

    small = said(folder, "log", "stuck", "7", "--count", "6")["placed"]
    large = said(folder, "log", "stuck", "7", "--count", "20")["placed"]

    assert [each["bin"] for each in small] == ["A"]
    assert [each["bin"] for each in large] == ["B"]  # A has room for two more
    assert large[0]["pace"] < 1


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        (("received", "7", "--count", "5", "--stage", "rooting"), "B"),
        (("restuck", "3a", "--count", "2"), "B"),
        (("restuck", "2a", "--count", "2"), None),  # it stays in the bin of its lot
        (("received", "7", "--count", "5"), None),
        (("stuck", "7", "--count", "5", "--bin", "a"), None),
    ],
)
def test_only_bags_that_stand_in_no_bin_yet_are_given_one(
    words: tuple[str, ...], expected: str | None, nursery: Writes
) -> None:
    placed = said(nursery(WINTER), "log", *words)["placed"]

    assert [each["bin"] for each in placed] == ([expected] if expected else [])


def test_lots_stuck_together_find_room_one_after_the_other(nursery: Writes) -> None:
    placed = said(nursery(WINTER), "log", "stuck", "7a", "1a")["placed"]

    assert [(each["bin"], each["free"]) for each in placed] == [("B", 0), ("A", 0)]


def test_cuttings_may_stand_in_no_bin_and_a_nursery_may_have_none(nursery: Writes) -> None:
    folder = nursery(WINTER)
    assert said(folder, "log", "stuck", "7", "--count", "5", "--bin", "none")["row"]["bin"] is None
    bare = nursery("2025-12-20 taken 7a --count 40", folder="bare", bins="")

    told = said(bare, "log", "stuck", "7")

    assert (told["row"]["bin"], told["placed"]) == (None, [])


# --- no bin is filled beyond its places ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("words", "line"),
    [
        (
            ("stuck", "7", "--count", "12", "--bin", "A"),
            "bin A has 60 places, 52 of them taken: 12 more do not fit; bin B (24 °C) has room for 40; log fewer, or "
            "add --force if they do stand there",
        ),
        (
            ("received", "7", "--count", "9", "--stage", "rooting", "--bin", "A"),
            "bin A has 60 places, 52 of them taken: 9 more do not fit; bin B (24 °C) has room for 40; log fewer, or "
            "add --force if they do stand there",
        ),
        (
            ("moved", "2b", "--bin", "A"),
            "bin A has 60 places, 52 of them taken: 20 more do not fit; no other bin has room; log fewer, or add "
            "--force if they do stand there",
        ),
        (
            ("restuck", "2b", "--count", "9", "--bin", "A"),
            "bin A has 60 places, 52 of them taken: 9 more do not fit; no other bin has room; log fewer, or add "
            "--force if they do stand there",
        ),
        (
            ("received", "7", "--count", "50", "--stage", "rooting"),
            "no bin has room for 50 of fig: bin B (24 °C) has room for 40 and bin A (25.5 °C) has room for 8; "
            "log fewer, pot up what is rooted, or name where they stand: --bin BIN, with --force where it is full, or "
            "--bin none",
        ),
        (("stuck", "7", "--count", "500"), "7a has 40 in store; 500 cannot be stuck"),
    ],
)
def test_more_bags_than_a_bin_holds_are_refused_in_one_line_and_nothing_is_written(
    words: tuple[str, ...], line: str, nursery: Writes
) -> None:
    folder = nursery(WINTER)
    before = (folder / "logbook.csv").read_bytes()

    refused = log(folder, *words, code=1)

    assert refused == f"stickdate: {line}\n"
    assert (folder / "logbook.csv").read_bytes() == before


def test_what_does_stand_there_can_be_logged_with_force_and_is_told_from_then_on(nursery: Writes) -> None:
    folder = nursery(WINTER)

    named = said(folder, "log", "stuck", "7", "--count", "12", "--bin", "A", "--force")
    proposed = said(folder, "log", "received", "1", "--count", "50", "--stage", "rooting", "--force")

    assert named["row"]["bin"] == "A"
    assert [(each["bin"], each["free"]) for each in proposed["placed"]] == [("B", -10)]
    warnings = said(folder, "today")["warnings"]
    assert [(each["kind"], each["lacking"]) for each in warnings if "lacking" in each] == [
        ("bin_full", 4),
        ("bin_full", 10),
    ]


def test_a_full_bin_takes_a_count_or_an_undo_but_not_one_bag_more(nursery: Writes) -> None:
    folder = nursery(WINTER)
    log(folder, "potted", "2a", "--count", "2")
    log(folder, "stuck", "7", "--count", "10", "--bin", "A")

    log(folder, "counted", "2a", "--count", "52", "--stage", "rooting", "--note", "two more than I thought")
    undone = stickdate("--nursery", folder, "--as-of", DAY, "undo", "r6")
    refused = log(folder, "stuck", "7", "--count", "1", "--bin", "A", code=1)

    assert "Undone: potted 2 of 2a" in undone.stdout
    assert "(r6; to have it count again: stickdate undo" in " ".join(undone.stdout.split())
    assert "bin A has 60 places" in refused


def test_where_every_mat_is_off_no_bin_is_proposed(nursery: Writes) -> None:
    folder = nursery(WINTER)
    change(folder, 'air = "20 C"', 'air = "8 C"')
    change(folder, 'air = "19 C"', 'air = "8 C"')
    log(folder, "mat", "A", "--value", "off")
    log(folder, "mat", "B", "--value", "off")

    refused = log(folder, "stuck", "7", "--count", "5", code=1)

    assert "none where they root has any; nothing roots at the present warmth of bin B and bin A;" in refused
    assert said(folder, "log", "stuck", "7", "--count", "5", "--bin", "B")["row"]["bin"] == "B"


# --- how full it will be -------------------------------------------------------------------------------------------


def test_space_shows_each_week_within_the_width_of_a_screen(nursery: Writes) -> None:
    folder = nursery(WINTER)
    more = "".join(f'[[bin]]\nname = "Shelf-{n}"\nbags = 12\nmat = "22 C"\nair = "18 C"\n' for n in range(6))
    change(folder, "[week]", f"{more}[space]\npots_under_light = 20\n[week]")

    told = stickdate("--nursery", folder, "--as-of", DAY, "space").stdout

    assert max(map(len, told.splitlines())) <= 80
    assert "bin A, of 60" in told
    assert "bin Shelf-5, of 12" in told
    assert "lamps, of 20" in told
    assert "Not given under [space] in nursery.toml, so never warned of: pots_outside." in told
    assert all(told.count(f"bin {name}, of ") == 1 for name in ("A", "B", *(f"Shelf-{n}" for n in range(6))))


def test_space_by_day_ends_where_the_logbook_stands_and_follows_as_of(nursery: Writes) -> None:
    folder = nursery(WINTER)

    now, earlier = said(folder, "space"), said(folder, "space", day="2026-01-05")

    [in_a, in_b, lamps, outside] = now["places"]
    assert [each["bin"] for each in now["places"]] == ["A", "B", None, None]
    assert in_a["days"][0] == {"date": DAY, "expected": 52.0, "up_to": 52}
    assert in_b["days"][0]["up_to"] == 20
    assert (lamps["capacity"], lamps["days"][0]["up_to"], outside["days"][0]["up_to"]) == (None, 6, 0)
    first, last = (date.fromisoformat(in_a["days"][n]["date"]) for n in (0, -1))
    assert len(in_a["days"]) == (last - first).days + 1
    assert last.isoformat() == now["until"]
    assert in_a["days"][-1]["up_to"] == 0
    assert (earlier["as_of"], earlier["places"][1]["days"][0]["up_to"]) == ("2026-01-05", 0)


def test_a_nursery_that_has_given_nothing_is_told_so_plainly(nursery: Writes) -> None:
    bare = nursery("", bins="")

    told = " ".join(stickdate("--nursery", bare, "--as-of", DAY, "space").stdout.split())

    assert "No bins are given: add a [[bin]] with name, bags, mat and air to nursery.toml" in told
    assert "never warned of: pots_under_light, pots_outside" in told
    assert "Nothing takes room, now or planned." in told


def test_lamps_that_will_not_do_are_told_in_the_calendar_in_time_and_stay_there(nursery: Writes) -> None:
    folder = nursery(WINTER, space="pots_under_light = 20\npots_outside = 500")
    stickdate("--nursery", folder, "--as-of", DAY, "calendar")
    [warning] = [each for each in said(folder, "today")["warnings"] if "lacking" in each]

    feed = folder / "calendar" / "bench.ics"
    entries: dict[str, Any] = by_id(feed)
    next_day = said(folder, "calendar", day="2026-01-21")
    told = stickdate("--nursery", folder, "--as-of", DAY, "why", "lamps_full").stdout

    first = date.fromisoformat(warning["date"])
    entry = entries["lamps_full"]
    assert (warning["kind"], warning["id"], warning["capacity"]) == ("lamps_full", "lamps_full", 20)
    assert first - timedelta(days=14) <= entry["DTSTART"].dt < first
    assert entry["DTSTART"].dt.strftime("%a") in ("Tue", "Fri", "Sun")
    assert f"Lamps: up to {warning['lacking']} pots too many, " in entry["SUMMARY"]
    assert " ".join(told.split()).startswith("Under the lamps has room for 20: from ")
    short, whole = (
        " ".join(stickdate("--nursery", folder, "--as-of", DAY, "today", *more).stdout.split())
        for more in ((), ("--all",))
    )
    assert f"Lamps: up to {warning['lacking']} pots too many, " in short
    assert "has room for 20" not in short, "a paragraph each morning is read by nobody"
    assert "has room for 20" in whole
    changed = [*next_day["added"], *next_day["removed"], *next_day["reworded"], *(m["id"] for m in next_day["moved"])]
    assert not any("full" in name for name in changed)


def test_a_planned_lot_that_will_not_fit_can_be_put_off(nursery: Writes) -> None:
    folder = nursery(WINTER)
    log(folder, "planned", "1", "--count", "45", "--value", "2026-02-02")

    [warning] = [each for each in said(folder, "today")["warnings"] if "lacking" in each]
    planned = said(folder, "space")["planned"]

    assert (warning["kind"], warning["date"], warning["lacking"]) == ("bin_full", "2026-02-02", 5)
    assert warning["planned"] == [planned[0]["row"]]
    assert planned[0] | {"row": ""} == {"row": "", "number": "1", "count": 45, "date": "2026-02-02", "bin": "B"}
    assert "or stick later what is planned" in warning["text"]
