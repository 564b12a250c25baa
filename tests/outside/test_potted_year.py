"""The year of plants in pots against extension bulletins, and its order over places from 55 south to 60 north."""

from __future__ import annotations

import csv
import re
from datetime import date, timedelta
from pathlib import Path

import pytest

from almanac.nursery.events import EVENTS
from almanac.plan.model import Plan
from almanac.rulebook.book import Rulebook
from almanac.rulebook.fields import as_data
from almanac.rulebook.load import load_rules
from tests.journeys.year import EVERYWHERE
from tests.nurseries import FROST_ALL_SUMMER, NO_FROST, bench, frost_dates
from tests.unit.given import of_rule, planned

DATA = Path(__file__).parent / "data"
VARIETIES = "number,name,crop,source,protected\n7,Copper Kettle,fig,,\n8,Blue Ladder,red_currant,,\n"
ROOTING_TIME = {
    "bag_look",
    "pot_up",
    "first_water",
    "wean_loosen",
    "harden_out",
    "plant_out",
    "offer_rooted",
    "lamp_on",
}


def rows(name: str) -> dict[str, dict[str, str]]:
    with (DATA / name).open(encoding="utf-8") as file:
        return {row["what"]: row for row in csv.DictReader(file)}


@pytest.fixture(scope="module")
def book() -> Rulebook:
    found, faults = load_rules(None, EVENTS)
    assert found is not None
    assert faults == []
    return found


# Latitude and frost: invented, but likely for the latitude. The last freezes in every month.
PLACES = {
    "60 north": (60.0, frost_dates("05-05 05-20 06-06", "09-08 09-22 10-06")),
    "49 north": (49.0, frost_dates("04-10 04-26 05-12", "10-02 10-18 11-03")),
    "37 north": (37.3, frost_dates("04-04 04-17 04-30", "10-05 10-18 11-02")),
    "30 north, hardly a frost": (30.0, frost_dates("12-20 01-15 02-10", "12-05 01-05 01-28")),
    "21 north": (21.0, NO_FROST),
    "on the equator": (0.0, NO_FROST),
    "20 south": (-20.0, NO_FROST),
    "33 south": (-33.4, frost_dates("08-10 08-30 09-20", "05-10 05-28 06-20")),
    "45 south": (-45.0, frost_dates("09-25 10-15 11-05", "04-05 04-20 05-08")),
    "55 south": (-55.0, frost_dates("11-01 11-25 12-20", "02-20 03-12 04-01")),
    "60 north, frost all summer": (60.0, FROST_ALL_SUMMER),
}


def test_roots_in_pots_are_said_to_die_no_colder_than_the_careful_end_of_what_is_published(book: Rulebook) -> None:
    careful_f = float(rows("pots_in_the_cold.csv")["roots in containers killed"]["high_f"])

    for crop in book.crops.values():
        killed_f = crop.cold.roots_killed * 9 / 5 + 32
        assert careful_f - 0.1 <= killed_f < 32, crop.id
        assert killed_f >= crop.cold.young_wood.killed * 9 / 5 + 32, f"{crop.id}: roots hardier than its wood"
        assert killed_f > float(rows("pots_in_the_cold.csv")["young roots of green ash killed"]["high_f"]), crop.id


def test_the_days_of_feed_shelter_water_and_sale_are_those_published(book: Rulebook) -> None:
    told = rows("pots_weeks.csv")

    def within(what: str, value: float) -> bool:
        return float(told[what]["low"]) <= value <= float(told[what]["high"])

    programme = book.cares["potted"].programme
    assert programme is not None
    assert within("liquid feed withheld before the first frost", as_data(programme)["last_feed_before_frost"] / 7)
    wrap, offer = book.task("pots_wrap"), book.task("offer_again")
    assert (wrap.due_day, wrap.closes_day) == (30, 45)
    assert (offer.opens_day, offer.closes_day) == (-14, 42)
    assert within("dormant potted fig watered", book.task("rest_water").every_days or 0)
    assert re.search(r"\b104 F", book.task("pot_heat").how)


