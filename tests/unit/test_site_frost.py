"""What must hold of frost tables and the freeze year, on invented dates (published: `tests/outside`)."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from almanac.faults import Miswritten
from almanac.site.freeze_year import Curve, FreezeYear
from almanac.site.frost import FrostTable, from_published, never
from almanac.site.given import MonthDay, PublishedDatesError
from tests.saying import refused

SPRING = {0.9: (4, 4), 0.5: (4, 17), 0.1: (4, 30)}
AUTUMN = {0.1: (10, 5), 0.5: (10, 18), 0.9: (11, 2)}
NORTH = from_published(0.0, SPRING, AUTUMN, False, "invented")
SOUTH = from_published(
    0.0,
    {0.9: (9, 20), 0.5: (10, 5), 0.1: (10, 20)},
    {0.1: (4, 12), 0.5: (4, 28), 0.9: (5, 15)},
    True,
    "invented",
)
# Frost after 10 July one year in ten, by 20 August one in ten.
MOUNTAIN = from_published(0.0, {0.5: (6, 25), 0.1: (7, 10)}, {0.1: (8, 20), 0.5: (9, 5)}, False, "invented")
# The last frost half of the time before 15 January, and the first one a tenth of the time after 30 January.
WARM = from_published(0.0, {0.9: (12, 26), 0.5: (1, 15), 0.1: (2, 5)}, {0.1: (12, 5), 0.9: (1, 30)}, False, "invented")

southern = st.booleans()
chances = st.floats(0.001, 0.999)
days = st.dates(date(2020, 1, 1), date(2030, 12, 31))


@st.composite
def dates_by_chance(draw: st.DrawFn, first: int, last: int, *, falls: bool, southern: bool) -> dict[float, MonthDay]:
    """From one to five dates between two days of the freeze year, in the order their chances ask for."""
    some = draw(st.lists(st.integers(1, 99), min_size=1, max_size=5, unique=True))
    indices = draw(st.lists(st.integers(first, last), min_size=len(some), max_size=len(some), unique=True))
    by_day = [FreezeYear(southern).date_in(2027, index) for index in sorted(indices)]
    return {
        percent / 100: (day.month, day.day) for percent, day in zip(sorted(some, reverse=falls), by_day, strict=True)
    }


@st.composite
def published(draw: st.DrawFn) -> tuple[FrostTable, dict[float, MonthDay], dict[float, MonthDay]]:
    south = draw(southern)
    spring = draw(dates_by_chance(92, 364, falls=True, southern=south))
    autumn = draw(dates_by_chance(0, 272, falls=False, southern=south))
    return from_published(-2.0, spring, autumn, south, "invented"), spring, autumn


@given(published())
def test_the_chances_go_through_the_published_dates_and_back(
    case: tuple[FrostTable, dict[float, MonthDay], dict[float, MonthDay]],
) -> None:
    table, spring, autumn = case

    for chance, month_day in spring.items():
        assert table.chance_after(date(2027, *month_day)) == chance
        assert table.date_for_spring(chance, 2027) == date(2027, *month_day)
    for chance, month_day in autumn.items():
        assert table.chance_before(date(2027, *month_day)) == chance
        assert table.date_for_autumn(chance, 2027) in (date(2027, *month_day), None)


@given(published())
def test_through_a_freeze_year_the_chance_of_a_later_frost_only_falls_and_of_an_earlier_one_only_rises(
    case: tuple[FrostTable, dict[float, MonthDay], dict[float, MonthDay]],
) -> None:
    table = case[0]
    first = FreezeYear(table.southern).start(date(2027, 6, 1))
    year = [first + timedelta(days=n) for n in range(365)]

    later, earlier = [table.chance_after(day) for day in year], [table.chance_before(day) for day in year]

    assert later == sorted(later, reverse=True)
    assert earlier == sorted(earlier)
    assert all(0 <= chance <= 1 for chance in later + earlier)


@given(published(), chances)
def test_the_date_for_a_chance_is_the_last_or_first_one_that_keeps_it(
    case: tuple[FrostTable, dict[float, MonthDay], dict[float, MonthDay]], chance: float
) -> None:
    table = case[0]
    one_day = timedelta(days=1)

    spring, autumn = table.date_for_spring(chance, 2027), table.date_for_autumn(chance, 2027)

    if spring:
        assert table.chance_after(spring) <= chance < table.chance_after(spring - one_day)
    if autumn:
        assert table.chance_before(autumn) <= chance < table.chance_before(autumn + one_day)


@given(published(), days, st.sampled_from([0.02, 0.1, 0.3]), st.integers(0, 500))
def test_a_safe_day_is_not_before_the_day_asked_and_is_safe_when_asked_again(
    case: tuple[FrostTable, dict[float, MonthDay], dict[float, MonthDay]],
    day: date,
    accept: float,
    keep_days: int,
) -> None:
    table = case[0]

    found = table.first_safe_day(day, accept, keep_days)

    if found:
        assert found >= day
        assert table.first_safe_day(found, accept, keep_days) == found


@given(southern, days, st.integers(0, 364))
def test_the_freeze_year_runs_from_midsummer_and_counts_29_february_with_the_28th(
    southern: bool, day: date, index: int
) -> None:
    year = FreezeYear(southern)

    start = year.start(day)
    assert (start.month, start.day) == ((2, 1) if southern else (8, 1))
    assert start <= day < start.replace(year=start.year + 1)
    assert year.index(start.month, start.day) == 0
    assert year.index(2, 29) == year.index(2, 28)
    back = year.date_in(day.year, index)
    assert back.year == day.year
    assert year.index(back.month, back.day) == index


def test_on_leap_day_the_chance_is_that_of_the_day_before() -> None:
    assert WARM.chance_after(date(2028, 2, 29)) == WARM.chance_after(date(2028, 2, 28))
    assert WARM.chance_after(date(2028, 2, 29)) > WARM.chance_after(date(2028, 3, 1))


def test_a_published_leap_day_is_taken_as_28_february() -> None:
    table = from_published(0.0, {0.5: (2, 29), 0.1: (3, 20)}, AUTUMN, False, "invented")

    assert table.date_for_spring(0.5, 2027) == date(2027, 2, 28)
    assert table.date_for_spring(0.5, 2028) == date(2028, 2, 28)


def test_between_and_beyond_its_dates_the_table_is_normal() -> None:
    # Median 17 April, standard deviation 10 days. Beyond one and two of them lie 15.87 and 2.275 % of
    # a normal distribution, beyond half of one 30.854 % (from memory; any table of it has them).
    table = from_published(0.0, {0.5: (4, 17), 0.158655: (4, 27)}, AUTUMN, False, "invented")

    assert table.chance_after(date(2027, 5, 7)) == pytest.approx(0.02275, abs=1e-5)
    assert table.chance_after(date(2027, 4, 22)) == pytest.approx(0.30854, abs=1e-5)
    assert table.chance_after(date(2027, 4, 7)) == pytest.approx(0.84134, abs=1e-5)


def test_tender_plants_go_out_on_the_date_that_one_year_in_ten_has_frost_after() -> None:
    assert NORTH.first_safe_day(date(2027, 3, 1), 0.1, 60) == date(2027, 4, 30)
    assert SOUTH.first_safe_day(date(2027, 8, 1), 0.1, 60) == date(2027, 10, 20)


def test_a_day_past_the_last_frost_is_safe_at_once() -> None:
    assert NORTH.first_safe_day(date(2027, 6, 10), 0.1, 30) == date(2027, 6, 10)
    assert NORTH.first_safe_day(date(2027, 7, 20), 0.1, 30) == date(2027, 7, 20)


def test_in_late_summer_it_is_the_coming_autumn_that_decides() -> None:
    assert NORTH.first_safe_day(date(2027, 9, 1), 0.1, 20) == date(2027, 9, 1)
    assert NORTH.first_safe_day(date(2027, 9, 1), 0.1, 60) == date(2028, 4, 30)
    assert SOUTH.first_safe_day(date(2027, 3, 1), 0.1, 20) == date(2027, 3, 1)
    assert SOUTH.first_safe_day(date(2027, 3, 1), 0.1, 60) == date(2027, 10, 20)


def test_plants_that_must_stay_out_past_the_first_frost_do_not_go_out() -> None:
    assert NORTH.first_safe_day(date(2027, 3, 1), 0.1, 158) == date(2027, 4, 30)
    assert NORTH.first_safe_day(date(2027, 3, 1), 0.1, 159) is None
    assert NORTH.first_safe_day(date(2027, 3, 1), 0.1, 1000) is None


def test_high_on_a_mountain_a_month_is_safe_and_a_summer_is_not() -> None:
    assert MOUNTAIN.first_safe_day(date(2027, 3, 1), 0.1, 30) == date(2027, 7, 10)
    assert MOUNTAIN.first_safe_day(date(2027, 3, 1), 0.1, 60) is None


def test_where_it_freezes_in_every_month_no_day_is_safe() -> None:
    table = from_published(0.0, {0.5: (7, 25)}, {0.5: (8, 5)}, False, "invented")

    assert table.first_safe_day(date(2027, 1, 1), 0.1, 14) is None
    assert table.date_for_spring(0.1, 2027) is None
    assert table.date_for_autumn(0.1, 2027) is None


@pytest.mark.parametrize("southern", [False, True])
def test_where_it_never_freezes_every_day_is_safe(southern: bool) -> None:
    table = never(0.0, southern, "invented")

    assert not table.estimate
    assert table.frost_free_share == 1.0
    for day in (date(2027, 1, 15), date(2027, 7, 15), date(2028, 2, 29)):
        assert table.chance_after(day) == table.chance_before(day) == 0.0
        assert table.first_safe_day(day, 0.0, 365) == day
    assert table.date_for_spring(0.1, 2027) is None
    assert table.date_for_autumn(0.1, 2027) is None


def test_where_half_of_the_years_have_no_frost_no_date_is_likelier_than_half() -> None:
    spring, autumn = Curve(((180, 0.45), (200, 0.1))), Curve(((120, 0.1), (150, 0.45)))
    table = FrostTable(
        threshold_c=0.0,
        southern=False,
        source="invented",
        estimate=False,
        spring=spring,
        autumn=autumn,
        frost_free_share=0.5,
    )

    assert table.chance_after(date(2027, 8, 1)) == 0.5
    assert table.chance_before(date(2027, 7, 31)) == 0.5
    assert table.date_for_spring(0.9, 2027) is None
    assert table.date_for_autumn(0.9, 2027) is None
    assert table.date_for_spring(0.1, 2027) == date(2027, 2, 17)
    assert table.date_for_autumn(0.1, 2027) == date(2027, 11, 29)


def test_in_a_warm_place_the_dates_may_lie_on_the_other_side_of_new_year() -> None:
    assert WARM.chance_after(date(2026, 12, 26)) == 0.9
    assert WARM.chance_after(date(2027, 1, 15)) == 0.5
    assert WARM.date_for_spring(0.9, 2027) == date(2027, 12, 26)
    assert WARM.date_for_autumn(0.9, 2027) == date(2027, 1, 30)


def test_a_single_date_is_an_estimate_with_the_spread_of_such_dates_about_it() -> None:
    single = from_published(0.0, {0.5: (4, 17)}, AUTUMN, False, "invented")

    assert single.estimate
    assert not NORTH.estimate
    assert single.chance_after(date(2027, 4, 17)) == 0.5
    # 17 April is day 259: 12.3 days by almanac/site/data/frost_spread.toml, and 1.2816 of them are 15.8.
    assert single.date_for_spring(0.1, 2027) == date(2027, 5, 3)
    assert single.date_for_spring(0.9, 2027) == date(2027, 4, 2)


def test_the_earlier_the_last_frost_the_wider_its_dates_spread() -> None:
    mild, cold = (from_published(0.0, {0.5: day}, AUTUMN, False, "invented") for day in ((2, 10), (5, 10)))

    width = [_apart(table.date_for_spring(0.1, 2027), table.date_for_spring(0.5, 2027)) for table in (mild, cold)]
    assert width[0] > 1.5 * width[1]


def test_the_date_of_a_colder_threshold_spreads_as_that_of_its_place() -> None:
    # Lebanon NH: nights of 16 F last come on 27 March, those of 32 F on 9 May; it is one and the same place.
    at_16, at_32 = (
        from_published(threshold_c, {0.5: day}, AUTUMN, False, "invented")
        for threshold_c, day in ((-8.9, (3, 27)), (0.0, (5, 9)))
    )

    width = [_apart(table.date_for_spring(0.1, 2027), table.date_for_spring(0.5, 2027)) for table in (at_16, at_32)]
    assert abs(width[0] - width[1]) <= 1


def _apart(later: date | None, earlier: date | None) -> int:
    assert later
    assert earlier
    return (later - earlier).days


def test_a_single_careful_date_stays_where_it_is() -> None:
    single = from_published(0.0, SPRING, {0.1: (10, 5)}, False, "invented")

    assert single.estimate
    assert single.date_for_autumn(0.1, 2027) == date(2027, 10, 5)
    # 5 October is day 65: 10.9 days, and 1.2816 of them are 14 days less a fraction.
    assert single.date_for_autumn(0.5, 2027) == date(2027, 10, 18)


@pytest.mark.parametrize(
    ("spring", "autumn", "south", "expected"),
    [
        pytest.param(
            {},
            AUTUMN,
            False,
            ['last_spring has no date; give one or more, such as "50%" = "04-20"'],
            id="no spring date",
        ),
        pytest.param(
            SPRING,
            {},
            True,
            [
                'last_spring "90%" is 04-04, out of season in the south; write it '
                "under first_autumn, or mend the latitude (positive in the north)",
                'last_spring "50%" is 04-17, out of season in the south; write it '
                "under first_autumn, or mend the latitude (positive in the north)",
                'last_spring "10%" is 04-30, out of season in the south; write it '
                "under first_autumn, or mend the latitude (positive in the north)",
                'first_autumn has no date; give one or more, such as "50%" = "04-20"',
            ],
            id="the wrong hemisphere",
        ),
        pytest.param(
            {0.5: (10, 18)},
            {0.5: (5, 3)},
            False,
            [
                'last_spring "50%" is 10-18, out of season in the north; write it '
                "under first_autumn, or mend the latitude (negative in the south)",
                'first_autumn "50%" is 05-03, out of season in the north; write it '
                "under last_spring, or mend the latitude (negative in the south)",
            ],
            id="the seasons exchanged",
        ),
        pytest.param(
            {0.1: (4, 4), 0.5: (4, 17), 0.9: (4, 30)},
            AUTUMN,
            False,
            [
                'last_spring "90%" is 04-30 and "50%" is 04-17; "90%" must be the earlier: swap or mend them',
                'last_spring "50%" is 04-17 and "10%" is 04-04; "50%" must be the earlier: swap or mend them',
            ],
            id="spring upside down",
        ),
        pytest.param(
            SPRING,
            {0.1: (10, 18), 0.5: (10, 18)},
            False,
            ['first_autumn "10%" is 10-18 and "50%" is 10-18; "10%" must be the earlier: swap or mend them'],
            id="two chances on one day",
        ),
        pytest.param(
            {1.0: (4, 4), 0.5: (4, 31)},
            AUTUMN,
            False,
            [
                'last_spring "100%": the chance must lie between 0% and 100%; write for example "10%"',
                'last_spring "50%" is 04-31, which is no day of the year; write month and day, such as "04-17"',
            ],
            id="no chance and no day",
        ),
    ],
)
def test_dates_that_cannot_be_right_are_all_named_with_the_remedy(
    spring: dict[float, MonthDay], autumn: dict[float, MonthDay], south: bool, expected: list[str]
) -> None:
    with refused(PublishedDatesError) as found:
        from_published(0.0, spring, autumn, south, "invented")

    assert found.texts == expected


@pytest.mark.parametrize(
    ("points", "fault"),
    [
        (((10, 0.5),), "two points"),
        (((10, 0.5), (10, 0.4)), "later day"),
        (((10, 0.5), (20, 1.2)), "between 0 and 1"),
        (((10, 0.5), (20, 0.7), (30, 0.6)), "only rise or only fall"),
    ],
)
def test_a_curve_of_impossible_points_is_refused(points: tuple[tuple[float, float], ...], fault: str) -> None:
    with refused(Miswritten, fault):
        Curve(points)


def test_a_curve_of_a_record_may_start_at_certain_and_end_at_never() -> None:
    curve = Curve(((200, 1.0), (220, 0.5), (240, 0.0), (250, 0.0)))

    assert curve.chance(200) == 1.0
    assert curve.chance(240) == 0.0
    assert curve.chance(300) < 1e-6
    assert curve.chance(100) > 1 - 1e-6
