"""What a mistyped word is taken for: near as a person finds near, from the list of its place, or nothing."""

from __future__ import annotations

import pytest

from almanac.faults import nearest
from almanac.nursery.events import DEATHS, EVENTS
from almanac.site.towns import UnknownTownError, find_town
from almanac.words.left_out import left_out
from tests.saying import refused

CROPS = ("black_currant", "dogwood", "elderberry", "fig", "grape", "mulberry", "pomegranate", "red_currant", "willow")


@pytest.mark.parametrize(
    ("typed", "meant"),
    [("ifg", "fig"), ("mullberry", "mulberry"), ("pomegranite", "pomegranate"), ("Elder", "elderberry"),
     ("Black Currant", "black_currant")],
)  # fmt: skip
def test_a_slip_or_a_beginning_is_taken_for_the_crop(typed: str, meant: str) -> None:
    assert nearest(typed, CROPS).word == meant


@pytest.mark.parametrize("typed", ["strawberry", "raspberry", "blackberry", "cranberry", "apple", "vine"])
def test_a_crop_that_only_shares_letters_with_others_is_taken_for_none_of_them(typed: str) -> None:
    assert nearest(typed, CROPS).word == ""


def test_a_name_that_two_crops_share_names_both() -> None:
    assert nearest("currant", CROPS).known == ("black_currant", "red_currant")


@pytest.mark.parametrize(
    ("typed", "meant"),
    [("lefs", "leaves"), ("leafs", "leaves"), ("look", "looked"), ("pot", "potted"), ("sticked", "stuck")],
)
def test_an_event_is_found_as_it_is_said(typed: str, meant: str) -> None:
    assert nearest(typed, EVENTS).word == meant


def test_mould_is_not_taken_for_cold() -> None:
    assert nearest("mould", DEATHS).word == ""


def test_a_number_of_one_digit_is_near_no_other() -> None:
    assert nearest("17", ("1", "7")).known == ("1", "7")


@pytest.mark.parametrize("typed", ["hydrangea", "Hydrangeas", "olive", "olives"])
def test_a_crop_left_out_on_purpose_says_why(typed: str) -> None:
    assert left_out(typed).startswith(": ")


def test_a_crop_nobody_thought_of_has_no_reason() -> None:
    assert left_out("walnut") == ""


def test_of_a_small_town_none_in_another_country_is_named() -> None:
    with refused(UnknownTownError) as refusal:
        find_town("Floyd, Virginia")

    assert refusal.text == (
        'town "Floyd, Virginia" is not among those of over 15,000 people; '
        "name a larger town nearby, or write latitude, longitude and timezone"
    )
