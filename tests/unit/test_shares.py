"""Shares as a grower reads them."""

from __future__ import annotations

import pytest

from almanac.words.sentences import percent, percent_asked


@pytest.mark.parametrize(
    ("share", "told"),
    [(0.0, "0%"), (0.004, "<1%"), (0.01, "1%"), (0.625, "62%"), (0.99, "99%"), (0.994, ">99%"), (1.0, "100%")],
)
def test_a_share_is_never_rounded_to_none_or_all(share: float, told: str) -> None:
    assert percent(share) == told


def test_a_chance_keeps_the_decimals_it_was_asked_with() -> None:
    assert [percent_asked(chance) for chance in (0.9, 0.925, 0.07)] == ["90%", "92.5%", "7%"]
