"""The reading that stands in the example for newcomers: it is what the program prints, and reads as it should."""

from __future__ import annotations

import pytest

from tests.journeys.lot_year import HEAD, READING, example_season, reading
from tests.journeys.reading.read import Walk
from tests.journeys.reading.sentence import SENTENCES
from tests.journeys.test_seasons_read import NOT_YET


@pytest.fixture(scope="module")
def season() -> Walk:
    return example_season()


def test_the_reading_in_the_example_is_what_the_program_prints(season: Walk) -> None:
    # Written anew by: python -m tests.journeys.lot_year
    assert READING.read_text(encoding="utf-8") == HEAD + reading(season)


def test_the_reading_goes_to_a_second_spring_and_its_plants_are_awake_and_out(season: Walk) -> None:
    last = season.reads[-1]

    assert last.day.year == 2027
    assert last.lot("8a").count("outside") > 0
    assert "leave out overnight" in READING.read_text(encoding="utf-8").lower()


@pytest.mark.parametrize("name", [name for name in SENTENCES if name not in NOT_YET])
def test_the_reading_reads_as_a_propagator_would_have_it(name: str, season: Walk) -> None:
    assert SENTENCES[name].complaints(season) == []
