"""Five invented winters drawn from a known truth: what is learned of them, and how forecasts would have done."""

from __future__ import annotations

from datetime import UTC, datetime
from math import sqrt
from pathlib import Path

import pytest

from almanac.forecast.back_test import Tried, back_test, score
from almanac.forecast.history import surroundings
from almanac.nursery.load import load_nursery
from almanac.nursery.nursery import Nursery
from tests.outside.make_millrace import FILE, SLIP, TRUTH, UNTIL, logbook


@pytest.fixture(scope="module")
def millrace() -> Nursery:
    return load_nursery(FILE.parent, datetime(2026, 11, 25, 12, tzinfo=UTC), UNTIL)


@pytest.fixture(scope="module")
def tried(millrace: Nursery) -> list[Tried]:
    return list(back_test(millrace))


def test_the_shipped_logbook_is_the_one_the_script_makes() -> None:
    assert FILE.read_text(encoding="utf-8") == logbook()


@pytest.mark.parametrize("milestone", ["callus", "roots", "budbreak", "leaves", "well_rooted"])
def test_what_is_learned_of_the_grower_lies_by_the_truth(milestone: str, millrace: Nursery) -> None:
    learned = surroundings(millrace).experience["fig", "sealed_bag", milestone]

    off = learned.grower.mean - TRUTH[milestone]
    assert abs(off) < 2.6 * sqrt(learned.grower.var)
    assert sqrt(learned.grower.var) < 0.13


def test_the_date_that_is_a_slip_of_the_pen_is_held_out(millrace: Nursery) -> None:
    lot, sign = SLIP

    assert lot in surroundings(millrace).experience["fig", "sealed_bag", sign].held_out


def test_rooting_would_have_been_forecast_nearer_and_in_a_narrower_band_than_by_the_rule_alone(
    tried: list[Tried],
) -> None:
    roots = [each for each in tried if each.milestone == "roots" and not each.held_out]

    learned, by_rule = score(roots, lambda each: each.with_learning), score(roots, lambda each: each.by_rule)
    assert learned.number == by_rule.number >= 30
    assert learned.error_days < 0.75 * by_rule.error_days
    assert learned.width_days < by_rule.width_days
    assert 0.7 <= learned.inside <= 0.95


def test_no_forecast_of_the_past_knows_what_was_logged_after_it(tried: list[Tried], tmp_path: Path) -> None:
    whole = {(each.lot, each.milestone): each for each in tried}
    lines = FILE.read_text(encoding="utf-8").splitlines(keepends=True)
    for name in ("nursery.toml", "varieties.csv"):
        (tmp_path / name).write_bytes((FILE.parent / name).read_bytes())
    kept = [line for line in lines if line.split(",")[1] <= "2024-02-15" or line.startswith("id,")]
    (tmp_path / "logbook.csv").write_text("".join(kept), encoding="utf-8")

    shorter = back_test(load_nursery(tmp_path, datetime(2026, 11, 25, 12, tzinfo=UTC), UNTIL))

    assert len(shorter) > 50
    for each in shorter:
        other = whole[each.lot, each.milestone]
        assert (each.with_learning, each.by_rule, each.came) == (other.with_learning, other.by_rule, other.came)
