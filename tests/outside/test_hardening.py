"""Hardening off against what extension bulletins and light guides say: lamp dose, length, warmth, the first hours."""

from __future__ import annotations

from datetime import date, datetime, time
from pathlib import Path

import pytest

from almanac.forecast.ramp import lamp_light
from almanac.plan.care.programmes.hardening.derivation import Ramp
from almanac.rulebook.programmes.frost_watch import FrostWatch
from almanac.rulebook.programmes.hardening import Hardening
from tests.nurseries import FROST, SOUTHERN_FROST, bench
from tests.unit.given import planned

POTS = "2027-03-20 received 7a --count 6 --stage pot"
SOUTHERN_POTS = "2027-09-20 received 7a --count 6 --stage pot"
CLOTHS = "cloths = [0.7, 0.4]"
LATITUDES = (30.0, 37.3, 45.0, 52.0, 59.0, -30.0, -37.0, -45.0)


def hours_of(clock: tuple[time, time]) -> float:
    """How long from one time of the clock to another [h]."""
    out, back = (datetime.combine(date(2027, 1, 1), moment) for moment in clock)
    return (back - out).total_seconds() / 3600


def test_the_dose_of_a_lamp_is_that_of_light_guides() -> None:
    # PPFD x hours x 0.0036; the guides' example, 200 µmol m-2 s-1 for 16 h, gives 11.52 mol m-2 d-1. A whole day of
    # 1 µmol is 0.0864 mol (86,400 s).
    assert lamp_light(200, 16).dose_mol == pytest.approx(11.52)
    assert lamp_light(1, 24).dose_mol == pytest.approx(0.0864)


@pytest.mark.parametrize("latitude", LATITUDES)
@pytest.mark.parametrize(("cloths", "gaps"), [("[0.7, 0.4]", 0), ("[0.6, 0.3]", 4), ("[0.5]", 4), ("[]", 4)])
def test_hardening_under_cloths_takes_the_days_that_bulletins_give(
    latitude: float, cloths: str, gaps: int, tmp_path: Path
) -> None:
    # "About two weeks before the plant can live out" (Penn State Extension, Hardening Transplants, 2023); 7 to 10 days
    # (garden columns of Mason County, 2011, and New Jersey, 2019: common practice). A step waits for the bench day, so
    # up to three days more, and where cloths leave wide gaps some more by the clock: measured 14 to 16 with 70 and 40 %
    # cloths, else 16 to 19. Nights out come "after a week" at the soonest (Minnesota master gardener column).
    south = latitude < 0
    at = bench(
        tmp_path,
        SOUTHERN_POTS if south else POTS,
        date(2027, 9, 25) if south else date(2027, 4, 1),
        latitude=latitude,
        frost=SOUTHERN_FROST if south else FROST,
        space="light = { ppfd = 120, hours = 16 }",
        hardening=f"cloths = {cloths}",
    )

    found = sorted((task for task in planned(at).tasks if task.rule.id.startswith("harden")), key=lambda task: task.due)

    *_, last, night = found
    assert 7 <= (last.due - found[0].due).days <= 14 + 3 + gaps
    assert 7 < (night.due - found[0].due).days <= 14 + 7 + gaps


def test_hardening_begins_two_weeks_before_plants_can_live_out_and_not_below_50_f(tmp_path: Path) -> None:
    # "About two weeks before the plant can live out"; moved out at 45 to 50 F or more (Penn State Extension, Hardening
    # Transplants, 2023). In all some 16 days here: a step waits for the bench day.
    at = bench(tmp_path, POTS, date(2027, 4, 14), space="light = { ppfd = 120, hours = 16 }", hardening=CLOTHS)
    found = [task for task in planned(at).tasks if task.rule.id in ("harden_out", "harden_nights")]
    rule = at.book.programme(Hardening)

    out, lives = sorted(task.due for task in found)
    accepted = date(2027, 4, 30)
    assert 12 <= (accepted - out).days <= 16
    assert 0 <= (lives - accepted).days <= 10
    assert 7.2 <= rule.by_day <= 10.0


