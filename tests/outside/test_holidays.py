"""Public holidays against a government's published list."""

from __future__ import annotations

import subprocess
import sys
from datetime import date, timedelta

import holidays
import pytest

from almanac.site.holidays import public_holidays

# US Office of Personnel Management, Federal Holidays 2023, read in a reprint of the page: the days off, those in lieu
# of a Saturday or Sunday among them (5 U.S.C. 6103(b); Executive Order 11582, section 3(a)).
FEDERAL_2023 = (
    "2023-01-02 2023-01-16 2023-02-20 2023-05-29 2023-06-19 2023-07-04 2023-09-04 2023-10-09 2023-11-10 2023-11-23 "
    "2023-12-25"
)


def test_federal_holidays_of_2023_are_those_of_the_office_that_publishes_them() -> None:
    published = {date.fromisoformat(day) for day in FEDERAL_2023.split()}

    found = public_holidays("US", "", date(2023, 1, 1), date(2023, 12, 31))

    assert published <= set(found)
    for day in set(found) - published:  # the day itself, where another is kept in its stead
        assert day.weekday() >= 5
        assert {day - timedelta(days=1), day + timedelta(days=1)} & published


@pytest.mark.parametrize("code", ["US", "GB", "DE", "PR", "AU", "AX", "BA", "JP"])
def test_a_country_read_alone_has_the_holidays_it_has_among_all(code: str) -> None:
    year = date(2027, 1, 1), date(2027, 12, 31)

    own = holidays.country_holidays(code).default_language or ""
    among_all = holidays.country_holidays(code, years=[2027], language=own if own.startswith("en") else "en_US")

    assert public_holidays(code, "", *year) == dict(sorted(among_all.items()))


@pytest.mark.start
def test_the_holidays_of_one_country_do_not_have_all_countries_read() -> None:
    asked = (
        "import sys; from datetime import date; from almanac.site.holidays import public_holidays; "
        "assert public_holidays('US', 'VA', date(2027, 7, 1), date(2027, 7, 31)); "
        "print('holidays.countries' in sys.modules)"
    )

    ran = subprocess.run([sys.executable, "-c", asked], check=True, capture_output=True, text=True)

    assert ran.stdout == "False\n"
