"""Pots, mix and the days of weaning against what is told of them; the data file says what each is worth."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from almanac.nursery.events import EVENTS
from almanac.rulebook.load import load_rules
from almanac.rulebook.programmes.potting import Potting
from almanac.rulebook.programmes.weaning import STEPS, Weaning

DATA = Path(__file__).parent / "data" / "pots_and_airing.csv"
BOOK, FAULTS = load_rules(None, EVENTS)


def told(what: str) -> tuple[float, float]:
    lines = [line for line in DATA.read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
    [row] = [row for row in csv.DictReader(lines) if row["what"] == what]
    return float(row["low"]), float(row["high"])


def test_a_pot_holds_what_tapered_pots_of_its_size_do_and_no_more_than_straight_ones_could() -> None:
    assert BOOK is not None, FAULTS
    low, high = told("pot")

    assert low <= BOOK.programme(Potting).pot <= high
    assert high == pytest.approx(4 * 4 * 14 * 0.016387064, abs=0.005)  # cubic inches (NIST Handbook 44) to litres


def test_mix_is_made_up_for_as_much_as_it_settles() -> None:
    assert BOOK is not None, FAULTS
    low, high = told("settling")

    assert low <= BOOK.programme(Potting).settling <= high


def test_from_closed_to_open_a_bag_and_a_covered_pot_take_as_long_as_growers_take() -> None:
    assert BOOK is not None, FAULTS
    rules, (low, high) = BOOK.programme(Weaning), told("days_closed_to_open")

    assert low <= (STEPS - 1) * rules.between <= high
    assert low <= rules.after_potting + (STEPS - 1) * rules.between <= high
