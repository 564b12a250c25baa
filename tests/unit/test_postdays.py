"""Post days: the week's own, no public holiday then or on the way, nobody away, cold held."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Unpack

import pytest

from almanac.plan.context.postdays import PostDays
from almanac.plan.wood.account import account_of
from tests.nurseries import Parts, bench

# 2027: Monday 18 January and Monday 15 February are public holidays of the United States (5 U.S.C. 6103(a)).
COLD = f"[frost]\nmonthly = {{ lows = {[f'{low} C' for low in (-12, -9, -3, 2, 8, 13, 16, 15, 10, 4, -1, -8)]} }}"


def post(folder: Path, **parts: Unpack[Parts]) -> PostDays:
    return account_of(bench(folder, "", date(2027, 1, 1), **parts)).post


def test_post_goes_on_the_days_of_the_week_that_the_nursery_names(tmp_path: Path) -> None:
    found = post(tmp_path, week='bench_days = ["tue"]\npost_days = ["tue"]')

    assert [each.day for each in found.upcoming(date(2027, 1, 4), date(2027, 1, 20))] == [
        date(2027, 1, 5),
        date(2027, 1, 12),
        date(2027, 1, 19),
    ]


def test_none_goes_on_a_public_holiday(tmp_path: Path) -> None:
    assert not post(tmp_path).goes(date(2027, 1, 18))


def test_none_goes_that_would_travel_over_a_public_holiday(tmp_path: Path) -> None:
    # Four days on the way from Thursday 14 January run into Monday 18; three do not.
    week = 'bench_days = ["tue"]\npost_days = ["wed", "thu"]'

    assert not post(tmp_path, week=week, sale="transit_days = 4").goes(date(2027, 1, 14))
    assert post(tmp_path, week=week).goes(date(2027, 1, 14))


def test_mail_runs_on_the_holidays_of_a_single_state_of_the_union(tmp_path: Path) -> None:
    # Tuesday 3 November 2026 is Election Day, a holiday of Virginia (Code of Virginia 2.2-3300) and none of 5 U.S.C.
    # 6103(a), whose days the postal service keeps; Monday 12 October is one of both.
    virginia = post(tmp_path, site='region = "VA"')

    assert virginia.goes(date(2026, 11, 3))
    assert not virginia.goes(date(2026, 10, 12))


def test_a_parcel_waits_for_the_holidays_of_where_it_goes(tmp_path: Path) -> None:
    # Thursday 1 July 2027, Canada Day (Holidays Act, R.S.C. 1985, c. H-5), is an ordinary day in the United States.
    found = post(tmp_path)

    assert found.goes(date(2027, 6, 30), ("US", "NC"))
    assert not found.goes(date(2027, 6, 30), ("CA", "ON"))


def test_what_is_left_out_is_told_with_its_reason(tmp_path: Path) -> None:
    week = 'bench_days = ["tue"]\naway = [ { from = 2027-01-05, to = 2027-01-06 } ]'

    found = dict(post(tmp_path, week=week).left_out(date(2027, 1, 4), date(2027, 1, 19)))

    assert set(found) == {date(2027, 1, 5), date(2027, 1, 6), date(2027, 1, 18)}
    assert found[date(2027, 1, 5)] == ""
    assert "Martin Luther King" in found[date(2027, 1, 18)]


def test_a_parcel_is_held_where_the_usual_night_is_far_below_freezing(tmp_path: Path) -> None:
    found = post(tmp_path, frost=COLD)

    january, march = found.told(date(2027, 1, 12)), found.told(date(2027, 3, 16))
    assert january.hold
    assert january.low_c == pytest.approx(-12, abs=0.5)
    assert not march.hold
    assert found.next(date(2027, 1, 12)) is not None
    assert found.next(date(2027, 1, 12)) > date(2027, 1, 31)  # type: ignore[operator]  # it is a day


def test_where_nobody_knows_the_usual_night_nothing_is_held_and_it_is_said_to_be_unknown(tmp_path: Path) -> None:
    found = post(tmp_path).told(date(2027, 1, 12))

    assert found.unknown
    assert not found.hold


def test_the_last_post_is_on_or_before_a_day_and_not_before_another(tmp_path: Path) -> None:
    found = post(tmp_path)

    assert found.last(date(2027, 2, 15)) == date(2027, 2, 10)
    assert found.last(date(2027, 2, 14), date(2027, 2, 11)) is None


def test_without_post_days_nothing_is_posted(tmp_path: Path) -> None:
    found = post(tmp_path, week='bench_days = ["tue"]\npost_days = []')

    assert found.last(date(2027, 2, 15)) is None
    assert list(found.upcoming(date(2027, 1, 1))) == []