def test_the_first_day_out_has_the_hours_of_bulletins_and_each_day_so_many_more(tmp_path: Path) -> None:
    # First day 2 to 3 h in a shaded shelter (Penn State Extension, 2023); 3 to 4 h, then 1 to 2 h more a day (Minnesota
    # master gardener column, common practice).
    log = f"{POTS}\n2027-04-16 set_out 7a"
    at = bench(tmp_path, log, date(2027, 4, 16), space="light = { ppfd = 120, hours = 16 }", hardening=CLOTHS)
    found = sorted((task for task in planned(at).tasks if task.rule.id == "carry"), key=lambda task: task.due)

    hours = [hours_of(task.clock) for task in found if task.clock]
    assert 2 <= hours[0] <= 4
    assert 1 <= hours[1] - hours[0] <= 2
    assert 1 <= hours[2] - hours[1] <= 2


def test_a_frame_and_fleece_are_counted_no_warmer_than_their_sources_say(tmp_path: Path) -> None:
    # A cold frame is not more than 5 to 10 F over the outside (University of Missouri Extension, G6965); a medium row
    # cover gives 4 F (North Dakota State University Extension, 2017), a light one 2 to 3 F (a Pennsylvania column).
    rule = bench(tmp_path, POTS, date(2027, 4, 1)).book.programme(Hardening)

    assert rule.frame.adds * 9 / 5 == pytest.approx(5)
    assert 2 <= rule.fleece.adds * 9 / 5 + 1e-9 <= 4


def test_a_forecast_to_act_on_is_that_of_frost_advisories(tmp_path: Path) -> None:
    # Frost is to be looked for at forecast lows of 33 to 36 F (US National Weather Service, Blacksburg, 2007).
    book = bench(tmp_path, POTS, date(2027, 4, 1)).book
    margin = book.programme(FrostWatch).margin

    fig = book.crops["fig"].cold
    assert (fig.new_growth_killed + margin) * 9 / 5 + 32 == pytest.approx(36)


def test_carried_by_the_clock_the_first_outing_is_in_shade_all_day_but_for_the_first_sun(tmp_path: Path) -> None:
    # First outings: 2 to 3 h in a shaded shelter (Penn State Extension), 2 to 3 h of sun (Mason County), 3 to 4 h
    # (Minnesota): ours has less sun than any of them, and by the fourth day as much as the first bulletins give.
    at = bench(tmp_path, POTS, date(2027, 4, 1), hardening='way = "hours"', space="light = { ppfd = 120, hours = 16 }")

    found = sorted((task for task in planned(at).tasks if task.rule.id == "harden"), key=lambda task: task.due)

    hours = []
    for task in found:
        assert isinstance(task.derivation, Ramp)
        step = task.derivation.step
        assert step is not None
        if step.out and step.back:
            hours.append(hours_of((step.out, step.back)))
            assert step.rest is not None
            assert step.rest.kind == "full_shade"
    assert hours[0] <= 2
    assert hours[2] <= 4
    assert hours[-1] >= 5


def test_no_crop_is_put_out_for_nights_colder_than_bulletins_say(tmp_path: Path) -> None:
    # 45 to 50 F for the first days out (Penn State Extension); 40 F for hardy, 45 half-hardy and 50 F for tender plants
    # (a widely copied table, common practice; it has no woody plants). 50 F = 10 C, 40 F = 4.4 C.
    crops = bench(tmp_path, POTS, date(2027, 4, 1)).book.crops

    for crop in crops.values():
        assert 4.4 <= crop.cold.lowest_night <= 10.0, crop.id
    for tender in ("fig", "pomegranate"):
        assert crops[tender].cold.lowest_night == pytest.approx(10.0)


def test_the_light_of_a_lamp_is_a_small_part_of_a_day_in_may(tmp_path: Path) -> None:
    # "Indoor 10 mol is a small part of a May day outdoors (30 to 45 mol)": usual days; a clear one is a third and more
    # above (light guides for growers, common practice).
    at = bench(tmp_path, POTS, date(2027, 4, 1), space="light = { ppfd = 175, hours = 16 }")

    [first] = [task for task in planned(at).tasks if task.rule.id == "harden_out"]

    assert isinstance(first.derivation, Ramp)
    assert first.derivation.lamp.light.dose_mol == pytest.approx(10.08)
    assert 45 <= first.derivation.steps[-1].full.dose_mol <= 65
