"""What bags and pots hold, against the geometry of a tube and a published table of containers; see the data file."""

from __future__ import annotations

import csv
from math import pi
from pathlib import Path

import pytest

from almanac.nursery.events import EVENTS
from almanac.rulebook.lay_flat import volume_l
from almanac.rulebook.load import load_rules
from almanac.rulebook.programmes.potting import Potting

DATA = Path(__file__).parent / "data" / "containers.csv"
LINES = [line for line in DATA.read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
ROWS = list(csv.DictReader(LINES))
TUBES = [row for row in ROWS if row["what"] == "tube"]
CM, LITRE = 2.54, 0.016387064  # of an inch, of a cubic inch: NIST Handbook 44, Appendix C
BOOK, FAULTS = load_rules(None, EVENTS)


def named(what: str) -> dict[str, str]:
    [row] = [row for row in ROWS if row["what"] == what]
    return row


@pytest.mark.parametrize("row", TUBES, ids=[f"{row['width_in']}_in_filled_{row['fill_in']}_in" for row in TUBES])
def test_a_lay_flat_tube_holds_what_it_does_by_hand(row: dict[str, str]) -> None:
    found = volume_l(float(row["width_in"]) * CM, float(row["fill_in"]) * CM)

    assert found == pytest.approx(float(row["low_l"]), abs=0.0005)
    assert found / LITRE == pytest.approx(float(row["low_cu_in"]), abs=0.05)


def test_the_bag_of_the_rules_is_the_worked_example_of_4_by_16_in() -> None:
    assert BOOK is not None, FAULTS
    bag = BOOK.methods["sealed_bag"].bag
    assert bag is not None

    # Way round 2 x 4 in = 8 in; radius 8 / (2 x 3.1416) = 1.2732 in; section 3.1416 x 1.2732^2 = 5.0930 sq in;
    # x 10 in = 50.930 cu in = 0.8346 l; x 1.15 for settling = 0.9598 l; forty bags take 38.4 l.
    assert (bag.width / CM, bag.length / CM, bag.fill / CM) == pytest.approx((4, 16, 10))
    assert bag.volume_l == pytest.approx(pi * (8 / (2 * pi)) ** 2 * 10 * LITRE)
    assert bag.volume_l == pytest.approx(0.8346, abs=0.00005)
    assert bag.mix_l == pytest.approx(0.9598, abs=0.00005)
    assert 40 * bag.mix_l == pytest.approx(38.4, abs=0.05)


@pytest.mark.parametrize(("width", "fill"), [(7.62, 20.0), (10.16, 25.4), (15.0, 40.0)])
def test_a_filled_tube_is_a_cylinder_whose_way_round_is_twice_its_width(width: float, fill: float) -> None:
    radius = 2 * width / (2 * pi)

    assert volume_l(width, fill) * 1000 == pytest.approx(pi * radius**2 * fill)


def test_the_table_of_containers_is_the_same_in_cubic_inches_and_litres() -> None:
    for row in ROWS:
        assert float(row["low_cu_in"]) * LITRE == pytest.approx(float(row["low_l"]), abs=0.05)
        assert float(row["high_cu_in"]) * LITRE == pytest.approx(float(row["high_l"]), abs=0.05)


def test_the_pot_of_the_rules_is_of_class_1_of_nursery_containers_a_trade_gallon() -> None:
    assert BOOK is not None, FAULTS
    pot = BOOK.programme(Potting).pot

    assert float(named("class 1")["low_l"]) <= pot <= float(named("class 1")["high_l"])
    assert pot < float(named("class 2")["low_l"])
    assert float(named("trade gallon")["low_l"]) <= pot <= float(named("trade gallon")["high_l"])
