"""A lot's whole year as `today` prints it, in several climates; one of them is kept in the example for newcomers."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest

from almanac.feed.entries import entries_of
from almanac.nursery.load import load_nursery
from almanac.words.tasks import LOCK_SCREEN
from tests.conftest import teasel_yard
from tests.journeys.lot_year import HEAD, READING, Day, example_days, one_lot, reading
from tests.nurseries import NO_FROST, Parts, frost_dates

# All invented, but likely for the place.
CLIMATES = {
    "inland, cold winters": Parts(
        latitude=60,
        longitude=25,
        timezone="Europe/Helsinki",
        country="FI",
        frost=frost_dates("05-05 05-20 06-06", "09-08 09-22 10-06"),
    ),
    "southern coast, mild": Parts(
        latitude=-37,
        longitude=175,
        timezone="Pacific/Auckland",
        country="NZ",
        frost=frost_dates("08-20 09-10 10-02", "05-05 05-25 06-15"),
    ),
    "no frost at all": Parts(latitude=20, longitude=-156, timezone="Pacific/Honolulu", frost=NO_FROST),
}
# Of one lot on one day, the rules of one side never stand beside those of the other. Common practice: what is wet gets
# no water; what wilts is not opened further; what hardens, rests or has rotten roots is not fed.
OPPOSED = (
    ({"first_water", "water_again", "water_by_weight"}, {"wet_bag"}),
    ({"wean_loosen", "wean_half", "wean_open", "uncover"}, {"wilt_back"}),
    ({"first_feed", "feed"}, {"harden_out", "harden_step", "harden_nights", "wet_bag", "wilt_back"}),
    ({"mould_treat"}, {"light", "first_water", "wean_loosen", "pot_up"}),
    ({"pot_up"}, {"late_roots", "leaf_no_root", "give_up"}),
    ({"gnat_cull"}, {"gnat_drench"}),
    ({"harden_out"}, {"bring_in", "wilt_back"}),
)


@pytest.fixture(scope="module", params=CLIMATES)
def year(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> list[Day]:
    """Each climate in turn, walked once."""
    place = CLIMATES[request.param]
    base = load_nursery(teasel_yard(tmp_path_factory.mktemp("year"), **place), datetime(2030, 1, 1, tzinfo=UTC))
    taken = date(2027, 6, 10) if place["latitude"] < 0 else date(2026, 12, 10)
    return list(one_lot(base, taken, taken.replace(day=13), taken.replace(year=taken.year + 1), "1"))


def test_nothing_contradicts_itself_or_stands_twice_on_one_day_of_a_lots_year(year: list[Day]) -> None:
    assert len(year) > 40
    for each in year:
        lines = [line for one in each.plan.rounds if one.day == each.day for line in one.lines]
        tasks = [task for task in each.plan.tasks if not task.in_round and task.due == each.day]
        names = [line.id for line in lines if line.late_since is None] + [task.id for task in tasks]
        rules = [line.rule.id for line in lines if line.late_since is None] + [task.rule.id for task in tasks]
        assert len(names) == len(set(names)), each.day
        assert len(rules) == len(set(rules)), f"{each.day}: one lot is asked twice for {rules}"
        for one, other in OPPOSED:
            assert not (one & set(rules) and other & set(rules)), f"{each.day}: {rules}"


def test_every_title_of_a_lots_year_fits_a_locked_phone(year: list[Day]) -> None:
    titles = {entry.summary for each in year for entry in entries_of(each.plan, each.nursery)}

    assert {title for title in titles if len(title) > LOCK_SCREEN} == set()


def test_the_reading_in_the_example_is_what_the_program_prints() -> None:
    # Written anew by: python -m tests.journeys.lot_year
    assert READING.read_text(encoding="utf-8") == HEAD + reading(example_days())
