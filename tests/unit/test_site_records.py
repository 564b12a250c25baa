"""What must hold of frost tables from a station's daily record, whatever the record."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta

import pytest

from almanac.site.daily import DailyRecordError, read_daily
from almanac.site.freeze_year import FreezeYear
from almanac.site.records import TooFewYearsError, frost_table
from tests.saying import noted, refused


def record(first: int, last: int, low: Callable[[date], float | None]) -> dict[date, float]:
    """A record from 1 January of one year to the end of another, from a rule for each day."""
    days = (date(first, 1, 1) + timedelta(days=n) for n in range((date(last + 1, 1, 1) - date(first, 1, 1)).days))
    return {day: value for day in days if (value := low(day)) is not None}


def northern(last: int = 110, first: int = 290) -> Callable[[date], float | None]:
    """Frost until about the 20th of April, shifted by the year so that the dates spread, and from mid-October."""

    def low(day: date) -> float:
        shift = (day.year * 7) % 11 - 5
        number = day.timetuple().tm_yday
        return -3.0 if number <= last + shift or number >= first + shift else 8.0

    return low


def test_half_of_the_years_have_a_frost_after_the_middle_date_and_one_in_ten_after_the_careful_one() -> None:
    lows = record(1990, 2020, northern())
    last = sorted(date(2001, 1, 1) + timedelta(days=110 + (y * 7) % 11 - 5 - 1) for y in range(1991, 2020))

    table = frost_table(lows, 0.0, False, "invented")

    assert table.date_for_spring(0.5, 2001) == last[len(last) // 2]
    careful = table.date_for_spring(0.1, 2001)
    assert careful is not None
    assert last[-4] <= careful <= last[-1]


def test_south_of_the_equator_winter_lies_in_the_middle_of_the_year() -> None:
    lows = record(1990, 2020, lambda day: -2.0 if 5 <= day.month <= 8 else 9.0)

    table = frost_table(lows, 0.0, True, "invented")

    assert table.date_for_spring(0.5, 2015) in (date(2015, 8, 31), date(2015, 9, 1))
    assert table.date_for_autumn(0.5, 2015) in (date(2015, 4, 30), date(2015, 5, 1))


def test_where_it_never_freezes_every_night_is_safe() -> None:
    table = frost_table(record(1990, 2020, lambda day: 15.0), 0.0, False, "invented")

    assert table.frost_free_share == 1.0
    assert table.chance_after(date(2020, 1, 15)) == 0.0
    assert table.date_for_spring(0.1, 2020) is None


def test_where_it_freezes_in_every_month_no_day_is_safe() -> None:
    table = frost_table(record(1990, 2020, lambda day: -1.0 if day.day < 28 else 4.0), 0.0, False, "invented")

    assert table.first_safe_day(date(2020, 3, 1), 0.1, 30) is None


def test_a_mild_winter_in_two_counts_as_a_year_without_frost() -> None:
    lows = record(1990, 2021, lambda day: -1.0 if day.month == 1 and day.day == 20 and day.year % 2 else 6.0)

    table = frost_table(lows, 0.0, False, "invented")

    assert table.frost_free_share == pytest.approx(0.5, abs=0.04)
    assert table.chance_after(date(2020, 10, 1)) == pytest.approx(0.5, abs=0.04)
    assert table.chance_after(date(2021, 2, 10)) < 0.05


def test_a_night_missing_from_the_frost_weeks_is_not_counted_as_frost_free() -> None:
    whole = northern()
    gap = record(1990, 2020, lambda d: None if d.year == 2005 and d.month == 4 and 10 <= d.day <= 25 else whole(d))

    table = frost_table(gap, 0.0, False, "invented")

    assert any("left out for spring" in note and "2004" in note for note in noted(table))
    assert table.date_for_spring(0.5, 2001) == frost_table(record(1990, 2020, whole), 0.0, False, "x").date_for_spring(
        0.5, 2001
    )


def test_a_night_missing_in_summer_harms_nothing() -> None:
    whole = northern()
    gap = record(1990, 2020, lambda d: None if d.month == 7 else whole(d))

    table = frost_table(gap, 0.0, False, "invented")

    assert not [note for note in noted(table) if "1995" in note]


def test_a_hole_of_ten_years_leaves_the_other_years_to_speak() -> None:
    whole = northern()
    lows = record(1980, 2020, lambda day: None if 1990 <= day.year < 2000 else whole(day))

    table = frost_table(lows, 0.0, False, "invented")

    assert noted(table)[0] == "33 freeze years, 1979 to 2020"  # 31 whole ones, and one side each of 1989 and 1999


def test_three_years_are_enough_and_two_are_not() -> None:
    assert frost_table(record(2017, 2019, northern()), 0.0, False, "invented").date_for_spring(0.5, 2020)
    with refused(TooFewYearsError, "only 2 years"):
        frost_table(record(2018, 2019, northern()), 0.0, False, "invented")


def test_the_years_asked_for_are_the_years_used() -> None:
    lows = record(1960, 2020, lambda day: northern(110 if day.year < 2000 else 90)(day))

    early = frost_table(lows, 0.0, False, "x", years=(1960, 1989)).date_for_spring(0.5, 2001)
    late = frost_table(lows, 0.0, False, "x", last=15).date_for_spring(0.5, 2001)

    assert early is not None
    assert late is not None
    assert 17 <= (early - late).days <= 23


def test_a_record_whose_last_years_are_milder_says_so() -> None:
    lows = record(1960, 2020, lambda day: northern(110 if day.year < 2003 else 90)(day))

    notes = noted(frost_table(lows, 0.0, False, "x"))

    assert any("last spring frost of the last 15 years" in note and "earlier" in note for note in notes)
    assert not any("first autumn" in note for note in notes)


def test_the_29th_of_february_is_counted_with_the_28th() -> None:
    lows = record(1990, 2020, lambda day: -1.0 if (day.month, day.day) in ((2, 28), (2, 29)) else 5.0)

    table = frost_table(lows, 0.0, False, "invented")

    assert table.date_for_spring(0.5, 2020) in (date(2020, 2, 28), date(2020, 3, 1))
    assert FreezeYear(False).index(2, 29) == FreezeYear(False).index(2, 28)


def test_a_lower_threshold_has_a_longer_season_without_frost() -> None:
    lows = record(1990, 2020, lambda d: -5.0 if d.month in (1, 12) else -1.0 if d.month in (2, 3, 11) else 7.0)

    colder, frost = (frost_table(lows, threshold_c, False, "invented") for threshold_c in (-4.0, 0.0))

    assert min(colder.seasons_days) > max(frost.seasons_days)


def test_a_season_not_ended_by_a_frost_lasts_the_whole_year() -> None:
    # No night of frost from January 2000 on but those of January 2005.
    frosty = (date(2000, 1, 5), date(2005, 1, 10))
    lows = record(1999, 2008, lambda day: -1.0 if day in frosty else 5.0)

    table = frost_table(lows, 0.0, False, "invented")

    assert set(table.seasons_days) == {365}
    assert table.season_days(0.9) == 365


def test_the_seasons_of_a_table_are_of_the_years_it_rests_on() -> None:
    lows = record(1990, 2020, lambda day: -1.0 if (day.month, day.day) in ((4, 20), (10, 10)) else 5.0)

    table = frost_table(lows, 0.0, False, "invented", years=(2000, 2009))

    assert table.seasons_days == (172,) * 9  # 21 April to 9 October
    assert [table.season_days(chance) for chance in (0.1, 0.5, 0.9)] == [172] * 3


# --- the forms of a file -----------------------------------------------------------------------------------------

PLAIN = "date,low\n2020-01-01,30\n2020-01-02,32\n"
NETWORK = 'STATION,NAME,DATE,TMAX,TMIN\nXX1,"Place, invented",2020-01-01,50,-12\nXX1,P,2020-01-02,50,-9999\n'


def test_a_plain_file_in_fahrenheit_is_read_in_celsius() -> None:
    lows = read_daily(PLAIN.splitlines(), "F")

    assert lows == {date(2020, 1, 1): pytest.approx(-1.111, abs=0.001), date(2020, 1, 2): 0.0}


def test_a_missing_value_is_a_missing_day_and_tenths_are_tenths() -> None:
    assert read_daily(NETWORK.splitlines(), "tenths C") == {date(2020, 1, 1): -1.2}


def test_a_flagged_value_is_a_missing_day() -> None:
    text = 'STATION,DATE,TMIN,TMIN_ATTRIBUTES\nXX1,2020-01-01,-1.0,",,W"\nXX1,2020-01-02,-9.0,",I,W"\n'

    assert list(read_daily(text.splitlines(), "C")) == [date(2020, 1, 1)]


def fixed_width(values: str) -> str:
    return "XX000000001202001TMIN" + values.ljust(248)


def test_a_fixed_width_line_holds_a_month_in_tenths_with_flags() -> None:
    lows = read_daily([fixed_width("  -12  S-9999     15 IS")], "C")

    assert lows == {date(2020, 1, 1): -1.2}


@pytest.mark.parametrize(
    ("text", "unit", "said"),
    [
        (PLAIN, "K", 'unit "K" is not one of'),
        ("name,price\nfig,3\n", "C", "begins 'name,price'"),
        ("", "C", "begins ''"),
        ("date,low\n", "C", "holds no lows"),
        ("date,low\n2020-13-01,3\n", "C", "row 2 has no date and number"),
        ("date,low\n2020-01-01,cold\n", "C", "row 2 has no date and number"),
        ("STATION,DATE,TMIN\nXX1,2020-01-01,1\nXX2,2020-01-02,1\n", "C", "holds 2 stations"),
        ("date,low\n" + "".join(f"2020-01-{d:02},{50 + d}\n" for d in range(1, 28)), "C", "is the unit really"),
    ],
)
def test_another_kind_of_file_gets_one_clear_line(text: str, unit: str, said: str) -> None:
    with refused(DailyRecordError) as found:
        read_daily(text.splitlines(), unit)

    assert said in found.text
    assert "\n" not in found.text
