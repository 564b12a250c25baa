"""Where winters are too mild for a crop it is said: when it is entered, when it comes in, and in the season."""

from __future__ import annotations

from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from almanac.actions.check import check_nursery
from almanac.actions.record import record
from almanac.actions.request import Request
from almanac.actions.season import read_season
from almanac.plan.wood.chill import too_mild
from almanac.site.usual import UsualYear
from almanac.terminal.season import season_text
from almanac.words.faults import told
from tests.nurseries import NO_FROST, Parts, bench

VARIETIES = "number,name,crop,source,protected\n7,Copper Kettle,fig,,\n8,Blue Ladder,black_currant,,\n"
TROPICS = Parts(frost=NO_FROST, latitude=13.0, country="TH", timezone="Asia/Bangkok", varieties=VARIETIES)
TODAY = date(2027, 1, 10)
NOON = datetime(2027, 1, 10, 12, tzinfo=UTC)


def test_cold_adds_up_by_the_hour_and_only_in_winter() -> None:
    freezing, warm = UsualYear((-30.0,) * 12, False, 1.0), UsualYear((25.0,) * 12, False, 1.0)

    assert freezing.chill_h(7.2) == pytest.approx(183 * 24, rel=0.01)
    assert warm.chill_h(7.2) == 0


def test_hours_of_cold_are_near_those_told_of_places_known_for_them() -> None:
    # Everyday figures of extension tables, as remembered: Miami under 150 h, San Francisco Bay 300 to 1,000,
    # Atlanta 1,000 to 1,400 below 45 F. Mean lows [C] of the places, to the degree, from their climate normals.
    miami = UsualYear((16, 17, 18, 20, 23, 25, 25, 25, 25, 23, 20, 17), False, 1.0)
    bay = UsualYear((7, 8, 8, 9, 10, 11, 12, 13, 12, 11, 9, 7), False, 1.0)
    atlanta = UsualYear((1, 3, 6, 10, 15, 19, 21, 21, 18, 12, 6, 3), False, 1.0)

    assert miami.chill_h(7.2) < 150
    assert 300 <= bay.chill_h(7.2) <= 1000
    assert 900 <= atlanta.chill_h(7.2) <= 1900


def test_black_currant_in_the_tropics_is_told_of_and_a_fig_inland_is_not(tmp_path: Path) -> None:
    tropics, inland = bench(tmp_path / "t", "", TODAY, **TROPICS), bench(tmp_path / "i", "", TODAY, varieties=VARIETIES)

    assert too_mild(tropics.book.crops["black_currant"], tropics.nights)
    assert not too_mild(inland.book.crops["fig"], inland.nights)
    assert not too_mild(inland.book.crops["black_currant"], inland.nights)


def test_it_is_said_by_check_by_the_season_and_when_wood_comes_in(tmp_path: Path) -> None:
    bench(tmp_path, "", TODAY, **TROPICS)
    said = "Black currant wants 800 to 1,600 h under 7 °C to end its rest"

    checked = [told(each) for each in check_nursery(tmp_path, NOON).notices]
    read = read_season(tmp_path, NOON)
    season = " ".join(season_text(read).split())
    logged = record(tmp_path, NOON, Request(what="received", about=("8",), count=5))

    assert [each for each in checked if said in each]
    assert said in season
    assert "what comes in dormant is sold while it keeps" in season
    assert [each for each in map(told, logged.mild) if said in each]
    assert not record(tmp_path, NOON, Request(what="looked", about=("8a",))).mild
