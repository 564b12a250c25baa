"""Dates and spans of days as a person says them, in no order that two countries read differently. Pure."""

from __future__ import annotations

from calendar import month_name
from collections.abc import Iterable
from datetime import date, timedelta

from almanac.words.sentences import so_many

_WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def day(value: date, near: date | None = None) -> str:
    """`24 Feb`; with the year where it is another than that of a day nearby."""
    text = f"{value.day} {month(value)}"
    return f"{text} {value.year}" if near and value.year != near.year else text


def weekday(value: date, near: date | None = None) -> str:
    """`Tue 24 Feb`."""
    return f"{_WEEKDAYS[value.weekday()][:3]} {day(value, near)}"


def month(value: date) -> str:
    """`Feb`."""
    return _MONTHS[value.month - 1]


def next_month(value: date) -> date:
    """The first day of the month after."""
    return (value.replace(day=1) + timedelta(days=32)).replace(day=1)


def days_to(first: date, last: date) -> list[date]:
    """Each day from the first to the last."""
    return [first + timedelta(days=number) for number in range((last - first).days + 1)]


def span(first: date, last: date, near: date | None = None) -> str:
    """`24 Feb to 3 Mar`, or one day."""
    return day(first, near) if first == last else f"{day(first, near)} to {day(last, near)}"


def days(number: int) -> str:
    """`1 day`, `7 days`."""
    return so_many(number, "day")


def shift(before: date, after: date) -> str:
    """`7 days sooner`, `1 day later`."""
    moved = (after - before).days
    return f"{days(abs(moved))} {'later' if moved > 0 else 'sooner'}" if moved else "same day"


def month_in_full(value: date) -> str:
    """`February`."""
    return month_name[value.month]


def weekday_in_full(number: int) -> str:
    """`Monday` for 0."""
    return _WEEKDAYS[number]


def weekdays_short(numbers: Iterable[int]) -> str:
    """`Mon, Tue, Wed`."""
    return ", ".join(_WEEKDAYS[number][:3] for number in numbers)


def winter(day_of_it: date) -> str:
    """`2026/27` by its shortest day, or its first; in the south, where a winter lies within a year, `2027`."""
    year = day_of_it.year
    return f"{year}/{(year + 1) % 100:02}" if day_of_it.month > 6 else f"{year}"
