"""Seasons are read as their growers would, each day, in several climates and by several habits of logging.

What must hold stands in plain English in `reading/sentences/`, each with its check and its source. STICKDATE_READ=whole
reads every habit everywhere; the default one habit a climate.
"""

from __future__ import annotations

import os
from collections.abc import Iterator

import pytest

from tests.conftest import once
from tests.journeys.reading import habits
from tests.journeys.reading.climates import CLIMATES, Climate
from tests.journeys.reading.habits import BENCH, POTS, Habit
from tests.journeys.reading.sentence import SENTENCES
from tests.journeys.reading.sentences import always, bags, outdoors, pots, wood
from tests.journeys.reading.walk import walk

WHOLE = os.environ.get("STICKDATE_READ") == "whole"
# In the quick run each climate has one grower, and each habit one climate.
QUICK: dict[str, tuple[Habit, ...]] = {
    "cold": (habits.EVERYTHING,),
    "mild": (habits.LOOKS_ONLY,),
    "inland": (habits.BY_ONES,),
    "hot": (habits.STUCK_AND_POTTED,),
    "southern": (habits.FORGETS_WOKE,),
    "frost-free": (habits.LATE,),
}
TWO_CROPS = ("cold",)  # in the quick run figs alone are grown elsewhere
PAGES = (always, wood, bags, outdoors, pots)
# What does not hold yet: at all, or only where every habit is read everywhere.
NOT_YET = {
    "bench_days_are_kept": "a round off them where bags and pots of one lot are looked at",
    "card_is_hung_first": "looks name the card from the first day",
}
NOT_YET_EVERYWHERE: dict[str, str] = {
    "holidays_are_off": "who carries over twice: a look at the pots falls on one",
    "days_come_before_nights": "where cool nights, not frost, hold plants in, their days outside wait too",
    "frost_is_told_of_what_stands_out": "what was never logged as resting counts as growth in November",
    "rest_is_left_alone": "who never logs woke is told to shade pots that are taken to be awake",
    "rest_takes_no_lamp": "who never logs woke: pots taken to be awake count under the lamps",
    "offers_last": "an offer of last year's plants pauses over winter",
}
NOT_YET_QUICK = {"bags_are_looked_at": "who is read in strides leaves bags for longer than a grower would"}
NOT_YET |= NOT_YET_EVERYWHERE if WHOLE else NOT_YET_QUICK


def growers(climate: Climate) -> tuple[Habit, ...]:
    """Who is read in a climate; of those that differ in pots alone all but one, another in each."""
    if not WHOLE:
        return QUICK[climate.name]
    left_out = POTS[CLIMATES.index(climate) % len(POTS)]
    return BENCH + tuple(each for each in POTS if each is not left_out)


def complaints(factory: pytest.TempPathFactory, climate: Climate) -> dict[str, list[str]]:
    """By sentence, what was found in a climate; worked out by the first process that asks."""

    def read() -> dict[str, list[str]]:
        found: dict[str, list[str]] = {name: [] for name in SENTENCES}
        grown = climate if WHOLE or climate.name in TWO_CROPS else climate.of_one_crop()
        base = grown.nursery(factory.mktemp(climate.name))
        for habit in growers(climate):
            season = walk(base, climate, habit, stride=6 if WHOLE else 18)
            for name, each in SENTENCES.items():
                found[name] += each.complaints(season)[:5]
        return found

    return once(factory, f"season-{climate.name}", read)


def _cases() -> Iterator[object]:
    for number, name in enumerate(SENTENCES):
        marks = [pytest.mark.xfail(strict=True, reason=NOT_YET[name])] if name in NOT_YET else []
        yield pytest.param(name, number, id=name, marks=marks)


@pytest.mark.parametrize(("name", "number"), list(_cases()))
def test_every_season_reads_as_a_propagator_would_have_it(
    name: str, number: int, tmp_path_factory: pytest.TempPathFactory
) -> None:
    # Each test begins with another climate, so that several processes read several of them.
    climates = [CLIMATES[(number + more) % len(CLIMATES)] for more in range(len(CLIMATES))]
    found = [line for climate in climates for line in complaints(tmp_path_factory, climate)[name]]

    assert found == [], SENTENCES[name].says + "\n" + "\n".join(found)
