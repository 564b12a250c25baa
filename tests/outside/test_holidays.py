"""Public holidays against a government's published list."""

from __future__ import annotations

from datetime import date, timedelta

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
