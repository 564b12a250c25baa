"""On which days to go to the bench: what comes first when not everything can be had."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from datetime import date, timedelta
from itertools import pairwise

import pytest

from almanac.plan.agenda.visits import Repeat, Span, Wants, Wish, visit_days

MONDAY = date(2027, 2, 1)
Look = tuple[int, int, int]  # the first latest day, the longest wait after it, the last day


def on(number: int) -> date:
    return MONDAY + timedelta(days=number)


def visits(
    looks: Sequence[Look],
    *,
    wished: Sequence[Look] = (),
    windows: Sequence[tuple[int, int]] = (),
    bench: str = "mtwtfss",
    away: Collection[int] = (),
    holidays: Collection[int] = (),
    keep: Collection[int] = (),
    before: int | None = None,
) -> list[int]:
    """The days of visits, counted from the Monday; bench days are the capitals of the week (none: all)."""
    capitals = [number for number, letter in enumerate(bench) if letter.isupper()] or range(7)
    wants = Wants(
        [
            *(Span(earliest=on(0), latest=on(first)) for first, _, _ in looks),
            *(Span(earliest=on(first), latest=on(last)) for first, last in windows),
        ],
        [Repeat(first=on(0), last=on(last - every), every_days=every) for _, every, last in looks],
        [Wish(first=on(0), by=on(first), every_days=every, end=on(last)) for first, every, last in wished],
    )
    found = visit_days(
        wants,
        MONDAY,
        lambda day: (
            (day - MONDAY).days in away,
            (day - MONDAY).days in holidays,
            day.weekday() not in capitals or (day - MONDAY).days in holidays,
        ),
        keep={on(number) for number in keep},
        before=on(before) if before is not None else None,
    )
    return [(day - MONDAY).days for day in found]


def test_with_nothing_to_look_at_nobody_goes() -> None:
    assert visits([]) == []


def test_one_visit_serves_every_lot() -> None:
    alone = visits([(4, 4, 15)])

    assert len(alone) == 3
    assert visits([(4, 4, 15), (6, 9, 15), (5, 20, 15)]) == alone


def test_the_visit_waits_for_a_bench_day_if_the_look_can() -> None:
    assert visits([(6, 30, 10)], bench="mtwTfss") == [3]


def test_a_look_that_cannot_wait_for_a_bench_day_is_made_before_it() -> None:
    assert visits([(2, 30, 10)], bench="mtwTfss") in ([0], [1], [2])


def test_bench_days_are_worth_more_than_fewer_visits() -> None:
    found = visits([(3, 4, 14)], bench="mTwtFss")

    assert {day % 7 for day in found} == {1, 4}


def test_a_day_away_is_left_out_even_if_the_visit_falls_off_the_bench_days() -> None:
    assert visits([(4, 30, 10)], bench="mtwtFss", away=[4, 5]) in ([0], [1], [2], [3])


def test_a_look_that_falls_wholly_into_days_away_is_kept_all_the_same() -> None:
    found = visits([(2, 4, 16)], away=range(4, 13))

    assert any(4 <= day < 13 for day in found)
    assert all(there - here <= 4 for here, there in pairwise(found))


def test_a_treatment_is_given_in_its_window_and_takes_the_looks_with_it() -> None:
    found = visits([(4, 8, 14)], windows=[(6, 7)])

    assert any(6 <= day <= 7 for day in found)
    assert len(found) == 2  # by the fourth day, and in the window: from there the looks keep to their last day


@pytest.mark.parametrize("bench", ["mtwtfss", "mTwtFss"])
def test_what_should_have_been_done_before_is_done_on_the_first_day(bench: str) -> None:
    assert visits([(-3, 30, 20)], bench=bench) == [0]


def test_days_published_before_stay_where_others_would_do_no_better() -> None:
    look = (5, 7, 14)
    free = visits([look])

    assert visits([look], keep=[3, 9]) == [3, 9] != free
    assert len(visits([look], keep=range(14))) == len(free) == 2
    assert visits([look], keep=[3, 9], away=[9])[1] != 9


def test_visits_are_spread_evenly() -> None:
    found = visits([(5, 5, 14)])

    assert len(found) == 2
    assert max(found[0], found[1] - found[0], 14 - found[1]) <= 5


def test_a_visit_that_may_come_on_many_days_comes_midway_between_those_about_it() -> None:
    # The second by day 8 at the earliest, as a look on day 7 still asks for another: from the Saturday before.
    assert visits([(6, 7, 14)], before=-2) == [3, 8]
    # Of bench days likewise: 13 days and 13, where the Thursday would make it 12 and 14.
    assert visits([(12, 14, 26)], bench="mtwTFss", before=-9) == [4, 17]


def test_even_spacing_counts_from_the_last_visit() -> None:
    assert visits([(6, 30, 8)], windows=[(0, 6)], before=-4) == [0]


# --- wishes ------------------------------------------------------------------------------------------------------


def test_two_bench_days_a_week_stay_two_though_one_would_keep_every_latest_day() -> None:
    found = visits([(5, 7, 27)], wished=[(2, 4, 27)], bench="mTwtfSs", before=-2)

    assert found == [1, 5, 8, 12, 15, 19, 22, 26]


def test_a_wish_sends_nobody_to_the_bench_on_another_day() -> None:
    assert visits([(7, 7, 27)], wished=[(3, 3, 27)], bench="mtwtfSs") == [5, 12, 19, 26]


def test_with_every_day_a_bench_day_a_visit_comes_as_seldom_as_wished_and_no_seldomer() -> None:
    assert visits([(7, 7, 40)], wished=[(4, 4, 40)])[:6] == [4, 8, 12, 16, 20, 24]


def test_a_bench_day_is_saved_where_no_look_comes_later_by_more_than_a_day() -> None:
    saturday_and_sunday = visits([(6, 7, 27)], wished=[(3, 4, 27)], bench="mtwtfSS", before=-1)

    # A Sunday more would make the next look a day less late, and is another walk.
    assert saturday_and_sunday == [5, 12, 19, 26]


def test_a_holiday_that_is_off_is_left_out_even_if_two_other_days_off_the_bench_days_do_instead() -> None:
    found = visits([(4, 4, 12)], bench="Mtwtfss", holidays=[4])

    assert 4 not in found
    assert all(there - here <= 4 for here, there in pairwise([0, *found]))
