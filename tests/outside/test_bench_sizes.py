"""The bench page at 320, 360 and 1280 px, with text up to twice as large, in light and dark, and without network.

As `test_bench_page`: chromium is driven by playwright-core and judged by axe-core. Nursery and lots are invented.
"""

from __future__ import annotations

import pytest

from tests.conftest import once
from tests.outside.test_bench_page import Found, driven

pytestmark = pytest.mark.start


@pytest.fixture(scope="module")
def found(tmp_path_factory: pytest.TempPathFactory) -> Found:
    """What the driver found."""
    return once(tmp_path_factory, "bench_sizes", lambda: driven(tmp_path_factory.mktemp("sizes"), "bench_sizes.mjs"))


def test_nothing_runs_off_the_side_at_any_size(found: Found) -> None:
    # WCAG 2.2, 1.4.10 reflow: 320 px; 1.4.4 resize text: up to 200 %.
    assert len(found["tall"]) == 7 + 2 * 2 + 1 + 2  # all of them were looked at
    assert found["wide"] == []


def test_a_page_is_no_longer_than_its_text_needs(found: Found) -> None:
    # Twice the size takes four times the room; a letter a line would take many times that.
    for name, tall in found["tall"].items():
        if name.replace("200 %", "100 %") in found["tall"]:
            assert tall < 6 * found["tall"][name.replace("200 %", "100 %")], name


def test_no_word_is_broken_inside_and_lines_hold_twelve_letters(found: Found) -> None:
    assert found["broken"] == []
    assert found["narrow"] == []


def test_axe_has_no_complaint_at_any_size(found: Found) -> None:
    assert found["axe"] == []
    assert found["console"] == []


def test_buttons_stand_where_they_stood_whatever_was_logged(found: Found) -> None:
    before, after = found["places"]
    assert len(before) >= 8
    assert before == after


def test_on_a_wide_screen_the_lot_stands_beside_the_bench_and_both_show_what_is_logged(found: Found) -> None:
    assert found["beside"] == {"apart": True, "url": "/", "opened": False}
    assert found["sideSaid"] == [0, 1]


def test_a_page_asked_for_without_network_leaves_this_one_with_all_that_is_filled_in(found: Found) -> None:
    assert found["offline"]["said"].startswith("No network: “Week” cannot be shown. This page stays")
    assert (found["offline"]["path"], found["offline"]["open"], found["offline"]["filled"]) == ("/", True, "2")


def test_back_with_the_network_pages_change_in_place_and_the_way_back_works(found: Found) -> None:
    path, title, tab, back = found["online"]
    assert (path, tab, back) == ("/week", "Week", "/")
    assert title.startswith("Week")


def test_the_commonest_jobs_take_two_taps_at_most_and_what_is_left_is_said(found: Found) -> None:
    assert found["taps"] == {
        "a bin all well": 1,
        "all well but one": 2,
        "and its mould": 1,
        "roots with a number": 2,
        "part of a lot potted": 2,
    }
    assert "2 potted up of 8a, 4 left in B." in found["partTold"]


def test_a_bin_that_is_done_folds_unless_a_trouble_is_open(found: Found) -> None:
    assert found["foldedTroubled"]
    assert not found["foldedSound"]


def test_without_scripts_all_of_it_works_at_320_pixels(found: Found) -> None:
    assert "Logged. Mould: 9a" in found["plain"]
