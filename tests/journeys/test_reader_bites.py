"""Every sentence that seasons are read by finds a program that is broken on purpose.

STICKDATE_READ=whole breaks it in all climates; the default in one.
"""

from __future__ import annotations

import os
from dataclasses import dataclass, field
from datetime import time

import pytest

from almanac.nursery.nursery import Nursery
from tests.journeys.reading import habits
from tests.journeys.reading.broken import Asked, Unsaid, every, miscounted, misspelt
from tests.journeys.reading.climates import CLIMATES
from tests.journeys.reading.habits import Habit
from tests.journeys.reading.sentence import SENTENCES
from tests.journeys.reading.sentences import always, bags, outdoors, pots, wood
from tests.journeys.reading.walk import SCENE, Happens, walk

WHOLE = os.environ.get("STICKDATE_READ") == "whole"
PAGES = (always, wood, bags, outdoors, pots)
# Not broken here: it found the program as it was before pots at rest counted in shelters.
FAILED_BEFORE = {"rest_takes_no_lamp"}
DAWN = time(5, 0), time(7, 0)


@dataclass(frozen=True)
class Case:
    """A broken program, walked once, and which sentences must find it."""

    climate: str
    habit: Habit
    broken: dict[str, tuple[Asked | Unsaid, ...]]
    texts: dict[str, dict[str, object]] = field(default_factory=dict)
    finds: tuple[str, ...] = ()  # what finds the texts
    scene: tuple[Happens, ...] = SCENE
    numbers: dict[str, dict[str, object]] = field(default_factory=dict)


