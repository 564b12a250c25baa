"""A season of sticks in trays and in beds, read day by day in four climates and held against the same sentences.

STICKDATE_READ=whole reads both methods in each; the default one a climate.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from itertools import product
from pathlib import Path
from typing import Any

import pytest

from tests.journeys.reading.climates import CLIMATES, Climate
from tests.journeys.reading.habits import EVERYTHING, STUCK_AND_POTTED
from tests.journeys.reading.read import Walk
from tests.journeys.reading.sentence import SENTENCES
from tests.journeys.reading.sentences import always, bags, outdoors, pots, wood
from tests.journeys.reading.walk import Happens, walk
from tests.journeys.test_seasons_read import NOT_YET, NOT_YET_EVERYWHERE, NOT_YET_QUICK, WHOLE
from tests.nurseries import Parts

PAGES = (always, wood, bags, outdoors, pots)
PLACES = """
[[place]]
name = "T"
kind = "tray"
holds = 60
mat = "60 F"
air = "60 F"
[[place]]
name = "L"
kind = "bed"
holds = 200
"""
VARIETIES = "number,name,crop\n2,Hardy one,black_currant\n"
TRAY: tuple[Happens, ...] = (
    (-20, "taken", {"lot": "2a", "variety": "2", "count": 12}),
    (-4, "stuck", {"lot": "2a", "bin": "T"}),
)
# What soil lets in: in autumn where it does not freeze, else at winter's end.
BED: tuple[Happens, ...] = (
    (-20, "taken", {"lot": "2a", "variety": "2", "count": 12}),
    (-10, "stuck", {"lot": "2a", "bin": "L"}),
)
LATE_BED: tuple[Happens, ...] = (BED[0], (112, "stuck", {"lot": "2a", "bin": "L"}))
READ = {
    "cold": (TRAY, LATE_BED),
    "mild": (TRAY, BED),
    "inland": (TRAY, (BED[0], (88, "stuck", {"lot": "2a", "bin": "L"}))),
    "southern": (TRAY, BED),
}
NOT_OF_BEDS = {"potting_is_asked_for"}  # what roots in a bed is lifted bare, not potted
QUICK = {("cold", 1), ("mild", 0), ("inland", 1), ("southern", 0)}  # each climate once, each method twice
CASES = [case for case in product(READ, (0, 1)) if WHOLE or case in QUICK]


def climate_of(name: str) -> Climate:
    found = next(each for each in CLIMATES if each.name == name)
    store = f'temperature = "2 C"\n{PLACES}'
    return replace(found, parts=found.parts | Parts(store=store, varieties=VARIETIES))


@cache
def season(climate: str, number: int, folder: Path) -> Walk:
    there = climate_of(climate)
    scene: tuple[tuple[int, str, dict[str, Any]], ...] = READ[climate][number]
    habit = EVERYTHING if number == 0 else STUCK_AND_POTTED
    return walk(there.nursery(folder), there, habit, stride=18, scene=scene)


@pytest.mark.long
@pytest.mark.parametrize(("climate", "number"), CASES)
def test_a_season_of_each_method_reads_as_a_propagator_would_have_it(climate: str, number: int, tmp_path: Path) -> None:
    read = season(climate, number, tmp_path)

    not_yet = NOT_YET.keys() - NOT_YET_EVERYWHERE.keys() | NOT_YET_QUICK.keys()  # of bags either, at this stride
    left_out = not_yet | (NOT_OF_BEDS if number else set())
    asked = {name: each for name, each in SENTENCES.items() if name not in left_out}
    found = {name: each.complaints(read)[:2] for name, each in asked.items()}

    assert {name: lines for name, lines in found.items() if lines} == {}