def year_of_plans(folder: Path, latitude: float, frost_dates: str, extra: str = "") -> list[Plan]:
    """A fig and a currant that came outside in early summer, planned every three weeks through a year and a half."""
    start = date(2027, 6, 1) if latitude >= 0 else date(2027, 12, 1)
    log = f"{start} received 7a --count 6 --stage outside\n{start} received 8a --count 5 --stage outside\n{extra}"
    plans = []
    for number in range(1, 560, 21):
        today = start + timedelta(days=number)
        until = "".join(line for line in log.splitlines(keepends=True) if line[:10] <= str(today))
        plans.append(planned(bench(folder, until, today, frost=frost_dates, latitude=latitude, varieties=VARIETIES)))
    return plans


@pytest.mark.parametrize("place", list(PLACES)[:: 1 if EVERYWHERE else 4])
def test_the_year_of_a_pot_keeps_its_order_everywhere(place: str, tmp_path: Path) -> None:
    latitude, dates = PLACES[place]

    plans = year_of_plans(tmp_path, latitude, dates)

    days: dict[str, set[date]] = {}
    for plan in plans:
        ids = [each.id for each in plan.tasks] + [each.id for each in plan.rounds]
        assert len(ids) == len(set(ids))
        own = [part for each in plan.tasks for part in each.own if "7a" in part.lots]
        assert not {each.rule.id for each in own} & ROOTING_TIME - {"plant_out", "offer_rooted"}
        live = {each.rule.id for each in plan.looks if each.lot == "7a" and each.end >= plan.as_of}
        assert live & {"outside_look", "rest_water", "outside_water"}, f"{plan.as_of}: nobody looks"
        windows = [each for each in own if not each.in_round and each.rule.id != "frost_evening"]
        evenings = [each for each in own if each.rule.id == "frost_evening"]
        assert len(windows) + bool(evenings) <= 9, [each.id for each in windows]  # the same question every bench day
        assert len(evenings) <= 5
        for each in own:
            days.setdefault(each.rule.id, set()).add(each.latest if each.rule.id == "last_feed" else each.earliest)
    firsts = [each.due for plan in plans for each in of_rule(plan, "first_frost")]
    frosty = {"frost_ready", "pots_in", "spring_frost", "last_feed"}
    if dates in (NO_FROST, FROST_ALL_SUMMER):
        assert not firsts
        assert not days.keys() & {"frost_ready", "last_feed", "spring_frost"}
        assert dates == FROST_ALL_SUMMER or not days.keys() & frosty
        return
    first = min(firsts)
    safe = {each.due for plan in plans for each in of_rule(plan, "frost_accepted")}
    assert min(days["last_feed"]) < min(days["frost_ready"]) < first < min(days["pots_in"])
    spring = [day for day in safe if first < day < first + timedelta(days=365)]
    feeds = [day for day in days["feed"] if day > first]
    assert feeds
    assert min(feeds) >= min(spring)


@pytest.mark.parametrize("place", list(PLACES)[:: 1 if EVERYWHERE else 4])
def test_a_lot_at_rest_wants_only_sparing_water_and_shelter_until_it_is_taken_to_be_awake(
    place: str, tmp_path: Path
) -> None:
    latitude, dates = PLACES[place]
    start = date(2027, 6, 1) if latitude >= 0 else date(2027, 12, 1)

    plans = year_of_plans(tmp_path, latitude, dates, f"{start + timedelta(days=130)} resting 7a\n")

    states = set()
    for plan in plans:
        rest = plan.at_rest.get("7a")
        if rest is None or not rest.logged:
            continue
        asked = {part.rule.id for each in plan.tasks for part in each.own if "7a" in part.lots}
        now = {each.rule.id for each in plan.looks if each.lot == "7a" and each.start <= plan.as_of <= each.end}
        states.add(rest.sleeps(plan.as_of))
        if rest.sleeps(plan.as_of):
            assert now == {"rest_water"}
            assert asked <= {"pots_in", "spring_frost", "pot_on", "wake", "frost_evening", "offer_again"}
            offers = [each for each in of_rule(plan, "offer_again") for part in each.own if "7a" in part.lots]
            assert all(each.earliest >= rest.granted for each in offers), "a plant asleep is not offered"
        else:
            assert now == {"outside_look"}, "only until it rests by the year again"
            assert "wake" in asked
            assert not asked & {"feed", "pot_on", "offer_again"}
    assert states == {True, False}, "it never sleeps, or never wakes"
