"""What a grower sees of what the program learns from their lots: `strike`, `why`, `lots`, `check`, warmth as logged."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any
from unittest.mock import patch

import pytest

from almanac.forecast.back_test import Tried, back_test
from almanac.nursery.nursery import Nursery
from tests.command import stickdate
from tests.conftest import Writes

MILLRACE = Path(__file__).parents[2] / "examples" / "millrace"
# Invented: three lots whose roots took 30 to 33 days, and one that has only been stuck.
SLOW = """
2025-12-01 taken 7a --count 40
2025-12-02 taken 1a --count 12
2025-12-10 stuck 7a --count 10 --bin A --refers 7b
2025-12-12 stuck 7a --count 10 --bin A --refers 7c
2025-12-14 stuck 1a --bin A
2026-01-08 looked --bin A
2026-01-11 looked --bin A
2026-01-11 roots 7b --count 2
2026-01-13 roots 7c --count 3
2026-01-13 looked --bin A
2026-01-14 roots 1a --count 2
2026-01-15 stuck 7a --count 10 --bin A --refers 7d
"""


def said(folder: Path, *arguments: str, day: str = "2026-01-16") -> str:
    return stickdate("--nursery", folder, "--as-of", day, *arguments).stdout


def told(folder: Path, *arguments: str, day: str = "2026-01-16") -> Any:
    return json.loads(said(folder, "--json", *arguments, day=day))


def likely_roots(folder: Path, lot: str = "7d") -> str:
    found = told(folder, "lots", lot)
    each = found["lots"][0] if "lots" in found else found
    return str(each["milestones"]["roots"]["likely"])


def test_a_bench_that_roots_slower_than_the_rule_is_expected_to_go_on_so(nursery: Writes) -> None:
    alone = [line for line in SLOW.splitlines() if " taken 7a" in line or " 7d" in line]
    by_rule = likely_roots(nursery("\n".join(alone)))

    assert likely_roots(nursery(SLOW)) > by_rule


def test_why_tells_the_rule_the_own_lots_the_blend_and_the_condition(nursery: Writes) -> None:
    text = " ".join(said(nursery(SLOW), "why", "7d.late_roots").split())

    assert "The rule: half of all cuttings take 22 days" in text
    assert "Your own lots (3 with a date): with you it takes 1." in text
    assert "For this variety, rule and own lots together: half of all cuttings take" in text
    assert "The first of 10 cuttings shows it sooner" in text


def test_strike_shows_the_growers_own_days_beside_the_rules(nursery: Writes) -> None:
    roots = next(each for each in told(nursery(SLOW), "strike")["durations"] if each["milestone"] == "roots")

    assert (roots["lots"], roots["waiting"], roots["held_out"], roots["rule_days"]) == (3, 0, [], 22)
    assert roots["low"] < roots["days"] < roots["high"]
    assert roots["days"] > 25
    assert roots["varieties"].keys() == {"1", "7"}


def test_the_back_test_tells_how_forecasts_would_have_done_with_and_without_learning() -> None:
    tried: list[list[Tried]] = []

    def once(nursery: Nursery) -> list[Tried]:
        if not tried:  # what the text says and what JSON says is worked out once
            tried.append(back_test(nursery))
        return tried[0]

    with patch("almanac.actions.strike.back_test", once):
        text = said(MILLRACE, "strike", "--back-test", "--variety", "3", day="2026-02-19")
        found = told(MILLRACE, "strike", "--back-test", "--variety", "3", day="2026-02-19")

    assert max(map(len, text.splitlines())) <= 80
    assert {each["lot"][0] for each in found["tried"]} == {"3"}
    roots = found["milestones"]["roots"]
    assert roots["with_learning"]["error_days"] < roots["by_rule"]["error_days"]


def test_a_nursery_without_a_milestone_has_nothing_to_test(nursery: Writes) -> None:
    assert said(nursery(""), "strike", "--back-test") == "No milestone has come yet that could have been forecast.\n"


def test_a_look_back_and_a_look_ahead_are_two_questions(nursery: Writes) -> None:
    refused = stickdate("--nursery", nursery(SLOW), "strike", "--back-test", "--plants", "3", code=2)

    assert "--back-test looks back and --plants ahead; ask for one of the two" in refused.stderr


def test_a_date_a_month_out_is_named_by_check_with_what_it_does_not_move() -> None:
    notices = told(MILLRACE, "check", day="2026-02-19")["notices"]

    assert any(notice.startswith("2c: roots logged 28 Jan 2023 is 3.0 spreads later") for notice in notices)


@pytest.mark.parametrize("what", ["mat", "air"])
def test_what_nursery_toml_says_later_rewrites_no_day_already_counted(what: str, nursery: Writes) -> None:
    folder = nursery("2025-12-01 taken 7a --count 12\n")
    said(folder, "log", "stuck", "7a", "--bin", "A", day="2025-12-10")
    said(folder, "log", "looked", "--bin", "A", day="2025-12-30")
    before = told(folder, "lots", "7a", day="2025-12-31")

    settings = folder / "nursery.toml"
    lines = settings.read_text(encoding="utf-8").splitlines()
    changed = [f'{what} = "60 F"' if line.startswith(f"{what} = ") else line for line in lines]
    settings.write_text("\n".join(changed) + "\n", encoding="utf-8")

    assert changed != lines
    assert told(folder, "lots", "7a", day="2025-12-31") == before
    notices = told(folder, "check", day="2025-12-31")["notices"]
    assert any(f'{what} = "15.56 C" changes nothing' in notice for notice in notices)
    assert any(f"stickdate log {what} A --value" in notice for notice in notices)


def test_the_warmth_written_with_the_first_lot_is_undone_with_it(nursery: Writes) -> None:
    folder = nursery("2025-12-01 taken 7a --count 12\n")

    logged = told(folder, "log", "stuck", "7a", "--bin", "A", day="2025-12-10")
    undone = told(folder, "undo", day="2025-12-10")

    assert [row["what"] for row in logged["rows"]] == ["stuck", "mat", "air"]
    assert {row["refers"] for row in undone["rows"]} == {row["id"] for row in logged["rows"]}


def test_a_cold_probe_and_a_power_cut_put_rooting_off_from_their_day_on(nursery: Writes) -> None:
    folder = nursery(SLOW)
    first = likely_roots(folder)

    said(folder, "log", "temperature", "--bin", "A", "--value", "73 F")
    probed = likely_roots(folder)
    said(folder, "log", "mat", "A", "--value", "off")

    assert first < probed < likely_roots(folder)
