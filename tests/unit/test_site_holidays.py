"""Public holidays of a place, and what a wrong country or region gets."""

from datetime import date

import pytest

from almanac.site.holidays import known_country, public_holidays
from almanac.words.faults import fact_text
from tests.command import in_python


def test_holidays_of_the_country_fall_in_the_days_asked_for_both_ends_included() -> None:
    # 5 U.S.C. 6103(a): New Year's Day, 1 January; the birthday of Martin Luther King, Jr., third Monday of
    # January; Washington's Birthday, third Monday of February.
    found = public_holidays("US", "", date(2027, 1, 1), date(2027, 2, 15))

    assert list(found) == [date(2027, 1, 1), date(2027, 1, 18), date(2027, 2, 15)]
    assert "New Year" in found[date(2027, 1, 1)]


def test_a_stretch_over_new_year_has_the_holidays_of_both_years() -> None:
    found = public_holidays("US", "VA", date(2026, 12, 24), date(2027, 1, 2))

    assert date(2026, 12, 25) in found
    assert date(2027, 1, 1) in found


def test_a_holiday_on_a_sunday_also_closes_the_monday() -> None:
    # 4 July 2027 is a Sunday; the Monday is kept instead by Executive Order 11582 of 1971 (from memory).
    found = public_holidays("US", "", date(2027, 7, 1), date(2027, 7, 7))

    assert list(found) == [date(2027, 7, 4), date(2027, 7, 5)]


def test_a_region_has_holidays_of_its_own() -> None:
    # Corpus Christi, the Thursday 60 days after Easter (28 March 2027), is a holiday in Bavaria and not in
    # Berlin by the holiday acts of the two (from memory).
    corpus_christi = date(2027, 5, 27)

    assert corpus_christi in public_holidays("DE", "BY", corpus_christi, corpus_christi)
    assert corpus_christi not in public_holidays("DE", "BE", corpus_christi, corpus_christi)


def test_holidays_are_named_in_english_whatever_the_language_of_the_computer(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setenv("LANGUAGE", "de")

    assert public_holidays("DE", "", date(2027, 1, 1), date(2027, 1, 1)) == {date(2027, 1, 1): "New Year's Day"}


@pytest.mark.parametrize("country", ["", "  ", "XQ", "Atlantis"])
def test_a_blank_or_unknown_country_has_no_holidays(country: str) -> None:
    assert public_holidays(country, "VA", date(2027, 1, 1), date(2027, 12, 31)) == {}


def test_an_unknown_region_has_the_holidays_of_its_country() -> None:
    whole = public_holidays("DE", "", date(2027, 1, 1), date(2027, 12, 31))

    assert public_holidays("DE", "ZZ", date(2027, 1, 1), date(2027, 12, 31)) == whole


@pytest.mark.parametrize(
    ("country", "region"),
    [("", ""), ("US", ""), ("us", "va"), ("USA", "Virginia"), ("United Kingdom", "SCT"), ("nz", "AUK")],
)
def test_codes_and_names_of_countries_and_regions_are_known(country: str, region: str) -> None:
    assert known_country(country, region) is None


@pytest.mark.parametrize(
    ("country", "region", "expected"),
    [
        ("Germny", "", 'country "Germny" is not one whose public holidays are known; did you mean "DE"?'),
        (
            "XQ",
            "",
            'country "XQ" is not one whose public holidays are known; write a two-letter code such as "US", '
            "or leave it blank",
        ),
        ("US", "Virgina", 'region "Virgina" is not one of those of US; did you mean "VA"?'),
        ("JP", "KANTO", 'region "KANTO" is not one of those of JP; leave it blank'),
        ("", "VA", 'region "VA" needs a country; write for example country = "US"'),
    ],
)
def test_a_wrong_country_or_region_gets_the_nearest_right_one(country: str, region: str, expected: str) -> None:
    found = known_country(country, region)

    assert found is not None
    assert fact_text(found) == expected


@pytest.mark.start
def test_a_program_that_asks_for_no_holidays_does_not_load_them() -> None:
    code = (
        "import sys, almanac.site.holidays, almanac.site.sun;"
        "sys.exit('holidays' in sys.modules or 'astral' in sys.modules)"
    )

    assert in_python(code).status == 0