CASES = (
    Case(
        "cold",
        habits.EVERYTHING,
        {
            "one_voice": tuple(Asked(rule=each, lot="1b", days=range(30, 40)) for each in ("wilt_back", "wean_loosen")),
            "once_a_day": (Asked(rule="light", lot="2a", days=range(30, 40), times=2),),
            "frost_is_told_once": (Asked(rule="first_frost", crop="fig", days=range(30, 40), times=2),),
            "stage_is_there": (Asked(rule="pot_water", lot="1a", days=range(20, 30)),),
            "count_is_there": (Asked(rule="light", lot="1b", days=range(30, 40), count=99),),
            "bench_days_are_kept": (Asked(rule="store_look", lot="1a", days=(-14, 0, 18)),),
            "holidays_are_off": (Asked(rule="store_look", lot="1a", days=(11,)),),
            "rounds_are_short": (Asked(rule="pots_ready", lot="1b", days=range(40, 50), count=400),),
            "answered_is_done": (Asked(rule="gnat_open", lot="2a", days=range(30, 50)),),
            "wood_is_cut_in_winter": (Asked(rule="take_wood", crop="fig", days=range(170, 200)),),
            "last_post_is_a_post_day": (Asked(rule="last_post", crop="fig", days=range(20, 40)),),
            "stored_wood_is_not_forgotten": (Unsaid(lot="3a", days=range(20, 75)),),
            "stored_wood_is_looked_at": (),
            "past_wood_is_asked_for_once_a_fortnight": (Asked(rule="store_past", lot="1a", days=range(76, 99)),),
            "protected_is_not_offered": (Asked(rule="offer_rooted", lot="3a", days=range(80, 90)),),
            "windows_open_before_they_close": (Asked(rule="light", lot="1b", days=range(30, 40), closes=-3),),
            "no_water_without_roots": (Asked(rule="first_water", lot="1b", days=range(20, 32)),),
            "what_is_left_is_its_own": (Asked(rule="water_again", lot="1b", days=range(90, 112)),),
            "no_weaning_without_roots": (Asked(rule="wean_half", lot="1b", days=range(20, 32)),),
            "weaning_ends_at_potting": (Asked(rule="wean_open", lot="1b", days=range(36, 44)),),
            "warm_until_rooted": (Asked(rule="cool_bin", lot="1b", days=range(28, 36)),),
            "no_potting_for_leaves": (Asked(rule="pot_up", lot="1b", days=range(20, 32)),),
            "late_roots_are_asked_for_once": (Asked(rule="late_roots", lot="1b", days=range(40, 60)),),
            "callus_is_left_alone": (),
            "no_copper_on_green": (Asked(rule="mould_treat", lot="1b", days=range(45, 60)),),
            "no_feed_in_bags": (Asked(rule="feed", lot="1b", days=range(30, 40)),),
            "no_drench_of_shut_bags": (Asked(rule="gnat_drench", lot="1b", days=range(20, 35)),),
            "nobody_lives_out_before_the_date": (Asked(rule="harden_nights", lot="1b", days=range(85, 100)),),
            "nobody_lives_out_in_cold_nights": (),
            "living_out_is_not_put_off": (Asked(rule="harden_nights", lot="2a", days=range(250, 290)),),
            "hardening_takes_about_two_weeks": (Asked(rule="harden_out", lot="2a", days=range(190, 215)),),
            "never_out_at_dawn": (Asked(rule="carry", lot="2a", days=range(160, 175), clock=DAWN),),
            "carrying_rings_each_day": (Unsaid(rules=("carry",), days=range(143, 160)),),
            "forecast_is_looked_at": (),
            "no_feed_while_hardening": (Asked(rule="feed", lot="2a", days=range(141, 230)),),
            "nobody_rests_in_summer": (Asked(rule="rest_water", lot="2a", days=range(170, 210)),),
            "no_late_feed": (Asked(rule="feed", lot="1b", days=range(235, 270)),),
            "no_late_planting": (Asked(rule="plant_out", lot="1b", days=range(235, 270)),),
        },
        {
            "bag_look": {"checklist": ["1 bags", "gnats on the card"]},
            "light": {"title": "Into the light, or near enough to the light", "how": "stickdate log flown 1a"},
            "lamp_on": {"title": "Lamp_on"},
            "take_wood": {"how": "Cut.", "checklist": []},
            "stick_wood": {"checklist": []},
            "lamp_probe": {"how": "Over 70 F (21 C) turn the mat down."},
            "harden_out": {"how": "Each day till Sunday."},
        },
        (
            "never_said",
            "can_be_logged",
            "fits_a_locked_phone",
            "names_of_plants",
            "wood_is_labelled",
            "blades_are_clean",
            "card_is_hung_first",
            "probe_agrees_with_the_mat",
        ),
    ),
    Case(
        "cold",
        habits.FORGETS_WOKE,
        {
            "bags_are_looked_at": (),
            "mould_weeks_are_looked_at": (),
            "potting_is_asked_for": (Unsaid(lot="1b", days=range(18, 150)),),
            "potting_comes": (),
            "pots_are_put_out": (Unsaid(rules=("harden_out", "harden"), days=range(120, 240)),),
            "pots_are_looked_at": (Unsaid(lot="2a", days=range(200, 215)),),
            "autumn_frost_is_told": (Unsaid(words="frost|fleece|forecast", days=range(200, 290)),),
            "pots_get_shelter": (Unsaid(rules=("pots_in", "pots_wrap"), days=range(240, 380)),),
            "unsold_gets_a_decision": (Unsaid(words="keep|give", days=range(200, 400)),),
            "nothing_is_forgotten": (Unsaid(lot="2a", days=range(400, 560)),),
            "waking_is_asked_for": (),
            "care_goes_on_after_rest": (),
            "rest_is_left_alone": (Asked(rule="feed", lot="2a", days=range(340, 400)),),
            "probe_after_sticking": (Unsaid(words="probe", days=range(15, 30)),),
        },
    ),
    Case(
        "inland",
        habits.BY_ONES,
        {
            "offers_last": (Unsaid(rules=("offer_rooted", "offer_again"), days=range(300, 330)),),
            "frost_is_told_of_what_stands_out": (Unsaid(words="forecast", days=range(60, 150)),),
            "days_come_before_nights": (
                Unsaid(rules=("harden_out", "harden"), lot="2a", days=range(80, 145)),
                Asked(rule="harden_out", lot="2a", days=range(146, 172)),
            ),
            "swollen_wood_stays": (Asked(rule="offer", crop="fig", days=range(50, 70)),),
        },
        scene=(
            *SCENE,
            (40, "pushing", {"lot": "1a"}),
            (40, "pushing", {"lot": "3a"}),
            (96, "outside", {"lot": "1b", "stage": "pot"}),
        ),
    ),
    Case(
        "hot",
        habits.STUCK_AND_POTTED,
        {"light_rises_gently": ()},
        numbers={"hardening": {"most_at_once": 9.0, "raise_a_day": 3.0}},
    ),
    Case(
        "frost-free",
        habits.EVERYTHING,
        {
            "nothing_is_given_up_early": (Asked(rule="give_up", lot="1b", days=range(30, 50)),),
            "no_frost_where_it_never_freezes": (Asked(rule="frost_ready", lot="2a", days=range(100, 200)),),
        },
    ),
)


def _broken(base: Nursery, case: Case) -> Nursery:
    for rule, fields in case.texts.items():
        base = misspelt(base, rule, **fields)
    for care, fields in case.numbers.items():
        base = miscounted(base, care, **fields)
    return base


@pytest.mark.parametrize("case", CASES if WHOLE else CASES[:1], ids=lambda case: f"{case.climate}, {case.habit.name}")
def test_each_sentence_finds_a_program_that_is_broken(case: Case, tmp_path_factory: pytest.TempPathFactory) -> None:
    climate = next(each for each in CLIMATES if each.name == case.climate)
    base = _broken(climate.nursery(tmp_path_factory.mktemp("broken")), case)
    breaks = every(*(each for some in case.broken.values() for each in some), middle=climate.midwinter())

    season = walk(base, climate, case.habit, stride=6, scene=case.scene, breaks=breaks)

    assert {name for name in (*case.broken, *case.finds) if not SENTENCES[name].complaints(season)} == set()


def test_every_sentence_has_a_program_that_it_finds() -> None:
    assert SENTENCES.keys() == {*FAILED_BEFORE, *(name for case in CASES for name in (*case.broken, *case.finds))}
