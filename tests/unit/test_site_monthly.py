"""What must hold of a frost table from twelve monthly mean lows, whatever its constants. The places are invented."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from itertools import accumulate
from math import erf, sqrt
from statistics import NormalDist, fmean
from time import perf_counter

import pytest

from almanac.site.freeze_year import FreezeYear
from almanac.site.frost import FrostTable
from almanac.site.given import MonthlyLowsError
from almanac.site.monthly import from_monthly
from almanac.site.nightly import daily_curve, frost_so_far, shipped_constants, usual_daily_sd
from tests.saying import noted, refused

COLD = [-4.0, -3.0, 1.0, 6.0, 11.0, 16.0, 18.5, 17.5, 13.5, 7.0, 2.0, -2.0]
MILD = [5.5, 6.0, 7.5, 9.0, 11.5, 14.0, 15.5, 15.5, 14.0, 11.0, 8.0, 6.0]
TROPICAL = [23.0, 23.0, 24.0, 25.0, 26.0, 26.0, 25.5, 25.5, 25.5, 25.0, 24.5, 23.5]
POLAR = [-30.0, -31.0, -29.0, -22.0, -10.0, -3.0, -1.0, -2.0, -6.0, -15.0, -23.0, -28.0]
MONTH_DAYS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)


def southern(lows: list[float]) -> list[float]:
    return lows[6:] + lows[:6]


def place(lows: list[float] = COLD, **more: object) -> FrostTable:
    arguments: dict[str, object] = {"threshold_c": 0.0, "southern": False, "source": "invented"} | more
    return from_monthly(lows, **arguments)  # type: ignore[arg-type]  # what a test changes is its own


@pytest.mark.parametrize(
    "monthly", [COLD, MILD, POLAR, [0.0, 9.0, -3.0, 8.0, 2.0, 30.0, 1.0, 4.0, -7.0, 2.0, 5.0, 6.0]]
)
def test_the_yearly_curve_keeps_the_twelve_means(monthly: list[float]) -> None:
    curve = daily_curve(tuple(monthly))

    ends = accumulate(MONTH_DAYS)
    means = [fmean(curve[end - days : end]) for end, days in zip(ends, MONTH_DAYS, strict=True)]
    assert means == pytest.approx(monthly, abs=1e-3)


def test_the_yearly_curve_is_smooth_over_new_year() -> None:
    curve = daily_curve(tuple(COLD))

    steps = [abs(b - a) for a, b in zip(curve, [*curve[1:], curve[0]], strict=True)]
    assert max(steps) < 0.35


def test_nights_that_do_not_resemble_each_other_are_a_plain_product() -> None:
    chances = (0.5, 0.1, 0.02)

    found = frost_so_far([NormalDist().inv_cdf(chance) for chance in chances], 0.0)

    assert found == pytest.approx([0.5, 1 - 0.5 * 0.9, 1 - 0.5 * 0.9 * 0.98])


def test_two_nights_that_resemble_each_other_are_as_in_the_tables() -> None:
    # Both of two normal deviates of correlation r are above their means with chance 1/4 + asin(r) / (2 pi): Sheppard
    # 1899. For r = 1/2 that is 1/3.
    assert frost_so_far([0.0, 0.0], 0.5)[1] == pytest.approx(2 / 3, abs=1e-6)


def test_a_table_from_means_is_called_an_estimate_with_the_error_to_expect() -> None:
    table = place()

    assert table.estimate
    assert table.source == "invented"
    [note] = noted(table)
    error = shipped_constants().error_days_cold["default"]
    assert f"a date is off by about {error:.0f} days in the mean" in note


def test_where_it_never_freezes_no_date_is_made_up() -> None:
    table = place(TROPICAL)

    assert (table.spring, table.autumn, table.frost_free_share) == (None, None, 1.0)
    assert table.chance_after(date(2027, 1, 1)) == 0.0
    assert table.date_for_spring(0.1, 2027) is None


def test_where_it_freezes_all_year_no_day_is_safe() -> None:
    table = place(POLAR)

    assert table.frost_free_share == pytest.approx(0.0, abs=1e-6)
    assert table.first_safe_day(date(2027, 5, 1), 0.1, 7) is None
    assert table.chance_after(date(2027, 7, 15)) > 0.9


def test_the_south_is_the_north_half_a_year_later() -> None:
    north, south = place(), place(southern(COLD), southern=True)

    for chance in (0.1, 0.5, 0.9):
        spring, mirrored = north.date_for_spring(chance, 2027), south.date_for_spring(chance, 2027)
        assert spring
        assert mirrored
        apart = FreezeYear(True).index(mirrored.month, mirrored.day) - FreezeYear(False).index(spring.month, spring.day)
        assert abs(apart) <= 4  # the halves of the calendar are not of one length


def test_a_lower_threshold_is_reached_on_fewer_days() -> None:
    zero, two_below = place(), place(threshold_c=-2.0)

    for day in (date(2027, 4, 1), date(2027, 4, 20), date(2027, 5, 10)):
        assert two_below.chance_after(day) < zero.chance_after(day)


def test_wider_spread_makes_the_last_frost_later() -> None:
    usual = usual_daily_sd(COLD, shipped_constants())

    narrow, wide = (place(daily_sd_c=[value * sd for sd in usual]) for value in (0.8, 1.2))

    late, early = wide.date_for_spring(0.1, 2027), narrow.date_for_spring(0.1, 2027)
    assert late
    assert early
    assert late > early


@pytest.mark.parametrize("chance", [0.1, 0.5, 0.9])
@pytest.mark.parametrize("day", [(4, 5), (4, 23), (5, 2)])
def test_a_known_date_is_met_exactly(chance: float, day: tuple[int, int]) -> None:
    table = place(known={"last_spring": {chance: day}})

    assert table.date_for_spring(chance, 2027) == date(2027, *day)


def test_a_date_known_in_one_season_moves_the_other_the_same_way_and_less() -> None:
    plain, colder = place(), place(known={"last_spring": {0.5: (5, 5)}})

    spring = [table.date_for_spring(0.5, 2027) for table in (plain, colder)]
    autumn = [table.date_for_autumn(0.5, 2027) for table in (plain, colder)]
    assert spring[0]
    assert spring[1]
    assert autumn[0]
    assert autumn[1]
    later, earlier = (spring[1] - spring[0]).days, (autumn[0] - autumn[1]).days
    assert 0 < earlier < later


def test_dates_known_in_both_seasons_are_all_met_exactly() -> None:
    spring, autumn = {0.9: (4, 8), 0.5: (4, 20), 0.1: (5, 6)}, {0.5: (10, 14), 0.9: (10, 29)}

    table = place(known={"last_spring": spring, "first_autumn": autumn})

    assert {chance: table.date_for_spring(chance, 2027) for chance in spring} == {
        chance: date(2027, *day) for chance, day in spring.items()
    }
    assert {chance: table.date_for_autumn(chance, 2027) for chance in autumn} == {
        chance: date(2027, *day) for chance, day in autumn.items()
    }
    assert "spring and autumn" in noted(table)[0]


def test_on_the_edge_of_frost_the_share_of_years_without_is_told() -> None:
    table = place(MILD)

    assert table.frost_free_share is not None
    assert 0.02 < table.frost_free_share < 0.98
    assert f"no frost in about {table.frost_free_share:.0%} of years" in noted(table)[1]
    assert table.chance_after(date(2026, 8, 2)) == pytest.approx(1 - table.frost_free_share)


def test_where_dates_are_known_the_share_of_years_with_frost_is_no_less_than_their_chance() -> None:
    table = place(MILD, known={"last_spring": {0.5: (3, 1)}, "first_autumn": {0.5: (12, 1)}})

    assert table.frost_free_share is not None
    assert table.frost_free_share < 0.5
    assert table.date_for_spring(0.5, 2027) == date(2027, 3, 1)
    assert table.date_for_autumn(0.5, 2027) == date(2027, 12, 1)


def test_every_place_has_chances_that_only_fall_in_spring_and_only_rise_in_autumn() -> None:
    for winter in range(-30, 12, 3):
        for summer in range(max(winter, 0), 30, 5):
            middle, half = (winter + summer) / 2, (summer - winter) / 2
            lows = [middle - half * erf(sqrt(2) * (1 - abs(month - 6) / 3)) * -1 for month in range(12)]

            table = place(lows)  # a curve that does not is refused by its own type

            assert 0.0 <= (table.frost_free_share or 0.0) <= 1.0


def test_it_is_quick_enough_not_to_be_noticed() -> None:
    place()  # what is the same for all places is worked out once

    start = perf_counter()
    for _ in range(5):
        place()
        place(known={"last_spring": {0.5: (4, 23)}})

    assert (perf_counter() - start) / 10 < 0.5  # measured: a hundredth of a second; room for a busy machine


def told(make: Callable[[], object]) -> tuple[str, ...]:
    with refused(MonthlyLowsError) as found:
        make()
    return tuple(found.texts)


def test_every_fault_is_told_at_once_with_its_remedy() -> None:
    found = told(
        lambda: place(
            [-80.0, *COLD[1:]],
            daily_sd_c=[4.0] * 11 + [40.0],
            known={"last_spring": {0.5: (10, 17)}},
        )
    )

    assert found == (
        "the mean low of January is -80.0 C, as it is nowhere on earth; check number and unit",
        "daily_sd of December is 40.0 C, where daily lows spread by 0.3 to 15; write their standard deviation, "
        "or leave daily_sd out",
        'known last_spring "50%" is 10-17, out of season in the north; write it under first_autumn, or mend the '
        "latitude (negative in the south)",
    )


@pytest.mark.parametrize(
    ("make", "fault"),
    [
        (lambda: place(COLD[:7]), "lows has 7 values; write the mean low of each month, January first"),
        (
            lambda: place(daily_sd_c=[4.0]),
            "daily_sd has 1 values; write that of each month, January first, or leave it out",
        ),
        (
            lambda: place([float("nan"), *COLD[1:]]),
            "the mean low of January is nan C, as it is nowhere on earth; check number and unit",
        ),
        (
            lambda: place(southern(COLD)),
            "lows has no winter about January, as it is in the north; let January stand first, or mend the latitude "
            "(negative in the south)",
        ),
        (
            lambda: place(COLD, southern=True),
            "lows has no winter about July, as it is in the south; let January stand first, or mend the latitude "
            "(positive in the north)",
        ),
        (
            lambda: place(known={"last_spring": {0.5: (2, 2)}}),
            'known last_spring "50%" does not fit the lows, even were they 3 C off; check the date, the unit of the '
            "lows, and that January stands first",
        ),
        (
            lambda: place(TROPICAL, known={"first_autumn": {0.5: (12, 1)}}),
            'known first_autumn "50%" does not fit the lows, even were they 3 C off; check the date, the unit of the '
            "lows, and that January stands first",
        ),
    ],
)
def test_a_fault_says_what_was_found_and_how_to_mend_it(make: Callable[[], object], fault: str) -> None:
    assert told(make) == (fault,)


def test_without_seasons_nothing_is_said_of_the_half_of_the_earth() -> None:
    assert place(TROPICAL, southern=True).frost_free_share == 1.0
