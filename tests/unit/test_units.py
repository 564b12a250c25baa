"""Quantities as growers write them. Factors: NIST Handbook 44, Appendix C, General Tables of Units of Measurement."""

from __future__ import annotations

from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from almanac import units
from almanac.faults import Miswritten
from tests.saying import refused


@pytest.mark.parametrize(
    ("written", "kind", "si"),
    [
        # The ice and steam points, and where the two scales meet: common practice of every thermometer.
        ("32 F", "temperature", 0.0),
        ("212 F", "temperature", 100.0),
        ("-40 F", "temperature", -40.0),
        ("25.5 C", "temperature", 25.5),
        ("9 F", "temperature difference", 5.0),
        # NIST Handbook 44, Appendix C: 1 inch = 2.54 cm, 1 foot = 30.48 cm, exactly.
        ("4 in", "length", 10.16),
        ("1 ft", "length", 30.48),
        ("100 mm", "length", 10.0),
        ("1000 ft", "elevation", 304.8),
        ("350 m", "elevation", 350.0),
        # The same: 1 gallon = 3.785 411 784 L exactly, 1 liquid quart a quarter of it.
        ("1 gal", "volume", 3.785411784),
        ("4 qt", "volume", 3.785411784),
        ("960 ml", "volume", 0.96),
        # The same: 1 cubic foot = 28.316 846 592 L exactly, 1 fluid ounce the 128th of a gallon.
        ("1 cu ft", "volume", 28.316846592),
        ("128 fl oz", "volume", 3.785411784),
        # The same: 1 avoirdupois pound = 453.592 37 g exactly, 16 ounces.
        ("1 lb", "mass", 453.59237),
        ("16 oz", "mass", 453.59237),
        ("6 w", "days", 42.0),
        ("14 h", "hours", 14.0),
    ],
)
def test_a_quantity_is_what_the_published_tables_say(written: str, kind: str, si: float) -> None:
    assert units.parse(written, kind) == pytest.approx(si, rel=1e-9, abs=1e-12)


@pytest.mark.parametrize("written", ["78 F", "78F", " 78  f ", "78 °F", "+78 F", "78,0 F", "78.0 F"])
def test_the_ways_hands_write_a_temperature_mean_the_same(written: str) -> None:
    assert units.parse(written, "temperature") == pytest.approx(25.5556, abs=1e-4)


@pytest.mark.parametrize(
    ("written", "kind", "told"),
    [
        ("78", "temperature", '"78" has no unit; write "78 F" or "25.5 C"'),
        (78, "temperature", '78 has no unit; write "78 F" or "25.5 C"'),
        (True, "temperature", 'true is not a temperature; write "78 F" or "25.5 C"'),
        ("", "temperature", '"" is not a temperature; write "78 F" or "25.5 C"'),
        ("warm", "temperature", '"warm" is not a temperature; write "78 F" or "25.5 C"'),
        (["78 F"], "temperature", 'a list is not a temperature; write "78 F" or "25.5 C"'),
        ({"mat": "78 F"}, "temperature", 'a table is not a temperature; write "78 F" or "25.5 C"'),
        ("78 in", "temperature", '"78 in": \'in\' is no unit of temperature; write "78 F" or "25.5 C"'),
        ("4 C", "length", '"4 C": \'C\' is no unit of length; write "4 in" or "10 cm"'),
        (
            "780 F",
            "temperature",
            '"780 F" is out of range; check number and unit, which must lie from "-90 C" to "100 C"',
        ),
        ("-1 d", "days", '"-1 d" is out of range; check number and unit, which must lie from "0 d" to "3660 d"'),
        ("25 h", "hours", '"25 h" is out of range; check number and unit, which must lie from "0 h" to "24 h"'),
        ("1e2 F", "temperature", '"1e2 F" is not a temperature; write "78 F" or "25.5 C"'),
        ("٣٣ F", "temperature", '"٣٣ F" is not a temperature; write "78 F" or "25.5 C"'),
    ],
)
def test_what_is_no_quantity_is_told_with_the_way_to_write_it(written: object, kind: str, told: str) -> None:
    with refused(Miswritten) as found:
        units.parse(written, kind)

    assert found.text == told


@given(st.floats(-60, 95))
def test_a_temperature_written_in_either_scale_is_the_same_warmth(celsius: float) -> None:
    in_f, in_c = f"{celsius * 9 / 5 + 32:.3f} F", f"{celsius:.3f} C"

    assert units.parse(in_f, "temperature") == pytest.approx(units.parse(in_c, "temperature"), abs=2e-3)


@given(st.text() | st.floats() | st.integers() | st.none() | st.lists(st.integers()), st.sampled_from(units.KINDS))
def test_anything_at_all_is_a_finite_quantity_or_told(written: object, kind: str) -> None:
    with suppress(ValueError):
        assert -1e6 <= units.parse(written, kind) <= 1e6


@pytest.mark.parametrize(
    ("celsius", "us", "metric"), [(0.0, "32 °F", "0 °C"), (25.5, "78 °F", "25.5 °C"), (-2.3, "28 °F", "-2.5 °C")]
)
def test_a_temperature_is_shown_to_what_a_thermometer_reads(celsius: float, us: str, metric: str) -> None:
    assert (units.temperature(celsius, "us"), units.temperature(celsius, "metric")) == (us, metric)


def test_sixty_fahrenheit_reads_the_same_in_every_text() -> None:
    celsius = units.parse("60 F", "temperature")  # 15.56 C

    assert units.temperature(celsius, "us") == "60 °F"
    assert units.temperature(celsius, "metric") == "15.5 °C"
    assert units.both_scales(celsius) == "60 F (15.5 C)"
    assert units.setting(celsius, "metric") == "15.5 C"
    assert units.both_scales(celsius, celsius) == "60 F (15.5 C)"
    assert units.both_scales(24.0, 27.0) == "75-81 F (24-27 C)"


def test_a_hair_under_nothing_is_told_without_a_sign() -> None:
    assert units.both_scales(-17.9) == "0 F (-18 C)"
    assert units.temperature(-0.1, "metric") == "0 °C"
